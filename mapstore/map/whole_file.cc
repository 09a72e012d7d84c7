#include "mapstore/map/whole_file.h"

#include <atomic>
#include <cerrno>
#include <cstring>
#include <system_error>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

namespace islebook {
namespace {

std::string ReasonOf(int error_number) {
  switch (error_number) {
    case ENOSPC: return "the disk is full; free some room and try again";
    case EDQUOT: return "the disk quota is used up; free some room and try again";
    case EFBIG: return "the file would be larger than this disk or account allows";
    case EACCES:
    case EPERM: return "permission is denied; choose another place or ask for access";
    case EROFS: return "the disk is read-only; choose another place";
    case ENOENT: return "the folder or file does not exist; check the path";
    case ENOTDIR: return "a part of the path is a file, not a folder; check the path";
    case EISDIR: return "it is a folder, not a file; give a file name";
    case ENAMETOOLONG: return "the name is too long; choose a shorter one";
    default: return std::error_code(error_number, std::generic_category()).message();
  }
}

std::unexpected<Error> FailRead(const std::filesystem::path& file, int error_number) {
  return Fail(ErrorCode::kCannotRead, "cannot be read: " + ReasonOf(error_number) + ".", file.string());
}
std::unexpected<Error> FailWrite(const std::filesystem::path& file, int error_number) {
  return Fail(ErrorCode::kCannotWrite, "cannot be written: " + ReasonOf(error_number) + ".", file.string());
}

// Writes all of it; 0 or the error number.
int WriteAll(int descriptor, std::string_view contents) {
  while (!contents.empty()) {
    const ssize_t n = write(descriptor, contents.data(), contents.size());
    if (n > 0)
      contents.remove_prefix(static_cast<std::size_t>(n));
    else if (n == 0)
      return ENOSPC;
    else if (errno != EINTR)
      return errno;
  }
  return 0;
}

}  // namespace

Result<std::string> ReadFileContents(const std::filesystem::path& file, std::uintmax_t max_bytes) {
  const int descriptor = open(file.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) return FailRead(file, errno);
  std::string contents;
  int failure = 0;
  struct stat status{};
  if (fstat(descriptor, &status) != 0)
    failure = errno;
  else if (S_ISDIR(status.st_mode))
    failure = EISDIR;
  bool too_long = false;
  char block[1 << 16];
  while (failure == 0 && !too_long) {
    const ssize_t n = read(descriptor, block, sizeof block);
    if (n == 0) break;
    if (n < 0) {
      if (errno != EINTR) failure = errno;
      continue;
    }
    contents.append(block, static_cast<std::size_t>(n));
    too_long = contents.size() > max_bytes;
  }
  close(descriptor);
  if (failure != 0) return FailRead(file, failure);
  if (too_long)
    return Fail(ErrorCode::kCannotRead,
                "is longer than " + std::to_string(max_bytes >> 20) + " MB, far more than such a file needs; check that it is the right one.",
                file.string());
  return contents;
}

Result<void> ReplaceFileContents(const std::filesystem::path& file, std::string_view contents) {
  static std::atomic<unsigned> count{0};
  if (file.filename().empty()) return FailWrite(file, file.empty() ? ENOENT : EISDIR);
  std::error_code error;
  // A link is followed, so that it stays a link.
  std::filesystem::path target = std::filesystem::is_symlink(file, error) ? std::filesystem::weakly_canonical(file, error) : file;
  if (error) target = file;
  struct stat old{};
  const bool replaces = stat(target.c_str(), &old) == 0;
  if (replaces && S_ISDIR(old.st_mode)) return FailWrite(file, EISDIR);
  if (replaces && !S_ISREG(old.st_mode)) {  // a pipe or device: nothing to rename
    const int descriptor = open(target.c_str(), O_WRONLY | O_CLOEXEC);
    if (descriptor < 0) return FailWrite(file, errno);
    int failure = WriteAll(descriptor, contents);
    if (close(descriptor) != 0 && failure == 0) failure = errno;
    if (failure != 0) return FailWrite(file, failure);
    return {};
  }

  const std::string part_name = fmt::format(".{}.{}-{}.part", target.filename().string().substr(0, 200), getpid(), count++);
  const std::filesystem::path part = target.parent_path() / part_name;
  const int descriptor = open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (descriptor < 0) return FailWrite(file, errno);
  int failure = WriteAll(descriptor, contents);
  if (failure == 0 && replaces && fchmod(descriptor, old.st_mode & 07777) != 0) failure = errno;
  if (failure == 0 && fsync(descriptor) != 0 && errno != EINVAL) failure = errno;
  if (close(descriptor) != 0 && failure == 0) failure = errno;
  if (failure == 0 && rename(part.c_str(), target.c_str()) != 0) failure = errno;
  if (failure == 0) return {};
  unlink(part.c_str());
  return FailWrite(file, failure);
}

}  // namespace islebook
