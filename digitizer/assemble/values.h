#pragma once
// Values: which printed number belongs to which curve, and whether the numbers make sense together. Internal to assemble.

#include <optional>
#include <string>
#include <vector>

#include "digitizer/assemble/plot_curve.h"
#include "digitizer/assemble/roles.h"
#include "digitizer/labels/labels.h"

namespace islebook {

struct CurveValue {
  std::optional<double> value;
  std::string unit;
  double confidence = 0.0;
  bool inferred = false;             // from the neighbors, not read
  std::vector<std::string> reasons;  // doubts
};

struct ValuesGiven {
  std::vector<CurveValue> values;         // per curve
  int agreed = 0;                         // values that two labels of a turbine's sheet agree on
  std::vector<std::string> stray_labels;  // numbers in the plot that no curve took, as read
};

// `guesses` tell the roles; curves that are dropped or that carry no value (surge, choke) get none.
ValuesGiven GiveValues(const std::vector<TracedCurve>& traces, const std::vector<PlotCurve>& curves, const std::vector<RoleGuess>& guesses,
                       const std::vector<CurveLabel>& labels);

}  // namespace islebook
