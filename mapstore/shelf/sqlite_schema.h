#pragma once
// The tables of a shelf's file and how an older file becomes a newer one. For outsiders: FILE_FORMAT.md.

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "mapstore/shelf/sqlite_database.h"
#include "mapstore/units/error.h"

namespace islebook {

inline constexpr std::int64_t kShelfApplicationId = 0x49736c65;  // "Isle", the file's application_id
inline constexpr std::int64_t kShelfSchema = 3;                  // the file's user_version

enum class ShelfState {
  kBlank,  // an empty database, which may become a shelf
  kOlder,  // a shelf that an earlier version wrote
  kCurrent,
};

// kNewerShelf: a later version wrote it; kShelfUnavailable: another program's file.
Result<ShelfState> ReadShelfState(SqliteDatabase& database);

// Makes the tables in a blank database and brings an older shelf up to date, one numbered step a transaction.
Result<void> MigrateShelf(SqliteDatabase& database);

// The names of the tables, indexes and triggers that the current schema has, with the SQL that made them, sorted: for Verify.
Result<std::vector<std::pair<std::string, std::string>>> SchemaObjects(SqliteDatabase& database);

}  // namespace islebook
