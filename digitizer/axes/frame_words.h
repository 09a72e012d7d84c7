#pragma once
// Words as they stand about a frame: distances from its sides and places along them.

#include <vector>

#include "digitizer/axes/frame_find.h"
#include "digitizer/axes/plot_frame.h"
#include "digitizer/print/print.h"

namespace islebook {

struct PlacedWord {
  int word = 0;
  FramePoint center;
  double u0 = 0.0, u1 = 0.0, v0 = 0.0, v1 = 0.0;  // extent
  double tilt_deg = 0.0;                          // of the base line against the frame's rows here, in (-90, 90]; 0 level, about 90 turned
  double row_angle_deg = 0.0;                     // on the picture, of the frame's rows here
  bool short_word = false;                        // too small for its own tilt to say anything
  bool Level() const { return short_word || (tilt_deg > -28.0 && tilt_deg < 28.0); }
  bool Turned() const { return short_word || (tilt_deg < -62.0 || tilt_deg > 62.0); }
};

std::vector<PlacedWord> PlaceWords(const std::vector<Word>& words, const FrameMapping& frame, double digit_height_px);

// Outward distance in px of the near edge, the center and the far edge from a side; place of the center along it.
struct SidePlace {
  double near_px = 0.0, center_px = 0.0, far_px = 0.0;
  double t = 0.0, t0 = 0.0, t1 = 0.0;
};
SidePlace PlaceAtSide(const PlacedWord& word, Side side, double width_px, double height_px);

}  // namespace islebook
