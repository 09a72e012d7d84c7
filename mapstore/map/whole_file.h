#pragma once
// Files read in one go and replaced in one go.

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

#include "mapstore/units/error.h"

namespace islebook {

// kCannotRead with the reason: absent, no permission, a folder, longer than `max_bytes`.
Result<std::string> ReadFileContents(const std::filesystem::path& file, std::uintmax_t max_bytes = 1u << 30);

// Whoever looks sees the old file or the new one, never a part: written beside the target, flushed, renamed. On any failure (disk full, folder not writable)
// the old file is untouched and nothing is left behind: kCannotWrite with the reason. Permissions of a file that is replaced are kept.
Result<void> ReplaceFileContents(const std::filesystem::path& file, std::string_view contents);

}  // namespace islebook
