#pragma once
// Values: which printed number belongs to which curve, and whether the numbers make sense together. Internal to assemble.

#include <optional>
#include <string>
#include <vector>

#include "digitizer/assemble/assemble.h"
#include "digitizer/assemble/hint.h"
#include "digitizer/assemble/plot_curve.h"
#include "digitizer/assemble/roles.h"
#include "digitizer/labels/labels.h"

namespace islebook {

struct CurveValue {
  std::optional<double> value;
  std::string unit;
  double confidence = 0.0;
  int decimals = 0;                  // of the label as printed
  std::vector<std::size_t> labels;   // that stand at it and may say this value
  bool inferred = false;             // from the neighbors, not read
  bool certain = false;              // a person gave it, or said that there is none
  std::vector<std::string> reasons;  // doubts
  std::vector<Hint> hints;
};

struct ValuesGiven {
  std::vector<CurveValue> values;         // per curve
  int agreed = 0;                         // values that two labels of a turbine's sheet agree on
  std::vector<std::string> stray_labels;  // numbers in the plot that no curve took, as read
};

// `guesses` tell the roles; curves that are dropped or that carry no value (surge, choke) get none. `known` runs along curves, or is empty: what a person said of their
// values is certain.
ValuesGiven GiveValues(const std::vector<TracedCurve>& traces, const std::vector<PlotCurve>& curves, const std::vector<RoleGuess>& guesses,
                       const std::vector<CurveLabel>& labels, const std::vector<JudgedCurve>& known = {});

// Speeds of one family are equally round.
void DoubtOddSpeeds(const std::vector<std::size_t>& family, std::vector<CurveValue>& values);
// Efficiencies of one family are printed alike and stand near each other.
void DoubtOddEfficiencies(const std::vector<std::size_t>& family, std::vector<CurveValue>& values);
// A label that no curve has taken confirms an inferred value.
void BelieveStrayLabels(const std::vector<CurveLabel>& labels, std::vector<char>& used, std::vector<CurveValue>& values);

}  // namespace islebook
