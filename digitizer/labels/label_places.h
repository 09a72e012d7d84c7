#pragma once
// Where a label stands to a curve: on its line, at its end, or beside it.

#include <optional>

#include "digitizer/labels/labels.h"

namespace islebook {

struct PlaceRules {
  double reach = 2.5;            // farthest, in digit heights
  double print_angle_deg = 0.0;  // of level print on the sheet: a label that is tilted otherwise follows its curve
};

// Nothing if the curve is out of reach. `cost` orders candidates: distance with what speaks against the pair, in px.
struct PlacedCandidate {
  LabelCandidate candidate;
  double cost = 0.0;
};
std::optional<PlacedCandidate> PlaceLabel(const CurveLabel& label, const TracedCurve& curve, std::size_t index, const PlaceRules& rules);

}  // namespace islebook
