#pragma once
// Islands that were joined across the map's edge are parted again: a map's islands are cut off at its edge, and the two ends there point at each other.
// Internal to assemble.

#include <vector>

#include "digitizer/assemble/roles.h"
#include "digitizer/labels/labels.h"

namespace islebook {

struct EdgeSplitInput {
  std::vector<TracedCurve>* traces = nullptr;
  std::vector<PlotCurve>* seen = nullptr;  // run along traces
  std::vector<RoleGuess>* guesses = nullptr;
  std::vector<CurveLabel>* labels = nullptr;  // each candidate is moved to the part of its curve that is nearest to it
  const FrameMapping* frame = nullptr;
};

// Parts islands where they touch the lowest or the top speed line from inside and turn back. New parts are added at the end.
void SplitAtMapEdge(const EdgeSplitInput& input);

}  // namespace islebook
