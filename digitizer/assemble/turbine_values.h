#pragma once
// Values of turbine lines: each speed or opening is printed twice, at a flow line and at an efficiency line that cover the same expansion ratios.
// What one label leaves open the other, and the series, may tell. Internal to assemble.

#include <vector>

#include "digitizer/assemble/assemble.h"
#include "digitizer/assemble/values.h"

namespace islebook {

struct TurbinePanel {
  const Panel* panel = nullptr;
  const PanelEvidence* evidence = nullptr;
  bool main_is_flow = true;        // its left axis is flow, otherwise efficiency
  std::vector<JudgedCurve> known;  // of its curves, if they have been judged before
};

// Per panel, as GiveValues, and then settled between the lines of one value.
std::vector<ValuesGiven> GiveTurbineValues(const std::vector<TurbinePanel>& panels);

}  // namespace islebook
