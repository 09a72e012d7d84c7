#pragma once
// The numbers along an axis as one progression, linear or logarithmic: what they must be together, whatever single readings say.

#include <functional>
#include <string>
#include <vector>

#include "digitizer/axes/number_text.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

struct SeriesNumber {
  NumberText number;
  double t = 0.0;  // place of its center along the axis, 0..1 between the frame's ends
};

struct SeriesOptions {
  // How likely an axis from `low` to `high` is, 0 likely .. -1 absurd; what the quantity says. Empty: nothing known.
  std::function<double(double low, double high)> range_prior;
  double place_tolerance = 0.012;  // of the axis: how far a number's center may stand from its place
  bool log_ticks = false;          // the ticks stand as on a logarithmic axis
  bool even_ticks = false;         // the ticks stand evenly
  bool whole_numbers = false;      // exponents: whole, one apart
  Result<void> Check() const;
};

struct NumberSeries {
  AxisScale scale = AxisScale::kLinear;
  double offset = 0.0, slope = 1.0;  // value (log10 of it on a log axis) = offset + slope * t, from number centers alone
  double step = 0.0;                 // between neighbouring numbers; 0 on a log axis
  int decimals = 0;                  // places printed
  std::vector<int> used;             // which numbers agree, in order along the axis
  std::vector<double> values;        // what they are
  std::vector<double> agreement;     // 1: read literally so
  double score = 0.0;
  double margin = 0.0;    // over the best other meaning, per number
  double residual = 0.0;  // rms of places, as a fraction of the axis
  std::vector<std::string> doubts;
  double ValueAt(double t) const;
};

// Numbers need not be in order and may hold strangers (curve labels, title digits). Errors: kNotFound when fewer than two numbers agree on anything.
Result<NumberSeries> FitNumberSeries(const std::vector<SeriesNumber>& numbers, const SeriesOptions& options = {});

// The nearest of 1, 2, 2.5, 4, 5 (and, less liked, 1.25, 1.5, 3, 6, 8) times a power of ten; `liking` 1 for the first kind, 0.5 for the second.
double NiceStep(double step, double* liking = nullptr);

}  // namespace islebook
