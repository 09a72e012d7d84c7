#pragma once
// SQLite as a shelf's database.

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>
#include <string_view>

#include "mapstore/shelf/database.h"
#include "mapstore/units/error.h"

struct sqlite3;

namespace islebook {

enum class DatabaseAccess {
  kReadOnly,   // changes nothing; closing may tidy the side files
  kImmutable,  // read-only, and nobody else can write: for a disk that is read-only as a whole
  kReadWrite,
  kCreate,  // read and write, made if absent
};

class SqliteDatabase final : public Database {
 public:
  static Result<SqliteDatabase> Open(const std::filesystem::path& file, DatabaseAccess access, std::chrono::milliseconds busy_timeout);
  static Result<SqliteDatabase> OpenInMemory();
  SqliteDatabase(SqliteDatabase&& other) noexcept;
  SqliteDatabase& operator=(SqliteDatabase&&) = delete;
  ~SqliteDatabase() override;

  Result<Statement> Prepare(std::string_view sql, Rows rows = Rows::kFew) override;
  Result<void> Execute(const std::string& sql) override;
  std::int64_t Changes() const override;
  const std::string& Place() const override { return file_; }
  bool IsInTransaction() const override;
  // A writer looks, when it begins and when it commits, whether the file is still where it was opened.
  Result<void> Begin(Kind kind) override;
  Result<void> Commit(Kind kind) override;
  void RollBack() override;
  WordIndex Words() const override;
  std::string WordsAskedFor(const std::string& anywhere, const std::string& maker) const override;
  const char* ReachCondition() const override { return ""; }
  Result<void> CheckStore(const std::function<void(std::string)>& note) override;
  Result<std::int64_t> ChangesElsewhere() override { return Integer("PRAGMA data_version"); }
  Result<void> BackUp(const std::filesystem::path& file) override;

  Result<void> CopyFrom(SqliteDatabase& other);  // everything, over what is here

 private:
  SqliteDatabase(sqlite3* database, std::string file);
  static Result<SqliteDatabase> OpenUri(const std::string& uri, const std::string& file, int flags, std::chrono::milliseconds busy_timeout);
  // kShelfUnavailable if another file now stands where this one was opened: what is written here would be lost.
  Result<void> CheckFileIsInPlace() const;
  sqlite3* database_;
  std::string file_;
};

// Makes a file of this name whole or not at all: `fill` makes it beside its place under another name, and it gets its own once it is on the disk. kCannotWrite if there
// is such a file already.
Result<void> MakeWholeFile(const std::filesystem::path& file, const std::function<Result<void>(const std::filesystem::path& part)>& fill);

}  // namespace islebook
