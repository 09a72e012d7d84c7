#pragma once
// Axes drawn as a bare L have ends, not corners: where their ink stops, and where their last tick stands.

#include "digitizer/axes/frame_find.h"
#include "digitizer/axes/long_lines.h"
#include "digitizer/page/page.h"

namespace islebook {

// Carries the free ends of a candidate without top and right side out to the last ink, and onto a tick that stands there.
FrameCandidate RefineBareEnds(const Page& page, const LongLines& lines, FrameCandidate candidate);

}  // namespace islebook
