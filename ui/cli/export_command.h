#pragma once
// islebook export: a map as tables and as a functional mock-up for other programs, and as tables of curves that people read and correct.

#include <filesystem>
#include <optional>
#include <string>

#include "ui/cli/common.h"

namespace islebook {

struct ExportArguments {
  std::string map;  // a map file, or NAME[@REVISION] on the shelf
  std::optional<std::filesystem::path> csv, table, fmu;
  std::optional<std::filesystem::path> curves, spreadsheet, document;
  int rows_between_lines = 3;  // of the tables
  int betas = 21;
  std::string surge_margin;  // name of the definition; empty: the default
};

// kExitReview where the map asks for a look.
int RunExport(const ExportArguments& arguments, const CommonArguments& common);

}  // namespace islebook
