#pragma once
// islebook import: curves from a table, as a correction of the map that they came from or as a new map; a map document likewise.

#include <filesystem>
#include <optional>
#include <string>

#include "ui/cli/common.h"

namespace islebook {

struct ImportArguments {
  std::filesystem::path file;                // .csv, .xlsx or .map.json
  std::string name;                          // on the shelf; empty: as the table says, or as the file is named
  std::optional<std::string> corrects;       // a map file or NAME[@REVISION]; nullopt: as the table says
  bool as_new = false;                       // a map of its own, whatever the table says
  std::optional<std::filesystem::path> out;  // write a map document instead of a revision
  bool dry_run = false;                      // say the differences only
  std::string message, author;
};

// kExitReview: the map now holds something that needs a look, or the map had moved on and the correction went onto a branch.
int RunImport(const ImportArguments& arguments, const CommonArguments& common);

}  // namespace islebook
