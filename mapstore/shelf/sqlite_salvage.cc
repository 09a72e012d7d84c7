// Reads a damaged shelf row by row, around what cannot be read, and keeps what its hash vouches for.

#include "mapstore/shelf/salvage.h"

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <unordered_map>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/revision.h"
#include "mapstore/shelf/sqlite_database.h"
#include "mapstore/shelf/sqlite_shelf.h"

namespace islebook {
namespace {

// Calls `each` for every row of a table that can be read; its first column must be the rowid. True: the whole table could be read.
class RowReader {
 public:
  RowReader(SqliteDatabase& database, std::string columns, std::string table)
      : database_(database), columns_(std::move(columns)), table_(std::move(table)) {}

  template <typename F>
  bool ForEach(F each) {
    std::optional<std::int64_t> last_up, last_down;
    if (Walk("ORDER BY rowid", each, last_up)) return true;
    Walk(
        "ORDER BY rowid DESC",
        [&](const Statement& row) {
          if (!last_up || row.Integer(0) > *last_up) each(row);
        },
        last_down);
    // Between the two walks each row is asked for alone.
    const std::int64_t from = last_up ? *last_up + 1 : 1;
    const std::int64_t to = last_down ? *last_down - 1 : from + 100000;
    Result<Statement> one = database_.Prepare("SELECT " + columns_ + " FROM " + table_ + " WHERE rowid = ?1");
    if (!one) return false;
    std::int64_t missed = 0;
    for (std::int64_t rowid = from; rowid <= to && missed < 100000; ++rowid) {
      one->Reset();
      const Result<bool> row = one->Bind(1, rowid).Step();
      if (row && *row)
        each(*one);
      else
        ++missed;
    }
    return false;
  }

 private:
  template <typename F>
  bool Walk(const char* order, F each, std::optional<std::int64_t>& last) {
    Result<Statement> rows = database_.Prepare("SELECT " + columns_ + " FROM " + table_ + " " + order);
    if (!rows) return false;
    while (true) {
      const Result<bool> row = rows->Step();
      if (!row) return false;
      if (!*row) return true;
      each(*rows);
      last = rows->Integer(0);
    }
  }

  SqliteDatabase& database_;
  std::string columns_, table_;
};

struct SavedRevision {
  RevisionRecord record;
  std::int64_t number = 0;
  bool usable = false;  // its document is there too
};

class Salvager {
 public:
  Salvager(SqliteDatabase& from, Shelf& to, const std::function<bool(double)>& progress) : from_(from), to_(to), progress_(progress) {}

  Result<SalvageReport> Run() {
    for (const auto step : {&Salvager::SaveSheets, &Salvager::FindDocuments, &Salvager::ReadRevisions, &Salvager::ReadNames, &Salvager::SaveMaps}) {
      if (progress_ && !progress_(done_)) return Fail(ErrorCode::kCancelled, "saving was stopped.");
      if (const Result<void> saved = (this->*step)(); !saved) return std::unexpected(saved.error());
      done_ += 0.2;
    }
    return std::move(report_);
  }

 private:
  Result<void> SaveSheets() {
    Result<void> outcome;
    const bool whole = RowReader(from_, "rowid, sha256, bytes", "sheets").ForEach([&](const Statement& row) {
      if (!outcome) return;
      const std::string bytes = row.Blob(2);
      if (Sha256Hex(bytes) != row.Text(1)) {
        ++report_.lost_sheets;
        report_.losses.push_back(fmt::format("The sheet {} is not what its hash says and was left out.", row.Text(1)));
        return;
      }
      if (const Result<std::string> added = to_.AddSheet(bytes); !added)
        outcome = std::unexpected(added.error());
      else
        sheets_.insert(row.Text(1));
    });
    report_.sheets = static_cast<std::int64_t>(sheets_.size());
    if (!whole) report_.losses.emplace_back("Not all sheets could be read.");
    return outcome;
  }

  Result<void> FindDocuments() {
    const bool whole = RowReader(from_, "rowid, sha256, body", "documents").ForEach([&](const Statement& row) {
      const std::string body = row.Text(2);
      if (Sha256Hex(body) == row.Text(1) && ParseMapDocument(body))
        documents_[row.Text(1)] = row.Integer(0);
      else
        report_.losses.push_back(fmt::format("The document {} is not what its hash says and was left out.", row.Text(1)));
    });
    if (!whole) report_.losses.emplace_back("Not all documents could be read.");
    return {};
  }

