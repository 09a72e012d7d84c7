#pragma once
// Where a point of a map would stand on its sheet, by the points around it whose places are known. For this folder's own use.

#include <optional>
#include <vector>

#include "mapstore/map/performance_map.h"

namespace islebook {

class SheetPlaces {
 public:
  explicit SheetPlaces(const PerformanceMap& map);
  // Sheet pixels; nullopt where too few points are known. `on_efficiency`: y is on the efficiency axis.
  std::optional<Point2> PlaceOf(const Point2& point, bool on_efficiency) const;

 private:
  struct Known {
    Point2 frame;  // fractions of the axes
    Point2 px;
  };
  std::optional<Axis> x_, y_, efficiency_;
  std::vector<Known> main_, panel_;
};

}  // namespace islebook
