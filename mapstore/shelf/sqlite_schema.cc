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
    // 1 -> 2: branches, removal, what is known about a map, and the two indexes that searching needs
    R"sql(
ALTER TABLE heads ADD COLUMN branch TEXT NOT NULL DEFAULT '';
ALTER TABLE heads ADD COLUMN closed INTEGER NOT NULL DEFAULT 0 CHECK (closed IN (0, 1));
DROP INDEX heads_by_map;
CREATE INDEX heads_by_branch ON heads (map, branch, number);

CREATE TABLE removals (
  number INTEGER PRIMARY KEY,
  map INTEGER NOT NULL REFERENCES maps (number),
  removed INTEGER NOT NULL CHECK (removed IN (0, 1)),
  author TEXT NOT NULL,
  time TEXT NOT NULL,
  reason TEXT NOT NULL
) STRICT;
CREATE INDEX removals_by_map ON removals (map, number);

CREATE TABLE tags (
  number INTEGER PRIMARY KEY,
  map INTEGER NOT NULL REFERENCES maps (number),
  tag TEXT NOT NULL CHECK (tag <> ''),
  present INTEGER NOT NULL CHECK (present IN (0, 1)),
  author TEXT NOT NULL,
  time TEXT NOT NULL
) STRICT;
CREATE INDEX tags_by_map ON tags (map, tag, number);
CREATE INDEX tags_by_tag ON tags (tag, map, number);

CREATE TABLE notes (
  number INTEGER PRIMARY KEY,
  map INTEGER NOT NULL REFERENCES maps (number),
  revision TEXT,
  author TEXT NOT NULL,
  time TEXT NOT NULL,
  text TEXT NOT NULL CHECK (text <> '')
) STRICT;
CREATE INDEX notes_by_map ON notes (map, number);

CREATE TABLE wheels (
  number INTEGER PRIMARY KEY,
  map INTEGER NOT NULL REFERENCES maps (number),
  maker TEXT NOT NULL,
  model TEXT NOT NULL,
  inducer_mm REAL CHECK (inducer_mm > 0),
  exducer_mm REAL CHECK (exducer_mm > 0),
  trim REAL CHECK (trim > 0),
  turbine_area_ratio REAL CHECK (turbine_area_ratio > 0),
  speed_limit_rpm REAL CHECK (speed_limit_rpm > 0),
  author TEXT NOT NULL,
  time TEXT NOT NULL
) STRICT;
CREATE INDEX wheels_by_map ON wheels (map, number);
CREATE INDEX wheels_by_inducer ON wheels (inducer_mm) WHERE inducer_mm IS NOT NULL;
CREATE INDEX wheels_by_exducer ON wheels (exducer_mm) WHERE exducer_mm IS NOT NULL;

CREATE VIEW current_tags AS
  SELECT maps.name, tags.tag, tags.author, tags.time
  FROM tags JOIN maps ON maps.number = tags.map
  WHERE tags.present = 1 AND tags.number = (SELECT max(number) FROM tags AS later WHERE later.map = tags.map AND later.tag = tags.tag)
  ORDER BY maps.name, tags.tag;

CREATE VIEW current_wheels AS
  SELECT maps.name, maker, model, inducer_mm, exducer_mm, trim, turbine_area_ratio, speed_limit_rpm, author, time
  FROM wheels JOIN maps ON maps.number = wheels.map
  WHERE wheels.number = (SELECT max(number) FROM wheels AS later WHERE later.map = wheels.map)
  ORDER BY maps.name;

CREATE VIEW branches AS
  SELECT maps.name, heads.branch, revisions.id AS revision, revisions.author, revisions.time, revisions.message
  FROM heads
  JOIN maps ON maps.number = heads.map
  JOIN revisions ON revisions.number = heads.revision
  WHERE heads.branch <> '' AND heads.closed = 0
    AND heads.number = (SELECT max(number) FROM heads AS later WHERE later.map = heads.map AND later.branch = heads.branch)
  ORDER BY maps.name, heads.branch;

