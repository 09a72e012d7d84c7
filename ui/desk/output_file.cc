#include "ui/desk/output_file.h"

#include <atomic>
#include <cerrno>
#include <cstring>

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

namespace islebook {
namespace {

std::unexpected<Error> FailWrite(const std::filesystem::path& file, int error_number) {
  std::string reason = std::strerror(error_number);
  switch (error_number) {
    case ENOSPC: reason = "the disk is full"; break;
    case EDQUOT: reason = "the disk quota is used up"; break;
    case EFBIG: reason = "the file would be larger than allowed"; break;
    case EACCES:
    case EPERM: reason = "permission is denied"; break;
    case EROFS: reason = "the disk is read-only"; break;
    case ENOENT: reason = "the folder does not exist"; break;
    case ENOTDIR: reason = "a part of the path is a file, not a folder"; break;
    case EISDIR: reason = "a folder of that name is in the way"; break;
    default: break;
  }
  return Fail(ErrorCode::kCannotWrite, fmt::format("cannot be written: {}; free some room or choose another place.", reason), file.string());
}

}  // namespace

Result<void> MakeFolder(const std::filesystem::path& folder) {
  std::error_code error;
  if (folder.empty() || std::filesystem::is_directory(folder, error)) return {};
  std::filesystem::create_directories(folder, error);
  if (error) return FailWrite(folder, error.value());
  return {};
}

Result<void> WriteWholeFile(const std::filesystem::path& file, std::span<const std::uint8_t> bytes) {
  static std::atomic<unsigned> count{0};
  const std::filesystem::path part = file.parent_path() / fmt::format(".{}.{}-{}.part", file.filename().string(), getpid(), count++);
  const int descriptor = open(part.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (descriptor < 0) return FailWrite(file, errno);
  int failure = 0;
  for (std::size_t done = 0; done < bytes.size() && failure == 0;) {
    const ssize_t n = write(descriptor, bytes.data() + done, bytes.size() - done);
    if (n > 0) done += static_cast<std::size_t>(n);
    else if (n == 0) failure = ENOSPC;
    else if (errno != EINTR) failure = errno;
  }
  if (failure == 0 && fsync(descriptor) != 0 && errno != EINVAL) failure = errno;
  if (close(descriptor) != 0 && failure == 0) failure = errno;
  if (failure == 0 && rename(part.c_str(), file.c_str()) != 0) failure = errno;
  if (failure == 0) return {};
  unlink(part.c_str());
  return FailWrite(file, failure);
}

Result<void> WriteWholeFile(const std::filesystem::path& file, std::string_view text) {
  return WriteWholeFile(file, std::span(reinterpret_cast<const std::uint8_t*>(text.data()), text.size()));
}

}  // namespace islebook
