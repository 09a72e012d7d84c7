#pragma once
// The maps that are served, files and a shelf, ready to be asked: read anew when a file or the shelf has changed, kept as long as they have not.

#include <array>
#include <chrono>
#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/answers/askable_map.h"
#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

// The name that a map document's file is served by.
std::string ServedName(const std::filesystem::path& file);

// From any thread.
class ServedMaps {
 public:
  using Map = std::shared_ptr<const AskableMap>;

  ServedMaps(std::string shelf, const std::vector<std::filesystem::path>& files);

  // By a file's name, or a name on the shelf, NAME or NAME@REVISION. kNotFound where there is none.
  Result<Map> Find(const std::string& name);
  // The maker's speed limit that the shelf has on record for that map's wheel, rpm.
  std::optional<double> SpeedLimit(const std::string& name);
  // Names of all, files first. An error where a shelf is there and cannot be read.
  Result<std::vector<std::string>> Names();
  // The same as JSON with kind, title and revision; without files that cannot be read.
  Result<std::string> List();

 private:
  // What changes when a file does.
  struct Stamp {
    std::int64_t seconds = -1, nanoseconds = 0, size = 0, inode = 0;
    bool operator==(const Stamp&) const = default;
  };
  struct Kept {
    Stamp stamp;
    Map map;
    std::uint64_t used = 0;
  };
  static Stamp StampOf(const std::filesystem::path& file);
  Result<Shelf*> OpenShelf();
  Result<bool> LookAtShelf();
  Result<std::vector<ShelfEntry>> ShelfEntries();

  const std::string shelf_place_;
  std::map<std::string, std::filesystem::path> files_;
  std::mutex mutex_;  // of all below
  std::unique_ptr<Shelf> shelf_;
  std::array<Stamp, 2> shelf_stamp_;                    // of a file
  std::chrono::steady_clock::time_point shelf_seen_{};  // of a server: when it was looked at, and what its mark was
  std::string shelf_mark_;
  std::map<std::string, Map> resolved_;  // by name on the shelf as it was when it was looked at
  std::map<std::string, Kept> by_revision_;
  std::map<std::string, Kept> by_file_;
  std::uint64_t clock_ = 0;
};

}  // namespace islebook