DROP VIEW library;
CREATE VIEW library AS
  SELECT maps.name, documents.kind, documents.title, revisions.id AS revision, revisions.author, revisions.time, revisions.message,
         documents.sha256 AS document, documents.sheet
  FROM maps
  JOIN heads ON heads.number = (SELECT max(number) FROM heads WHERE heads.map = maps.number AND heads.branch = '')
  JOIN revisions ON revisions.number = heads.revision
  JOIN documents ON documents.sha256 = revisions.document
  WHERE coalesce((SELECT removed FROM removals WHERE removals.map = maps.number ORDER BY removals.number DESC LIMIT 1), 0) = 0
  ORDER BY maps.name;

CREATE VIRTUAL TABLE words USING fts5 (name, title, maker, tags, notes, messages, tokenize = "unicode61 remove_diacritics 2");
CREATE VIRTUAL TABLE reach_bands USING rtree (band, flow_min, flow_max, pressure_ratio_min, pressure_ratio_max, efficiency_min, efficiency_max,
                                              surge_margin_min, surge_margin_max, +grid BLOB);
CREATE TABLE reach_maps (map INTEGER PRIMARY KEY REFERENCES maps (number), revision INTEGER NOT NULL REFERENCES revisions (number), bands INTEGER NOT NULL,
                         outline BLOB NOT NULL) STRICT;
CREATE TABLE reach_due (map INTEGER PRIMARY KEY REFERENCES maps (number)) STRICT;

INSERT INTO words (rowid, name, title, maker, tags, notes, messages)
  SELECT maps.number, maps.name, documents.title, '', '', '',
         coalesce((SELECT group_concat(messages.message, char(10)) FROM heads AS every JOIN revisions AS messages ON messages.number = every.revision
                   WHERE every.map = maps.number), '')
  FROM maps
  JOIN heads ON heads.number = (SELECT max(number) FROM heads WHERE heads.map = maps.number)
  JOIN revisions ON revisions.number = heads.revision
  JOIN documents ON documents.sha256 = revisions.document;
INSERT INTO reach_due SELECT number FROM maps;

CREATE TRIGGER removals_stay BEFORE UPDATE ON removals BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER removals_remain BEFORE DELETE ON removals BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER tags_stay BEFORE UPDATE ON tags BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER tags_remain BEFORE DELETE ON tags BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER notes_stay BEFORE UPDATE ON notes BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER notes_remain BEFORE DELETE ON notes BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER wheels_stay BEFORE UPDATE ON wheels BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
CREATE TRIGGER wheels_remain BEFORE DELETE ON wheels BEGIN SELECT raise(ABORT, 'nothing on a shelf is overwritten'); END;
)sql",
    // 2 -> 3
    R"sql(
ALTER TABLE reach_maps ADD COLUMN version INTEGER NOT NULL DEFAULT 0;
CREATE INDEX reach_maps_by_version ON reach_maps (version);
CREATE TABLE reach_kept (map INTEGER PRIMARY KEY REFERENCES maps (number), kept BLOB NOT NULL) STRICT;
)sql",
};
static_assert(kMigrations.size() == kShelfSchema);

Result<std::pair<ShelfState, std::int64_t>> ReadStateAndVersion(SqliteDatabase& database) {
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
                "this is another program's database, not a shelf; it was left as it is. Name another file with --shelf.", database.Place());
  if (*version > kShelfSchema)
    return Fail(
        ErrorCode::kNewerShelf,
        fmt::format("a later version of Islebook wrote this shelf (schema {}, this one knows up to {}); it was left as it is. Use the later version.",
                    *version, kShelfSchema),
        database.Place());
  return std::pair(*version < kShelfSchema ? ShelfState::kOlder : ShelfState::kCurrent, *version);
}

}  // namespace

Result<ShelfState> ReadShelfState(SqliteDatabase& database) {
  Result<Transaction> reading = Transaction::Begin(database, Transaction::Kind::kRead);
  if (!reading) return std::unexpected(reading.error());
  const auto found = ReadStateAndVersion(database);
  if (!found) return std::unexpected(found.error());
  return found->first;
}

Result<void> MigrateShelf(SqliteDatabase& database) {
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

Result<std::vector<std::pair<std::string, std::string>>> SchemaObjects(SqliteDatabase& database) {
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
