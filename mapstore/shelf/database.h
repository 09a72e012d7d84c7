#pragma once
// What a shelf needs of a database: statements, transactions, and the few things that SQLite and a server say differently. SqliteDatabase and ServerDatabase are such
// databases; their tables have the same names and columns (FILE_FORMAT.md), so that one class (database_shelf.h) keeps shelves in either.

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "mapstore/units/error.h"

namespace islebook {

// A statement as its engine knows it.
class StatementEngine {
 public:
  virtual ~StatementEngine() = default;
  virtual void BindText(int index, std::string_view text) = 0;
  virtual void BindInteger(int index, std::int64_t value) = 0;
  virtual void BindReal(int index, std::optional<double> value) = 0;
  virtual void BindBlob(int index, std::string_view bytes) = 0;
  virtual Result<bool> Step() = 0;
  virtual void Reset() = 0;
  virtual bool IsNull(int column) const = 0;
  virtual std::string_view Bytes(int column) const = 0;  // of a text or a blob; empty for null
  virtual std::int64_t Integer(int column) const = 0;
  virtual double Real(int column) const = 0;
};

// One statement. Values are bound from 1 and stand as ?1 in the SQL; columns are counted from 0. A value that is not bound is null.
class Statement {
 public:
  explicit Statement(std::unique_ptr<StatementEngine> engine) : engine_(std::move(engine)) {}

  Statement& Bind(int index, std::string_view text);
  Statement& Bind(int index, std::int64_t value);
  Statement& Bind(int index, double value);
  Statement& Bind(int index, std::optional<double> value);  // nullopt: null
  Statement& BindBlob(int index, std::string_view bytes);   // the bytes must stay until the statement is stepped

  Result<bool> Step() { return engine_->Step(); }  // true: a row is there
  Result<void> Run();                              // to its end, any rows dropped
  void Reset() { engine_->Reset(); }

  std::string Text(int column) const { return std::string(engine_->Bytes(column)); }
  std::string Blob(int column) const { return std::string(engine_->Bytes(column)); }
  std::string_view View(int column) const { return engine_->Bytes(column); }  // until the next step
  std::int64_t Integer(int column) const { return engine_->Integer(column); }
  double Real(int column) const { return engine_->Real(column); }
  std::optional<double> RealIfAny(int column) const;
  bool IsNull(int column) const { return engine_->IsNull(column); }

 private:
  std::unique_ptr<StatementEngine> engine_;
};

// How an index of words is asked: pieces of SQL, in which ?1 is what WordsAskedFor() gives.
struct WordIndex {
  const char* join;     // joins the tables in the order that they are written, where the engine would otherwise try another
  const char* matches;  // a condition
  const char* ranked;   // one more, where the best shall come first; may be empty
  const char* order;    // the best first
  const char* where;    // a few words around what was found
};

class Database {
 public:
  virtual ~Database() = default;

  // kMany: more rows than memory should hold at once; only within a transaction.
  enum class Rows { kFew, kMany };
  virtual Result<Statement> Prepare(std::string_view sql, Rows rows = Rows::kFew) = 0;
  virtual Result<void> Execute(const std::string& sql) = 0;  // one or several statements without values
  Result<std::int64_t> Integer(std::string_view sql);        // first column of the first row; 0 if there is none
  Result<std::string> Text(std::string_view sql);            // likewise; empty
  virtual std::int64_t Changes() const = 0;                  // rows changed by the latest statement
  virtual const std::string& Place() const = 0;              // where it is, for messages; no password in it
  virtual bool IsInTransaction() const = 0;

  // A reader sees one state from beginning to end. A writer is the only one and knows it from the beginning: kShelfBusy where another did not finish in time.
  enum class Kind { kRead, kWrite };
  virtual Result<void> Begin(Kind kind) = 0;
  virtual Result<void> Commit(Kind kind) = 0;
  virtual void RollBack() = 0;  // what is left of a transaction, if anything

  virtual WordIndex Words() const = 0;
  // Words as the index is asked for them: all of `anywhere` somewhere in a map and all of `maker` in its maker. Either is letters and digits parted by blanks.
  virtual std::string WordsAskedFor(const std::string& anywhere, const std::string& maker) const = 0;
  // One more condition on a row of reach_bands where the index of places needs it said in another way; ?1 is the flow, ?2 the pressure ratio.
  virtual const char* ReachCondition() const = 0;

  // What the engine finds wrong with its own store: pages, tables, guards. Rows of the shelf's own tables are checked elsewhere.
  virtual Result<void> CheckStore(const std::function<void(std::string)>& note) = 0;

  // Another number once another connection changed anything.
  virtual Result<std::int64_t> ChangesElsewhere() = 0;

  // A copy of the whole shelf as a file; as Shelf::BackUp.
  virtual Result<void> BackUp(const std::filesystem::path& file) = 0;
};

// Rolls back unless committed.
class Transaction {
 public:
  using Kind = Database::Kind;
  static Result<Transaction> Begin(Database& database, Kind kind);
  Transaction(Transaction&& other) noexcept;
  Transaction& operator=(Transaction&&) = delete;
  ~Transaction();
  Result<void> Commit();

 private:
  Transaction(Database& database, Kind kind) : database_(&database), kind_(kind) {}
  Database* database_;
  Kind kind_;
};

}  // namespace islebook
