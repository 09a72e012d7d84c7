#include "mapstore/map/frame_geometry.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace islebook::frame_geometry {
namespace {

double Distance(const Point2& a, const Point2& b) { return std::hypot(a.x - b.x, a.y - b.y); }

double DistanceToSegment(const Point2& a, const Point2& b, const Point2& p) {
  const double dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
  const double t = length2 > 0.0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / length2, 0.0, 1.0) : 0.0;
  return Distance(p, {a.x + t * dx, a.y + t * dy});
}

}  // namespace

double FrameScale::Part(const Axis& axis, double value) {
  if (axis.scale == AxisScale::kLog) return value > 0.0 ? std::log(value / axis.min) / std::log(axis.max / axis.min) : -1e3;
  return (value - axis.min) / (axis.max - axis.min);
}
double FrameScale::Value(const Axis& axis, double part) {
  if (axis.scale == AxisScale::kLog) return axis.min * std::pow(axis.max / axis.min, part);
  return axis.min + part * (axis.max - axis.min);
}

std::vector<Point2> FrameScale::ToFrame(const std::vector<Point2>& points) const {
  std::vector<Point2> out;
  out.reserve(points.size());
  for (const Point2& p : points) out.push_back(ToFrame(p));
  return out;
}

std::vector<Crossing> FindCrossings(const std::vector<Point2>& a, const std::vector<Point2>& b, double end_tolerance) {
  std::vector<Crossing> crossings;
  if (a.size() < 2 || b.size() < 2) return crossings;
  const auto near_end = [end_tolerance](const std::vector<Point2>& line, const Point2& at) {
    return end_tolerance > 0.0 && (Distance(line.front(), at) <= end_tolerance || Distance(line.back(), at) <= end_tolerance);
  };
  for (std::size_t i = 0; i + 1 < a.size(); ++i) {
    const double ax0 = std::min(a[i].x, a[i + 1].x), ax1 = std::max(a[i].x, a[i + 1].x), ay0 = std::min(a[i].y, a[i + 1].y),
                 ay1 = std::max(a[i].y, a[i + 1].y);
    const std::size_t first_of_segment = crossings.size();
    for (std::size_t j = 0; j + 1 < b.size(); ++j) {
      if (std::max(b[j].x, b[j + 1].x) < ax0 || std::min(b[j].x, b[j + 1].x) > ax1 || std::max(b[j].y, b[j + 1].y) < ay0 ||
          std::min(b[j].y, b[j + 1].y) > ay1)
        continue;
      const double rx = a[i + 1].x - a[i].x, ry = a[i + 1].y - a[i].y, sx = b[j + 1].x - b[j].x, sy = b[j + 1].y - b[j].y;
      const double cross = rx * sy - ry * sx;
      if (cross == 0.0) continue;
      const double t = ((b[j].x - a[i].x) * sy - (b[j].y - a[i].y) * sx) / cross;
      const double u = ((b[j].x - a[i].x) * ry - (b[j].y - a[i].y) * rx) / cross;
      // Half-open, so that a vertex counts once.
      const bool last_a = i + 2 == a.size(), last_b = j + 2 == b.size();
      if (t < 0.0 || u < 0.0 || t > 1.0 || u > 1.0 || (t == 1.0 && !last_a) || (u == 1.0 && !last_b)) continue;
      const Point2 at{a[i].x + t * rx, a[i].y + t * ry};
      if (near_end(a, at) || near_end(b, at)) continue;
      crossings.push_back({at, static_cast<double>(i) + t, static_cast<double>(j) + u});
    }
    std::sort(crossings.begin() + static_cast<std::ptrdiff_t>(first_of_segment), crossings.end(),
              [](const Crossing& p, const Crossing& q) { return p.along_a < q.along_a; });
  }
  return crossings;
}

double DistanceTo(const std::vector<Point2>& line, const Point2& point) {
  double best = std::numeric_limits<double>::infinity();
  if (line.size() == 1) return Distance(line.front(), point);
  for (std::size_t i = 0; i + 1 < line.size(); ++i) best = std::min(best, DistanceToSegment(line[i], line[i + 1], point));
  return best;
}

double LengthOf(const std::vector<Point2>& line) {
  double length = 0.0;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) length += Distance(line[i], line[i + 1]);
  return length;
}

bool IsInside(const std::vector<Point2>& ring, const Point2& point) {
  bool inside = false;
  for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++) {
    if ((ring[i].y > point.y) == (ring[j].y > point.y)) continue;
    if (point.x < (ring[j].x - ring[i].x) * (point.y - ring[i].y) / (ring[j].y - ring[i].y) + ring[i].x) inside = !inside;
  }
  return inside;
}

std::optional<double> HeightAt(const std::vector<Point2>& line, double x) {
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const double x0 = line[i].x, x1 = line[i + 1].x;
    if (std::min(x0, x1) > x || std::max(x0, x1) < x) continue;
    if (x0 == x1) return line[i].y;
    return line[i].y + (line[i + 1].y - line[i].y) * (x - x0) / (x1 - x0);
  }
  return std::nullopt;
}

Bend SharpestBend(const std::vector<Point2>& line, double reach) {
  std::vector<Point2> points;
  std::vector<double> along;
  for (const Point2& p : line) {
    const double step = points.empty() ? 0.0 : Distance(points.back(), p);
    if (!points.empty() && step < 1e-9) continue;
    along.push_back(points.empty() ? 0.0 : along.back() + step);
    points.push_back(p);
  }
  Bend sharpest;
  if (points.size() < 3 || along.back() < 5.0 * reach || along.back() > 1e4 * reach) return sharpest;
  const auto at = [&](double s) {
    const auto next = std::ranges::upper_bound(along, s);
    const std::size_t i = std::clamp<std::size_t>(static_cast<std::size_t>(next - along.begin()), 1, points.size() - 1);
    const double t = (s - along[i - 1]) / (along[i] - along[i - 1]);
    return Point2{points[i - 1].x + t * (points[i].x - points[i - 1].x), points[i - 1].y + t * (points[i].y - points[i - 1].y)};
  };
  for (double s = reach; s <= along.back() - reach; s += reach / 4.0) {
    const Point2 before = at(s - reach), here = at(s), after = at(s + reach);
    const double ax = here.x - before.x, ay = here.y - before.y, bx = after.x - here.x, by = after.y - here.y;
    const double degrees = std::fabs(std::atan2(ax * by - ay * bx, ax * bx + ay * by)) * 180.0 / std::numbers::pi;
    if (degrees > sharpest.degrees) sharpest = {degrees, here};
  }
  return sharpest;
}

std::vector<Point2> Closed(std::vector<Point2> ring) {
  if (!ring.empty()) ring.push_back(ring.front());
  return ring;
}

}  // namespace islebook::frame_geometry
