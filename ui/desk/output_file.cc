#include "ui/desk/output_file.h"

#include <cerrno>
#include <system_error>

#include <fmt/format.h>
#include <unistd.h>

#include "mapstore/map/whole_file.h"

namespace islebook {

Result<void> MakeFolder(const std::filesystem::path& folder) {
  std::error_code error;
  if (!folder.empty() && !std::filesystem::is_directory(folder, error)) {
    std::filesystem::create_directories(folder, error);
    if (error)
      return Fail(ErrorCode::kCannotWrite, fmt::format("the folder cannot be made ({}); choose another place.", error.message()), folder.string());
  }
  const std::filesystem::path looked = folder.empty() ? std::filesystem::path(".") : folder;
  if (access(looked.c_str(), W_OK | X_OK) != 0)
    return Fail(
        ErrorCode::kCannotWrite,
        fmt::format("no files can be put into the folder ({}); choose another place.", std::error_code(errno, std::generic_category()).message()),
        folder.string());
  return {};
}

Result<void> WriteWholeFile(const std::filesystem::path& file, std::span<const std::uint8_t> bytes) {
  return ReplaceFileContents(file, {reinterpret_cast<const char*>(bytes.data()), bytes.size()});
}

Result<void> WriteWholeFile(const std::filesystem::path& file, std::string_view text) { return ReplaceFileContents(file, text); }

}  // namespace islebook
