#pragma once
// The SQLite shelf's class, shared by its two sources: sqlite_shelf.cc (open, add, read) and sqlite_verify.cc.

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "mapstore/shelf/shelf.h"
#include "mapstore/shelf/sqlite_database.h"

namespace islebook {

class SqliteShelf final : public Shelf {
 public:
  explicit SqliteShelf(Database database) : database_(std::move(database)) {}

  Result<AddedRevision> AddRevision(const NewRevision& revision) override;
  Result<std::vector<AddedRevision>> AddRevisions(const std::vector<NewRevision>& revisions) override;
  Result<std::vector<ShelfEntry>> List() override;
  Result<ShownRevision> Show(const std::string& spec) override;
  Result<std::vector<RevisionRecord>> Log(const std::string& name) override;
  Result<std::string> Sheet(const std::string& sha256) override;
  Result<ShelfReport> Verify(const std::function<bool(double)>& progress) override;

 private:
  struct Prepared;  // a revision checked, hashed and ready to insert
  static Result<Prepared> Prepare(const NewRevision& revision);

  Result<AddedRevision> Insert(const Prepared& prepared);
  Result<bool> InsertSheet(const std::string& sha256, const std::string& bytes);
  Result<void> InsertDocument(const Prepared& prepared);
  Result<std::int64_t> InsertRevision(const RevisionRecord& record, const std::vector<std::int64_t>& parents);
  Result<std::int64_t> FindOrAddMap(const std::string& name);
  Result<std::optional<std::int64_t>> FindMap(const std::string& name);
  Result<std::optional<std::int64_t>> FindHead(std::int64_t map);  // the head's number
  Result<std::optional<std::int64_t>> FindRevision(const std::string& id);
  Result<RevisionRecord> ReadRevision(std::int64_t number);
  Result<ShownRevision> ReadShown(const std::string& name, std::int64_t number, bool is_head);
  Result<bool> IsInHistory(std::int64_t head, std::int64_t revision);
  Result<std::int64_t> CountHistory(std::int64_t head);

  Database database_;
};

}  // namespace islebook
