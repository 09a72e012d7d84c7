#include "mapstore/shelf/curve_motion.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <tuple>

#include "mapstore/map/frame_geometry.h"
#include "mapstore/shelf/map_compare.h"

namespace islebook {
namespace {

using frame_geometry::FrameScale;

// The axes of a curve's plot; a map without axes is looked at as it stands.
FrameScale ScaleOf(const PerformanceMap& map, const Curve& curve) {
  Axis x = map.x.value_or(Axis{}), y = map.y.value_or(Axis{});
  if (curve.role == CurveRole::kEfficiencyLine && map.efficiency) y = *map.efficiency;
  for (Axis* axis : {&x, &y})
    if (!(axis->max != axis->min) || (axis->scale == AxisScale::kLog && !(axis->min > 0 && axis->max > 0))) *axis = Axis{};
  return {x, y};
}

struct Nearest {
  Point2 at;
  double distance = std::numeric_limits<double>::infinity();
  bool past_end = false;  // of an open line, and more beyond its end than beside it
};

Nearest NearestOn(const std::vector<Point2>& line, bool open, const Point2& p) {
  Nearest best;
  if (line.size() == 1) return {line[0], std::hypot(p.x - line[0].x, p.y - line[0].y), false};
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const Point2 &a = line[i], &b = line[i + 1];
    const double dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
    const double t = length2 > 0.0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / length2, 0.0, 1.0) : 0.0;
    const Point2 at{a.x + t * dx, a.y + t * dy};
    const double distance = std::hypot(p.x - at.x, p.y - at.y);
    if (distance >= best.distance) continue;
    const bool is_end = open && ((i == 0 && t == 0.0) || (i + 2 == line.size() && t == 1.0));
    const double along = std::abs((p.x - at.x) * dx + (p.y - at.y) * dy), across = std::abs((p.x - at.x) * dy - (p.y - at.y) * dx);
    best = {at, distance, is_end && along > across};
  }
  return best;
}

double Area(const std::vector<Point2>& ring) {
  double twice = 0.0;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Point2 &a = ring[i], &b = ring[(i + 1) % ring.size()];
    twice += a.x * b.y - b.x * a.y;
  }
  return std::abs(twice) / 2.0;
}

std::vector<Point2> FrameLine(const FrameScale& scale, const Curve& curve) {
  std::vector<Point2> line = scale.ToFrame(curve.points);
  return curve.closed && !line.empty() ? frame_geometry::Closed(std::move(line)) : line;
}

}  // namespace

CurveMotion MotionOf(const PerformanceMap& before_map, const Curve& before, const PerformanceMap& after_map, const Curve& after) {
  CurveMotion motion;
  if (before.points.empty() || after.points.empty()) return motion;
  const FrameScale was = ScaleOf(before_map, before), is = ScaleOf(after_map, after);
  const std::vector<Point2> old_line = FrameLine(was, before), new_line = FrameLine(is, after);
  const bool open = !before.closed && !after.closed;
  double sideways = -1.0, beyond_old = 0.0, beyond_new = 0.0;
  for (const bool forward : {true, false}) {
    const std::vector<Point2>& points = forward ? new_line : old_line;
    const std::vector<Point2>& line = forward ? old_line : new_line;
    const Curve& curve = forward ? after : before;
    for (std::size_t i = 0; i < points.size(); ++i) {
      const Nearest nearest = NearestOn(line, open, points[i]);
      Shift shift;
      const Point2 &from = forward ? nearest.at : points[i], &to = forward ? points[i] : nearest.at;
      shift.frame_dx = to.x - from.x;
      shift.frame_dy = to.y - from.y;
      shift.from = was.FromFrame(from);
      shift.to = is.FromFrame(to);
      if (i < curve.sigma.size()) {
        const Point2 delta{std::abs(shift.to.x - shift.from.x), std::abs(shift.to.y - shift.from.y)};
        shift.within_sigma = delta.x <= 2.0 * curve.sigma[i].x && delta.y <= 2.0 * curve.sigma[i].y;
      }
      if (nearest.past_end) {
        double& worst = forward ? beyond_old : beyond_new;
        if (nearest.distance > worst) {
          worst = nearest.distance;
          (forward ? motion.longer : motion.shorter) = shift;
        }
      } else if (nearest.distance > sideways) {
        sideways = nearest.distance;
        motion.moved = shift;
      }
    }
  }
  if (before.closed && after.closed && Area(old_line) > 0.0) motion.area_ratio = Area(new_line) / Area(old_line);
  return motion;
}

double MeanFrameDistance(const PerformanceMap& a_map, const Curve& a, const PerformanceMap& b_map, const Curve& b) {
  if (a.points.empty() || b.points.empty()) return std::numeric_limits<double>::infinity();
  const std::vector<Point2> first = FrameLine(ScaleOf(a_map, a), a), second = FrameLine(ScaleOf(b_map, b), b);
  double sum = 0.0;
  for (const Point2& p : first) sum += NearestOn(second, false, p).distance;
  double back = 0.0;
  for (const Point2& p : second) back += NearestOn(first, false, p).distance;
  return std::max(sum / static_cast<double>(first.size()), back / static_cast<double>(second.size()));
}

std::vector<std::optional<std::size_t>> MatchCurves(const PerformanceMap& before, const PerformanceMap& after) {
  std::vector<std::optional<std::size_t>> match(before.curves.size());
  std::vector<bool> taken(after.curves.size(), false);
  const auto same_meaning = [](const Curve& a, const Curve& b) { return a.role == b.role && a.value == b.value && a.unit == b.unit; };
  // Surest first: the same curve; the same course with another label.
  for (const bool by_meaning : {true, false})
    for (std::size_t i = 0; i < before.curves.size(); ++i)
      for (std::size_t j = 0; j < after.curves.size() && !match[i]; ++j) {
        const Curve &a = before.curves[i], &b = after.curves[j];
        if (taken[j] || a.points != b.points || a.closed != b.closed || (by_meaning && !same_meaning(a, b))) continue;
        if (!by_meaning && a.points.empty()) continue;
        match[i] = j;
        taken[j] = true;
      }
  // Then the same meaning, nearest first; then whatever runs along nearly the same way.
  constexpr double kNearInFrame = 0.02;
  for (const bool by_meaning : {true, false}) {
    std::vector<std::tuple<bool, double, std::size_t, std::size_t>> pairs;
    for (std::size_t i = 0; i < before.curves.size(); ++i)
      for (std::size_t j = 0; j < after.curves.size(); ++j) {
        if (match[i] || taken[j]) continue;
        const Curve &a = before.curves[i], &b = after.curves[j];
        if (by_meaning && !same_meaning(a, b)) continue;
        const double distance = MeanFrameDistance(before, a, after, b);
        if (!by_meaning && !(distance < kNearInFrame)) continue;
        pairs.emplace_back(a.role != b.role, distance, i, j);
      }
    std::sort(pairs.begin(), pairs.end());
    for (const auto& [other_role, distance, i, j] : pairs) {
      if (match[i] || taken[j]) continue;
      match[i] = j;
      taken[j] = true;
    }
  }
  return match;
}

}  // namespace islebook
