#include "mapstore/shelf/sqlite_shelf.h"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <system_error>

#include <fmt/format.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/revision.h"
#include "mapstore/shelf/sqlite_schema.h"
#include "mapstore/shelf/sqlite_shelf_impl.h"

namespace islebook {
namespace {

// The revisions that a head stands on, itself included; ?1 is the head's number.
constexpr const char* kHistory =
    "WITH RECURSIVE history(number) AS (VALUES (?1) UNION SELECT parents.parent FROM parents JOIN history ON parents.revision = history.number) ";

template <typename T>
std::unexpected<Error> Pass(const Result<T>& failed) {
  return std::unexpected(failed.error());
}

bool IsHex(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); });
}

}  // namespace

struct SqliteShelf::Prepared {
  const NewRevision* given = nullptr;
  std::string document;  // canonical
  std::string document_sha256;
  std::optional<MapKind> kind;
  std::string title;
  std::optional<std::string> source_sha256;  // of the sheet that the document names
  std::optional<std::string> sheet_sha256;   // of the sheet that is given along
};

Result<SqliteShelf::Prepared> SqliteShelf::Prepare(const NewRevision& revision) {
  if (const Result<void> good = CheckMapName(revision.name); !good) return Pass(good);
  if (revision.author.empty() || ValidUtf8(revision.author) != revision.author)
    return Fail(ErrorCode::kInvalidArgument, "a revision needs an author, as UTF-8 text.", revision.name);
  if (ValidUtf8(revision.message) != revision.message) return Fail(ErrorCode::kInvalidArgument, "the message is not UTF-8 text.", revision.name);
  if (revision.time) {
    if (const Result<void> good = CheckRevisionTime(*revision.time); !good) return Pass(good);
  }
  const Result<PerformanceMap> map = ParseMapDocument(revision.document);
  if (!map) return Pass(map);
  Prepared prepared;
  prepared.given = &revision;
  Result<std::string> canonical = CanonicalJson(revision.document);
  if (!canonical) return Pass(canonical);
  prepared.document = std::move(*canonical);
  prepared.document_sha256 = Sha256Hex(prepared.document);
  prepared.kind = map->kind;
  prepared.title = map->title;
  if (map->source) prepared.source_sha256 = map->source->sha256;
  if (revision.sheet) {
    prepared.sheet_sha256 = Sha256Hex(*revision.sheet);
    if (prepared.source_sha256 != prepared.sheet_sha256)
      return Fail(ErrorCode::kInvalidArgument,
                  "the picture given is not the sheet that this map was made from (their SHA-256 differ); give the original file.", revision.name);
  }
  return prepared;
}

Result<AddedRevision> SqliteShelf::AddRevision(const NewRevision& revision) {
  Result<std::vector<AddedRevision>> added = AddRevisions({revision});
  if (!added) return Pass(added);
  return std::move(added->front());
}

