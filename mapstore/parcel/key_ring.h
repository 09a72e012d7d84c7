#pragma once
// The shop's own signing key and the keys of those it trusts: two text files in one folder.
//   shop.key       "islebook-signing-key 1 ed25519 SEED NAME", readable by its owner only
//   trusted.keys   one "islebook-key 1 ed25519 KEY NAME" a line; such a line is also what one shop sends another

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/parcel/signature.h"
#include "mapstore/units/error.h"

namespace islebook {

struct TrustedKey {
  std::string public_key;  // 64 hex digits
  std::string name;        // by which this shop knows the other
};

std::string PublicKeyLine(const TrustedKey& key);  // with a line end

// A public key as people hand it on: its line, or the 64 digits alone, in groups or not. kInvalidArgument.
Result<TrustedKey> ParsePublicKey(std::string_view text);

// "3f2a91c0 d4e57788 ...": for comparing by eye or over the telephone.
std::string KeyInGroups(std::string_view public_key);

class KeyRing {
 public:
  // An absent folder is an empty ring. kCannotRead: a file that cannot be read, a line that is none, a secret key that others may read.
  static Result<KeyRing> Open(const std::filesystem::path& folder);

  const std::optional<SigningKey>& Own() const { return own_; }
  const std::vector<TrustedKey>& Trusted() const { return trusted_; }  // sorted by name
  // The name by which a key is trusted; the shop's own is. Nullopt: unknown.
  std::optional<std::string> NameOf(const std::string& public_key) const;

  // Each is on the disk when it returns, whole. kCannotWrite.
  Result<SigningKey> MakeOwn(const std::string& name);  // kInvalidArgument: there is one already; a key is never replaced
  Result<bool> Trust(const TrustedKey& key);            // false: it was trusted under that name already
  Result<bool> Forget(const std::string& public_key);   // false: it was not trusted

 private:
  Result<void> WriteTrusted(const std::vector<TrustedKey>& keys) const;
  std::filesystem::path folder_;
  std::optional<SigningKey> own_;
  std::vector<TrustedKey> trusted_;
};

}  // namespace islebook
