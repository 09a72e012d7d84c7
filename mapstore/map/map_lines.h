#pragma once
// What the two typed views share: picking curves, joining pieces, one unit for all values. For this folder's own use.

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "mapstore/map/compressor_map.h"
#include "mapstore/map/performance_map.h"

namespace islebook::map_lines {

// The curve as a line, its coordinates exchanged if `swap`.
MapLine LineOf(const PerformanceMap& map, std::size_t curve, bool swap);

void Reverse(MapLine& line);

// Pieces of one line joined end to end along the coordinate (0: x, 1: y) in which they run; nullopt where two of them overlap by more than a twentieth of the shorter.
// The pieces must all run the same way.
std::optional<MapLine> JoinPieces(std::vector<MapLine> pieces, int coordinate);

// The unit that most of the curves' values have.
std::string CommonUnit(const PerformanceMap& map, const std::vector<std::size_t>& curves);

// A curve's value in `unit`; nullopt where it has none or the units do not convert.
std::optional<double> ValueIn(const Curve& curve, const std::string& unit);

// Curves grouped by equal value (to one part in 10^9), ascending.
std::vector<std::pair<double, std::vector<std::size_t>>> GroupByValue(const PerformanceMap& map, const std::vector<std::size_t>& curves,
                                                                      const std::string& unit);

}  // namespace islebook::map_lines
