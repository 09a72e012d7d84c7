#pragma once
// The plot frame as a mapping: sheet pixels to the straight unit square of the frame and back, through perspective, lens and a bent page.
//
// The way from the sheet to the frame is explicit; the way back solves it by Newton's method to 1e-9 px.
//   d = ((x, y) - center) / half_diagonal                 about the picture's center
//   q = d (1 + k1 |d|^2)                                   radial lens, first term (D. C. Brown, Close-range camera calibration, 1971)
//   (a, b) = homography(q)
//   u = a + spacing_u(a) + bow_u(b) + spread_u(a, b)       bow_u(b) = b (1 - b) (d0 + d1 s + d2 s^2 + d3 s^3), s = 2 b - 1
//   v = b + spacing_v(b) + bow_v(a) + spread_v(a, b)       bow_v(a) = a (1 - a) (c0 + c1 t + c2 t^2 + c3 t^3), t = 2 a - 1
// All corrections vanish at the four corners, so the corners belong to homography and lens alone.

#include <array>
#include <vector>

#include "digitizer/sheet/points.h"

namespace islebook {

// Places in FrameMapping::parameters().
namespace frame_parameter {
inline constexpr int kHomography = 0;  // 8 values, row by row, the ninth is 1
inline constexpr int kLens = 8;        // k1
inline constexpr int kBowV = 9;        // c0..c3
inline constexpr int kBowU = 13;       // d0..d3
inline constexpr int kSpacingU = 17;   // e0, e1: a (1 - a) (e0 + e1 t)
inline constexpr int kSpacingV = 19;   // f0, f1: b (1 - b) (f0 + f1 s)
inline constexpr int kSpreadV = 21;    // g: a (1 - a) s g, the bow of the top less that of the bottom
inline constexpr int kSpreadU = 22;    // h: b (1 - b) t h
inline constexpr int kFree = 23;       // how many are fitted
inline constexpr int kCenterX = 23;    // fixed: picture center and half diagonal, px
inline constexpr int kCenterY = 24;
inline constexpr int kHalfDiagonal = 25;
inline constexpr int kCount = 26;
}  // namespace frame_parameter

class FrameMapping {
 public:
  FrameMapping() = default;
  // Through four corners alone (top left, top right, bottom right, bottom left): a homography.
  static FrameMapping FromCorners(const std::array<ImagePoint, 4>& corners);
  // From the parameters of a document's calibration; the number of values must be frame_parameter::kCount.
  static FrameMapping FromParameters(std::vector<double> parameters, double residual_px = 0.0);

  FramePoint FrameFromImage(ImagePoint p) const;
  ImagePoint ImageFromFrame(FramePoint p) const;
  // d(u,v)/d(x,y) at p: {du/dx, du/dy, dv/dx, dv/dy}, per pixel.
  std::array<double, 4> Jacobian(ImagePoint p) const;

  std::array<ImagePoint, 4> Corners() const;  // top left, top right, bottom right, bottom left
  double WidthPx() const;                     // mean length of top and bottom side
  double HeightPx() const;

  const std::vector<double>& parameters() const { return parameters_; }
  // Name for the document's calibration: "homography", with "+lens", "+curl" and "+spacing" where those terms are not zero.
  const char* model() const;
  double residual_px() const { return residual_px_; }  // rms distance of the frame's evidence from the mapping

 private:
  friend class FrameFitter;  // digitizer/axes/frame_fit.h
  std::vector<double> parameters_;
  double residual_px_ = 0.0;
};

}  // namespace islebook
