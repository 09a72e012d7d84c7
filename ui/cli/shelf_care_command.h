#pragma once
// islebook shelf backup, salvage: copies of the library, and what can be saved of a damaged one.

#include <filesystem>
#include <string>

#include "ui/cli/common.h"

namespace islebook {

struct ShelfBackupArguments {
  std::string to;  // a file, or a server's address
};

struct ShelfSalvageArguments {
  std::filesystem::path to;
};

int RunShelfBackup(const ShelfBackupArguments& arguments, const CommonArguments& common);
int RunShelfSalvage(const ShelfSalvageArguments& arguments, const CommonArguments& common);

}  // namespace islebook
