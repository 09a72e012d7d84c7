#pragma once
// Level lines of a smooth function on the unit square, exact at every vertex.

#include <functional>
#include <vector>

#include "mapstore/map/performance_map.h"

namespace islebook::paint {

struct LevelLine {
  std::vector<Point2> points;  // not repeated at the end when closed
  bool closed = false;
};

// Marching squares on `cells` x `cells`, every crossing refined to the root of the function, and each chord halved `halvings` times onto the level.
std::vector<LevelLine> LevelLines(const std::function<double(double u, double v)>& f, double level, int cells = 160, int halvings = 2);

}  // namespace islebook::paint
