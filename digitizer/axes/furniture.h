#pragma once
// Which ridge chains are the chart's furniture: frame, grid, ticks, boxes, page edges, scale lines. A short run of a curve along a grid line is not.

#include <array>
#include <vector>

#include "digitizer/axes/frame_find.h"
#include "digitizer/axes/plot_frame.h"
#include "digitizer/axes/ticks.h"
#include "digitizer/print/print.h"
#include "digitizer/ridges/ridges.h"

namespace islebook {

struct FurnitureFrame {
  const FrameMapping* frame = nullptr;
  const FrameCandidate* candidate = nullptr;
  const MarksFound* marks = nullptr;
};

// Boxes with rounded corners, drawn as one closed line around print inside a frame: legends.
std::vector<FrameCandidate> FindChainBoxes(const RidgesFound& ridges, const FrameMapping& frame, const std::vector<Word>& words,
                                           double digit_height_px);

std::vector<bool> MarkFurniture(const RidgesFound& ridges, const std::vector<FurnitureFrame>& frames, const std::vector<FrameCandidate>& boxes);

}  // namespace islebook
