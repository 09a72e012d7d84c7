#pragma once
// Curves by their places on the sheet: which one is meant by a place, and by which place a recipe names one.

#include <cstddef>
#include <optional>

#include "digitizer/recipe/recipe.h"
#include "mapstore/map/performance_map.h"

namespace islebook {

struct NearestCurve {
  std::size_t curve = 0;  // index into map.curves
  double distance = 0.0;  // sheet px
  Point2 place;           // on the curve
};

// The curve whose line passes closest to `place` (sheet pixels), within `reach`. Of curves as close as a pixel the one that `like` names by role and value, if any.
std::optional<NearestCurve> FindCurveAt(const PerformanceMap& map, Point2 place, double reach, const Curve* like = nullptr);

// The curve named for a recipe: by the one of its places that lies farthest from every other curve. Nullopt for a curve without a place on the sheet.
std::optional<CurveNear> NameCurve(const PerformanceMap& map, std::size_t curve);

// The median standard uncertainty of a curve's points on the sheet, px. Nullopt where the map has no calibration or the curve no uncertainty.
std::optional<double> MedianSigmaPx(const PerformanceMap& map, std::size_t curve);

}  // namespace islebook
