#pragma once
// The edge of a compressor map as far as its lines were found: islands are drawn inside it only. Internal to assemble.

#include <optional>
#include <vector>

#include "digitizer/assemble/plot_curve.h"
#include "mapstore/map/performance_map.h"

namespace islebook {

// Indices into the curves that it was found in.
struct MapEdge {
  std::optional<std::size_t> surge, top, bottom;  // the outermost speed lines
  std::vector<std::size_t> drawn;                 // all that is drawn of the edge, choke lines included
  std::vector<std::size_t> by_speed;              // speed lines, lowest first
};

// `roles` runs along `curves`.
MapEdge FindMapEdge(const std::vector<CurveRole>& roles, const std::vector<PlotCurve>& curves);

// How far p lies inside of the lowest (`below`) or the top speed line, negative beyond it; nothing where p is not between the ends of that line.
std::optional<double> InsideOf(const PlotCurve& line, PlotPoint p, bool below);

}  // namespace islebook
