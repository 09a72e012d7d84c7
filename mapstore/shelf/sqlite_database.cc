#include "mapstore/shelf/sqlite_database.h"

#include <algorithm>
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

class SqliteStatement final : public StatementEngine {
 public:
  SqliteStatement(sqlite3* database, sqlite3_stmt* statement, std::string file)
      : database_(database), statement_(statement), file_(std::move(file)) {}
  SqliteStatement(const SqliteStatement&) = delete;
  SqliteStatement& operator=(const SqliteStatement&) = delete;
  ~SqliteStatement() override { sqlite3_finalize(statement_); }

  void BindText(int index, std::string_view text) override {
    Bound(sqlite3_bind_text64(statement_, index, text.data() == nullptr ? "" : text.data(), text.size(), SQLITE_TRANSIENT, SQLITE_UTF8));
  }
  void BindInteger(int index, std::int64_t value) override { Bound(sqlite3_bind_int64(statement_, index, value)); }
  void BindReal(int index, std::optional<double> value) override {
    if (value) Bound(sqlite3_bind_double(statement_, index, *value));
  }
  void BindBlob(int index, std::string_view bytes) override {
    Bound(bytes.empty() ? sqlite3_bind_zeroblob(statement_, index, 0)
                        : sqlite3_bind_blob64(statement_, index, bytes.data(), bytes.size(), SQLITE_STATIC));
  }

  Result<bool> Step() override {
    if (bind_failure_ != 0) return std::unexpected(DatabaseError(std::exchange(bind_failure_, 0), "a value could not be bound", file_));
    switch (sqlite3_step(statement_)) {
      case SQLITE_ROW: return true;
      case SQLITE_DONE: return false;
      default: return FailDatabase(database_, file_);
    }
  }

  void Reset() override {
    sqlite3_reset(statement_);
    sqlite3_clear_bindings(statement_);
  }

  bool IsNull(int column) const override { return sqlite3_column_type(statement_, column) == SQLITE_NULL; }
  std::string_view Bytes(int column) const override {
    const void* bytes =
        sqlite3_column_type(statement_, column) == SQLITE_TEXT ? sqlite3_column_text(statement_, column) : sqlite3_column_blob(statement_, column);
    return bytes == nullptr ? std::string_view()
                            : std::string_view(static_cast<const char*>(bytes), static_cast<std::size_t>(sqlite3_column_bytes(statement_, column)));
  }
  std::int64_t Integer(int column) const override { return sqlite3_column_int64(statement_, column); }
  double Real(int column) const override { return sqlite3_column_double(statement_, column); }

 private:
  void Bound(int code) {
    if (code != SQLITE_OK) bind_failure_ = code;
  }

  sqlite3* database_;
  sqlite3_stmt* statement_;
  std::string file_;
  int bind_failure_ = 0;
};

}  // namespace

SqliteDatabase::SqliteDatabase(sqlite3* database, std::string file) : database_(database), file_(std::move(file)) {}

SqliteDatabase::SqliteDatabase(SqliteDatabase&& other) noexcept : database_(std::exchange(other.database_, nullptr)), file_(std::move(other.file_)) {}

SqliteDatabase::~SqliteDatabase() { sqlite3_close_v2(database_); }

Result<SqliteDatabase> SqliteDatabase::Open(const std::filesystem::path& file, DatabaseAccess access, std::chrono::milliseconds busy_timeout) {
  int flags = 0;
  switch (access) {
    case DatabaseAccess::kImmutable: flags = SQLITE_OPEN_READONLY; break;
    case DatabaseAccess::kReadOnly:  // SQLite itself falls back to reading where it may not write
    case DatabaseAccess::kReadWrite: flags = SQLITE_OPEN_READWRITE; break;
    case DatabaseAccess::kCreate: flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE; break;
  }
  Result<SqliteDatabase> database =
      OpenUri(FileUri(file, access == DatabaseAccess::kImmutable ? "?immutable=1" : ""), file.string(), flags, busy_timeout);
  if (database && access == DatabaseAccess::kReadOnly) {
    if (const Result<void> set = database->Execute("PRAGMA query_only = ON"); !set) return std::unexpected(set.error());
  }
  return database;
}

Result<SqliteDatabase> SqliteDatabase::OpenInMemory() {
  return OpenUri("file::memory:", "memory", SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, std::chrono::milliseconds(0));
}

