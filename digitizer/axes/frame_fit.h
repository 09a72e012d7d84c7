#pragma once
// Fits a FrameMapping to the drawn lines of a plot: its four sides, grid lines and ticks. One robust least squares over
// homography, lens and page bow; terms that the evidence does not ask for stay zero.

#include <optional>
#include <string>
#include <vector>

#include "digitizer/axes/plot_frame.h"
#include "mapstore/units/error.h"

namespace islebook {

// A drawn line of constant u or v.
struct FrameLine {
  bool horizontal = true;          // of constant v
  std::optional<double> at;        // the constant; nullopt: a grid line whose place is fitted too
  std::vector<ImagePoint> points;  // anywhere along it, sheet pixels
  double sigma_px = 0.1;           // standard uncertainty of a point across the line
};

// A place known in the frame: a tick on a side, a corner.
struct FramePlace {
  ImagePoint image;
  std::optional<double> u, v;  // what is known of it
  double sigma_px = 0.2;
};

struct FrameFitOptions {
  double picture_width = 0.0;  // px, of the whole sheet: the lens is centered on it. 0: no lens
  double picture_height = 0.0;
  double straight_px = 0.10;  // sides that a homography follows this closely (worst mean over a twelfth of a side) need no further terms
  double loss_px = 0.5;       // residuals beyond this count less and less
  int points_per_line = 96;   // lines are thinned to this many points
  bool allow_lens = true;
  bool allow_curl = true;
  bool fit_spacing = false;  // places along the sides are trusted enough to bend the spacing
  Result<void> Check() const;
};

struct FrameFit {
  FrameMapping mapping;
  double residual_px = 0.0;  // rms of inliers
  double worst_px = 0.0;     // largest mean residual over a twelfth of a line: what is left that is not noise
  int inliers = 0, observations = 0;
};

class FrameFitter {
 public:
  // `corners` start the fit: top left, top right, bottom right, bottom left. Errors: kInvalidArgument (too little evidence, corners in no order).
  static Result<FrameFit> Fit(const std::array<ImagePoint, 4>& corners, const std::vector<FrameLine>& lines,
                              const std::vector<FramePlace>& places = {}, const FrameFitOptions& options = {});
};

}  // namespace islebook
