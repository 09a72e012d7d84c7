#pragma once
// islebook parcel: maps in one file for a colleague, and the keys that say who packed it.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "ui/cli/common.h"

namespace islebook {

struct ParcelPackArguments {
  std::vector<std::string> maps;             // NAME, NAME@BRANCH or NAME@REVISION
  bool all = false;                          // every map on the shelf
  std::optional<std::filesystem::path> out;  // nullopt: named after what is in it, in the current folder
  bool no_sheets = false;
  bool unsigned_ = false;
  bool no_charts = false;
  std::optional<std::filesystem::path> keys;
};
struct ParcelLookArguments {
  std::filesystem::path file;
  std::optional<std::filesystem::path> keys;
};
struct ParcelUnpackArguments {
  std::filesystem::path file;
  bool trusted_only = false;  // refuse what is not signed by a trusted key
  std::optional<std::filesystem::path> keys;
};
struct ParcelKeyArguments {
  std::string name;                          // of the shop; makes the key
  std::optional<std::filesystem::path> out;  // where the public key goes
  std::optional<std::filesystem::path> keys;
};
struct ParcelTrustArguments {
  std::string key;   // a file or 64 digits; empty: list
  std::string name;  // by which this shop knows the other; empty: as the key's file says
  bool remove = false;
  std::optional<std::filesystem::path> keys;
};

int RunParcelPack(const ParcelPackArguments& arguments, const CommonArguments& common);
// kExitReview: signed by a key that is not trusted; kExitNotDone: damaged, or a signature that does not hold.
int RunParcelLook(const ParcelLookArguments& arguments, const CommonArguments& common);
// kExitReview: signed by a key that is not trusted, or a map that both sides changed.
int RunParcelUnpack(const ParcelUnpackArguments& arguments, const CommonArguments& common);
int RunParcelKey(const ParcelKeyArguments& arguments, const CommonArguments& common);
int RunParcelTrust(const ParcelTrustArguments& arguments, const CommonArguments& common);

}  // namespace islebook
