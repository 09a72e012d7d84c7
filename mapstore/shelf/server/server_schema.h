#pragma once
// The tables of a shelf on a server: those of a shelf's file (sqlite_schema.h) in the server's words, under the same schema number.

#include <functional>
#include <string>

#include "mapstore/shelf/server/server_database.h"
#include "mapstore/shelf/sqlite_schema.h"
#include "mapstore/units/error.h"

namespace islebook {

// kNewerShelf: a later version made the tables; kShelfUnavailable: another program's tables stand where the shelf's would; kShelfDamaged.
Result<ShelfState> ReadServerState(Database& database);

// Makes the tables where there are none and brings earlier ones up to date, in one transaction.
Result<void> MigrateServer(Database& database);

// Says of every table and guard that is missing or was altered.
Result<void> CheckServerSchema(Database& database, const std::function<void(std::string)>& note);

}  // namespace islebook
