#pragma once
// What changed between two states of a map, to be drawn over the later one: changed and removed curves as they were, dashed, and a numbered disc with its sentence
// at each change that has a place.

#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/shelf/map_compare.h"
#include "ui/chart/chart.h"

namespace islebook {

ChartOverlay DifferenceOverlay(const PerformanceMap& before, const std::vector<MapChange>& changes, const PerformanceMap& after);

}  // namespace islebook
