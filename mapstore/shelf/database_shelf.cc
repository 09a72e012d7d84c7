#include <algorithm>

#include <fmt/format.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/database_shelf.h"
#include "mapstore/shelf/revision.h"

namespace islebook {
namespace {

bool IsHex(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); });
}

}  // namespace

struct DatabaseShelf::Prepared {
  const NewRevision* given = nullptr;
  std::string document;  // canonical
  std::string document_sha256;
  PerformanceMap map;
  std::optional<std::string> sheet_sha256;  // of the sheet that is given along
};

Result<DatabaseShelf::Prepared> DatabaseShelf::Prepare(const NewRevision& revision) {
  if (const Result<void> good = CheckMapName(revision.name); !good) return Pass(good);
  if (revision.author.empty() || ValidUtf8(revision.author) != revision.author)
    return Fail(ErrorCode::kInvalidArgument, "a revision needs an author, as UTF-8 text.", revision.name);
  if (ValidUtf8(revision.message) != revision.message) return Fail(ErrorCode::kInvalidArgument, "the message is not UTF-8 text.", revision.name);
  if (revision.time) {
    if (const Result<void> good = CheckRevisionTime(*revision.time); !good) return Pass(good);
  }
  if (!revision.branch.empty()) {
    if (const Result<void> good = CheckBranchName(revision.branch); !good) return Pass(good);
  }
  Result<PerformanceMap> map = ParseMapDocument(revision.document);
  if (!map) return Pass(map);
  Prepared prepared;
  prepared.given = &revision;
  Result<std::string> canonical = CanonicalJson(revision.document);
  if (!canonical) return Pass(canonical);
  prepared.document = std::move(*canonical);
  prepared.document_sha256 = Sha256Hex(prepared.document);
  prepared.map = std::move(*map);
  if (revision.sheet) {
    prepared.sheet_sha256 = Sha256Hex(*revision.sheet);
    if (!prepared.map.source || prepared.map.source->sha256 != *prepared.sheet_sha256)
      return Fail(ErrorCode::kInvalidArgument,
                  "the picture given is not the sheet that this map was made from (their SHA-256 differ); give the original file.", revision.name);
  }
  return prepared;
}

Result<AddedRevision> DatabaseShelf::AddRevision(const NewRevision& revision) {
  Result<std::vector<AddedRevision>> added = AddRevisions({revision});
  if (!added) return Pass(added);
  return std::move(added->front());
}

Result<std::vector<AddedRevision>> DatabaseShelf::AddRevisions(const std::vector<NewRevision>& revisions) {
  std::vector<Prepared> prepared;
  for (const NewRevision& revision : revisions) {
    Result<Prepared> one = Prepare(revision);
    if (!one) return Pass(one);
    prepared.push_back(std::move(*one));
  }
  Result<Transaction> writing = Transaction::Begin(*database_, Transaction::Kind::kWrite);
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

Result<AddedRevision> DatabaseShelf::Insert(const Prepared& prepared) {
  const NewRevision& given = *prepared.given;
  AddedRevision added;
  if (prepared.sheet_sha256) {
    const Result<bool> is_new = InsertSheet(*prepared.sheet_sha256, *given.sheet);
    if (!is_new) return Pass(is_new);
    added.sheet_is_new = *is_new;
  }
  const Result<std::int64_t> map = FindOrAddMap(given.name);
  if (!map) return Pass(map);
  const Result<std::optional<std::int64_t>> head = FindHead(*map, given.branch);
  if (!head) return Pass(head);
  // A new branch begins where the main line stands.
  Result<std::optional<std::int64_t>> base = *head;
  if (!*base && !given.branch.empty()) base = FindHead(*map);
  if (!base) return Pass(base);

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
  } else if (*base) {
    Result<RevisionRecord> current = ReadRevision(**base);
    if (!current) return Pass(current);
    if (current->document_sha256 == prepared.document_sha256) {
      record = std::move(*current);
      if (!*head) {
        if (const Result<void> pointed = PointAt(*map, given.branch, **base, false, ""); !pointed) return Pass(pointed);
        return added;
      }
      const Result<bool> removed = ReadRemoved(*map);
      if (!removed) return Pass(removed);
      if (*removed) {
        if (const Result<void> back = InsertRemoved(*map, false, given.author, "added again"); !back) return Pass(back);
      }
      return added;
    }
    parents.push_back(**base);
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
    if (const Result<void> kept = InsertDocument(prepared.document_sha256, prepared.document, prepared.map); !kept) return Pass(kept);
    const Result<std::int64_t> inserted = InsertRevision(record, parents);
    if (!inserted) return Pass(inserted);
    number = *inserted;
    added.is_new = true;
  }
  if (const Result<void> pointed = PointAt(*map, given.branch, number, false, record.message); !pointed) return Pass(pointed);
  const Result<bool> removed = ReadRemoved(*map);
  if (!removed) return Pass(removed);
  if (*removed) {
    if (const Result<void> back = InsertRemoved(*map, false, given.author, "a new revision"); !back) return Pass(back);
  }
  return added;
}

