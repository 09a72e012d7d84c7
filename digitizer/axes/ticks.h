#pragma once
// Ticks along the sides of a frame and grid lines across it, to a fraction of a pixel, seen as peaks in averaged ink profiles:
// dotted and faint grids add up where single dots could not be told from noise.

#include <array>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "digitizer/axes/frame_find.h"
#include "digitizer/axes/plot_frame.h"
#include "digitizer/page/page.h"

namespace islebook {

struct Mark {
  double t = 0.0;          // along the axis, 0..1
  double sigma_t = 0.0;    // standard uncertainty of t
  double length_px = 0.0;  // of a tick, out of or into the frame
  double strength = 0.0;   // ink above the surroundings, gray levels
  double coverage = 1.0;   // of a grid line: part of its length that is drawn
  bool grid = false;
  bool frame_side = false;  // an end of the axis that is a drawn side
};

struct MarksFound {
  std::array<std::vector<Mark>, 4> ticks;  // by Side; t runs along the side (u or v)
  std::vector<Mark> grid_u, grid_v;        // lines of constant u, of constant v
};

MarksFound FindMarks(const Page& page, const FrameMapping& frame, double line_width_px);

// Peaks of a profile sampled every `spacing` px: above `threshold` over the running median, place refined to a fraction of a sample.
struct Peak {
  double at = 0.0;  // sample index
  double height = 0.0;
  double width = 0.0;  // samples at half height
};
std::vector<Peak> FindPeaks(const std::vector<double>& profile, double threshold, int window);

}  // namespace islebook
