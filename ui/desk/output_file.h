#pragma once
// Files and folders that a door writes. Files appear whole or not at all.

#include <cstdint>
#include <filesystem>
#include <span>
#include <string_view>

#include "mapstore/units/error.h"

namespace islebook {

// Makes the folder and those above it, and sees that files can be put there. kCannotWrite with the reason.
Result<void> MakeFolder(const std::filesystem::path& folder);

// As ReplaceFileContents (mapstore/map/whole_file.h).
Result<void> WriteWholeFile(const std::filesystem::path& file, std::span<const std::uint8_t> bytes);
Result<void> WriteWholeFile(const std::filesystem::path& file, std::string_view text);

}  // namespace islebook
