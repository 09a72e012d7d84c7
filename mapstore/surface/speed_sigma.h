#pragma once
// How far the speed read off the surface may be wrong: from the points' own uncertainty and from what leaving lines out shows. Internal to mapstore/surface.

#include <vector>

#include "mapstore/surface/line_family.h"
#include "mapstore/surface/surface_table.h"

namespace islebook {

class SpeedSigma {
 public:
  SpeedSigma() = default;
  SpeedSigma(const LineFamily& family, const SurfaceTable& table);
  bool empty() const { return sigma_.empty(); }
  // Relative speed, 1 standard deviation.
  double At(double n, double beta) const;

 private:
  static constexpr int kColumns = 17;
  std::vector<double> n_;  // rows
  std::vector<float> sigma_;
  // Of an outermost line left out, at the columns: how far the others' extrapolation misses its speed, over the distance that they stand from it.
  struct Beyond {
    double gap = 1.0;
    std::vector<double> missed;
  };
  Beyond below_, above_;
};

}  // namespace islebook
