#pragma once
// islebook bench: an engine's operating points against the maps of its compressors.

#include <filesystem>
#include <optional>
#include <string>

#include "ui/cli/chart_output.h"
#include "ui/cli/common.h"

namespace islebook {

struct BenchArguments {
  std::filesystem::path case_file;
  std::string surge_margin;                  // name of the definition; empty: the default
  std::optional<std::filesystem::path> csv;  // the results as a table
  ChartFileArguments charts;
  std::string what_first;  // name of the goal; empty: the report
  std::string point;       // its name or number from 1; empty: the first
};

// kExitReview where something is over, unknown or doubted; kExitNotDone where a point could not be worked out (the others are reported).
int RunBenchCommand(const BenchArguments& arguments, const CommonArguments& common);

}  // namespace islebook
