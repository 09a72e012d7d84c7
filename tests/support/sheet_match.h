#pragma once
// A recovered map against the truth of its sheet, in the sheet's pixels.

#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "tests/support/sheet_truth.h"

namespace islebook::paint {

struct CurveMatch {
  std::size_t truth = 0;
  std::size_t found = 0;
  double median_px = 0.0;  // distance between the two where they run together
  bool value_right = false;
};

struct SheetMatch {
  std::vector<CurveMatch> curves;           // with the right role
  std::vector<std::size_t> missing;         // of the truth
  std::vector<std::size_t> spurious;        // of the result
  bool axes_right = false;                  // quantity, unit, scale and ends of x and y
  std::vector<std::string> wrong_silently;  // in words: mistakes that carry no flag

  int Found(const TrueMap& truth, CurveRole role) const;
};

// A pair matches when its mean distance is within max(3 px, 0.6 % of the frame's width) and 85 % of the truth's length is covered.
SheetMatch MatchSheet(const TrueMap& truth, const PerformanceMap& found);

// Distance of a point to a polyline.
double DistanceTo(Point2 p, const std::vector<Point2>& line);

}  // namespace islebook::paint
