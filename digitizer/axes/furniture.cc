#include "digitizer/axes/furniture.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

double MedianOf(std::vector<double> v) {
  if (v.empty()) return 0.0;
  auto middle = v.begin() + static_cast<long>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  return *middle;
}

// A chain thinned, in frame coordinates.
struct InFrame {
  std::vector<FramePoint> points;
  double inside = 0.0;  // part of the points inside the frame
};

InFrame Thin(const RidgeChain& chain, const FrameMapping& frame) {
  InFrame out;
  const std::size_t n = chain.points.size();
  const std::size_t stride = std::max<std::size_t>(1, n / 160);
  std::size_t inside = 0;
  for (std::size_t i = 0; i < n; i += stride) {
    const FramePoint f = frame.FrameFromImage(chain.points[i]);
    out.points.push_back(f);
    if (f.u > 0.0 && f.u < 1.0 && f.v > 0.0 && f.v < 1.0) ++inside;
  }
  out.inside = out.points.empty() ? 0.0 : static_cast<double>(inside) / static_cast<double>(out.points.size());
  return out;
}

struct GridStyle {
  double ink_mass = 0.0;
  cv::Vec3f lab{};
  bool known = false;
};

double ColorDistance(const cv::Vec3f& a, const cv::Vec3f& b) {
  return std::sqrt((a[0] - b[0]) * (a[0] - b[0]) + (a[1] - b[1]) * (a[1] - b[1]) + (a[2] - b[2]) * (a[2] - b[2]));
}

// Index of the nearest line within `reach`, -1 for none.
int NearestLine(const std::vector<Mark>& lines, double t, double reach) {
  if (lines.empty()) return -1;
  const auto after = std::lower_bound(lines.begin(), lines.end(), t, [](const Mark& m, double x) { return m.t < x; });
  int best = -1;
  double off = reach;
  for (auto it = after == lines.begin() ? after : after - 1; it != lines.end() && it <= after; ++it) {
    if (std::abs(it->t - t) < off) off = std::abs(it->t - t), best = static_cast<int>(it - lines.begin());
  }
  return best;
}

class Marker {
 public:
  Marker(const RidgesFound& ridges, const std::vector<FurnitureFrame>& frames, const std::vector<FrameCandidate>& boxes)
      : ridges_(ridges), frames_(frames), boxes_(boxes) {}

  std::vector<bool> Mark() {
    std::vector<bool> out(ridges_.chains.size(), false);
    std::vector<bool> inside_any(ridges_.chains.size(), false);
    for (const FurnitureFrame& f : frames_) MarkInFrame(f, &out, &inside_any);
    for (std::size_t i = 0; i < out.size(); ++i) {
      if (!inside_any[i] && !frames_.empty()) out[i] = true;  // page edges, scale lines, ticks, logos outside
      if (!out[i] && InBox(ridges_.chains[i])) out[i] = true;
    }
    return out;
  }

