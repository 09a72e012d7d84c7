#pragma once
// Stretches that two lines share, and whether each leaves them on its own way. Internal to assemble.

#include <cstddef>

#include "digitizer/curves/curves.h"

namespace islebook {

// A stretch [from, to] of points of `line` that `other` covers, too.
struct SharedStretch {
  const TracedCurve* line = nullptr;
  const TracedCurve* other = nullptr;
  std::size_t from = 0, to = 0;
};

// Whether one of the two could be taken for the other by color, dashes and width.
bool AreDrawnAlike(const TracedCurve& a, const TracedCurve& b);

// Whether the distance between the two, seen well before and well after the stretch, goes on smoothly as they are, and would not if the two had changed
// places in it. False where one of them ends before they part: then nothing tells whose the stretch is.
bool PartsOnItsOwnWay(const SharedStretch& stretch);

}  // namespace islebook
