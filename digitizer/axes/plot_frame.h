#pragma once
// The plot frame as a mapping: sheet pixels to the straight unit square of the frame and back, through perspective, lens and a bent page.

#include <array>
#include <vector>

#include "digitizer/sheet/points.h"

namespace islebook {

class FrameMapping {
 public:
  FrameMapping() = default;
  // Through four corners alone (top left, top right, bottom right, bottom left): a homography.
  static FrameMapping FromCorners(const std::array<ImagePoint, 4>& corners);

  FramePoint FrameFromImage(ImagePoint p) const;
  ImagePoint ImageFromFrame(FramePoint p) const;
  // d(u,v)/d(x,y) at p: {du/dx, du/dy, dv/dx, dv/dy}, per pixel.
  std::array<double, 4> Jacobian(ImagePoint p) const;

  std::array<ImagePoint, 4> Corners() const;  // top left, top right, bottom right, bottom left
  double WidthPx() const;                     // mean length of top and bottom side
  double HeightPx() const;

  const std::vector<double>& parameters() const { return parameters_; }
  const char* model() const;                  // name for the document's calibration
  double residual_px() const { return residual_px_; }

 private:
  friend class FrameFitter;  // digitizer/axes/frame_fit.h
  std::vector<double> parameters_;
  double residual_px_ = 0.0;
};

}  // namespace islebook