  Result<void> ReadRevisions() {
    const bool whole = RowReader(from_, "number, id, record", "revisions").ForEach([&](const Statement& row) {
      known_.insert(row.Integer(0));
      const std::string text = row.Text(2);
      const nlohmann::json json = Sha256Hex(text) == row.Text(1) ? nlohmann::json::parse(text, nullptr, false) : nlohmann::json();
      SavedRevision revision;
      revision.number = row.Integer(0);
      RevisionRecord& record = revision.record;
      record.id = row.Text(1);
      try {
        record.author = json.at("author").get<std::string>();
        record.document_sha256 = json.at("document").get<std::string>();
        record.message = json.at("message").get<std::string>();
        record.parents = json.at("parents").get<std::vector<std::string>>();
        record.time = json.at("time").get<std::string>();
      } catch (const nlohmann::json::exception&) {
        return;
      }
      if (RevisionId(record) != record.id) return;
      revision.usable = documents_.contains(record.document_sha256);
      number_of_[record.id] = revision.number;
      revisions_[revision.number] = std::move(revision);
    });
    if (!whole) report_.losses.emplace_back("Not all revisions could be read.");
    // Numbers of parents, which bridge a revision that is lost.
    Result<Statement> rows = from_.Prepare("SELECT revision, parent FROM parents ORDER BY revision, position");
    while (rows) {
      const Result<bool> row = rows->Step();
      if (!row || !*row) break;
      parents_[rows->Integer(0)].push_back(rows->Integer(1));
      known_.insert(rows->Integer(0));
      known_.insert(rows->Integer(1));
    }
    for (const auto& [number, revision] : revisions_) {
      std::vector<std::int64_t>& above = parents_[number];
      if (!above.empty()) continue;
      for (const std::string& id : revision.record.parents)
        if (const auto found = number_of_.find(id); found != number_of_.end()) above.push_back(found->second);
    }
    return {};
  }

  Result<void> ReadNames() {
    RowReader(from_, "number, name", "maps").ForEach([&](const Statement& row) {
      if (CheckMapName(row.Text(1))) names_[row.Integer(0)] = row.Text(1);
    });
    const bool branches = HasColumn("heads", "branch");
    RowReader(from_, branches ? "number, map, revision, branch" : "number, map, revision, ''", "heads").ForEach([&](const Statement& row) {
      std::int64_t& latest = head_rows_[{row.Integer(1), row.Text(3)}];
      if (row.Integer(0) < latest) return;
      latest = row.Integer(0);
      heads_[{row.Integer(1), row.Text(3)}] = row.Integer(2);
      known_.insert(row.Integer(2));
    });
    return {};
  }

  bool HasColumn(const char* table, const char* column) {
    const Result<std::int64_t> count = from_.Integer(fmt::format("SELECT count(*) FROM pragma_table_xinfo('{}') WHERE name = '{}'", table, column));
    return count && *count > 0;
  }

  bool Usable(std::int64_t number) const {
    const auto found = revisions_.find(number);
    return found != revisions_.end() && found->second.usable;
  }

  // The nearest revisions before this one that are saved, past those that are lost.
  std::vector<std::int64_t> SavedBefore(std::int64_t number) const {
    std::vector<std::int64_t> saved, waiting;
    std::set<std::int64_t> seen;
    if (const auto above = parents_.find(number); above != parents_.end()) waiting.assign(above->second.rbegin(), above->second.rend());
    while (!waiting.empty()) {
      const std::int64_t next = waiting.back();
      waiting.pop_back();
      if (!seen.insert(next).second) continue;
      if (Usable(next)) {
        saved.push_back(next);
        continue;
      }
      if (const auto above = parents_.find(next); above != parents_.end())
        waiting.insert(waiting.end(), above->second.rbegin(), above->second.rend());
    }
    return saved;
  }

  Result<IncomingRevision> Incoming(std::int64_t number) {
    const SavedRevision& saved = revisions_.at(number);
    IncomingRevision incoming;
    incoming.record = saved.record;
    std::vector<std::string> parents;
    for (const std::int64_t parent : SavedBefore(number))
      parents.push_back(new_id_.contains(parent) ? new_id_.at(parent) : revisions_.at(parent).record.id);
    if (parents != saved.record.parents) {
      incoming.record.parents = parents;
      incoming.record.message += fmt::format("{}[saved from a damaged shelf, where it was revision {}]", saved.record.message.empty() ? "" : "\n",
                                             saved.record.id.substr(0, 12));
      incoming.record.id = RevisionId(incoming.record);
    }
    new_id_[number] = incoming.record.id;
    Result<Statement> read = from_.Prepare("SELECT body FROM documents WHERE rowid = ?1");
    if (!read) return std::unexpected(read.error());
    const Result<bool> row = read->Bind(1, documents_.at(saved.record.document_sha256)).Step();
    if (!row) return std::unexpected(row.error());
    incoming.document = read->Text(0);
    return incoming;
  }

