#include "mapstore/shelf/database.h"

#include <utility>

namespace islebook {

Statement& Statement::Bind(int index, std::string_view text) {
  engine_->BindText(index, text);
  return *this;
}

Statement& Statement::Bind(int index, std::int64_t value) {
  engine_->BindInteger(index, value);
  return *this;
}

Statement& Statement::Bind(int index, double value) {
  engine_->BindReal(index, value);
  return *this;
}

Statement& Statement::Bind(int index, std::optional<double> value) {
  engine_->BindReal(index, value);
  return *this;
}

Statement& Statement::BindBlob(int index, std::string_view bytes) {
  engine_->BindBlob(index, bytes);
  return *this;
}

Result<void> Statement::Run() {
  while (true) {
    const Result<bool> row = Step();
    if (!row) return std::unexpected(row.error());
    if (!*row) return {};
  }
}

std::optional<double> Statement::RealIfAny(int column) const { return IsNull(column) ? std::nullopt : std::optional(Real(column)); }

Result<std::int64_t> Database::Integer(std::string_view sql) {
  Result<Statement> statement = Prepare(sql);
  if (!statement) return std::unexpected(statement.error());
  const Result<bool> row = statement->Step();
  if (!row) return std::unexpected(row.error());
  return *row ? statement->Integer(0) : 0;
}

Result<std::string> Database::Text(std::string_view sql) {
  Result<Statement> statement = Prepare(sql);
  if (!statement) return std::unexpected(statement.error());
  const Result<bool> row = statement->Step();
  if (!row) return std::unexpected(row.error());
  return *row ? statement->Text(0) : std::string();
}

Transaction::Transaction(Transaction&& other) noexcept : database_(std::exchange(other.database_, nullptr)), kind_(other.kind_) {}

Result<Transaction> Transaction::Begin(Database& database, Kind kind) {
  if (const Result<void> begun = database.Begin(kind); !begun) {
    database.RollBack();
    return std::unexpected(begun.error());
  }
  return Transaction(database, kind);
}

// Some errors (a full disk among them) have rolled back already.
Transaction::~Transaction() {
  if (database_ != nullptr) database_->RollBack();
}

Result<void> Transaction::Commit() {
  const Result<void> committed = database_->Commit(kind_);
  if (committed) database_ = nullptr;
  return committed;
}

}  // namespace islebook
