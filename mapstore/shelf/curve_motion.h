#pragma once
// How far a curve moved, seen in the plot frame. For this folder's own use.

#include <optional>
#include <vector>

#include "mapstore/map/performance_map.h"

namespace islebook {

// Below this part of the plot frame a curve has not moved: less than a hundredth of a pixel on any sheet.
inline constexpr double kStillInFrame = 1e-5;

// The largest distance between two courses and where it is.
struct Shift {
  Point2 from, to;                        // in either map's axis units
  double frame_dx = 0.0, frame_dy = 0.0;  // in parts of the plot frame
  bool within_sigma = false;              // less than twice the stated standard uncertainty there
};

struct CurveMotion {
  std::optional<Shift> moved;            // sideways; nullopt: a curve without points
  std::optional<Shift> longer, shorter;  // beyond an end of the other, open curves only
  std::optional<double> area_ratio;      // after / before in the plot frame, closed curves only
};

CurveMotion MotionOf(const PerformanceMap& before_map, const Curve& before, const PerformanceMap& after_map, const Curve& after);

// The mean distance between two curves in the plot frame, both ways; infinite for curves without points.
double MeanFrameDistance(const PerformanceMap& a_map, const Curve& a, const PerformanceMap& b_map, const Curve& b);

}  // namespace islebook
