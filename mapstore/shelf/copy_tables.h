#pragma once
// A shelf's rows from one database into another, whatever engines run them.

#include "mapstore/shelf/database.h"
#include "mapstore/units/error.h"

namespace islebook {

// Every row of every table, with its numbers; `to` has the tables and no rows. Both are within transactions of the caller.
Result<void> CopyTables(Database& from, Database& to);

// The tables whose rows are numbered in order of arrival.
inline constexpr const char* kNumberedTables[] = {"revisions", "maps", "heads", "removals", "tags", "notes", "wheels"};

}  // namespace islebook
