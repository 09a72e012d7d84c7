#pragma once
// SQLite behind values and Results: a connection, a statement, a transaction that rolls back unless committed. Used by the SQLite shelf only.

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "mapstore/units/error.h"

struct sqlite3;
struct sqlite3_stmt;

namespace islebook {

enum class DatabaseAccess {
  kReadOnly,   // changes nothing; closing may tidy the side files
  kImmutable,  // read-only, and nobody else can write: for a disk that is read-only as a whole
  kReadWrite,
  kCreate,  // read and write, made if absent
};

// One prepared statement. Values are bound from 1, columns counted from 0, as SQLite does.
class Statement {
 public:
  Statement(Statement&& other) noexcept;
  Statement& operator=(Statement&&) = delete;
  ~Statement();

  Statement& Bind(int index, std::string_view text);
  Statement& Bind(int index, std::int64_t value);
  Statement& BindBlob(int index, std::string_view bytes);  // the bytes must stay until the statement is stepped

  Result<bool> Step();  // true: a row is there
  Result<void> Run();   // to its end, any rows dropped
  void Reset();

  std::string Text(int column) const;
  std::string Blob(int column) const;
  std::int64_t Integer(int column) const;
  bool IsNull(int column) const;

 private:
  friend class Database;
  Statement(sqlite3* database, sqlite3_stmt* statement, std::string file);
  sqlite3* database_;
  sqlite3_stmt* statement_;
  std::string file_;
  int bind_failure_ = 0;
};

class Database {
 public:
  static Result<Database> Open(const std::filesystem::path& file, DatabaseAccess access, std::chrono::milliseconds busy_timeout);
  static Result<Database> OpenInMemory();
  Database(Database&& other) noexcept;
  Database& operator=(Database&&) = delete;
  ~Database();

  Result<Statement> Prepare(std::string_view sql);
  Result<void> Execute(const std::string& sql);        // one or several statements without values
  Result<std::int64_t> Integer(std::string_view sql);  // first column of the first row; 0 if there is none
  Result<std::string> Text(std::string_view sql);
  bool IsInTransaction() const;
  std::int64_t Changes() const;  // rows changed by the latest statement
  const std::string& File() const { return file_; }

 private:
  Database(sqlite3* database, std::string file);
  static Result<Database> OpenUri(const std::string& uri, const std::string& file, int flags, std::chrono::milliseconds busy_timeout);
  sqlite3* database_;
  std::string file_;
};

// Begins at once as a writer (so that a busy shelf is noticed here and not halfway) or as a reader of one consistent state.
class Transaction {
 public:
  enum class Kind { kRead, kWrite };
  static Result<Transaction> Begin(Database& database, Kind kind);
  Transaction(Transaction&& other) noexcept;
  Transaction& operator=(Transaction&&) = delete;
  ~Transaction();  // rolls back unless committed
  Result<void> Commit();

 private:
  explicit Transaction(Database& database) : database_(&database) {}
  Database* database_;
};

}  // namespace islebook