Result<SqliteDatabase> SqliteDatabase::OpenUri(const std::string& uri, const std::string& file, int flags, std::chrono::milliseconds busy_timeout) {
  sqlite3* raw = nullptr;
  const int code = sqlite3_open_v2(uri.c_str(), &raw, flags | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, nullptr);
  SqliteDatabase database(raw, file);
  if (code != SQLITE_OK) return std::unexpected(DatabaseError(code, raw == nullptr ? "memory ran out" : sqlite3_errmsg(raw), file));
  sqlite3_busy_timeout(raw, static_cast<int>(busy_timeout.count()));
  // A shelf may come from anyone: its schema may not run what it likes, and its pages are checked as they are read.
  sqlite3_db_config(raw, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_ENABLE_FKEY, 1, nullptr);
  if (const Result<void> set = database.Execute("PRAGMA cell_size_check = ON; PRAGMA synchronous = FULL;"); !set) return std::unexpected(set.error());
  return database;
}

Result<Statement> SqliteDatabase::Prepare(std::string_view sql, Rows) {
  sqlite3_stmt* statement = nullptr;
  if (sqlite3_prepare_v2(database_, sql.data(), static_cast<int>(sql.size()), &statement, nullptr) != SQLITE_OK)
    return FailDatabase(database_, file_);
  return Statement(std::make_unique<SqliteStatement>(database_, statement, file_));
}

Result<void> SqliteDatabase::Execute(const std::string& sql) {
  if (sqlite3_exec(database_, sql.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK) return FailDatabase(database_, file_);
  return {};
}

Result<void> SqliteDatabase::CopyFrom(SqliteDatabase& other) {
  sqlite3_backup* copy = sqlite3_backup_init(database_, "main", other.database_, "main");
  if (copy == nullptr) return FailDatabase(database_, other.file_);
  sqlite3_backup_step(copy, -1);
  if (const int code = sqlite3_backup_finish(copy); code != SQLITE_OK) return std::unexpected(DatabaseError(code, sqlite3_errstr(code), other.file_));
  return Execute("PRAGMA journal_mode = MEMORY");
}

bool SqliteDatabase::IsInTransaction() const { return sqlite3_get_autocommit(database_) == 0; }

std::int64_t SqliteDatabase::Changes() const { return sqlite3_changes64(database_); }

Result<void> SqliteDatabase::CheckFileIsInPlace() const {
  int moved = 0;
  if (sqlite3_file_control(database_, "main", SQLITE_FCNTL_HAS_MOVED, &moved) == SQLITE_OK && moved != 0)
    return Fail(ErrorCode::kShelfUnavailable,
                "the shelf's file was moved or replaced by another while it was open; nothing was written. Open the shelf again.", file_);
  return {};
}

Result<void> SqliteDatabase::Begin(Kind kind) {
  // A writer begins as one at once, so that a busy shelf is noticed here and not halfway.
  const Result<void> begun = Execute(kind == Kind::kWrite ? "BEGIN IMMEDIATE" : "BEGIN");
  return begun && kind == Kind::kWrite ? CheckFileIsInPlace() : begun;
}

Result<void> SqliteDatabase::Commit(Kind kind) {
  if (kind == Kind::kWrite) {
    if (const Result<void> in_place = CheckFileIsInPlace(); !in_place) return in_place;
  }
  return Execute("COMMIT");
}

void SqliteDatabase::RollBack() {
  if (IsInTransaction()) (void)Execute("ROLLBACK");
}

WordIndex SqliteDatabase::Words() const {
  return {"CROSS JOIN", "words MATCH ?1", "rank MATCH 'bm25(10.0, 5.0, 3.0, 3.0, 1.0, 0.5)'", "rank", "snippet(words, -1, '', '', '...', 12)"};
}

// Each word in quotes and open at its end, all of them needed: nothing that is typed can be an operator of the index.
std::string SqliteDatabase::WordsAskedFor(const std::string& anywhere, const std::string& maker) const {
  std::string match;
  for (const auto& [words, column] : {std::pair(&anywhere, ""), std::pair(&maker, "maker : ")}) {
    for (std::size_t at = 0; at < words->size();) {
      const std::size_t end = std::min(words->find(' ', at), words->size());
      if (end > at) match += fmt::format("{}{}\"{}\"*", match.empty() ? "" : " AND ", column, words->substr(at, end - at));
      at = end + 1;
    }
  }
  return match;
}

}  // namespace islebook
