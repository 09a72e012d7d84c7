#pragma once
// Checks on judged curves: what a whole map's structure and the sheet's ink say against single curves. Internal to assemble.
// A check either doubts a curve outright or gives a hint: hints are counted together, and only a curve against which enough of them speak is doubted.

#include <string>
#include <vector>

#include "digitizer/assemble/assemble.h"
#include "digitizer/assemble/hint.h"
#include "digitizer/assemble/ink_evidence.h"
#include "digitizer/assemble/plot_curve.h"

namespace islebook {

struct CheckedPanel {
  std::vector<JudgedCurve>* judged = nullptr;
  const std::vector<PlotCurve>* seen = nullptr;  // this and the following run along judged
  const std::vector<InkEvidence>* ink = nullptr;
  std::vector<std::vector<Hint>>* hints = nullptr;
};

// Kinks, hidden stretches and doubtful joins of each curve by itself; what the ink says.
void CheckTraces(const CheckedPanel& panel);
// Ends that stop in the open, surge line against speed lines, right ends against their neighbors.
void CheckCompressor(const CheckedPanel& panel);
// Flow and efficiency lines of one value cover the same expansion ratios.
void CheckTurbine(const CheckedPanel& flow, const CheckedPanel& efficiency);
// Values of one family mostly stand in even steps and are equally round; what does not fit is doubted. Returns words about gaps, empty if none.
std::string CheckSteps(const CheckedPanel& panel, CurveRole role);
// Hints become doubts where they are strong enough together.
void Settle(const CheckedPanel& panel);
// Names the curves that are doubted for their shape, so that another may be hidden in them ("the 50,000 rpm speed line and 2 unlabeled speed lines"); empty: none.
std::string CurvesOfDoubtfulShape(const std::vector<JudgedCurve>& judged);

}  // namespace islebook