Result<void> DatabaseShelf::PointAt(std::int64_t map, const std::string& branch, std::int64_t revision, bool closed, const std::string& message) {
  Result<Statement> point = database_->Prepare("INSERT INTO heads (map, revision, time, branch, closed) VALUES (?1, ?2, ?3, ?4, ?5)");
  if (!point) return Pass(point);
  point->Bind(1, map).Bind(2, revision).Bind(3, CurrentRevisionTime()).Bind(4, branch).Bind(5, std::int64_t{closed});
  if (const Result<void> pointed = point->Run(); !pointed) return pointed;
  if (branch.empty()) {
    if (const Result<void> dropped = DropReach(map, true); !dropped) return dropped;
  }
  return closed ? Result<void>() : IndexWords(map, message);
}

Result<bool> DatabaseShelf::InsertSheet(const std::string& sha256, const std::string& bytes) {
  Result<Statement> insert = database_->Prepare("INSERT INTO sheets (sha256, added, bytes) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING");
  if (!insert) return Pass(insert);
  if (const Result<void> run = insert->Bind(1, sha256).Bind(2, CurrentRevisionTime()).BindBlob(3, bytes).Run(); !run) return Pass(run);
  return database_->Changes() > 0;
}

Result<void> DatabaseShelf::InsertDocument(const std::string& sha256, const std::string& body, const PerformanceMap& map) {
  Result<Statement> insert =
      database_->Prepare("INSERT INTO documents (sha256, kind, title, sheet, body) VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT DO NOTHING");
  if (!insert) return Pass(insert);
  insert->Bind(1, sha256).Bind(3, map.title).Bind(5, body);
  if (map.kind) insert->Bind(2, MapKindName(*map.kind));
  if (map.source) insert->Bind(4, map.source->sha256);
  return insert->Run();
}

Result<std::int64_t> DatabaseShelf::InsertRevision(const RevisionRecord& record, const std::vector<std::int64_t>& parents) {
  Result<Statement> insert =
      database_->Prepare("INSERT INTO revisions (id, document, author, time, message, record) VALUES (?1, ?2, ?3, ?4, ?5, ?6) RETURNING number");
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
  Result<Statement> link = database_->Prepare("INSERT INTO parents (revision, position, parent) VALUES (?1, ?2, ?3)");
  if (!link) return Pass(link);
  for (std::size_t i = 0; i < parents.size(); ++i) {
    link->Reset();
    if (const Result<void> linked = link->Bind(1, number).Bind(2, static_cast<std::int64_t>(i)).Bind(3, parents[i]).Run(); !linked)
      return Pass(linked);
  }
  return number;
}

Result<std::optional<std::int64_t>> DatabaseShelf::FindMap(const std::string& name) {
  Result<Statement> find = database_->Prepare("SELECT number FROM maps WHERE name = ?1");
  if (!find) return Pass(find);
  const Result<bool> row = find->Bind(1, name).Step();
  if (!row) return Pass(row);
  return *row ? std::optional(find->Integer(0)) : std::nullopt;
}

