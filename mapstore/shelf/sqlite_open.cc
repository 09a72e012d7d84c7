// Finds, makes and opens the shelf's file.

#include <cerrno>
#include <cstring>
#include <fstream>
#include <string_view>
#include <system_error>

#include <fmt/format.h>
#include <unistd.h>

#include "mapstore/shelf/database_shelf.h"
#include "mapstore/shelf/sqlite_schema.h"
#include "mapstore/shelf/sqlite_shelf.h"

namespace islebook {
namespace {

// Opens for reading where the shelf cannot be written: SQLite needs its side files then, or the word that nobody else writes.
Result<SqliteDatabase> OpenForReading(const std::filesystem::path& file, std::chrono::milliseconds busy_timeout) {
  Error first;
  for (const DatabaseAccess access : {DatabaseAccess::kReadOnly, DatabaseAccess::kImmutable}) {
    if (access == DatabaseAccess::kImmutable) {
      std::error_code error;
      const std::filesystem::path log = file.string() + "-wal";
      if (std::filesystem::exists(log, error) && std::filesystem::file_size(log, error) > 0)
        return Fail(ErrorCode::kShelfUnavailable, "the shelf was not closed and cannot be read to its end without permission to write in its folder.",
                    file.string());
    }
    Result<SqliteDatabase> database = SqliteDatabase::Open(file, access, busy_timeout);
    Result<ShelfState> state = database ? ReadShelfState(*database) : Result<ShelfState>(Pass(database));
    if (state) return database;
    if (access == DatabaseAccess::kReadOnly) first = state.error();
    if (state.error().code != ErrorCode::kShelfUnavailable && state.error().code != ErrorCode::kCannotWrite) return Pass(state);
  }
  return std::unexpected(first);
}

// Whether a file whose beginning never reached the disk is a shelf in the making: its journal is then beside it, from which SQLite takes back what was begun.
bool IsInTheMaking(const std::filesystem::path& file, std::string_view beginning) {
  if (beginning.find_first_not_of('\0') != std::string_view::npos) return false;
  constexpr std::string_view kJournal = "\xd9\xd5\x05\xf9\x20\xa1\x63\xd7";  // sqlite.org/fileformat2.html, section 3
  std::ifstream journal(file.string() + "-journal", std::ios::binary);
  char magic[kJournal.size()] = {};
  journal.read(magic, sizeof magic);
  return journal.gcount() == sizeof magic && std::string_view(magic, sizeof magic) == kJournal;
}

// What the file system says before SQLite is asked; true if there is a file.
Result<bool> LookAtFile(const std::filesystem::path& file, ShelfAccess access) {
  std::error_code error;
  const std::filesystem::file_status status = std::filesystem::status(file, error);
  if (status.type() == std::filesystem::file_type::directory)
    return Fail(ErrorCode::kShelfUnavailable, "this is a folder, not a shelf; name a file with --shelf.", file.string());
  if (status.type() == std::filesystem::file_type::not_found) {
    if (access == ShelfAccess::kCreate) return false;
    return Fail(ErrorCode::kNotFound, "there is no shelf here yet; islebook shelf add makes one.", file.string());
  }
  if (error || !std::filesystem::is_regular_file(status))
    return Fail(ErrorCode::kShelfUnavailable, fmt::format("the shelf cannot be opened: {}.", error ? error.message() : "this is not a regular file"),
                file.string());
  std::ifstream stream(file, std::ios::binary);
  if (!stream) return Fail(ErrorCode::kShelfUnavailable, fmt::format("the shelf cannot be read: {}.", std::strerror(errno)), file.string());
  char magic[16] = {};
  stream.read(magic, sizeof magic);
  // An empty file is a shelf whose making was interrupted, or a place kept for one.
  if (stream.gcount() > 0 && (stream.gcount() < 16 || std::memcmp(magic, "SQLite format 3", 16) != 0) &&
      !(access == ShelfAccess::kCreate && IsInTheMaking(file, std::string_view(magic, static_cast<std::size_t>(stream.gcount())))))
    return Fail(ErrorCode::kShelfUnavailable, "this file is not a shelf; it was left as it is. Name another file with --shelf.", file.string());
  return true;
}

// A shelf of an earlier version where nothing can be written (an old disc): brought up to date in memory.
Result<std::unique_ptr<Shelf>> ReadOlderShelf(SqliteDatabase& older) {
  Result<SqliteDatabase> memory = SqliteDatabase::OpenInMemory();
  if (!memory) return Pass(memory);
  if (const Result<void> copied = memory->CopyFrom(older); !copied) return Pass(copied);
  if (const Result<void> migrated = MigrateShelf(*memory); !migrated) return Pass(migrated);
  if (const Result<void> closed = memory->Execute("PRAGMA query_only = ON"); !closed) return Pass(closed);
  return std::make_unique<DatabaseShelf>(std::make_unique<SqliteDatabase>(std::move(*memory)));
}

}  // namespace

Result<std::unique_ptr<Shelf>> OpenSqliteShelf(const std::filesystem::path& file, const ShelfOptions& options) {
  const Result<bool> exists = LookAtFile(file, options.access);
  if (!exists) return Pass(exists);
  if (options.access == ShelfAccess::kRead) {
    Result<SqliteDatabase> database = OpenForReading(file, options.busy_timeout);
    if (!database) return Pass(database);
    const Result<ShelfState> state = ReadShelfState(*database);
    if (!state) return Pass(state);
    if (*state == ShelfState::kCurrent) return std::make_unique<DatabaseShelf>(std::make_unique<SqliteDatabase>(std::move(*database)));
    if (*state == ShelfState::kBlank)
      return Fail(ErrorCode::kShelfUnavailable, "this file is empty, not a shelf; islebook shelf add makes it one.", file.string());
    if (access(file.c_str(), W_OK) != 0 || access(file.has_parent_path() ? file.parent_path().c_str() : ".", W_OK) != 0)
      return ReadOlderShelf(*database);
  }
  if (!*exists && file.has_parent_path()) {
    std::error_code error;
    std::filesystem::create_directories(file.parent_path(), error);
    if (error) return Fail(ErrorCode::kCannotWrite, fmt::format("the shelf's folder cannot be made: {}.", error.message()), file.string());
  }
  Result<SqliteDatabase> database =
      SqliteDatabase::Open(file, options.access == ShelfAccess::kCreate ? DatabaseAccess::kCreate : DatabaseAccess::kReadWrite, options.busy_timeout);
  if (!database) return Pass(database);
  const Result<ShelfState> state = ReadShelfState(*database);
  if (!state) return Pass(state);
  if (*state == ShelfState::kBlank && options.access != ShelfAccess::kCreate)
    return Fail(ErrorCode::kShelfUnavailable, "this file is empty, not a shelf; islebook shelf add makes it one.", file.string());
  if (*state != ShelfState::kCurrent) {
    if (const Result<void> migrated = MigrateShelf(*database); !migrated) return Pass(migrated);
  }
  // Readers and a writer side by side. Where the file system cannot do that (some network disks) the shelf stays in the older mode, which is only slower.
  const Result<std::string> mode = database->Text("PRAGMA journal_mode");
  if (!mode) return Pass(mode);
  if (*mode != "wal") (void)database->Text("PRAGMA journal_mode = WAL");
  return std::make_unique<DatabaseShelf>(std::make_unique<SqliteDatabase>(std::move(*database)));
}

}  // namespace islebook
