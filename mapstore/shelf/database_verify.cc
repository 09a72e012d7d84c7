// Reads the whole shelf and hashes everything anew.

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/database_shelf.h"
#include "mapstore/shelf/revision.h"

namespace islebook {
namespace {

// Walks the shelf and writes down what it finds. Damage goes into the report; any other failure (busy, no memory) ends the walk.
class Verifier {
 public:
  Verifier(Database& database, const std::function<bool(double)>& progress) : database_(database), progress_(progress) {}

  Result<ShelfReport> Run() {
    const Result<std::int64_t> bytes = Measure();
    if (!bytes) return std::unexpected(bytes.error());
    total_ = *bytes;
    for (const auto section :
         {&Verifier::CheckStore, &Verifier::CheckSheets, &Verifier::CheckDocuments, &Verifier::CheckRevisions, &Verifier::CheckMaps}) {
      if (const Result<void> kept = database_.Execute("SAVEPOINT section"); !kept) return std::unexpected(kept.error());
      const Result<void> checked = (this->*section)();
      if (checked) continue;
      if (checked.error().code != ErrorCode::kShelfDamaged) return std::unexpected(checked.error());
      Note("file", checked.error().message);
      // A server goes on with a transaction only from before what failed.
      if (const Result<void> back = database_.Execute("ROLLBACK TO section"); !back) return std::unexpected(back.error());
    }
    return std::move(report_);
  }

 private:
  void Note(std::string place, std::string message) {
    const auto same = [&](const ShelfProblem& known) { return known.place == place && known.message == message; };
    if (std::none_of(report_.problems.begin(), report_.problems.end(), same)) report_.problems.push_back({std::move(place), std::move(message)});
  }

  Result<void> Advance(std::int64_t bytes) {
    done_ += bytes;
    if (progress_ && !progress_(total_ > 0 ? std::min(1.0, static_cast<double>(done_) / static_cast<double>(total_)) : 1.0))
      return Fail(ErrorCode::kCancelled, "the check was stopped.", database_.Place());
    return {};
  }

  // `each` is called for every row; false from it is not an error but ends the rows.
  template <typename F>
  Result<void> ForEach(std::string_view sql, F each) {
    Result<Statement> rows = database_.Prepare(sql);
    if (!rows) return std::unexpected(rows.error());
    while (true) {
      const Result<bool> row = rows->Step();
      if (!row) return std::unexpected(row.error());
      if (!*row) return {};
      if (const Result<void> done = each(*rows); !done) return done;
    }
  }

  Result<std::int64_t> Measure() {
    const Result<std::int64_t> bytes = database_.Integer(
        "SELECT coalesce((SELECT CAST(sum(size) AS BIGINT) FROM sheets), 0) + coalesce((SELECT CAST(sum(length(body)) AS BIGINT) FROM documents), "
        "0)");
    if (!bytes && bytes.error().code == ErrorCode::kShelfDamaged) return 0;
    return bytes;
  }

  Result<void> CheckStore() {
    return database_.CheckStore([&](std::string message) { Note("file", std::move(message)); });
  }

  Result<void> CheckSheets() {
    return ForEach("SELECT sha256, bytes FROM sheets", [&](const Statement& row) -> Result<void> {
      const std::string sha256 = row.Text(0);
      const std::string bytes = row.Blob(1);
      ++report_.sheets;
      report_.sheet_bytes += static_cast<std::int64_t>(bytes.size());
      if (Sha256Hex(bytes) != sha256) Note("sheet " + sha256, "its bytes are not what its hash says: the picture was damaged or altered.");
      return Advance(static_cast<std::int64_t>(bytes.size()));
    });
  }

  Result<void> CheckDocuments() {
    return ForEach("SELECT sha256, body, kind, title, sheet FROM documents", [&](const Statement& row) -> Result<void> {
      const std::string place = "document " + row.Text(0);
      const std::string body = row.Text(1);
      ++report_.documents;
      if (Sha256Hex(body) != row.Text(0)) {
        Note(place, "its text is not what its hash says: the map was damaged or altered.");
      } else if (const Result<std::string> canonical = CanonicalJson(body); !canonical || *canonical != body) {
        Note(place, "it is not written in canonical form, so another program put it here.");
      } else if (const Result<PerformanceMap> map = ParseMapDocument(body); !map) {
        Note(place, fmt::format("it is not a map document that this version can read: {} {}", map.error().place, map.error().message));
      } else if (row.Text(2) != (map->kind ? MapKindName(*map->kind) : "") || row.Text(3) != map->title ||
                 row.Text(4) != (map->source ? map->source->sha256 : "")) {
        Note(place, "the list's kind, title or sheet is not the document's: the list was altered.");
      }
      return Advance(static_cast<std::int64_t>(body.size()));
    });
  }

  Result<void> CheckRevisions() {
    Result<Statement> above = database_.Prepare(
        "SELECT revisions.id FROM parents JOIN revisions ON revisions.number = parents.parent WHERE parents.revision = ?1 ORDER BY parents.position");
    if (!above) return std::unexpected(above.error());
    Result<Statement> held = database_.Prepare("SELECT 1 FROM documents WHERE sha256 = ?1");
    if (!held) return std::unexpected(held.error());
    return ForEach("SELECT number, id, document, author, time, message, record FROM revisions ORDER BY number",
                   [&](const Statement& row) -> Result<void> {
                     ++report_.revisions;
                     RevisionRecord record{row.Text(1), {}, row.Text(2), row.Text(3), row.Text(4), row.Text(5)};
                     const std::string place = "revision " + record.id;
                     above->Reset();
                     above->Bind(1, row.Integer(0));
                     while (true) {
                       const Result<bool> parent = above->Step();
                       if (!parent) return std::unexpected(parent.error());
                       if (!*parent) break;
                       record.parents.push_back(above->Text(0));
                     }
                     if (Sha256Hex(row.Text(6)) != record.id)
                       Note(place, "its record is not what its hash says: it was damaged or altered.");
                     else if (RevisionRecordJson(record) != row.Text(6))
                       Note(place, "the tables do not say the same as its record: they were altered.");
                     held->Reset();
                     const Result<bool> there = held->Bind(1, record.document_sha256).Step();
                     if (!there) return std::unexpected(there.error());
                     if (!*there) Note(place, "its document is lost.");
                     return {};
                   });
  }

  Result<void> CheckMaps() {
    return ForEach(
        "SELECT name, (SELECT count(*) FROM revisions WHERE number = (SELECT revision FROM heads WHERE map = maps.number AND closed = 0 ORDER BY "
        "number "
        "DESC LIMIT 1)), EXISTS (SELECT 1 FROM words WHERE words.rowid = maps.number AND words.name = maps.name) FROM maps ORDER BY name",
        [&](const Statement& row) -> Result<void> {
          ++report_.maps;
          if (row.Integer(1) == 0)
            Note("map " + row.Text(0), "it points at no revision.");
          else if (row.Integer(2) == 0)
            Note("map " + row.Text(0), "it is not in the index of words, so that searching will miss it.");
          return {};
        });
  }

  Database& database_;
  const std::function<bool(double)>& progress_;
  std::int64_t total_ = 0;
  std::int64_t done_ = 0;
  ShelfReport report_;
};

}  // namespace

Result<ShelfReport> DatabaseShelf::Verify(const std::function<bool(double)>& progress) {
  Result<Transaction> reading = Transaction::Begin(*database_, Transaction::Kind::kRead);
  if (!reading) return std::unexpected(reading.error());
  return Verifier(*database_, progress).Run();
}

}  // namespace islebook
