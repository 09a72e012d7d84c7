#include "mapstore/shelf/sqlite_schema.h"

#include <array>
#include <utility>
#include <vector>

#include <fmt/format.h>

namespace islebook {
namespace {

// Step n takes a file from user_version n to n + 1. A step that has been released is never edited: add another.
constexpr std::array kMigrations = {
    // 0 -> 1
    R"sql(
CREATE TABLE sheets (
  sha256 TEXT NOT NULL PRIMARY KEY CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
  size INTEGER NOT NULL GENERATED ALWAYS AS (length(bytes)) STORED,
  added TEXT NOT NULL,
  bytes BLOB NOT NULL
) STRICT;

CREATE TABLE documents (
  sha256 TEXT NOT NULL PRIMARY KEY CHECK (length(sha256) = 64 AND sha256 NOT GLOB '*[^0-9a-f]*'),
  kind TEXT,
  title TEXT NOT NULL,
  sheet TEXT,
  body TEXT NOT NULL
) STRICT;

CREATE TABLE revisions (
  number INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE CHECK (length(id) = 64 AND id NOT GLOB '*[^0-9a-f]*'),
  document TEXT NOT NULL REFERENCES documents (sha256),
  author TEXT NOT NULL,
  time TEXT NOT NULL,
  message TEXT NOT NULL,
  record TEXT NOT NULL
) STRICT;

CREATE TABLE parents (
  revision INTEGER NOT NULL REFERENCES revisions (number),
  position INTEGER NOT NULL CHECK (position >= 0),
  parent INTEGER NOT NULL REFERENCES revisions (number),
  PRIMARY KEY (revision, position),
  CHECK (parent < revision)
) STRICT, WITHOUT ROWID;

CREATE TABLE maps (
  number INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE CHECK (name <> '' AND instr(name, '@') = 0)
) STRICT;

CREATE TABLE heads (
  number INTEGER PRIMARY KEY,
  map INTEGER NOT NULL REFERENCES maps (number),
  revision INTEGER NOT NULL REFERENCES revisions (number),
  time TEXT NOT NULL
) STRICT;
CREATE INDEX heads_by_map ON heads (map, number);

CREATE VIEW library AS
  SELECT maps.name, documents.kind, documents.title, revisions.id AS revision, revisions.author, revisions.time, revisions.message,
         documents.sha256 AS document, documents.sheet
  FROM maps
  JOIN heads ON heads.number = (SELECT max(number) FROM heads WHERE heads.map = maps.number)
  JOIN revisions ON revisions.number = heads.revision
  JOIN documents ON documents.sha256 = revisions.document
  ORDER BY maps.name;

CREATE TRIGGER sheets_stay BEFORE UPDATE ON sheets BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER sheets_remain BEFORE DELETE ON sheets BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER documents_stay BEFORE UPDATE ON documents BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER documents_remain BEFORE DELETE ON documents BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER revisions_stay BEFORE UPDATE ON revisions BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER revisions_remain BEFORE DELETE ON revisions BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER parents_stay BEFORE UPDATE ON parents BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER parents_remain BEFORE DELETE ON parents BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER maps_stay BEFORE UPDATE ON maps BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER maps_remain BEFORE DELETE ON maps BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER heads_stay BEFORE UPDATE ON heads BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER heads_remain BEFORE DELETE ON heads BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
)sql",
};
static_assert(kMigrations.size() == kShelfSchema);

Result<std::pair<ShelfState, std::int64_t>> ReadStateAndVersion(Database& database) {
  const Result<std::int64_t> application = database.Integer("PRAGMA application_id");
  if (!application) return std::unexpected(application.error());
  const Result<std::int64_t> version = database.Integer("PRAGMA user_version");
  if (!version) return std::unexpected(version.error());
  if (*application == 0 && *version == 0) {
    const Result<std::int64_t> objects = database.Integer("SELECT count(*) FROM sqlite_schema");
    if (!objects) return std::unexpected(objects.error());
    if (*objects == 0) return std::pair(ShelfState::kBlank, *version);
  }
  if (*application != kShelfApplicationId || *version < 1)
    return Fail(ErrorCode::kShelfUnavailable,
                "this is another program's database, not a shelf; it was left as it is. Name another file with --shelf.", database.File());
  if (*version > kShelfSchema)
    return Fail(
        ErrorCode::kNewerShelf,
        fmt::format("a later version of Islebook wrote this shelf (schema {}, this one knows up to {}); it was left as it is. Use the later version.",
                    *version, kShelfSchema),
        database.File());
  return std::pair(*version < kShelfSchema ? ShelfState::kOlder : ShelfState::kCurrent, *version);
}

}  // namespace

Result<ShelfState> ReadShelfState(Database& database) {
  Result<Transaction> reading = Transaction::Begin(database, Transaction::Kind::kRead);
  if (!reading) return std::unexpected(reading.error());
  const auto found = ReadStateAndVersion(database);
  if (!found) return std::unexpected(found.error());
  return found->first;
}

Result<void> MigrateShelf(Database& database) {
  while (true) {
    Result<Transaction> writing = Transaction::Begin(database, Transaction::Kind::kWrite);
    if (!writing) return std::unexpected(writing.error());
    // Read again now that nobody else can write: another program may have done this step.
    const auto found = ReadStateAndVersion(database);
    if (!found) return std::unexpected(found.error());
    if (found->first == ShelfState::kCurrent) return {};
    const std::int64_t version = found->second;
    const Result<void> stepped = database.Execute(kMigrations[static_cast<std::size_t>(version)]);
    if (!stepped) return stepped;
    const Result<void> marked =
        database.Execute(fmt::format("PRAGMA application_id = {}; PRAGMA user_version = {};", kShelfApplicationId, version + 1));
    if (!marked) return marked;
    const Result<void> committed = writing->Commit();
    if (!committed) return committed;
  }
}

Result<std::vector<std::pair<std::string, std::string>>> SchemaObjects(Database& database) {
  Result<Statement> statement =
      database.Prepare("SELECT type || ' ' || name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite_stat%' ORDER BY 1");
  if (!statement) return std::unexpected(statement.error());
  std::vector<std::pair<std::string, std::string>> objects;
  while (true) {
    const Result<bool> row = statement->Step();
    if (!row) return std::unexpected(row.error());
    if (!*row) return objects;
    objects.emplace_back(statement->Text(0), statement->Text(1));
  }
}

}  // namespace islebook