  // Everything that a head stands on, oldest first, and the head; an empty head where nothing is left.
  Result<IncomingMap> History(const std::string& name, std::int64_t head) {
    IncomingMap map;
    map.name = name;
    std::vector<std::int64_t> waiting = Usable(head) ? std::vector{head} : SavedBefore(head);
    if (waiting.empty()) return map;
    const std::int64_t tip = *std::max_element(waiting.begin(), waiting.end());
    std::set<std::int64_t> history;
    while (!waiting.empty()) {
      const std::int64_t number = waiting.back();
      waiting.pop_back();
      if (!history.insert(number).second) continue;
      for (const std::int64_t parent : SavedBefore(number)) waiting.push_back(parent);
    }
    for (const std::int64_t number : history) {
      saved_.insert(number);
      if (placed_.contains(number)) continue;
      Result<IncomingRevision> incoming = Incoming(number);
      if (!incoming) return std::unexpected(incoming.error());
      placed_.insert(number);
      if (incoming->record.id == revisions_.at(number).record.id) {
        ++report_.revisions;
      } else {
        ++report_.rewritten_revisions;
        report_.losses.push_back(fmt::format("Revision {} of {} has a gap before it and is now {}.", revisions_.at(number).record.id.substr(0, 12),
                                             name, incoming->record.id.substr(0, 12)));
      }
      map.revisions.push_back(std::move(*incoming));
    }
    map.head = new_id_.at(tip);
    return map;
  }

  // A branch may stand ahead of the main line without having left it; so it is made as it was, not received.
  Result<void> PutOnBranch(const IncomingMap& map, const std::string& branch) {
    std::vector<IncomingRevision> revisions = map.revisions;
    if (revisions.empty() || revisions.back().record.id != map.head) {
      const Result<ShownRevision> head = to_.ShowRevision(map.head);
      if (!head) return std::unexpected(head.error());
      revisions.push_back({head->revision, head->document});
    }
    for (const IncomingRevision& revision : revisions) {
      NewRevision copy;
      copy.name = map.name;
      copy.document = revision.document;
      copy.author = revision.record.author;
      copy.message = revision.record.message;
      copy.time = revision.record.time;
      copy.parents = revision.record.parents;
      copy.branch = branch;
      if (const Result<AddedRevision> added = to_.AddRevision(copy); !added) return std::unexpected(added.error());
    }
    return {};
  }

  Result<void> SaveMaps() {
    for (const auto& [number, name] : names_) {
      bool is_there = false;
      for (const auto& [key, head] : heads_) {  // the main line, whose branch is empty, comes first
        if (key.first != number) continue;
        Result<IncomingMap> map = History(name, head);
        if (!map) return std::unexpected(map.error());
        if (!Usable(head))
          report_.losses.push_back(fmt::format("The latest revision of {}{} is lost.", name, key.second.empty() ? "" : "@" + key.second));
        if (map->head.empty()) continue;
        if (!is_there) map->facts = ReadFacts(number);
        if (is_there && !key.second.empty()) {
          if (const Result<void> put = PutOnBranch(*map, key.second); !put) return put;
          continue;
        }
        const Result<std::vector<ReceivedMap>> received = to_.Receive({*map}, {}, key.second.empty() ? "saved" : key.second);
        if (!received) return std::unexpected(received.error());
        is_there = true;
      }
      if (!is_there) {
        report_.losses.push_back(fmt::format("Nothing of {} could be saved.", name));
        continue;
      }
      ++report_.maps;
      if (removed_.contains(number)) {
        if (const Result<void> set = to_.SetRemoved(name, true, "salvage", "it was off the lists of the damaged shelf"); !set) return set;
      }
    }
    // What no name leads to any more, latest first, so that a whole line of revisions comes together.
    for (auto revision = revisions_.rbegin(); revision != revisions_.rend(); ++revision) {
      if (!revision->second.usable || saved_.contains(revision->first)) continue;
      const std::string name = "saved " + revision->second.record.id.substr(0, 12);
      Result<IncomingMap> map = History(name, revision->first);
      if (!map) return std::unexpected(map.error());
      const Result<std::vector<ReceivedMap>> received = to_.Receive({*map}, {}, "saved");
      if (!received) return std::unexpected(received.error());
      ++report_.maps;
      report_.losses.push_back(fmt::format("The name of a map is lost; it is now called \"{}\".", name));
    }
    for (const std::int64_t number : known_)
      if (!Usable(number)) ++report_.lost_revisions;
    if (report_.lost_revisions > 0) report_.losses.push_back(fmt::format("{} revisions are lost.", report_.lost_revisions));
    return {};
  }

