#include "digitizer/axes/frame_words.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace islebook {

std::vector<PlacedWord> PlaceWords(const std::vector<Word>& words, const FrameMapping& frame, double digit_height_px) {
  std::vector<PlacedWord> out;
  out.reserve(words.size());
  constexpr double kDegree = std::numbers::pi / 180.0;
  for (std::size_t i = 0; i < words.size(); ++i) {
    const Word& w = words[i];
    PlacedWord p;
    p.word = static_cast<int>(i);
    p.center = frame.FrameFromImage(w.center);
    p.short_word = w.width_px < 1.25 * w.height_px || w.glyphs.size() <= 1 || (w.glyphs.size() <= 3 && w.width_px < 1.5 * digit_height_px);
    const std::array<double, 4> j = frame.Jacobian(w.center);
    // d(x, y)/du is proportional to (dv/dy, -dv/dx).
    const double determinant = j[0] * j[3] - j[1] * j[2];
    const double sign = determinant > 0 ? 1.0 : -1.0;
    p.row_angle_deg = std::atan2(-j[2] * sign, j[3] * sign) / kDegree;
    double tilt = std::fmod(w.angle_deg - p.row_angle_deg, 180.0);
    if (tilt > 90.0) tilt -= 180.0;
    if (tilt <= -90.0) tilt += 180.0;
    p.tilt_deg = tilt;
    p.u0 = p.u1 = p.center.u;
    p.v0 = p.v1 = p.center.v;
    const double c = std::cos(w.angle_deg * kDegree), s = std::sin(w.angle_deg * kDegree);
    for (const double a : {-0.5, 0.5}) {
      for (const double b : {-0.5, 0.5}) {
        const double along = a * w.width_px, across = b * w.height_px;
        const FramePoint f = frame.FrameFromImage({w.center.x + along * c - across * s, w.center.y + along * s + across * c});
        p.u0 = std::min(p.u0, f.u);
        p.u1 = std::max(p.u1, f.u);
        p.v0 = std::min(p.v0, f.v);
        p.v1 = std::max(p.v1, f.v);
      }
    }
    out.push_back(p);
  }
  return out;
}

SidePlace PlaceAtSide(const PlacedWord& w, Side side, double width_px, double height_px) {
  SidePlace p;
  switch (side) {
    case kBottom: p = {-w.v1 * height_px, -w.center.v * height_px, -w.v0 * height_px, w.center.u, w.u0, w.u1}; break;
    case kTop: p = {(w.v0 - 1.0) * height_px, (w.center.v - 1.0) * height_px, (w.v1 - 1.0) * height_px, w.center.u, w.u0, w.u1}; break;
    case kLeft: p = {-w.u1 * width_px, -w.center.u * width_px, -w.u0 * width_px, w.center.v, w.v0, w.v1}; break;
    case kRight: p = {(w.u0 - 1.0) * width_px, (w.center.u - 1.0) * width_px, (w.u1 - 1.0) * width_px, w.center.v, w.v0, w.v1}; break;
  }
  return p;
}

}  // namespace islebook
