#pragma once
// Ridges: every drawn line's center, to a few hundredths of a pixel, as chains of points. One pass serves the frame, the grid and the curves.
// Method: one Gaussian blur, Hessian of the blurred ink at candidate pixels, sub-pixel center by the second-order Taylor
// expansion across the line (C. Steger, An unbiased detector of curvilinear structures, IEEE PAMI 20(2), 1998), linking along the tangent.

#include <vector>

#include <opencv2/core/mat.hpp>

#include "digitizer/page/page.h"
#include "digitizer/sheet/points.h"

namespace islebook {

struct RidgeOptions {
  double sigma_px = 1.6;        // of the Gaussian; serves lines of 1 to 6 px. Thicker lines are found at twice this on the half-size picture
  double low_contrast = 5.0;    // a chain point's second derivative across the line times sigma^2, in gray levels, is at least this or 5 x its noise
  double high_contrast = 10.0;  // a chain holds at least one point of this
  double min_length_px = 3.0;   // shorter chains are dropped
  Result<void> Check() const;
};

struct RidgeChain {
  std::vector<ImagePoint> points;  // about 1 px apart, in order along the line
  std::vector<float> strength;     // second derivative across the line at each point, times sigma^2
  bool closed = false;             // ends meet; the first point is not repeated
  double length_px = 0.0;
  double ink_mass =
      0.0;  // median over the chain of the darkness summed across the line, in px of full black: blur leaves it unchanged, so it is the drawn width times its blackness
  cv::Vec3f lab{};       // median color on the center line, CIE Lab (L 0..100)
  bool is_dash = false;  // one bar of a dashed line
  // Of a line that a drawing itself gave (digitizer/drawing):
  bool dash_pattern = false;  // the whole of a line that is drawn dashed
  bool area_edge = false;     // the edge of a filled area, not a stroke
};

struct RidgesFound {
  std::vector<RidgeChain> chains;
  cv::Mat1b dash_mask;  // 255 on the bars claimed by dashed lines: not print
  bool exact = false;   // the chains are a drawing's own paths: whole, also where other ink hides them, and exact to the drawing's own rounding
  StageReport report;
};

// Darkness summed across the line at p, whose direction is `direction` (rad), out to where it has faded below `floor_level` gray levels or rises again; px of full black.
double InkMassAcross(const cv::Mat1b& ink, ImagePoint p, double direction, double floor_level);

// Deterministic, whatever the number of threads.
Result<RidgesFound> TraceRidges(const Page& page, const RidgeOptions& options = {});

}  // namespace islebook
