#pragma once
// SQLite behind values and Results: a connection, a statement, a transaction that rolls back unless committed. Used by the SQLite shelf only.

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
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
  Statement& Bind(int index, double value);
  Statement& Bind(int index, std::optional<double> value);  // nullopt: null, which an unbound value is too
  Statement& BindBlob(int index, std::string_view bytes);   // the bytes must stay until the statement is stepped

  Result<bool> Step();  // true: a row is there
  Result<void> Run();   // to its end, any rows dropped
  void Reset();

  std::string Text(int column) const;
  std::string Blob(int column) const;
  std::string_view View(int column) const;  // a blob's bytes, until the next step
  std::int64_t Integer(int column) const;
  double Real(int column) const;
  std::optional<double> RealIfAny(int column) const;
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
  Result<void> CopyFrom(Database& other);  // everything, over what is here
  bool IsInTransaction() const;
  // kShelfUnavailable if another file now stands where this one was opened: what is written here would be lost.
  Result<void> CheckFileIsInPlace() const;
  std::int64_t Changes() const;  // rows changed by the latest statement
  const std::string& File() const { return file_; }

 private:
  Database(sqlite3* database, std::string file);
  static Result<Database> OpenUri(const std::string& uri, const std::string& file, int flags, std::chrono::milliseconds busy_timeout);
  sqlite3* database_;
  std::string file_;
};

// Begins at once as a writer (so that a busy shelf is noticed here and not halfway) or as a reader of one consistent state. A writer looks, when it begins and
// when it commits, whether the file is still where it was opened.
class Transaction {
 public:
  enum class Kind { kRead, kWrite };
  static Result<Transaction> Begin(Database& database, Kind kind);
  Transaction(Transaction&& other) noexcept;
  Transaction& operator=(Transaction&&) = delete;
  ~Transaction();  // rolls back unless committed
  Result<void> Commit();

 private:
  Transaction(Database& database, Kind kind) : database_(&database), kind_(kind) {}
  Database* database_;
  Kind kind_;
};

}  // namespace islebook
