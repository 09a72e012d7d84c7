#pragma once
// The mapping of a likely frame from all that is drawn of it: its sides; where it is a bare L, the spacing of its ticks and its grid lines too.
//
// Two sides alone leave the perspective open. Ticks that stand evenly on the chart stand on a photograph as t = (a + b i) / (1 + c i), and c of either axis
// is what was open; grid lines say the same by the point in which they meet.

#include "digitizer/axes/frame_find.h"
#include "digitizer/axes/frame_fit.h"
#include "digitizer/axes/long_lines.h"
#include "digitizer/axes/ticks.h"
#include "digitizer/page/page.h"

namespace islebook {

struct CandidateFit {
  FrameFit fit;
  bool perspective_open = false;  // neither sides nor ticks nor grid lines say how the sheet leans, and it may
};

Result<CandidateFit> FitCandidate(const LongLines& lines, const FrameCandidate& candidate, const Page& page);

// Evenly spaced marks as seen in perspective.
struct EvenMarks {
  double a = 0.0, b = 1.0, c = 0.0;
  int count = 0;          // marks that agree
  double residual = 0.0;  // rms of t
  double IndexAt(double t) const { return (a - t) / (c * t - b); }
};
// Nullopt where fewer than five marks, or less than three quarters of them, stand so.
std::optional<EvenMarks> FitEvenMarks(const std::vector<Mark>& marks, double length_px);

}  // namespace islebook