Result<std::int64_t> DatabaseShelf::FindOrAddMap(const std::string& name) {
  const Result<std::optional<std::int64_t>> found = FindMap(name);
  if (!found) return Pass(found);
  if (*found) return **found;
  Result<Statement> insert = database_->Prepare("INSERT INTO maps (name) VALUES (?1) RETURNING number");
  if (!insert) return Pass(insert);
  const Result<bool> row = insert->Bind(1, name).Step();
  if (!row) return Pass(row);
  const std::int64_t number = insert->Integer(0);
  if (const Result<void> done = insert->Run(); !done) return Pass(done);
  return number;
}

Result<std::int64_t> DatabaseShelf::NeedMap(const std::string& name) {
  const Result<std::optional<std::int64_t>> map = FindMap(name);
  if (!map) return Pass(map);
  if (!*map) return Fail(ErrorCode::kNotFound, "no map of this name is on the shelf; islebook shelf list shows what is.", ValidUtf8(name));
  return **map;
}

Result<std::optional<std::int64_t>> DatabaseShelf::FindHead(std::int64_t map, const std::string& branch) {
  Result<Statement> find = database_->Prepare("SELECT revision, closed FROM heads WHERE map = ?1 AND branch = ?2 ORDER BY number DESC LIMIT 1");
  if (!find) return Pass(find);
  const Result<bool> row = find->Bind(1, map).Bind(2, branch).Step();
  if (!row) return Pass(row);
  return *row && find->Integer(1) == 0 ? std::optional(find->Integer(0)) : std::nullopt;
}

Result<std::int64_t> DatabaseShelf::NeedRevision(const std::string& id) {
  const Result<std::optional<std::int64_t>> found = FindRevision(id);
  if (!found) return Pass(found);
  if (!*found) return Fail(ErrorCode::kNotFound, "this revision is not on the shelf.", ValidUtf8(id));
  return **found;
}

Result<std::optional<std::int64_t>> DatabaseShelf::FindRevision(const std::string& id) {
  Result<Statement> find = database_->Prepare("SELECT number FROM revisions WHERE id = ?1");
  if (!find) return Pass(find);
  const Result<bool> row = find->Bind(1, id).Step();
  if (!row) return Pass(row);
  return *row ? std::optional(find->Integer(0)) : std::nullopt;
}

