#pragma once
// Boost and drive pressure over engine speed, for report and window.

#include <vector>

#include "mapstore/bench/bench.h"
#include "ui/chart/strip.h"

namespace islebook {

// Boost over engine speed and, with turbines, drive pressure, a pair of lines an altitude. Empty with fewer than two engine speeds.
std::vector<StripLine> PressureLines(const BenchResult& result);
// Title and axes for them; size of print and night are the caller's.
StripOptions PressureStrip(const BenchResult& result);

}  // namespace islebook
