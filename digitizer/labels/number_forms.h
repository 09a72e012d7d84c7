#pragma once
// How the numbers of one family are printed: all efficiencies of a chart alike ("0.72" or "72%"), all its speeds alike ("105,000" or "105k").

#include <optional>
#include <string>
#include <vector>

#include "digitizer/labels/labels.h"

namespace islebook {

struct NumberForm {
  std::string pattern;             // "0.00"; told by PatternOf
  std::vector<std::string> texts;  // every number that may be printed so
  std::vector<double> values;      // runs along texts, as ParseLabelText understands them
  std::vector<std::string> units;
};

// The forms that enough of the labels were read in: of efficiencies and of speeds or openings, each at most one.
std::vector<NumberForm> FormsOf(const std::vector<CurveLabel>& labels);

// "0.72" is "0.00", "72%" is "0%", "105,000" is "0,000", "67.5k" is "0k"; empty where the text is printed in none of the known forms.
std::string PatternOf(const std::string& text);

}  // namespace islebook
