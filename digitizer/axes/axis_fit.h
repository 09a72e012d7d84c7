#pragma once
// From numbers that agree and marks to a fraction of a pixel: value as a function of the place along an axis, with its uncertainty.

#include <vector>

#include "digitizer/axes/axes.h"
#include "digitizer/axes/number_series.h"
#include "digitizer/axes/ticks.h"

namespace islebook {

struct AxisFitOptions {
  double length_px = 1000.0;       // of the axis
  double place_tolerance = 0.012;  // how far a number's center may stand from its mark, part of the axis
};

// Fills offset, slope, their covariance, the clean ends, residual and the counts; titles and units are not its business.
// `numbers_t`: place of every number of the series (as given to FitNumberSeries). `marks`: ticks, grid lines and drawn sides, all of this axis.
AxisFit FitAxis(const NumberSeries& series, const std::vector<double>& numbers_t, const std::vector<Mark>& marks, const AxisFitOptions& options);

// True where the marks stand as on a logarithmic axis (2..9 between decades), given the place of one decade's ends; used before the numbers are known.
bool MarksLookLogarithmic(const std::vector<Mark>& marks);
bool MarksLookEven(const std::vector<Mark>& marks);

}  // namespace islebook