Result<std::vector<AddedRevision>> SqliteShelf::AddRevisions(const std::vector<NewRevision>& revisions) {
  std::vector<Prepared> prepared;
  for (const NewRevision& revision : revisions) {
    Result<Prepared> one = Prepare(revision);
    if (!one) return Pass(one);
    prepared.push_back(std::move(*one));
  }
  Result<Transaction> writing = Transaction::Begin(database_, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  std::vector<AddedRevision> added;
  for (const Prepared& one : prepared) {
    Result<AddedRevision> inserted = Insert(one);
    if (!inserted) return Pass(inserted);
    added.push_back(std::move(*inserted));
  }
  if (const Result<void> committed = writing->Commit(); !committed) return Pass(committed);
  return added;
}

Result<AddedRevision> SqliteShelf::Insert(const Prepared& prepared) {
  const NewRevision& given = *prepared.given;
  AddedRevision added;
  if (prepared.sheet_sha256) {
    const Result<bool> is_new = InsertSheet(*prepared.sheet_sha256, *given.sheet);
    if (!is_new) return Pass(is_new);
    added.sheet_is_new = *is_new;
  }
  const Result<std::int64_t> map = FindOrAddMap(given.name);
  if (!map) return Pass(map);
  const Result<std::optional<std::int64_t>> head = FindHead(*map);
  if (!head) return Pass(head);

  RevisionRecord& record = added.revision;
  std::vector<std::int64_t> parents;
  if (given.parents) {
    for (const std::string& id : *given.parents) {
      const Result<std::optional<std::int64_t>> parent = FindRevision(id);
      if (!parent) return Pass(parent);
      if (!*parent)
        return Fail(ErrorCode::kNotFound, fmt::format("the parent revision {} is not on the shelf; add it first.", ValidUtf8(id)), given.name);
      parents.push_back(**parent);
    }
    record.parents = *given.parents;
  } else if (*head) {
    Result<RevisionRecord> current = ReadRevision(**head);
    if (!current) return Pass(current);
    if (current->document_sha256 == prepared.document_sha256) {
      record = std::move(*current);
      return added;
    }
    parents.push_back(**head);
    record.parents = {current->id};
  }
  record.document_sha256 = prepared.document_sha256;
  record.author = given.author;
  record.message = given.message;
  record.time = given.time ? *given.time : CurrentRevisionTime();
  record.id = RevisionId(record);

  const Result<std::optional<std::int64_t>> known = FindRevision(record.id);
  if (!known) return Pass(known);
  std::int64_t number = 0;
  if (*known) {
    number = **known;
    if (*head) {
      const Result<bool> before = IsInHistory(**head, number);
      if (!before) return Pass(before);
      if (*before) return added;
    }
  } else {
    if (const Result<void> kept = InsertDocument(prepared); !kept) return Pass(kept);
    const Result<std::int64_t> inserted = InsertRevision(record, parents);
    if (!inserted) return Pass(inserted);
    number = *inserted;
    added.is_new = true;
  }
  Result<Statement> point = database_.Prepare("INSERT INTO heads (map, revision, time) VALUES (?1, ?2, ?3)");
  if (!point) return Pass(point);
  if (const Result<void> pointed = point->Bind(1, *map).Bind(2, number).Bind(3, CurrentRevisionTime()).Run(); !pointed) return Pass(pointed);
  return added;
}

Result<bool> SqliteShelf::InsertSheet(const std::string& sha256, const std::string& bytes) {
  Result<Statement> insert = database_.Prepare("INSERT INTO sheets (sha256, added, bytes) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING");
  if (!insert) return Pass(insert);
  if (const Result<void> run = insert->Bind(1, sha256).Bind(2, CurrentRevisionTime()).BindBlob(3, bytes).Run(); !run) return Pass(run);
  return database_.Changes() > 0;
}

Result<void> SqliteShelf::InsertDocument(const Prepared& prepared) {
  Result<Statement> insert =
      database_.Prepare("INSERT INTO documents (sha256, kind, title, sheet, body) VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT DO NOTHING");
  if (!insert) return Pass(insert);
  insert->Bind(1, prepared.document_sha256).Bind(3, prepared.title).Bind(5, prepared.document);
  if (prepared.kind) insert->Bind(2, MapKindName(*prepared.kind));
  if (prepared.source_sha256) insert->Bind(4, *prepared.source_sha256);
  return insert->Run();
}

Result<std::int64_t> SqliteShelf::InsertRevision(const RevisionRecord& record, const std::vector<std::int64_t>& parents) {
  Result<Statement> insert =
      database_.Prepare("INSERT INTO revisions (id, document, author, time, message, record) VALUES (?1, ?2, ?3, ?4, ?5, ?6) RETURNING number");
  if (!insert) return Pass(insert);
  insert->Bind(1, record.id)
      .Bind(2, record.document_sha256)
      .Bind(3, record.author)
      .Bind(4, record.time)
      .Bind(5, record.message)
      .Bind(6, RevisionRecordJson(record));
  const Result<bool> row = insert->Step();
  if (!row) return Pass(row);
  const std::int64_t number = insert->Integer(0);
  if (const Result<void> done = insert->Run(); !done) return Pass(done);
  Result<Statement> link = database_.Prepare("INSERT INTO parents (revision, position, parent) VALUES (?1, ?2, ?3)");
  if (!link) return Pass(link);
  for (std::size_t i = 0; i < parents.size(); ++i) {
    link->Reset();
    if (const Result<void> linked = link->Bind(1, number).Bind(2, static_cast<std::int64_t>(i)).Bind(3, parents[i]).Run(); !linked)
      return Pass(linked);
  }
  return number;
}

Result<std::optional<std::int64_t>> SqliteShelf::FindMap(const std::string& name) {
  Result<Statement> find = database_.Prepare("SELECT number FROM maps WHERE name = ?1");
  if (!find) return Pass(find);
  const Result<bool> row = find->Bind(1, name).Step();
  if (!row) return Pass(row);
  return *row ? std::optional(find->Integer(0)) : std::nullopt;
}

Result<std::int64_t> SqliteShelf::FindOrAddMap(const std::string& name) {
  const Result<std::optional<std::int64_t>> found = FindMap(name);
  if (!found) return Pass(found);
  if (*found) return **found;
  Result<Statement> insert = database_.Prepare("INSERT INTO maps (name) VALUES (?1) RETURNING number");
  if (!insert) return Pass(insert);
  const Result<bool> row = insert->Bind(1, name).Step();
  if (!row) return Pass(row);
  const std::int64_t number = insert->Integer(0);
  if (const Result<void> done = insert->Run(); !done) return Pass(done);
  return number;
}

Result<std::optional<std::int64_t>> SqliteShelf::FindHead(std::int64_t map) {
  Result<Statement> find = database_.Prepare("SELECT revision FROM heads WHERE map = ?1 ORDER BY number DESC LIMIT 1");
  if (!find) return Pass(find);
  const Result<bool> row = find->Bind(1, map).Step();
  if (!row) return Pass(row);
  return *row ? std::optional(find->Integer(0)) : std::nullopt;
}

Result<std::optional<std::int64_t>> SqliteShelf::FindRevision(const std::string& id) {
  Result<Statement> find = database_.Prepare("SELECT number FROM revisions WHERE id = ?1");
  if (!find) return Pass(find);
  const Result<bool> row = find->Bind(1, id).Step();
  if (!row) return Pass(row);
  return *row ? std::optional(find->Integer(0)) : std::nullopt;
}

Result<RevisionRecord> SqliteShelf::ReadRevision(std::int64_t number) {
  Result<Statement> read = database_.Prepare("SELECT id, document, author, time, message FROM revisions WHERE number = ?1");
  if (!read) return Pass(read);
  const Result<bool> row = read->Bind(1, number).Step();
  if (!row) return Pass(row);
  if (!*row)
    return Fail(ErrorCode::kShelfDamaged, fmt::format("the shelf has lost its revision number {}; put back a copy.", number), database_.File());
  RevisionRecord record{read->Text(0), {}, read->Text(1), read->Text(2), read->Text(3), read->Text(4)};
  Result<Statement> above = database_.Prepare(
      "SELECT revisions.id FROM parents JOIN revisions ON revisions.number = parents.parent WHERE parents.revision = ?1 ORDER BY parents.position");
  if (!above) return Pass(above);
  above->Bind(1, number);
  while (true) {
    const Result<bool> parent = above->Step();
    if (!parent) return Pass(parent);
    if (!*parent) return record;
    record.parents.push_back(above->Text(0));
  }
}

Result<bool> SqliteShelf::IsInHistory(std::int64_t head, std::int64_t revision) {
  Result<Statement> find = database_.Prepare(std::string(kHistory) + "SELECT 1 FROM history WHERE number = ?2");
  if (!find) return Pass(find);
  return find->Bind(1, head).Bind(2, revision).Step();
}

Result<std::int64_t> SqliteShelf::CountHistory(std::int64_t head) {
  Result<Statement> count = database_.Prepare(std::string(kHistory) + "SELECT count(*) FROM history");
  if (!count) return Pass(count);
  const Result<bool> row = count->Bind(1, head).Step();
  if (!row) return Pass(row);
  return count->Integer(0);
}

Result<std::vector<ShelfEntry>> SqliteShelf::List() {
  Result<Transaction> reading = Transaction::Begin(database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  Result<Statement> names = database_.Prepare(
      "SELECT maps.name, documents.kind, documents.title, documents.sheet, heads.revision, EXISTS (SELECT 1 FROM sheets WHERE sheets.sha256 = "
      "documents.sheet) "
      "FROM maps JOIN heads ON heads.number = (SELECT max(number) FROM heads WHERE heads.map = maps.number) "
      "JOIN revisions ON revisions.number = heads.revision JOIN documents ON documents.sha256 = revisions.document ORDER BY maps.name");
  if (!names) return Pass(names);
  std::vector<ShelfEntry> entries;
  while (true) {
    const Result<bool> row = names->Step();
    if (!row) return Pass(row);
    if (!*row) return entries;
    ShelfEntry entry;
    entry.name = names->Text(0);
    entry.kind = names->Text(1);
    entry.title = names->Text(2);
    if (!names->IsNull(3)) entry.sheet_sha256 = names->Text(3);
    entry.sheet_on_shelf = names->Integer(5) != 0;
    Result<RevisionRecord> head = ReadRevision(names->Integer(4));
    if (!head) return Pass(head);
    entry.head = std::move(*head);
    const Result<std::int64_t> count = CountHistory(names->Integer(4));
    if (!count) return Pass(count);
    entry.revisions = *count;
    entries.push_back(std::move(entry));
  }
}

Result<ShownRevision> SqliteShelf::ReadShown(const std::string& name, std::int64_t number, bool is_head) {
  Result<RevisionRecord> record = ReadRevision(number);
  if (!record) return Pass(record);
  ShownRevision shown;
  shown.name = name;
  shown.revision = std::move(*record);
  shown.is_head = is_head;
  Result<Statement> read =
      database_.Prepare("SELECT body, sheet, EXISTS (SELECT 1 FROM sheets WHERE sheets.sha256 = documents.sheet) FROM documents WHERE sha256 = ?1");
  if (!read) return Pass(read);
  const Result<bool> row = read->Bind(1, shown.revision.document_sha256).Step();
  if (!row) return Pass(row);
  if (!*row)
    return Fail(ErrorCode::kShelfDamaged, fmt::format("the shelf has lost the document of revision {}; put back a copy.", shown.revision.id),
                database_.File());
  shown.document = read->Text(0);
  if (!read->IsNull(1)) shown.sheet_sha256 = read->Text(1);
  shown.sheet_on_shelf = read->Integer(2) != 0;
  if (Sha256Hex(shown.document) != shown.revision.document_sha256)
    return Fail(
        ErrorCode::kShelfDamaged,
        fmt::format("the document of revision {} is not what its hash says; islebook shelf verify says how far the damage goes.", shown.revision.id),
        database_.File());
  return shown;
}

Result<ShownRevision> SqliteShelf::Show(const std::string& spec) {
  const std::size_t at = spec.rfind('@');
  const std::string name = spec.substr(0, at);
  const std::string prefix = at == std::string::npos ? std::string() : spec.substr(at + 1);
  if (at != std::string::npos && (prefix.size() < 4 || prefix.size() > 64 || !IsHex(prefix)))
    return Fail(ErrorCode::kInvalidArgument,
                "after '@' stands the beginning of a revision's id, 4 to 64 of its hex digits; islebook shelf log lists them.", ValidUtf8(spec));
  Result<Transaction> reading = Transaction::Begin(database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  const Result<std::optional<std::int64_t>> map = FindMap(name);
  if (!map) return Pass(map);
  if (!*map) return Fail(ErrorCode::kNotFound, "no map of this name is on the shelf; islebook shelf list shows what is.", ValidUtf8(name));
  const Result<std::optional<std::int64_t>> head = FindHead(**map);
  if (!head) return Pass(head);
  if (!*head) return Fail(ErrorCode::kShelfDamaged, "this name has no revision; islebook shelf verify says how far the damage goes.", name);
  if (prefix.empty()) return ReadShown(name, **head, true);

  Result<Statement> find = database_.Prepare(
      "WITH RECURSIVE history(number) AS (SELECT revision FROM heads WHERE map = ?1 UNION "
      "SELECT parents.parent FROM parents JOIN history ON parents.revision = history.number) "
      "SELECT revisions.number, revisions.id FROM history JOIN revisions ON revisions.number = history.number "
      "WHERE substr(revisions.id, 1, length(?2)) = ?2 ORDER BY revisions.number DESC");
  if (!find) return Pass(find);
  find->Bind(1, **map).Bind(2, prefix);
  std::vector<std::pair<std::int64_t, std::string>> found;
  while (true) {
    const Result<bool> row = find->Step();
    if (!row) return Pass(row);
    if (!*row) break;
    found.emplace_back(find->Integer(0), find->Text(1));
  }
  if (found.empty()) return Fail(ErrorCode::kNotFound, "the map has no such revision; islebook shelf log lists those that it has.", ValidUtf8(spec));
  if (found.size() > 1) {
    std::string which;
    for (const auto& [number, id] : found) which += (which.empty() ? "" : ", ") + id.substr(0, 12);
    return Fail(ErrorCode::kInvalidArgument, fmt::format("several revisions begin so ({}); give more digits.", which), ValidUtf8(spec));
  }
  return ReadShown(name, found.front().first, found.front().first == **head);
}

Result<std::vector<RevisionRecord>> SqliteShelf::Log(const std::string& name) {
  Result<Transaction> reading = Transaction::Begin(database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  const Result<std::optional<std::int64_t>> map = FindMap(name);
  if (!map) return Pass(map);
  if (!*map) return Fail(ErrorCode::kNotFound, "no map of this name is on the shelf; islebook shelf list shows what is.", ValidUtf8(name));
  const Result<std::optional<std::int64_t>> head = FindHead(**map);
  if (!head) return Pass(head);
  std::vector<RevisionRecord> log;
  if (!*head) return log;
  // Numbers grow as revisions arrive and a parent is there first, so falling numbers put children before parents.
  Result<Statement> walk = database_.Prepare(std::string(kHistory) + "SELECT number FROM history ORDER BY number DESC");
  if (!walk) return Pass(walk);
  walk->Bind(1, **head);
  while (true) {
    const Result<bool> row = walk->Step();
    if (!row) return Pass(row);
    if (!*row) return log;
    Result<RevisionRecord> record = ReadRevision(walk->Integer(0));
    if (!record) return Pass(record);
    log.push_back(std::move(*record));
  }
}

Result<std::string> SqliteShelf::Sheet(const std::string& sha256) {
  Result<Statement> read = database_.Prepare("SELECT bytes FROM sheets WHERE sha256 = ?1");
  if (!read) return Pass(read);
  const Result<bool> row = read->Bind(1, sha256).Step();
  if (!row) return Pass(row);
  if (!*row) return Fail(ErrorCode::kNotFound, "this sheet is not on the shelf.", ValidUtf8(sha256));
  std::string bytes = read->Blob(0);
  if (Sha256Hex(bytes) != sha256)
    return Fail(ErrorCode::kShelfDamaged, "this sheet's bytes are not what its hash says; put back a copy of the shelf.", sha256);
  return bytes;
}

namespace {

// Opens for reading where the shelf cannot be written: SQLite needs its side files then, or the word that nobody else writes.
Result<Database> OpenForReading(const std::filesystem::path& file, std::chrono::milliseconds busy_timeout) {
  Error first;
  for (const DatabaseAccess access : {DatabaseAccess::kReadOnly, DatabaseAccess::kImmutable}) {
    if (access == DatabaseAccess::kImmutable) {
      std::error_code error;
      const std::filesystem::path log = file.string() + "-wal";
      if (std::filesystem::exists(log, error) && std::filesystem::file_size(log, error) > 0)
        return Fail(ErrorCode::kShelfUnavailable, "the shelf was not closed and cannot be read to its end without permission to write in its folder.",
                    file.string());
    }
    Result<Database> database = Database::Open(file, access, busy_timeout);
    Result<ShelfState> state = database ? ReadShelfState(*database) : Result<ShelfState>(Pass(database));
    if (state) return database;
    if (access == DatabaseAccess::kReadOnly) first = state.error();
    if (state.error().code != ErrorCode::kShelfUnavailable && state.error().code != ErrorCode::kCannotWrite) return Pass(state);
  }
  return std::unexpected(first);
}

// What the file system says before SQLite is asked; true if there is a file.
Result<bool> LookAtFile(const std::filesystem::path& file, ShelfAccess access) {
  std::error_code error;
  const std::filesystem::file_status status = std::filesystem::status(file, error);
  if (status.type() == std::filesystem::file_type::directory)
    return Fail(ErrorCode::kShelfUnavailable, "this is a folder, not a shelf; name a file with --shelf.", file.string());
  if (status.type() == std::filesystem::file_type::not_found) {
    if (access == ShelfAccess::kCreate) return false;
    return Fail(ErrorCode::kNotFound, "there is no shelf here yet; islebook shelf add makes one.", file.string());
  }
  if (error || !std::filesystem::is_regular_file(status))
    return Fail(ErrorCode::kShelfUnavailable, fmt::format("the shelf cannot be opened: {}.", error ? error.message() : "this is not a regular file"),
                file.string());
  std::ifstream stream(file, std::ios::binary);
  if (!stream) return Fail(ErrorCode::kShelfUnavailable, fmt::format("the shelf cannot be read: {}.", std::strerror(errno)), file.string());
  char magic[16] = {};
  stream.read(magic, sizeof magic);
  // An empty file is a shelf whose making was interrupted, or a place kept for one.
  if (stream.gcount() > 0 && (stream.gcount() < 16 || std::memcmp(magic, "SQLite format 3", 16) != 0))
    return Fail(ErrorCode::kShelfUnavailable, "this file is not a shelf; it was left as it is. Name another file with --shelf.", file.string());
  return true;
}

}  // namespace

Result<std::unique_ptr<Shelf>> OpenSqliteShelf(const std::filesystem::path& file, const SqliteShelfOptions& options) {
  const Result<bool> exists = LookAtFile(file, options.access);
  if (!exists) return Pass(exists);
  if (options.access == ShelfAccess::kRead) {
    Result<Database> database = OpenForReading(file, options.busy_timeout);
    if (!database) return Pass(database);
    const Result<ShelfState> state = ReadShelfState(*database);
    if (!state) return Pass(state);
    if (*state == ShelfState::kCurrent) return std::make_unique<SqliteShelf>(std::move(*database));
    if (*state == ShelfState::kBlank)
      return Fail(ErrorCode::kShelfUnavailable, "this file is empty, not a shelf; islebook shelf add makes it one.", file.string());
  }
  if (!*exists && file.has_parent_path()) {
    std::error_code error;
    std::filesystem::create_directories(file.parent_path(), error);
    if (error) return Fail(ErrorCode::kCannotWrite, fmt::format("the shelf's folder cannot be made: {}.", error.message()), file.string());
  }
  Result<Database> database =
      Database::Open(file, options.access == ShelfAccess::kCreate ? DatabaseAccess::kCreate : DatabaseAccess::kReadWrite, options.busy_timeout);
  if (!database) return Pass(database);
  const Result<ShelfState> state = ReadShelfState(*database);
  if (!state) return Pass(state);
  if (*state == ShelfState::kBlank && options.access != ShelfAccess::kCreate)
    return Fail(ErrorCode::kShelfUnavailable, "this file is empty, not a shelf; islebook shelf add makes it one.", file.string());
  if (*state != ShelfState::kCurrent) {
    if (const Result<void> migrated = MigrateShelf(*database); !migrated) return Pass(migrated);
  }
  // Readers and a writer side by side. Where the file system cannot do that (some network disks) the shelf stays in the older mode, which is only slower.
  const Result<std::string> mode = database->Text("PRAGMA journal_mode");
  if (!mode) return Pass(mode);
  if (*mode != "wal") (void)database->Text("PRAGMA journal_mode = WAL");
  return std::make_unique<SqliteShelf>(std::move(*database));
}

}  // namespace islebook
