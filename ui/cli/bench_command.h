#pragma once
// islebook bench: an engine's operating points against the maps of its compressors.

#include <filesystem>

#include "ui/cli/chart_output.h"
#include "ui/cli/common.h"

namespace islebook {

struct BenchArguments {
  std::filesystem::path case_file;
  std::string surge_margin;  // name of the definition; empty: the default
  ChartFileArguments charts;
};

// kExitReview where something is over, unknown or doubted; kExitNotDone where a point could not be worked out (the others are reported).
int RunBenchCommand(const BenchArguments& arguments, const CommonArguments& common);

}  // namespace islebook
