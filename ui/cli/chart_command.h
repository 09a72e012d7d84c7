#pragma once
// islebook chart: a map as a clean drawing, with points on it where they are given.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "ui/cli/chart_output.h"
#include "ui/cli/common.h"

namespace islebook {

struct ChartArguments {
  std::string map;                              // a map file or a name on the shelf
  std::vector<std::string> with;                // more maps, laid over it on common axes
  ChartFileArguments charts;                    // at least one
  std::optional<std::filesystem::path> points;  // CSV with columns flow and pressure_ratio (a turbine: expansion_ratio and flow)
  bool night = false;
};

// Several maps are brought to the first one's units and reference conditions, and what was converted is said.
// kExitReview where the map is doubted or a point lies off the map; kExitNotDone where a line of the points holds no point (the rest is drawn).
int RunChart(const ChartArguments& arguments, const CommonArguments& common);

}  // namespace islebook
