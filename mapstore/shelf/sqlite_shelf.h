#pragma once
// The shelf that lives in one SQLite file. FILE_FORMAT.md beside this describes the file for outsiders.

#include <chrono>
#include <filesystem>
#include <memory>

#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

enum class ShelfAccess {
  kRead,    // never changes the shelf; works on a read-only disk too
  kWrite,   // the shelf must be there
  kCreate,  // made, with its folder, if it is not there
};

struct SqliteShelfOptions {
  ShelfAccess access = ShelfAccess::kRead;
  std::chrono::milliseconds busy_timeout{20000};  // how long to wait for another program that is writing
};

// kNotFound: no file (kRead, kWrite); kShelfUnavailable: not a shelf, or its folder cannot be used; kNewerShelf; kCannotWrite; kShelfDamaged; kShelfBusy.
// A file that is not a shelf is never changed. A shelf of an earlier version is brought up to date, whatever the access asked for.
Result<std::unique_ptr<Shelf>> OpenSqliteShelf(const std::filesystem::path& file, const SqliteShelfOptions& options);

}  // namespace islebook
