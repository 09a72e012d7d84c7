#include "digitizer/assemble/plot_curve.h"

#include <algorithm>
#include <cmath>

namespace islebook {

PlotCurve SeeInFrame(const TracedCurve& curve, const FrameMapping& frame) {
  PlotCurve seen;
  seen.closed = curve.closed;
  const double aspect = frame.WidthPx() / std::max(1.0, frame.HeightPx());
  seen.aspect = aspect;
  for (const ImagePoint& q : curve.points) {
    const FramePoint f = frame.FrameFromImage(q);
    seen.points.push_back({f.u * aspect, f.v});
  }
  if (seen.points.empty()) seen.points.push_back({});
  if (!seen.closed && seen.points.front().x > seen.points.back().x) {
    std::reverse(seen.points.begin(), seen.points.end());
    seen.turned = true;
  }
  seen.min_x = seen.max_x = seen.points.front().x;
  seen.min_y = seen.max_y = seen.points.front().y;
  // Turning is taken over steps long enough to be free of jitter.
  double last_direction = 0;
  bool have_direction = false;
  PlotPoint corner = seen.points.front();
  for (std::size_t i = 1; i < seen.points.size(); ++i) {
    const PlotPoint a = seen.points[i - 1], b = seen.points[i];
    seen.length += std::hypot(b.x - a.x, b.y - a.y);
    seen.min_x = std::min(seen.min_x, b.x);
    seen.max_x = std::max(seen.max_x, b.x);
    seen.min_y = std::min(seen.min_y, b.y);
    seen.max_y = std::max(seen.max_y, b.y);
    seen.back_x += std::max(0.0, a.x - b.x);
    seen.up_y += std::max(0.0, b.y - a.y);
    seen.down_y += std::max(0.0, a.y - b.y);
    if (std::hypot(b.x - corner.x, b.y - corner.y) > 0.02) {
      const double direction = std::atan2(b.y - corner.y, b.x - corner.x);
      if (have_direction) seen.turn += std::remainder(direction - last_direction, 2 * M_PI);
      last_direction = direction;
      have_direction = true;
      corner = b;
    }
  }
  const PlotPoint l = seen.Left(), r = seen.Right();
  const double chord = std::hypot(r.x - l.x, r.y - l.y);
  if (chord > 1e-9)
    for (const PlotPoint& p : seen.points)
      seen.straight = std::max(seen.straight, std::abs((r.x - l.x) * (p.y - l.y) - (r.y - l.y) * (p.x - l.x)) / (chord * chord));
  return seen;
}

double DistanceTo(const PlotCurve& curve, PlotPoint p, std::size_t* at) {
  double best = 1e9;
  for (std::size_t i = 0; i + 1 < curve.points.size(); ++i) {
    const PlotPoint a = curve.points[i], b = curve.points[i + 1];
    const double ex = b.x - a.x, ey = b.y - a.y, ll = ex * ex + ey * ey;
    const double t = ll > 0 ? std::clamp(((p.x - a.x) * ex + (p.y - a.y) * ey) / ll, 0.0, 1.0) : 0.0;
    const double d = std::hypot(p.x - a.x - t * ex, p.y - a.y - t * ey);
    if (d < best) {
      best = d;
      if (at != nullptr) *at = i;
    }
  }
  return best;
}

std::vector<Crossing> FindCrossings(const PlotCurve& a, const PlotCurve& b) {
  std::vector<Crossing> found;
  if (a.min_x > b.max_x || b.min_x > a.max_x || a.min_y > b.max_y || b.min_y > a.max_y) return found;
  const auto nb = b.points.size() + (b.closed ? 1 : 0), na = a.points.size() + (a.closed ? 1 : 0);
  for (std::size_t i = 0; i + 1 < na; ++i) {
    const PlotPoint p = a.points[i], p2 = a.points[(i + 1) % a.points.size()];
    const double lx = std::min(p.x, p2.x), hx = std::max(p.x, p2.x), ly = std::min(p.y, p2.y), hy = std::max(p.y, p2.y);
    if (hx < b.min_x || lx > b.max_x || hy < b.min_y || ly > b.max_y) continue;
    for (std::size_t j = 0; j + 1 < nb; ++j) {
      const PlotPoint q = b.points[j], q2 = b.points[(j + 1) % b.points.size()];
      if (std::max(q.x, q2.x) < lx || std::min(q.x, q2.x) > hx || std::max(q.y, q2.y) < ly || std::min(q.y, q2.y) > hy) continue;
      const double rx = p2.x - p.x, ry = p2.y - p.y, sx = q2.x - q.x, sy = q2.y - q.y;
      const double det = rx * sy - ry * sx;
      if (std::abs(det) < 1e-15) continue;
      const double t = ((q.x - p.x) * sy - (q.y - p.y) * sx) / det, s = ((q.x - p.x) * ry - (q.y - p.y) * rx) / det;
      if (t < 0 || t >= 1 || s < 0 || s >= 1) continue;
      found.push_back({static_cast<double>(i) + t, static_cast<double>(j) + s});
    }
  }
  return found;
}

}  // namespace islebook
