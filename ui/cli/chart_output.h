#pragma once
// --svg, --png and --pdf, alike for every command that draws a map.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/units/error.h"
#include "ui/chart/chart.h"

namespace islebook {

struct ComparedMap;

struct ChartFileArguments {
  std::optional<std::filesystem::path> svg, png, pdf;
  bool Any() const { return svg || png || pdf; }
};

// Writes the charts asked for; returns the files written. No screen is needed. `part` above 1 goes before the ending: chart.svg, chart-2.svg.
Result<std::vector<std::filesystem::path>> WriteCharts(const ChartFileArguments& files, const PerformanceMap& map, const ChartOverlay& overlay,
                                                       const ChartOptions& options, int part = 1);

// What fonts and painting need; opens no window. WriteCharts does it by itself.
void StartWithoutScreen();

// The same of several maps on common axes.
Result<std::vector<std::filesystem::path>> WriteComparisons(const ChartFileArguments& files, const std::vector<ComparedMap>& maps,
                                                            const ChartOptions& options);

// A small chart without points as the text of an SVG file.
Result<std::string> ChartAsSvg(const PerformanceMap& map, const ChartOptions& options);

}  // namespace islebook
