#pragma once
// islebook ask: what a map says at operating points.

#include <filesystem>
#include <optional>
#include <string>

#include "ui/cli/chart_output.h"
#include "ui/cli/common.h"

namespace islebook {

struct AskArguments {
  std::string map;                                                                        // a map file, or NAME[@REVISION] on the shelf
  std::optional<std::filesystem::path> points;                                            // CSV; "-": standard input
  std::optional<std::string> flow, pressure_ratio, speed, expansion_ratio, vane_opening;  // one point; a unit may stand behind the number
  std::string surge_margin;                                                               // name of the definition; empty: the default
  std::string reference;  // what flows and speeds are corrected to, if not to the map's own conditions
  bool slopes = false;    // also first derivatives
  bool edges = false;     // also how far the edges are
  bool csv = false;       // the answers as CSV on standard output
  ChartFileArguments charts;
};

// kExitReview where an answer is off the map or marked, or the map itself asks for a look; kExitNotDone where a question could not be read.
int RunAsk(const AskArguments& arguments, const CommonArguments& common);

}  // namespace islebook
