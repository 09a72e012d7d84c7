#pragma once
// One line of a turbine map: a form with few constants and a smooth correction; and what lies between lines. Internal to mapstore/surface.

#include <array>
#include <span>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/surface/spline.h"

namespace islebook {

// Isentropic flow function over total-to-throat expansion, 1 when choked.
double FlowFunction(double expansion);
// Ideal jet velocity at an expansion ratio, as a share of what a vacuum would give.
double JetShare(double expansion_ratio);

struct TurbineSample {
  double x = 0.0, y = 0.0, sigma = 0.0;
};

struct FittedTurbineLine {
  double value = 0.0;
  double low = 0.0, high = 0.0;    // of what runs along the line: expansion ratio, or velocity ratio
  double area = 0.0, share = 0.6;  // flow lines
  double scale = 1.0;              // efficiency lines: of the common parabola
  double sigma = 0.0;              // of its points, typical, in y
  double missed = 0.0;             // what leaving the line out shows: relative for flow, absolute for efficiency
  HermiteCurve
      correction;  // factor on flow, term on efficiency, over JetShare: lines bend most where that is small. Over a velocity ratio: the whole
  double CorrectionAt(double jet_share) const;
};

// The line's usable points by rising x, all above `least`; several at one x count as their mean.
std::vector<TurbineSample> SamplesOf(const Curve& curve, double y_scale, double least);
// Its ends and typical uncertainty; sorts the samples.
FittedTurbineLine StartLine(double value, std::vector<TurbineSample>& samples);
// The smooth curve through (x, values) from low to high; x as the samples' own after `along`.
HermiteCurve SmoothAlong(const std::vector<TurbineSample>& samples, const std::vector<double>& values, double low, double high,
                         double (*along)(double));
// Area, share of the expansion in the narrowest section, and the correction.
void FitFlow(FittedTurbineLine& line, const std::vector<TurbineSample>& samples);

// Interpolates what is known on lines at rising values: a smooth cubic, as weights on the lines' numbers. Allocates nothing.
class AcrossLines {
 public:
  static constexpr std::size_t kMost = 48;  // lines; more are left out by whoever builds
  AcrossLines() = default;
  explicit AcrossLines(const std::vector<FittedTurbineLine>& lines, int left_out = -1);
  struct Weights {
    std::array<double, kMost> value, slope;  // of the interpolant and of its derivative by the lines' value; one per line, left out ones 0
    std::size_t count = 0;
    template <typename Pick>
    double Of(const Pick& pick) const {
      double sum = 0.0;
      for (std::size_t i = 0; i < count; ++i)
        if (value[i] != 0.0) sum += value[i] * pick(i);
      return sum;
    }
  };
  void At(double value, Weights& weights) const;

 private:
  std::vector<double> x_;
  std::vector<std::size_t> index_;  // of the lines in use
  std::vector<double> slopes_;      // slope at knot i per number at knot j
  std::size_t count_ = 0;
};

// Between the two lines about a value, straight; held beyond the outermost.
double StraightAcross(const std::vector<FittedTurbineLine>& lines, double value, double FittedTurbineLine::* number);
// 0 on a line, 1 midway between two.
double BetweenLines(const std::vector<FittedTurbineLine>& lines, double value);

}  // namespace islebook
