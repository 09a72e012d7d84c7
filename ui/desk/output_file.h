#pragma once
// Files that appear whole or not at all.

#include <cstdint>
#include <filesystem>
#include <span>
#include <string_view>

#include "mapstore/units/error.h"

namespace islebook {

// Makes the folder and those above it. kCannotWrite with the reason.
Result<void> MakeFolder(const std::filesystem::path& folder);

// Writes beside `file` under another name, then renames: whoever looks sees the old file or the new one, and a full disk leaves the old one.
// kCannotWrite with the reason; nothing is left behind then.
Result<void> WriteWholeFile(const std::filesystem::path& file, std::span<const std::uint8_t> bytes);
Result<void> WriteWholeFile(const std::filesystem::path& file, std::string_view text);

}  // namespace islebook
