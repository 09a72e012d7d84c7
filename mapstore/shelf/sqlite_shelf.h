#pragma once
// The shelf that lives in one SQLite file. FILE_FORMAT.md beside this describes the file for outsiders.

#include <filesystem>
#include <memory>

#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

// kNotFound: no file (kRead, kWrite); kShelfUnavailable: not a shelf, or its folder cannot be used; kNewerShelf; kCannotWrite; kShelfDamaged; kShelfBusy.
// A file that is not a shelf is never changed. A shelf of an earlier version is brought up to date, whatever the access asked for.
Result<std::unique_ptr<Shelf>> OpenSqliteShelf(const std::filesystem::path& file, const ShelfOptions& options);

}  // namespace islebook
