// Copies of a shelf.

#include <cerrno>
#include <cstring>
#include <system_error>

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include "mapstore/shelf/sqlite_shelf_impl.h"

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

// The copy is written beside its place under another name and gets its own once it is whole and on the disk; link() refuses where a file has come to stand.
Result<std::int64_t> SqliteShelf::ChangesElsewhere() { return database_.Integer("PRAGMA data_version"); }

Result<void> SqliteShelf::BackUp(const std::filesystem::path& file) {
  std::error_code error;
  if (std::filesystem::exists(std::filesystem::symlink_status(file, error)))
    return Fail(ErrorCode::kCannotWrite, "there is a file of this name already, and it was left as it is; name another.", file.string());
  const std::filesystem::path folder = file.has_parent_path() ? file.parent_path() : std::filesystem::path(".");
  if (!std::filesystem::is_directory(folder, error)) return Fail(ErrorCode::kCannotWrite, "its folder is not there; make it first.", file.string());
  const std::filesystem::path part = folder / fmt::format(".{}.{}.part", file.filename().string(), getpid());
  const auto drop_part = [&] {
    std::error_code ignored;
    for (const char* ending : {"", "-journal"}) std::filesystem::remove(part.string() + ending, ignored);
  };
  drop_part();
  const auto fail = [&](Error failure) -> Result<void> {
    drop_part();
    if (failure.code != ErrorCode::kShelfDamaged) failure.place = file.string();
    return std::unexpected(std::move(failure));
  };
  {
    // A shelf opened for reading only refuses every statement that writes, also into another file.
    const Result<std::int64_t> reads_only = database_.Integer("PRAGMA query_only");
    if (!reads_only) return Pass(reads_only);
    if (const Result<void> set = database_.Execute("PRAGMA query_only = OFF"); !set) return set;
    Result<Statement> copy = database_.Prepare("VACUUM INTO ?1");
    const Result<void> copied = copy ? copy->Bind(1, part.string()).Run() : Result<void>(Pass(copy));
    if (*reads_only != 0) {
      if (const Result<void> set = database_.Execute("PRAGMA query_only = ON"); !set) return set;
    }
    if (!copied) return fail(copied.error());
  }
  if (const Result<void> synced = SyncToDisk(part, O_RDONLY); !synced) return fail(synced.error());
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

}  // namespace islebook
