#pragma once
// Values by the company they keep: what each label's ink may say is weighed against the order and the steps of its whole family in one decision.
// Internal to assemble.

#include <cstddef>
#include <utility>
#include <vector>

#include "digitizer/assemble/values.h"
#include "digitizer/labels/labels.h"

namespace islebook {

// `order`: the family's curves, by what the drawing says of their values, lowest first; where `either_way`, lowest or highest first. Values rise strictly
// and mostly in even steps.
void SettleRising(const std::vector<std::size_t>& order, bool either_way, const std::vector<CurveLabel>& labels, std::vector<CurveValue>& values);

// Islands: `lower` holds pairs of curves of which the first has the lower value.
void SettleNested(const std::vector<std::size_t>& family, const std::vector<std::pair<std::size_t, std::size_t>>& lower,
                  const std::vector<CurveLabel>& labels, std::vector<CurveValue>& values);

// What two lines of one value may both be: sets both to what their labels' ink together says, where it says it clearly.
void SettleTogether(CurveValue& a, const std::vector<CurveLabel>& labels_a, CurveValue& b, const std::vector<CurveLabel>& labels_b);

}  // namespace islebook
