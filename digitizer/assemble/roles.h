#pragma once
// Roles from the structure of the whole plot. Internal to assemble.

#include <string>
#include <vector>

#include "digitizer/assemble/assemble.h"
#include "digitizer/assemble/plot_curve.h"
#include "mapstore/map/performance_map.h"

namespace islebook {

struct RoleGuess {
  CurveRole role = CurveRole::kOther;
  bool drop = false;  // furniture that slipped through: not a curve at all
  bool on_right_axis = false;
  double confidence = 1.0;
  std::vector<std::string> reasons;
};

struct RoleEvidence {
  const std::vector<TracedCurve>* traces = nullptr;
  const std::vector<PlotCurve>* curves = nullptr;
  const std::vector<char>* efficiency_on = nullptr;  // per curve, 1 where a number that can only be an efficiency stands on the line; may be absent
};

// Roles that are known already: a person's word, and what was judged before where the guess is another.
void KeepRoles(const std::vector<JudgedCurve>& known, std::vector<RoleGuess>& guesses);

std::vector<RoleGuess> GuessCompressorRoles(const RoleEvidence& evidence);

// `main_is_flow`: the panel's y axis is flow; otherwise it is efficiency. `right_is_efficiency`: a second axis stands on the right.
std::vector<RoleGuess> GuessTurbineRoles(const RoleEvidence& evidence, bool main_is_flow, bool right_is_efficiency);

}  // namespace islebook
