#include "mapstore/shelf/server/server_shelf.h"

#include <utility>

#include <fmt/format.h>

#include "mapstore/shelf/copy_tables.h"
#include "mapstore/shelf/database_shelf.h"
#include "mapstore/shelf/server/server_database.h"
#include "mapstore/shelf/server/server_schema.h"

namespace islebook {
namespace {

Result<void> MakeCurrent(ServerDatabase& database) {
  Result<Transaction> writing = Transaction::Begin(database, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  if (const Result<void> migrated = MigrateServer(database); !migrated) return migrated;
  return writing->Commit();
}

}  // namespace

Result<std::unique_ptr<Shelf>> OpenServerShelf(const std::string& url, const ShelfOptions& options) {
  Result<ServerDatabase> database = ServerDatabase::Connect(url, options.access != ShelfAccess::kRead, options.busy_timeout);
  if (!database) return Pass(database);
  const Result<ShelfState> state = ReadServerState(*database);
  if (!state) return Pass(state);
  if (*state == ShelfState::kBlank && options.access != ShelfAccess::kCreate)
    return Fail(ErrorCode::kNotFound, "there is no shelf in this database yet; islebook shelf add makes one.", database->Place());
  if (*state == ShelfState::kOlder && options.access == ShelfAccess::kRead)
    return Fail(ErrorCode::kShelfUnavailable,
                "an earlier version of Islebook made this shelf; a command of this version that writes to it (islebook shelf tag, for one) brings it "
                "up to date.",
                database->Place());
  if (*state != ShelfState::kCurrent) {
    if (const Result<void> made = MakeCurrent(*database); !made) return Pass(made);
  }
  return std::make_unique<DatabaseShelf>(std::make_unique<ServerDatabase>(std::move(*database)));
}

Result<void> CopyShelfToServer(Shelf& from, const std::string& url) {
  auto* shelf = dynamic_cast<DatabaseShelf*>(&from);
  if (shelf == nullptr) return Fail(ErrorCode::kInternal, "this shelf cannot be copied to a server.");
  Result<ServerDatabase> to = ServerDatabase::Connect(url, true, std::chrono::milliseconds(20000));
  if (!to) return Pass(to);
  Result<Transaction> writing = Transaction::Begin(*to, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  const Result<ShelfState> state = ReadServerState(*to);
  if (!state) return Pass(state);
  if (*state != ShelfState::kBlank)
    return Fail(ErrorCode::kCannotWrite, "there is a shelf in this database already, and it was left as it is; name another database.", to->Place());
  if (const Result<void> made = MigrateServer(*to); !made) return made;
  Result<Transaction> reading = Transaction::Begin(shelf->Store(), Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  if (const Result<void> copied = CopyTables(shelf->Store(), *to); !copied) return copied;
  for (const char* table : kNumberedTables) {
    const Result<void> counted = to->Execute(
        fmt::format("SELECT setval(pg_get_serial_sequence('{0}', 'number'), (SELECT max(number) FROM {0})) WHERE EXISTS (SELECT 1 FROM {0})", table));
    if (!counted) return counted;
  }
  return writing->Commit();
}

void UseServerShelves() { SetServerShelves({OpenServerShelf, CopyShelfToServer}); }

}  // namespace islebook