Result<RevisionRecord> DatabaseShelf::ReadRevision(std::int64_t number) {
  Result<Statement> read = database_->Prepare("SELECT id, document, author, time, message FROM revisions WHERE number = ?1");
  if (!read) return Pass(read);
  const Result<bool> row = read->Bind(1, number).Step();
  if (!row) return Pass(row);
  if (!*row)
    return Fail(ErrorCode::kShelfDamaged, fmt::format("the shelf has lost its revision number {}; put back a copy.", number), database_->Place());
  RevisionRecord record{read->Text(0), {}, read->Text(1), read->Text(2), read->Text(3), read->Text(4)};
  Result<Statement> above = database_->Prepare(
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

Result<bool> DatabaseShelf::IsInHistory(std::int64_t head, std::int64_t revision) {
  Result<Statement> find = database_->Prepare(std::string(kHistory) + "SELECT 1 FROM history WHERE number = ?2");
  if (!find) return Pass(find);
  return find->Bind(1, head).Bind(2, revision).Step();
}

Result<std::int64_t> DatabaseShelf::CountHistory(std::int64_t head) {
  Result<Statement> count = database_->Prepare(std::string(kHistory) + "SELECT count(*) FROM history");
  if (!count) return Pass(count);
  const Result<bool> row = count->Bind(1, head).Step();
  if (!row) return Pass(row);
  return count->Integer(0);
}

Result<std::vector<ShelfEntry>> DatabaseShelf::List() {
  Result<Transaction> reading = Transaction::Begin(*database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  Result<Statement> names = database_->Prepare(
      "SELECT maps.name, documents.kind, documents.title, documents.sheet, heads.revision, EXISTS (SELECT 1 FROM sheets WHERE sheets.sha256 = "
      "documents.sheet), maps.number "
      "FROM maps JOIN heads ON heads.number = (SELECT max(number) FROM heads WHERE heads.map = maps.number AND heads.branch = '') "
      "JOIN revisions ON revisions.number = heads.revision JOIN documents ON documents.sha256 = revisions.document "
      "WHERE coalesce((SELECT removed FROM removals WHERE removals.map = maps.number ORDER BY removals.number DESC LIMIT 1), 0) = 0 ORDER BY "
      "maps.name");
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
    const std::int64_t map = names->Integer(6);
    const auto branches = OpenBranches(map);
    if (!branches) return Pass(branches);
    for (const auto& [branch, number] : *branches)
      if (!branch.empty()) entry.branches.push_back(branch);
    Result<std::vector<std::string>> tags = ReadTags(map);
    if (!tags) return Pass(tags);
    entry.tags = std::move(*tags);
    Result<std::optional<WheelData>> wheel = ReadWheel(map);
    if (!wheel) return Pass(wheel);
    entry.wheel = std::move(*wheel);
    entries.push_back(std::move(entry));
  }
}

Result<ShownRevision> DatabaseShelf::ReadShown(const std::string& name, std::int64_t number, bool is_head) {
  Result<RevisionRecord> record = ReadRevision(number);
  if (!record) return Pass(record);
  ShownRevision shown;
  shown.name = name;
  shown.revision = std::move(*record);
  shown.is_head = is_head;
  Result<Statement> read =
      database_->Prepare("SELECT body, sheet, EXISTS (SELECT 1 FROM sheets WHERE sheets.sha256 = documents.sheet) FROM documents WHERE sha256 = ?1");
  if (!read) return Pass(read);
  const Result<bool> row = read->Bind(1, shown.revision.document_sha256).Step();
  if (!row) return Pass(row);
  if (!*row)
    return Fail(ErrorCode::kShelfDamaged, fmt::format("the shelf has lost the document of revision {}; put back a copy.", shown.revision.id),
                database_->Place());
  shown.document = read->Text(0);
  if (!read->IsNull(1)) shown.sheet_sha256 = read->Text(1);
  shown.sheet_on_shelf = read->Integer(2) != 0;
  if (Sha256Hex(shown.document) != shown.revision.document_sha256)
    return Fail(
        ErrorCode::kShelfDamaged,
        fmt::format("the document of revision {} is not what its hash says; islebook shelf verify says how far the damage goes.", shown.revision.id),
        database_->Place());
  return shown;
}

Result<DatabaseShelf::Found> DatabaseShelf::FindSpec(const std::string& spec) {
  const std::size_t at = spec.rfind('@');
  const std::string name = spec.substr(0, at);
  const std::string part = at == std::string::npos ? std::string() : spec.substr(at + 1);
  const Result<std::int64_t> map = NeedMap(name);
  if (!map) return Pass(map);
  if (at != std::string::npos && part.empty())
    return Fail(ErrorCode::kInvalidArgument, "after '@' stands a branch or the beginning of a revision's id; islebook shelf log lists them.",
                ValidUtf8(spec));
  const Result<std::optional<std::int64_t>> head = FindHead(*map, part);
  if (!head) return Pass(head);
  if (*head) return Found{name, **head, true};
  if (part.empty()) return Fail(ErrorCode::kShelfDamaged, "this name has no revision; islebook shelf verify says how far the damage goes.", name);
  if (!IsHex(part) || part.size() > 64)
    return Fail(ErrorCode::kNotFound, "the map has no branch of this name; islebook shelf log lists those that it has.", ValidUtf8(spec));
  if (part.size() < 4) return Fail(ErrorCode::kInvalidArgument, "give 4 to 64 digits of the revision's id.", ValidUtf8(spec));
  Result<Statement> find = database_->Prepare(
      "WITH RECURSIVE history(number) AS (SELECT revision FROM heads WHERE map = ?1 UNION "
      "SELECT parents.parent FROM parents JOIN history ON parents.revision = history.number) "
      "SELECT revisions.number, revisions.id FROM history JOIN revisions ON revisions.number = history.number "
      "WHERE substr(revisions.id, 1, length(?2)) = ?2 ORDER BY revisions.number DESC");
  if (!find) return Pass(find);
  find->Bind(1, *map).Bind(2, part);
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
  const Result<std::optional<std::int64_t>> main = FindHead(*map);
  if (!main) return Pass(main);
  return Found{name, found.front().first, *main == found.front().first};
}

Result<ShownRevision> DatabaseShelf::Show(const std::string& spec) {
  Result<Transaction> reading = Transaction::Begin(*database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  const Result<Found> found = FindSpec(spec);
  if (!found) return Pass(found);
  return ReadShown(found->name, found->number, found->is_head);
}

Result<ShownRevision> DatabaseShelf::ShowRevision(const std::string& id) {
  Result<Transaction> reading = Transaction::Begin(*database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  const Result<std::int64_t> number = NeedRevision(id);
  if (!number) return Pass(number);
  return ReadShown("", *number, false);
}

Result<std::vector<RevisionRecord>> DatabaseShelf::Log(const std::string& spec) {
  Result<Transaction> reading = Transaction::Begin(*database_, Transaction::Kind::kRead);
  if (!reading) return Pass(reading);
  const Result<Found> found = FindSpec(spec);
  if (!found) return Pass(found);
  // Numbers grow as revisions arrive and a parent is there first, so falling numbers put children before parents.
  Result<Statement> walk = database_->Prepare(std::string(kHistory) + "SELECT number FROM history ORDER BY number DESC");
  if (!walk) return Pass(walk);
  walk->Bind(1, found->number);
  std::vector<RevisionRecord> log;
  while (true) {
    const Result<bool> row = walk->Step();
    if (!row) return Pass(row);
    if (!*row) return log;
    Result<RevisionRecord> record = ReadRevision(walk->Integer(0));
    if (!record) return Pass(record);
    log.push_back(std::move(*record));
  }
}

Result<std::string> DatabaseShelf::Sheet(const std::string& sha256) {
  Result<Statement> read = database_->Prepare("SELECT bytes FROM sheets WHERE sha256 = ?1");
  if (!read) return Pass(read);
  const Result<bool> row = read->Bind(1, sha256).Step();
  if (!row) return Pass(row);
  if (!*row) return Fail(ErrorCode::kNotFound, "this sheet is not on the shelf.", ValidUtf8(sha256));
  std::string bytes = read->Blob(0);
  if (Sha256Hex(bytes) != sha256)
    return Fail(ErrorCode::kShelfDamaged, "this sheet's bytes are not what its hash says; put back a copy of the shelf.", sha256);
  return bytes;
}

Result<std::vector<StoredSheet>> DatabaseShelf::Sheets() {
  Result<Statement> read = database_->Prepare("SELECT sha256, size, added FROM sheets ORDER BY sha256");
  if (!read) return Pass(read);
  std::vector<StoredSheet> sheets;
  while (true) {
    const Result<bool> row = read->Step();
    if (!row) return Pass(row);
    if (!*row) return sheets;
    sheets.push_back({read->Text(0), read->Integer(1), read->Text(2)});
  }
}

Result<std::string> DatabaseShelf::AddSheet(const std::string& bytes) {
  if (bytes.empty()) return Fail(ErrorCode::kInvalidArgument, "the sheet is empty; give the picture's file.");
  std::string sha256 = Sha256Hex(bytes);
  Result<Transaction> writing = Transaction::Begin(*database_, Transaction::Kind::kWrite);
  if (!writing) return Pass(writing);
  if (const Result<bool> inserted = InsertSheet(sha256, bytes); !inserted) return Pass(inserted);
  if (const Result<void> committed = writing->Commit(); !committed) return Pass(committed);
  return sha256;
}

Result<std::string> DatabaseShelf::Mark() {
  const Result<std::int64_t> heads = database_->Integer("SELECT coalesce(max(number), 0) FROM heads");
  if (!heads) return Pass(heads);
  const Result<std::int64_t> removals = database_->Integer("SELECT coalesce(max(number), 0) FROM removals");
  if (!removals) return Pass(removals);
  return fmt::format("{} {}", *heads, *removals);
}

Result<std::int64_t> DatabaseShelf::ChangesElsewhere() { return database_->ChangesElsewhere(); }

Result<void> DatabaseShelf::BackUp(const std::filesystem::path& file) { return database_->BackUp(file); }

}  // namespace islebook
