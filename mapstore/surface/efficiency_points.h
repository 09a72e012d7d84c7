#pragma once
// Efficiency over (relative speed, beta) from single points: readings along speed lines, spot values printed on a map. Internal to mapstore/surface.
//
// Not the efficiency itself but the work is interpolated: work over speed squared, head / (efficiency n^2), is nearly a straight line over flow / speed on a compressor
// (the Euler equation with backswept blades; the same straight work line lies behind the speed lines of Casey & Robinson, A method to estimate the performance map of a
// centrifugal compressor stage, J. Turbomach. 135(2) 021034, 2013). It runs on without a bend where the line chokes: flow then stands still, work with it, and
// efficiency falls as head does. A plane through the points takes the work's large course, a smooth sheet what is left.

#include <functional>
#include <memory>
#include <vector>

#include "mapstore/surface/bspline_sheet.h"

namespace islebook {

struct EfficiencySpot {
  double x = 0.0, y = 0.0;  // as in EfficiencyField
  double value = 0.0;       // a fraction
  double sigma = 0.0;       // 0: none stated
};

// What the map has at a place: relative speed, flow over it, head over its square.
struct SimilarPlace {
  double n = 1.0, flow = 0.0, head = 0.0;
};

class EfficiencyPoints {
 public:
  // At least kFewest spots. `at`: the map's own at (x, y), x and y within BsplineSheet's square; kept.
  EfficiencyPoints(std::vector<EfficiencySpot> spots, std::function<SimilarPlace(double, double)> at);
  static constexpr std::size_t kFewest = 6;

  double Value(double x, double y) const;
  double Sigma(double x, double y);                   // 1 standard deviation
  double noise() const { return noise_ * typical_; }  // standard deviation of one reading, as the readings show it

 private:
  double Base(const SimilarPlace& place) const;  // work over speed squared, the plane
  double coefficients_[6] = {};
  std::function<SimilarPlace(double, double)> at_;
  std::unique_ptr<BsplineSheet> sheet_;  // of the ratio of the plane to the work
  double noise_ = 0.0, share_ = 1.0, typical_ = 0.7;
};

}  // namespace islebook