 private:
  void MarkInFrame(const FurnitureFrame& f, std::vector<bool>* out, std::vector<bool>* inside_any) const {
    const double width = f.frame->WidthPx(), height = f.frame->HeightPx();
    const std::array<ImagePoint, 4> corners = f.frame->Corners();
    struct OnGrid {
      std::size_t chain;
      bool constant_u;
      double length_px;
    };
    std::vector<OnGrid> on_grid;
    for (std::size_t i = 0; i < ridges_.chains.size(); ++i) {
      const RidgeChain& chain = ridges_.chains[i];
      if (chain.points.empty()) continue;
      // A quick look: none of first, middle and last is near the frame.
      const auto near = [&](const ImagePoint& p) { return InsideQuad(corners, p, 12.0 + 0.02 * width); };
      if (!near(chain.points.front()) && !near(chain.points.back()) && !near(chain.points[chain.points.size() / 2])) continue;
      const InFrame in = Thin(chain, *f.frame);
      if (in.inside > 0.2) (*inside_any)[i] = true;
      const auto n = static_cast<double>(in.points.size());
      // Along a side.
      const double side_reach = 2.2 + 0.5 * chain.ink_mass;
      double side_share = 0.0, u_low = 1e9, u_high = -1e9, v_low = 1e9, v_high = -1e9;
      for (const FramePoint& p : in.points) {
        const double du = std::min(std::abs(p.u), std::abs(p.u - 1.0)) * width, dv = std::min(std::abs(p.v), std::abs(p.v - 1.0)) * height;
        const bool within =
            p.u * width > -side_reach && (p.u - 1.0) * width < side_reach && p.v * height > -side_reach && (p.v - 1.0) * height < side_reach;
        if (within && (du < side_reach || dv < side_reach)) side_share += 1.0 / n;
        u_low = std::min(u_low, p.u), u_high = std::max(u_high, p.u), v_low = std::min(v_low, p.v), v_high = std::max(v_high, p.v);
      }
      if (side_share > 0.85) {
        (*out)[i] = true;
        continue;
      }
      if (IsTick(f, u_low, u_high, v_low, v_high, width, height)) {
        (*out)[i] = true;
        continue;
      }
      // Along grid lines of either kind; a chain may turn from one onto another where they cross.
      int on_u = 0, on_v = 0, on_any = 0;
      for (const FramePoint& p : in.points) {
        const bool at_u = NearestLine(f.marks->grid_u, p.u, 1.6 / width) >= 0, at_v = NearestLine(f.marks->grid_v, p.v, 1.6 / height) >= 0;
        const bool at_side =
            std::min(std::abs(p.u), std::abs(p.u - 1.0)) * width < side_reach || std::min(std::abs(p.v), std::abs(p.v - 1.0)) * height < side_reach;
        on_u += at_u ? 1 : 0;
        on_v += at_v ? 1 : 0;
        on_any += at_u || at_v || at_side ? 1 : 0;
      }
      if (on_any < 0.85 * n) continue;
      const double along_v = (v_high - v_low) * height, along_u = (u_high - u_low) * width;
      const bool turns = std::min(along_u, along_v) > 6.0;
      // Not turning, it must lie on one line and run along it.
      if (!turns && (along_v > along_u ? on_u : on_v) < 0.8 * n) continue;
      on_grid.push_back({i, along_v > along_u, std::max(along_u, along_v)});
    }
    // What the grid is drawn like: its longest pieces.
    std::array<GridStyle, 2> style;
    for (const bool constant_u : {false, true}) {
      std::vector<double> masses;
      std::array<std::vector<double>, 3> lab;
      double longest = 0.0;
      for (const OnGrid& g : on_grid) {
        if (g.constant_u == constant_u) longest = std::max(longest, g.length_px);
      }
      for (const OnGrid& g : on_grid) {
        if (g.constant_u != constant_u || g.length_px < 0.3 * longest) continue;
        masses.push_back(ridges_.chains[g.chain].ink_mass);
        for (int c = 0; c < 3; ++c) lab[c].push_back(ridges_.chains[g.chain].lab[c]);
      }
      GridStyle& s = style[constant_u ? 1 : 0];
      s.known = masses.size() >= 3;
      s.ink_mass = MedianOf(masses);
      for (int c = 0; c < 3; ++c) s.lab[c] = static_cast<float>(MedianOf(lab[c]));
    }
    for (const OnGrid& g : on_grid) {
      const RidgeChain& chain = ridges_.chains[g.chain];
      const GridStyle& s = style[g.constant_u ? 1 : 0];
      const double full = g.constant_u ? height : width;
      if (s.known && g.length_px < 0.6 * full) {
        // A bolder or differently colored run on a grid line belongs to a curve that touches it.
        const bool bolder = chain.ink_mass > 1.7 * s.ink_mass + 0.25;
        const bool colored = ColorDistance(chain.lab, s.lab) > 22.0 && std::hypot(chain.lab[1] - s.lab[1], chain.lab[2] - s.lab[2]) > 12.0;
        if (bolder || colored) continue;
      }
      (*out)[g.chain] = true;
    }
  }

