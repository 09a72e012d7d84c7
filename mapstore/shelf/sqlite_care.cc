// Copies of a shelf's file, and what SQLite finds wrong with one.

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <system_error>

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include "mapstore/shelf/sqlite_database.h"
#include "mapstore/shelf/sqlite_schema.h"

namespace islebook {
namespace {

// What was written to the file or folder is on the disk when this returns.
Result<void> SyncToDisk(const std::filesystem::path& path, int flags) {
  const int handle = open(path.c_str(), flags | O_CLOEXEC);
  if (handle < 0) return Fail(ErrorCode::kCannotWrite, fmt::format("the copy cannot be opened: {}.", std::strerror(errno)), path.string());
  const int code = fsync(handle) == 0 ? 0 : errno;
  close(handle);
  // Some file systems cannot sync a folder; they do it by themselves.
  if (code != 0 && !((flags & O_DIRECTORY) != 0 && code == EINVAL))
    return Fail(ErrorCode::kCannotWrite, fmt::format("the copy cannot be written to the disk: {}.", std::strerror(code)), path.string());
  return {};
}

}  // namespace

Result<void> MakeWholeFile(const std::filesystem::path& file, const std::function<Result<void>(const std::filesystem::path& part)>& fill) {
  std::error_code error;
  if (std::filesystem::exists(std::filesystem::symlink_status(file, error)))
    return Fail(ErrorCode::kCannotWrite, "there is a file of this name already, and it was left as it is; name another.", file.string());
  const std::filesystem::path folder = file.has_parent_path() ? file.parent_path() : std::filesystem::path(".");
  if (!std::filesystem::is_directory(folder, error)) return Fail(ErrorCode::kCannotWrite, "its folder is not there; make it first.", file.string());
  const std::filesystem::path part = folder / fmt::format(".{}.{}.part", file.filename().string(), getpid());
  const auto drop_part = [&] {
    std::error_code ignored;
    for (const char* ending : {"", "-journal", "-wal", "-shm"}) std::filesystem::remove(part.string() + ending, ignored);
  };
  drop_part();
  const auto fail = [&](Error failure) -> Result<void> {
    drop_part();
    if (failure.place.empty() || failure.place == part.string()) failure.place = file.string();
    return std::unexpected(std::move(failure));
  };
  if (const Result<void> filled = fill(part); !filled) return fail(filled.error());
  if (const Result<void> synced = SyncToDisk(part, O_RDONLY); !synced) return fail(synced.error());
  // link() refuses where a file has come to stand.
  if (link(part.c_str(), file.c_str()) != 0) {
    const int code = errno;
    if (code == EEXIST) return fail({ErrorCode::kCannotWrite, "a file of this name has come to be meanwhile, and it was left as it is.", ""});
    // A file system without hard links.
    std::filesystem::rename(part, file, error);
    if (error) return fail({ErrorCode::kCannotWrite, fmt::format("the copy cannot get its name: {}.", error.message()), ""});
  }
  drop_part();
  return SyncToDisk(folder, O_RDONLY | O_DIRECTORY);
}

Result<void> SqliteDatabase::BackUp(const std::filesystem::path& file) {
  return MakeWholeFile(file, [&](const std::filesystem::path& part) -> Result<void> {
    // A shelf opened for reading only refuses every statement that writes, also into another file.
    const Result<std::int64_t> reads_only = Integer("PRAGMA query_only");
    if (!reads_only) return std::unexpected(reads_only.error());
    if (const Result<void> set = Execute("PRAGMA query_only = OFF"); !set) return set;
    Result<Statement> copy = Prepare("VACUUM INTO ?1");
    Result<void> copied = copy ? copy->Bind(1, part.string()).Run() : Result<void>(std::unexpected(copy.error()));
    if (*reads_only != 0) {
      if (const Result<void> set = Execute("PRAGMA query_only = ON"); !set) return set;
    }
    if (!copied && copied.error().code != ErrorCode::kShelfDamaged) copied.error().place = file.string();
    return copied;
  });
}

// The pages, the tables' references, and that the tables and their guards are those that this version makes.
Result<void> SqliteDatabase::CheckStore(const std::function<void(std::string)>& note) {
  for (const char* check : {"PRAGMA integrity_check(20)", "PRAGMA foreign_key_check"}) {
    Result<Statement> rows = Prepare(check);
    if (!rows) return std::unexpected(rows.error());
    const bool references = std::string_view(check).ends_with("foreign_key_check");
    while (true) {
      const Result<bool> row = rows->Step();
      if (!row) return std::unexpected(row.error());
      if (!*row) break;
      if (references)
        note(fmt::format("a row of the table {} points at a row of {} that is not there.", rows->Text(0), rows->Text(2)));
      else if (rows->Text(0) != "ok")
        note(fmt::format("the database says of itself: {}", rows->Text(0)));
    }
  }
  Result<SqliteDatabase> fresh = OpenInMemory();
  if (!fresh) return std::unexpected(fresh.error());
  if (const Result<void> made = MigrateShelf(*fresh); !made) return made;
  const auto expected = SchemaObjects(*fresh);
  if (!expected) return std::unexpected(expected.error());
  const auto found = SchemaObjects(*this);
  if (!found) return std::unexpected(found.error());
  for (const auto& object : *expected)
    if (std::find(found->begin(), found->end(), object) == found->end())
      note(fmt::format("the {} is missing or was altered by another program.", object.first));
  for (const auto& object : *found)
    if (std::none_of(expected->begin(), expected->end(), [&](const auto& known) { return known.first == object.first; }))
      note(fmt::format("the {} was added by another program.", object.first));
  return {};
}

}  // namespace islebook
