#pragma once
// A bench result's points and operating lines on the map of one stage.

#include <string>

#include "mapstore/bench/bench.h"
#include "ui/chart/chart.h"

namespace islebook {

// A point in a few words, for the key of a chart: "1,800 rpm: surge margin 14 % ± 1 %, close".
std::string BenchPointWords(const PointResult& point, std::size_t stage);

// The stage's map with every point on it, and a line through the points of each altitude from low to high engine speed.
// A point that could not be worked out is left out; the others keep their numbers.
ChartOverlay StageOverlay(const BenchResult& result, std::size_t stage);

// The same on the stage's turbine map. Empty where the stage has none, or the map is not one of flow over expansion ratio.
ChartOverlay TurbineOverlay(const BenchResult& result, std::size_t stage, const PerformanceMap& map);

}  // namespace islebook
