#pragma once
// A shelf kept in a database, whichever engine runs it. Sources: database_shelf.cc (add, read), database_branches.cc (branches, receiving), database_facts.cc
// (tags, notes, wheels, removal), database_find.cc (words, reach), database_verify.cc.

#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/shelf/database.h"
#include "mapstore/shelf/shelf.h"

namespace islebook {

class DatabaseShelf final : public Shelf {
 public:
  explicit DatabaseShelf(std::unique_ptr<Database> database) : database_(std::move(database)) {}
  Database& Store() { return *database_; }

  Result<AddedRevision> AddRevision(const NewRevision& revision) override;
  Result<std::vector<AddedRevision>> AddRevisions(const std::vector<NewRevision>& revisions) override;
  Result<std::vector<ReceivedMap>> Receive(const std::vector<IncomingMap>& maps, const std::vector<std::string>& sheets,
                                           const std::string& branch) override;
  Result<std::vector<ShelfEntry>> List() override;
  Result<ShownRevision> Show(const std::string& spec) override;
  Result<ShownRevision> ShowRevision(const std::string& id) override;
  Result<std::vector<RevisionRecord>> Log(const std::string& spec) override;
  Result<std::vector<ShelfBranch>> Branches(const std::string& name) override;
  Result<void> CloseBranch(const std::string& name, const std::string& branch) override;
  Result<Relation> Relate(const std::string& a, const std::string& b) override;
  Result<std::vector<std::string>> MergeBases(const std::string& a, const std::string& b) override;
  Result<std::string> Sheet(const std::string& sha256) override;
  Result<std::vector<StoredSheet>> Sheets() override;
  Result<std::string> AddSheet(const std::string& bytes) override;
  Result<MapFacts> Facts(const std::string& name) override;
  Result<void> SetTag(const std::string& name, const std::string& tag, bool present, const std::string& author) override;
  Result<void> AddNote(const std::string& name, const MapNote& note) override;
  Result<void> SetWheel(const std::string& name, const WheelData& wheel, const std::string& author) override;
  Result<void> SetRemoved(const std::string& name, bool removed, const std::string& author, const std::string& reason) override;
  Result<std::vector<FoundMap>> Find(const FindOptions& options) override;
  Result<std::vector<std::string>> ReachDue(std::int64_t version, std::int64_t limit) override;
  Result<void> SetReach(const std::vector<ReachEntry>& entries) override;
  Result<void> ReachAt(double flow, double pressure_ratio, double efficiency, double surge_margin,
                       const std::function<bool(const ReachHit&)>& each) override;
  Result<void> ReachOutlines(const std::function<bool(const ReachHit&)>& each) override;
  Result<ReachName> ReachNameOf(std::int64_t map) override;
  Result<std::int64_t> ChangesElsewhere() override;
  Result<std::string> Mark() override;
  Result<void> BackUp(const std::filesystem::path& file) override;
  Result<ShelfReport> Verify(const std::function<bool(double)>& progress) override;

 private:
  struct Prepared;  // a revision checked, hashed and ready to insert
  static Result<Prepared> Prepare(const NewRevision& revision);

  // Everything below runs inside the caller's transaction.
  Result<AddedRevision> Insert(const Prepared& prepared);
  Result<ReceivedMap> ReceiveOne(const IncomingMap& incoming, const std::string& branch);
  Result<bool> InsertSheet(const std::string& sha256, const std::string& bytes);
  Result<void> InsertDocument(const std::string& sha256, const std::string& body, const PerformanceMap& map);
  Result<std::int64_t> InsertRevision(const RevisionRecord& record, const std::vector<std::int64_t>& parents);
  Result<void> PointAt(std::int64_t map, const std::string& branch, std::int64_t revision, bool closed, const std::string& message);
  Result<std::int64_t> FindOrAddMap(const std::string& name);
  Result<std::optional<std::int64_t>> FindMap(const std::string& name);
  Result<std::int64_t> NeedMap(const std::string& name);  // kNotFound
  Result<std::optional<std::int64_t>> FindHead(std::int64_t map,
                                               const std::string& branch = {});  // the head's number; nullopt for a closed branch too
  Result<std::vector<std::pair<std::string, std::int64_t>>> OpenBranches(std::int64_t map);
  Result<std::optional<std::int64_t>> FindRevision(const std::string& id);
  Result<std::int64_t> NeedRevision(const std::string& id);  // kNotFound
  Result<RevisionRecord> ReadRevision(std::int64_t number);
  Result<ShownRevision> ReadShown(const std::string& name, std::int64_t number, bool is_head);
  struct Found {
    std::string name;
    std::int64_t number = 0;
    bool is_head = false;
  };
  Result<Found> FindSpec(const std::string& spec);
  Result<bool> IsInHistory(std::int64_t head, std::int64_t revision);
  Result<std::int64_t> CountHistory(std::int64_t head);
  Result<std::vector<std::string>> ReadTags(std::int64_t map);
  Result<std::vector<MapNote>> ReadNotes(std::int64_t map);
  Result<std::optional<WheelData>> ReadWheel(std::int64_t map);
  Result<bool> ReadRemoved(std::int64_t map);
  Result<void> InsertTag(std::int64_t map, const std::string& tag, bool present, const std::string& author);
  Result<void> InsertWheel(std::int64_t map, const WheelData& wheel, const std::string& author);
  Result<void> InsertNote(std::int64_t map, const MapNote& note);
  Result<void> InsertRemoved(std::int64_t map, bool removed, const std::string& author, const std::string& reason);
  Result<void> IndexWords(std::int64_t map, const std::string& message);  // `message` joins those that are indexed already
  Result<void> DropReach(std::int64_t map, bool due);

  std::unique_ptr<Database> database_;
};

// The revisions that a head stands on, itself included; ?1 is the head's number.
inline constexpr const char* kHistory =
    "WITH RECURSIVE history(number) AS (VALUES (?1) UNION SELECT parents.parent FROM parents JOIN history ON parents.revision = history.number) ";

template <typename T>
std::unexpected<Error> Pass(const Result<T>& failed) {
  return std::unexpected(failed.error());
}

}  // namespace islebook