  static bool IsTick(const FurnitureFrame& f, double u_low, double u_high, double v_low, double v_high, double width, double height) {
    const double across_u = (u_high - u_low) * width, across_v = (v_high - v_low) * height;
    if (across_u > 45.0 || across_v > 45.0) return false;
    const auto matches = [](const std::vector<islebook::Mark>& ticks, double t, double scale, double reach) {
      return std::any_of(ticks.begin(), ticks.end(),
                         [&](const islebook::Mark& m) { return std::abs(m.t - t) * scale < 1.8 && reach < m.length_px + 4.0; });
    };
    if (across_v > 1.5 * across_u) {
      const double u = 0.5 * (u_low + u_high);
      if (v_low * height < 4.0 && matches(f.marks->ticks[kBottom], u, width, std::max(-v_low, v_high) * height)) return true;
      if ((1.0 - v_high) * height < 4.0 && matches(f.marks->ticks[kTop], u, width, std::max(v_high - 1.0, 1.0 - v_low) * height)) return true;
    }
    if (across_u > 1.5 * across_v) {
      const double v = 0.5 * (v_low + v_high);
      if (u_low * width < 4.0 && matches(f.marks->ticks[kLeft], v, height, std::max(-u_low, u_high) * width)) return true;
      if ((1.0 - u_high) * width < 4.0 && matches(f.marks->ticks[kRight], v, height, std::max(u_high - 1.0, 1.0 - u_low) * width)) return true;
    }
    return false;
  }

  bool InBox(const RidgeChain& chain) const {
    for (const FrameCandidate& b : boxes_) {
      if (chain.points.empty()) continue;
      int in = 0;
      for (const std::size_t k : {std::size_t{0}, chain.points.size() / 2, chain.points.size() - 1})
        in += InsideQuad(b.corners, chain.points[k], 3.0) ? 1 : 0;
      if (in == 3) return true;
    }
    return false;
  }

  const RidgesFound& ridges_;
  const std::vector<FurnitureFrame>& frames_;
  const std::vector<FrameCandidate>& boxes_;
};

}  // namespace

std::vector<FrameCandidate> FindChainBoxes(const RidgesFound& ridges, const FrameMapping& frame, const std::vector<Word>& words,
                                           double digit_height_px) {
  std::vector<FrameCandidate> out;
  const double width = frame.WidthPx(), height = frame.HeightPx();
  for (const RidgeChain& chain : ridges.chains) {
    if (chain.points.size() < 40 || chain.length_px < 10.0 * digit_height_px || chain.length_px > 1.4 * (width + height)) continue;
    const double open = std::hypot(chain.points.front().x - chain.points.back().x, chain.points.front().y - chain.points.back().y);
    if (!chain.closed && open > 0.2 * chain.length_px) continue;
    const InFrame in = Thin(chain, frame);
    if (in.inside < 0.95) continue;
    double u0 = 1e9, u1 = -1e9, v0 = 1e9, v1 = -1e9;
    for (const FramePoint& p : in.points) u0 = std::min(u0, p.u), u1 = std::max(u1, p.u), v0 = std::min(v0, p.v), v1 = std::max(v1, p.v);
    const double w = (u1 - u0) * width, h = (v1 - v0) * height;
    if (w < 3.0 * digit_height_px || h < 1.3 * digit_height_px || w * h > 0.3 * width * height) continue;
    const double corner = std::min(0.25 * std::min(w, h), 0.8 * digit_height_px);
    int straight = 0, rounded = 0;
    for (const FramePoint& p : in.points) {
      const double du = std::min(p.u - u0, u1 - p.u) * width, dv = std::min(p.v - v0, v1 - p.v) * height;
      if (std::min(du, dv) < 1.6)
        ++straight;
      else if (du < corner && dv < corner)
        ++rounded;
    }
    const auto n = static_cast<int>(in.points.size());
    if (straight < 0.75 * n || straight + rounded < 0.97 * n) continue;
    FrameCandidate box;
    box.corners = {frame.ImageFromFrame({u0, v1}), frame.ImageFromFrame({u1, v1}), frame.ImageFromFrame({u1, v0}), frame.ImageFromFrame({u0, v0})};
    box.area = w * h;
    const auto inside = std::count_if(words.begin(), words.end(), [&](const Word& word) { return InsideQuad(box.corners, word.center); });
    if (inside >= 1) out.push_back(box);
  }
  return out;
}

std::vector<bool> MarkFurniture(const RidgesFound& ridges, const std::vector<FurnitureFrame>& frames, const std::vector<FrameCandidate>& boxes) {
  return Marker(ridges, frames, boxes).Mark();
}

}  // namespace islebook
