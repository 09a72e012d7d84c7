#include "mapstore/shelf/sqlite_database.h"

#include <utility>

#include <fmt/format.h>
#include <sqlite3.h>

namespace islebook {
namespace {

// SQLite's result in our words. `code` is the extended result code.
Error DatabaseError(int code, const char* detail, const std::string& file) {
  const auto error = [&](ErrorCode kind, std::string message) { return Error{kind, std::move(message), file}; };
  switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
    case SQLITE_PROTOCOL:
      return error(ErrorCode::kShelfBusy, "another program is writing to the shelf and did not finish in time; nothing was changed, try again.");
    case SQLITE_FULL: return error(ErrorCode::kCannotWrite, "the disk is full; nothing was changed. Free some room and try again.");
    case SQLITE_READONLY:
      return error(ErrorCode::kCannotWrite,
                   "the shelf is read-only here; nothing was changed. Ask for permission to write, or name another file with --shelf.");
    case SQLITE_PERM:
    case SQLITE_AUTH: return error(ErrorCode::kCannotWrite, "permission is denied; nothing was changed.");
    case SQLITE_NOTADB: return error(ErrorCode::kShelfUnavailable, "this file is not a shelf; it was left as it is. Name another file with --shelf.");
    case SQLITE_CORRUPT:
      return error(
          ErrorCode::kShelfDamaged,
          fmt::format("the shelf's file is damaged ({}); nothing was changed. islebook shelf verify says how far; put back a copy.", detail));
    case SQLITE_CANTOPEN:
      return error(ErrorCode::kShelfUnavailable, "the shelf cannot be opened: its folder is missing or may not be entered or written.");
    case SQLITE_NOMEM: return error(ErrorCode::kInternal, "memory ran out; nothing was changed.");
    case SQLITE_TOOBIG: return error(ErrorCode::kInvalidArgument, "this is too large for a shelf (1 GB at most); nothing was changed.");
    case SQLITE_IOERR:
      switch (code) {
        case SQLITE_IOERR_READ:
        case SQLITE_IOERR_SHORT_READ:
        case SQLITE_IOERR_CORRUPTFS:
          return error(ErrorCode::kShelfDamaged,
                       "the shelf's file cannot be read to its end (a damaged disk or a file cut short); nothing was changed.");
        case SQLITE_IOERR_NOMEM: return error(ErrorCode::kInternal, "memory ran out; nothing was changed.");
        default:
          return error(ErrorCode::kCannotWrite, "the disk does not take what is written (full, over a limit, or failing); nothing was changed.");
      }
    default: return error(ErrorCode::kInternal, fmt::format("the shelf's database failed: {} (SQLite {}); nothing was changed.", detail, code));
  }
}

std::unexpected<Error> FailDatabase(sqlite3* database, const std::string& file) {
  return std::unexpected(DatabaseError(sqlite3_extended_errcode(database), sqlite3_errmsg(database), file));
}

// A path as an SQLite URI (RFC 3986: everything but unreserved characters and '/' is escaped).
std::string FileUri(const std::filesystem::path& file, const char* parameters) {
  std::string uri = "file:";
  for (const char c : std::filesystem::absolute(file).string()) {
    const bool plain =
        (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '/' || c == '-' || c == '_' || c == '.' || c == '~';
    if (plain)
      uri += c;
    else
      uri += fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  return uri + parameters;
}

}  // namespace

Statement::Statement(sqlite3* database, sqlite3_stmt* statement, std::string file)
    : database_(database), statement_(statement), file_(std::move(file)) {}

Statement::Statement(Statement&& other) noexcept
    : database_(other.database_),
      statement_(std::exchange(other.statement_, nullptr)),
      file_(std::move(other.file_)),
      bind_failure_(other.bind_failure_) {}

Statement::~Statement() { sqlite3_finalize(statement_); }

Statement& Statement::Bind(int index, std::string_view text) {
  if (const int code = sqlite3_bind_text64(statement_, index, text.data() == nullptr ? "" : text.data(), text.size(), SQLITE_TRANSIENT, SQLITE_UTF8);
      code != SQLITE_OK)
    bind_failure_ = code;
  return *this;
}

Statement& Statement::Bind(int index, std::int64_t value) {
  if (const int code = sqlite3_bind_int64(statement_, index, value); code != SQLITE_OK) bind_failure_ = code;
  return *this;
}

Statement& Statement::Bind(int index, double value) {
  if (const int code = sqlite3_bind_double(statement_, index, value); code != SQLITE_OK) bind_failure_ = code;
  return *this;
}

Statement& Statement::Bind(int index, std::optional<double> value) { return value ? Bind(index, *value) : *this; }

Statement& Statement::BindBlob(int index, std::string_view bytes) {
  const int code =
      bytes.empty() ? sqlite3_bind_zeroblob(statement_, index, 0) : sqlite3_bind_blob64(statement_, index, bytes.data(), bytes.size(), SQLITE_STATIC);
  if (code != SQLITE_OK) bind_failure_ = code;
  return *this;
}

Result<bool> Statement::Step() {
  if (bind_failure_ != 0) return std::unexpected(DatabaseError(std::exchange(bind_failure_, 0), "a value could not be bound", file_));
  switch (sqlite3_step(statement_)) {
    case SQLITE_ROW: return true;
    case SQLITE_DONE: return false;
    default: return FailDatabase(database_, file_);
  }
}

Result<void> Statement::Run() {
  while (true) {
    const Result<bool> row = Step();
    if (!row) return std::unexpected(row.error());
    if (!*row) return {};
  }
}

void Statement::Reset() {
  sqlite3_reset(statement_);
  sqlite3_clear_bindings(statement_);
}

std::string Statement::Text(int column) const {
  const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(statement_, column));
  return text == nullptr ? std::string() : std::string(text, static_cast<std::size_t>(sqlite3_column_bytes(statement_, column)));
}

std::string Statement::Blob(int column) const { return std::string(View(column)); }

std::string_view Statement::View(int column) const {
  const auto* bytes = static_cast<const char*>(sqlite3_column_blob(statement_, column));
  return bytes == nullptr ? std::string_view() : std::string_view(bytes, static_cast<std::size_t>(sqlite3_column_bytes(statement_, column)));
}

std::int64_t Statement::Integer(int column) const { return sqlite3_column_int64(statement_, column); }

double Statement::Real(int column) const { return sqlite3_column_double(statement_, column); }

std::optional<double> Statement::RealIfAny(int column) const { return IsNull(column) ? std::nullopt : std::optional(Real(column)); }

bool Statement::IsNull(int column) const { return sqlite3_column_type(statement_, column) == SQLITE_NULL; }

Database::Database(sqlite3* database, std::string file) : database_(database), file_(std::move(file)) {}

Database::Database(Database&& other) noexcept : database_(std::exchange(other.database_, nullptr)), file_(std::move(other.file_)) {}

Database::~Database() { sqlite3_close_v2(database_); }

Result<Database> Database::Open(const std::filesystem::path& file, DatabaseAccess access, std::chrono::milliseconds busy_timeout) {
  int flags = 0;
  switch (access) {
    case DatabaseAccess::kImmutable: flags = SQLITE_OPEN_READONLY; break;
    case DatabaseAccess::kReadOnly:  // SQLite itself falls back to reading where it may not write
    case DatabaseAccess::kReadWrite: flags = SQLITE_OPEN_READWRITE; break;
    case DatabaseAccess::kCreate: flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE; break;
  }
  Result<Database> database = OpenUri(FileUri(file, access == DatabaseAccess::kImmutable ? "?immutable=1" : ""), file.string(), flags, busy_timeout);
  if (database && access == DatabaseAccess::kReadOnly) {
    if (const Result<void> set = database->Execute("PRAGMA query_only = ON"); !set) return std::unexpected(set.error());
  }
  return database;
}

Result<Database> Database::OpenInMemory() {
  return OpenUri("file::memory:", "memory", SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, std::chrono::milliseconds(0));
}

Result<Database> Database::OpenUri(const std::string& uri, const std::string& file, int flags, std::chrono::milliseconds busy_timeout) {
  sqlite3* raw = nullptr;
  const int code = sqlite3_open_v2(uri.c_str(), &raw, flags | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, nullptr);
  Database database(raw, file);
  if (code != SQLITE_OK) return std::unexpected(DatabaseError(code, raw == nullptr ? "memory ran out" : sqlite3_errmsg(raw), file));
  sqlite3_busy_timeout(raw, static_cast<int>(busy_timeout.count()));
  // A shelf may come from anyone: its schema may not run what it likes, and its pages are checked as they are read.
  sqlite3_db_config(raw, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_ENABLE_FKEY, 1, nullptr);
  if (const Result<void> set = database.Execute("PRAGMA cell_size_check = ON; PRAGMA synchronous = FULL;"); !set) return std::unexpected(set.error());
  return database;
}

Result<Statement> Database::Prepare(std::string_view sql) {
  sqlite3_stmt* statement = nullptr;
  if (sqlite3_prepare_v2(database_, sql.data(), static_cast<int>(sql.size()), &statement, nullptr) != SQLITE_OK)
    return FailDatabase(database_, file_);
  return Statement(database_, statement, file_);
}

Result<void> Database::Execute(const std::string& sql) {
  if (sqlite3_exec(database_, sql.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK) return FailDatabase(database_, file_);
  return {};
}

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

Result<void> Database::CopyFrom(Database& other) {
  sqlite3_backup* copy = sqlite3_backup_init(database_, "main", other.database_, "main");
  if (copy == nullptr) return FailDatabase(database_, other.file_);
  sqlite3_backup_step(copy, -1);
  if (const int code = sqlite3_backup_finish(copy); code != SQLITE_OK) return std::unexpected(DatabaseError(code, sqlite3_errstr(code), other.file_));
  return Execute("PRAGMA journal_mode = MEMORY");
}

bool Database::IsInTransaction() const { return sqlite3_get_autocommit(database_) == 0; }

std::int64_t Database::Changes() const { return sqlite3_changes64(database_); }

Result<void> Database::CheckFileIsInPlace() const {
  int moved = 0;
  if (sqlite3_file_control(database_, "main", SQLITE_FCNTL_HAS_MOVED, &moved) == SQLITE_OK && moved != 0)
    return Fail(ErrorCode::kShelfUnavailable,
                "the shelf's file was moved or replaced by another while it was open; nothing was written. Open the shelf again.", file_);
  return {};
}

Transaction::Transaction(Transaction&& other) noexcept : database_(std::exchange(other.database_, nullptr)), kind_(other.kind_) {}

Result<Transaction> Transaction::Begin(Database& database, Kind kind) {
  const Result<void> begun = database.Execute(kind == Kind::kWrite ? "BEGIN IMMEDIATE" : "BEGIN");
  if (!begun) return std::unexpected(begun.error());
  Transaction transaction(database, kind);
  if (kind == Kind::kWrite) {
    if (const Result<void> in_place = database.CheckFileIsInPlace(); !in_place) return std::unexpected(in_place.error());
  }
  return transaction;
}

// Some errors (a full disk among them) have rolled back already.
Transaction::~Transaction() {
  if (database_ != nullptr && database_->IsInTransaction()) (void)database_->Execute("ROLLBACK");
}

Result<void> Transaction::Commit() {
  if (kind_ == Kind::kWrite) {
    if (const Result<void> in_place = database_->CheckFileIsInPlace(); !in_place) return in_place;
  }
  const Result<void> committed = database_->Execute("COMMIT");
  if (!committed) return committed;
  database_ = nullptr;
  return {};
}

}  // namespace islebook
