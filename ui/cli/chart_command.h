#pragma once
// islebook chart: a map as a clean drawing, with points on it where they are given.

#include <filesystem>
#include <optional>
#include <string>

#include "ui/cli/chart_output.h"
#include "ui/cli/common.h"

namespace islebook {

struct ChartArguments {
  std::string map;                              // a map file or a name on the shelf
  ChartFileArguments charts;                    // at least one
  std::optional<std::filesystem::path> points;  // CSV with columns flow and pressure_ratio (a turbine: expansion_ratio and flow)
  bool night = false;
};

// kExitReview where the map is doubted or a point lies off the map; kExitNotDone where a line of the points holds no point (the rest is drawn).
int RunChart(const ChartArguments& arguments, const CommonArguments& common);

}  // namespace islebook
