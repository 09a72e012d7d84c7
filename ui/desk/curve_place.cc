#include "ui/desk/curve_place.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace islebook {
namespace {

constexpr double kAsClosePx = 1.0;
constexpr std::size_t kPlacesTried = 24;
constexpr double kEndPart = 0.08;  // a curve's ends are where others join it

struct OnLine {
  double distance = std::numeric_limits<double>::max();
  Point2 place;
};

OnLine ClosestOn(const Curve& curve, Point2 p) {
  OnLine best;
  const std::size_t n = curve.points_px.size();
  const auto consider = [&](Point2 q) {
    if (const double d = std::hypot(q.x - p.x, q.y - p.y); d < best.distance) best = {d, q};
  };
  if (n == 1) consider(curve.points_px.front());
  for (std::size_t i = 0; i + 1 < n + (curve.closed && n > 2 ? 1 : 0); ++i) {
    const Point2 a = curve.points_px[i], b = curve.points_px[(i + 1) % n];
    const double dx = b.x - a.x, dy = b.y - a.y, length = dx * dx + dy * dy;
    const double t = length > 0.0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / length, 0.0, 1.0) : 0.0;
    consider({a.x + t * dx, a.y + t * dy});
  }
  return best;
}

double Distance(Point2 a, Point2 b) { return std::hypot(a.x - b.x, a.y - b.y); }

// How much of its axis an uncertainty is, at a value.
double PartOfAxis(const Axis& axis, double value, double sigma) {
  if (axis.scale == AxisScale::kLog && axis.min > 0.0 && value > 0.0) return sigma / (value * std::abs(std::log(axis.max / axis.min)));
  return sigma / std::abs(axis.max - axis.min);
}

}  // namespace

std::optional<NearestCurve> FindCurveAt(const PerformanceMap& map, Point2 place, double reach, const Curve* like) {
  std::optional<NearestCurve> best;
  double best_cost = std::numeric_limits<double>::max();
  for (std::size_t i = 0; i < map.curves.size(); ++i) {
    const OnLine on = ClosestOn(map.curves[i], place);
    if (on.distance > reach) continue;
    double cost = on.distance;
    if (like != nullptr && map.curves[i].role != like->role) cost += kAsClosePx / 2;
    if (like != nullptr && map.curves[i].value != like->value) cost += kAsClosePx / 2;
    if (cost < best_cost) best_cost = cost, best = NearestCurve{i, on.distance, on.place};
  }
  return best;
}

std::optional<CurveNear> NameCurve(const PerformanceMap& map, std::size_t index) {
  if (index >= map.curves.size() || map.curves[index].points_px.empty()) return std::nullopt;
  const Curve& curve = map.curves[index];
  const std::size_t n = curve.points_px.size();
  const std::size_t skip = curve.closed ? 0 : static_cast<std::size_t>(kEndPart * static_cast<double>(n));
  const std::size_t step = std::max<std::size_t>(1, (n - 2 * skip) / kPlacesTried);
  Point2 best = curve.points_px[n / 2];
  double farthest = -1.0;
  for (std::size_t i = skip; i < n - skip; i += step) {
    double nearest = std::numeric_limits<double>::max();
    for (std::size_t other = 0; other < map.curves.size() && nearest > farthest; ++other)
      if (other != index) nearest = std::min(nearest, ClosestOn(map.curves[other], curve.points_px[i]).distance);
    if (nearest > farthest) farthest = nearest, best = curve.points_px[i];
  }
  // A tenth of a pixel is more than a person sees and keeps recipes readable.
  return CurveNear{{std::round(best.x * 10) / 10, std::round(best.y * 10) / 10}, curve.role, curve.value};
}

std::optional<double> MedianSigmaPx(const PerformanceMap& map, std::size_t index) {
  if (index >= map.curves.size() || !map.calibration || !map.x || !map.y) return std::nullopt;
  const Curve& curve = map.curves[index];
  const Axis& y = curve.role == CurveRole::kEfficiencyLine && map.efficiency ? *map.efficiency : *map.y;
  const auto& frame = map.calibration->frame_px;
  const double width = 0.5 * (Distance(frame[0], frame[1]) + Distance(frame[3], frame[2])),
               height = 0.5 * (Distance(frame[0], frame[3]) + Distance(frame[1], frame[2]));
  std::vector<double> sigmas;
  for (std::size_t i = 0; i < curve.sigma.size() && i < curve.points.size(); ++i)
    sigmas.push_back(
        std::hypot(PartOfAxis(*map.x, curve.points[i].x, curve.sigma[i].x) * width, PartOfAxis(y, curve.points[i].y, curve.sigma[i].y) * height));
  if (sigmas.empty()) return std::nullopt;
  std::ranges::nth_element(sigmas, sigmas.begin() + static_cast<std::ptrdiff_t>(sigmas.size() / 2));
  return sigmas[sigmas.size() / 2];
}

}  // namespace islebook
