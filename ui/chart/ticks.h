#pragma once
// Ticks of an axis at round numbers, and numbers as a chart prints them.

#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"

namespace islebook {

struct Ticks {
  std::vector<double> major;
  std::vector<double> minor;  // without the major ones
  int decimals = 0;           // that tell the major ticks apart
};

// Ticks within [min, max], about `about` major ones. min < max; on a log axis min > 0.
Ticks PlaceTicks(double min, double max, AxisScale scale, int about);

struct AxisSpan {
  double min = 0.0;
  double max = 1.0;
};

// The smallest span of whole steps that holds [min, max].
AxisSpan RoundOutward(double min, double max, AxisScale scale, int about);

// "90,000", "0.74", "-1.5": thousands apart from 10,000 on, a point before decimals.
std::string NumberOnChart(double value, int decimals);
// As few decimals as say the value to six digits: 0.74, 102.5, 90,000.
std::string ValueOnChart(double value);

}  // namespace islebook
