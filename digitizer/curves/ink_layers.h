#pragma once
// Ink layers: on a sheet in several colors, the lines of each color traced by themselves. A line that others cross or touch is then followed
// through its own ink and not dragged toward theirs. Internal to curves.

#include <vector>

#include "digitizer/axes/axes.h"
#include "digitizer/page/page.h"
#include "digitizer/ridges/ridges.h"

namespace islebook {

struct InkLayer {
  Page page;           // its ink is this color's part of the page's
  RidgesFound ridges;  // of that ink, inside the panel
  std::vector<bool> chain_is_furniture;
};

// One layer for each color that curves of the panel are drawn in; empty where they are all of one color. `box`: the panel on the page.
Result<std::vector<InkLayer>> SeparateInkLayers(const Page& page, const RidgesFound& ridges, const AxesFound& axes, cv::Rect box);

}  // namespace islebook
