#pragma once
// Islands without a label between two that have one. Internal to assemble.

#include <vector>

#include "digitizer/assemble/values.h"

namespace islebook {

// Along a speed line, from one efficiency to another, every level of the chart between them is met once. Where as many islands without a value are met as
// the chart's other islands have values in between, each takes its own of those: suggested, never asserted.
void SuggestLevelsBetween(const std::vector<PlotCurve>& curves, const std::vector<RoleGuess>& guesses, std::vector<CurveValue>& values);

}  // namespace islebook