  MapFacts ReadFacts(std::int64_t map) {
    MapFacts facts;
    const auto rows = [&](const char* sql, const auto& each) {
      Result<Statement> read = from_.Prepare(sql);
      if (!read) return;  // an earlier schema
      read->Bind(1, map);
      while (true) {
        const Result<bool> row = read->Step();
        if (!row || !*row) return;
        each(*read);
      }
    };
    std::map<std::string, bool> tags;
    rows("SELECT tag, present FROM tags WHERE map = ?1 ORDER BY number", [&](const Statement& row) { tags[row.Text(0)] = row.Integer(1) != 0; });
    for (const auto& [tag, present] : tags)
      if (present && CheckTag(tag)) facts.tags.push_back(tag);
    rows("SELECT author, time, text, revision FROM notes WHERE map = ?1 ORDER BY number", [&](const Statement& row) {
      MapNote note{row.Text(0), row.Text(1), row.Text(2), std::nullopt};
      if (!row.IsNull(3) && IsSha256Hex(row.Text(3))) note.revision = row.Text(3);
      if (!note.author.empty() && !note.text.empty() && CheckRevisionTime(note.time)) facts.notes.push_back(std::move(note));
    });
    rows("SELECT maker, model, inducer_mm, exducer_mm, trim, turbine_area_ratio, speed_limit_rpm FROM wheels WHERE map = ?1 ORDER BY number",
         [&](const Statement& row) {
           const WheelData wheel{row.Text(0), row.Text(1), row.RealIfAny(2), row.RealIfAny(3), row.RealIfAny(4), row.RealIfAny(5), row.RealIfAny(6)};
           if (CheckWheel(wheel)) facts.wheel = wheel;
         });
    rows("SELECT removed FROM removals WHERE map = ?1 ORDER BY number", [&](const Statement& row) {
      if (row.Integer(0) != 0)
        removed_.insert(map);
      else
        removed_.erase(map);
    });
    return facts;
  }

  SqliteDatabase& from_;
  Shelf& to_;
  const std::function<bool(double)>& progress_;
  double done_ = 0.0;
  SalvageReport report_;
  std::set<std::string> sheets_;
  std::unordered_map<std::string, std::int64_t> documents_;  // rowid by hash, of those that are sound
  std::map<std::int64_t, SavedRevision> revisions_;
  std::unordered_map<std::string, std::int64_t> number_of_;
  std::map<std::int64_t, std::vector<std::int64_t>> parents_;
  std::set<std::int64_t> known_, saved_, placed_, removed_;
  std::map<std::int64_t, std::string> new_id_;
  std::map<std::int64_t, std::string> names_;
  std::map<std::pair<std::int64_t, std::string>, std::int64_t> heads_, head_rows_;
};

}  // namespace

Result<SalvageReport> SalvageSqliteShelf(const std::filesystem::path& damaged, const std::filesystem::path& to,
                                         const std::function<bool(double)>& progress) {
  std::error_code error;
  if (!std::filesystem::is_regular_file(damaged, error)) return Fail(ErrorCode::kNotFound, "there is no such file.", damaged.string());
  if (std::filesystem::exists(std::filesystem::symlink_status(to, error)))
    return Fail(ErrorCode::kCannotWrite, "there is a file of this name already, and it was left as it is; name another.", to.string());
  std::optional<Error> failure;
  std::optional<SqliteDatabase> from;
  for (const DatabaseAccess access : {DatabaseAccess::kReadOnly, DatabaseAccess::kImmutable}) {
    Result<SqliteDatabase> database = SqliteDatabase::Open(damaged, access, std::chrono::milliseconds(5000));
    Result<std::int64_t> tables = database ? database->Integer("SELECT count(*) FROM sqlite_schema WHERE name IN ('revisions', 'documents', 'heads')")
                                           : Result<std::int64_t>(std::unexpected(database.error()));
    if (tables && *tables == 3) {
      from.emplace(std::move(*database));
      break;
    }
    if (tables)
      failure = Error{ErrorCode::kShelfUnavailable, "this file is not a shelf.", damaged.string()};
    else if (!failure)
      failure = tables.error();
  }
  if (!from) {
    if (failure->code != ErrorCode::kShelfUnavailable)
      return Fail(ErrorCode::kShelfDamaged, "not even the shelf's table of contents can be read; only a copy helps.", damaged.string());
    return std::unexpected(*failure);
  }
  const std::filesystem::path part = to.string() + ".part";
  const auto drop_part = [&] {
    std::error_code ignored;
    for (const char* ending : {"", "-wal", "-shm", "-journal"}) std::filesystem::remove(part.string() + ending, ignored);
  };
  drop_part();
  Result<SalvageReport> report = Fail(ErrorCode::kInternal, "");
  {
    Result<std::unique_ptr<Shelf>> shelf = OpenSqliteShelf(part, {.access = ShelfAccess::kCreate});
    if (!shelf) return std::unexpected(shelf.error());
    report = Salvager(*from, **shelf, progress).Run();
    if (report) {
      if (const Result<void> copied = (*shelf)->BackUp(to); !copied) report = std::unexpected(copied.error());
    }
  }
  drop_part();
  return report;
}

}  // namespace islebook
