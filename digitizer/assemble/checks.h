#pragma once
// Checks on judged curves: what a whole map's structure says against single curves. Each check adds its reason to the curves it doubts. Internal to assemble.

#include <string>
#include <vector>

#include "digitizer/assemble/assemble.h"
#include "digitizer/assemble/plot_curve.h"

namespace islebook {

struct CheckedPanel {
  std::vector<JudgedCurve>* judged = nullptr;
  const std::vector<PlotCurve>* seen = nullptr;  // runs along judged
};

// Kinks, hidden stretches and doubtful joins of each curve by itself.
void CheckTraces(const CheckedPanel& panel);
// Crossings within a family, ends that stop in the open, surge line against speed lines, right ends against their neighbors.
void CheckCompressor(const CheckedPanel& panel);
// Flow and efficiency lines of one value cover the same expansion ratios and carry the same values.
void CheckTurbine(const CheckedPanel& flow, const CheckedPanel& efficiency);
// Values of one family mostly stand in even steps; what does not fit is doubted. Returns words about gaps, empty if none.
std::string CheckSteps(const CheckedPanel& panel, CurveRole role);
// Whether any curve is doubted for its shape, so that another may be hidden in it.
bool AnyShapeDoubted(const std::vector<JudgedCurve>& judged);

}  // namespace islebook
