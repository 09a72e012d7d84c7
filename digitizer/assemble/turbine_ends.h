#pragma once
// Ends of turbine lines: where a line is steep, a small difference of expansion ratio is a long piece of it. Internal to assemble.

#include "digitizer/assemble/checks.h"

namespace islebook {

// An efficiency line reaches as far as the flow line of its value, no less and no more.
void CheckTurbineEnds(const CheckedPanel& flow, const CheckedPanel& efficiency);

}  // namespace islebook
