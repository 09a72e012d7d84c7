#pragma once
// Strips: lines that were drawn as thin filled shapes. Internal to drawing.

#include <vector>

#include "digitizer/drawing/drawn_page.h"

namespace islebook {

struct Strip {
  Polyline middle;
  double width_px = 0.0;
};

// The middle of a shape that is nothing but one thin strip: a long thin polygon, or the ring between two outlines. Empty: it is something else.
std::vector<Strip> FindStrips(const std::vector<Polyline>& lines);

}  // namespace islebook
