#pragma once
// What the sheet's ink says for and against traced curves: lines that no curve covers, ink that goes on where a curve ends or bends away, gaps on bare
// paper. Internal to assemble.

#include <optional>
#include <vector>

#include "digitizer/assemble/assemble.h"

namespace islebook {

// A stretch of drawn line that no curve covers.
struct LooseLine {
  std::vector<ImagePoint> points;
  double length = 0.0;  // parts of the frame's height
};

// What speaks against one curve; lengths in parts of the frame's height.
struct InkEvidence {
  double goes_on = 0.0;   // uncovered line that carries on beyond one of its ends
  double leaves = 0.0;    // uncovered line that carries on where the curve bends away from it
  double bare_gap = 0.0;  // longest stretch over bare paper with no print near; of dashed curves none
  double shared = 0.0;    // longest stretch that another curve covers too, away from the ends, where nothing tells which of the two goes on where
  double bulge = 0.0;     // how far a stretch without ink strays from the way that the ink on both sides of it points, in parts of what is tolerable
  double hidden = 0.0;    // longest stretch under print
  double beyond_front = 0.0,
         beyond_back = 0.0;  // part of the way on from each end, as the curve bends, that lies on ink: 0 it ends there, 1 it goes on
  bool print_front = false, print_back = false;                 // print stands at that end
  std::optional<ImagePoint> into_print_front, into_print_back;  // where the way on from that end, as the curve bends, runs into print at once
};

struct InkFound {
  std::vector<LooseLine> loose;
  std::vector<InkEvidence> curves;  // runs along the traces
};

InkFound SeeInk(const SheetSeen& sheet, const AxesFound& axes, std::size_t panel, const std::vector<TracedCurve>& traces);

}  // namespace islebook
