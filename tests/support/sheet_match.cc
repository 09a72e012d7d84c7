#include "tests/support/sheet_match.h"

#include <algorithm>
#include <cmath>

namespace islebook::paint {
namespace {

std::vector<Point2> Closed(std::vector<Point2> points, bool closed) {
  if (closed && points.size() > 2) points.push_back(points.front());
  return points;
}

// Places every 3 px along a polyline.
std::vector<Point2> Steps(const std::vector<Point2>& line) {
  std::vector<Point2> out;
  double rest = 0.0;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const double dx = line[i + 1].x - line[i].x, dy = line[i + 1].y - line[i].y, length = std::hypot(dx, dy);
    double at = rest;
    for (; at < length; at += 3.0) out.push_back({line[i].x + dx * at / length, line[i].y + dy * at / length});
    rest = at - length;
  }
  if (!line.empty()) out.push_back(line.back());
  return out;
}

bool AxisRight(const std::optional<Axis>& found, const Axis& truth) {
  if (!found || found->quantity != truth.quantity || found->unit != truth.unit || found->scale != truth.scale) return false;
  const auto value = [&](double v) { return truth.scale == AxisScale::kLog ? std::log10(std::max(v, 1e-12)) : v; };
  const double span = value(truth.max) - value(truth.min);
  return std::abs(value(found->min) - value(truth.min)) <= 0.005 * span && std::abs(value(found->max) - value(truth.max)) <= 0.005 * span;
}

}  // namespace

double DistanceTo(Point2 p, const std::vector<Point2>& line) {
  double best = 1e18;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const double dx = line[i + 1].x - line[i].x, dy = line[i + 1].y - line[i].y;
    const double t = std::clamp(((p.x - line[i].x) * dx + (p.y - line[i].y) * dy) / std::max(dx * dx + dy * dy, 1e-18), 0.0, 1.0);
    best = std::min(best, std::hypot(p.x - line[i].x - t * dx, p.y - line[i].y - t * dy));
  }
  return best;
}

int SheetMatch::Found(const TrueMap& truth, CurveRole role) const {
  return static_cast<int>(std::ranges::count_if(curves, [&](const CurveMatch& m) { return truth.curves[m.truth].role == role; }));
}

SheetMatch MatchSheet(const TrueMap& truth, const PerformanceMap& found) {
  SheetMatch match;
  const auto& f = truth.frame_px;
  const double width = std::hypot(f[1].x - f[0].x, f[1].y - f[0].y), tolerance = std::max(3.0, 0.006 * width);
  struct Pair {
    std::size_t truth, found;
    double mean, median;
  };
  std::vector<Pair> pairs;
  for (std::size_t i = 0; i < truth.curves.size(); ++i) {
    const TrueCurve& t = truth.curves[i];
    const std::vector<Point2> line = Closed(t.points_px, t.closed), steps = Steps(line);
    for (std::size_t k = 0; k < found.curves.size(); ++k) {
      const Curve& c = found.curves[k];
      if (c.role != t.role || c.points_px.size() < 2) continue;
      const std::vector<Point2> other = Closed(c.points_px, c.closed);
      std::vector<double> near;
      double sum = 0;
      std::size_t count = 0, covered = 0;
      for (const Point2& p : steps) {
        const double d = DistanceTo(p, other);
        sum += std::min(d, 3 * tolerance), ++count;
        if (d < tolerance) ++covered, near.push_back(d);
      }
      if (covered < 0.85 * static_cast<double>(steps.size())) continue;
      double back = 0;
      std::size_t back_count = 0;
      for (const Point2& p : Steps(other)) {
        const double d = DistanceTo(p, line);
        back += std::min(d, 3 * tolerance), ++back_count;
        if (d < tolerance) near.push_back(d);
      }
      const double mean = 0.5 * (sum / static_cast<double>(count) + back / static_cast<double>(back_count));
      if (mean >= tolerance) continue;
      std::ranges::nth_element(near, near.begin() + static_cast<std::ptrdiff_t>(near.size() / 2));
      pairs.push_back({i, k, mean, near[near.size() / 2]});
    }
  }
  std::ranges::sort(pairs, [](const Pair& a, const Pair& b) { return a.mean < b.mean; });
  std::vector<bool> truth_used(truth.curves.size()), found_used(found.curves.size());
  for (const Pair& p : pairs) {
    if (truth_used[p.truth] || found_used[p.found]) continue;
    truth_used[p.truth] = found_used[p.found] = true;
    const TrueCurve& t = truth.curves[p.truth];
    const Curve& c = found.curves[p.found];
    const bool said = c.needs_review || c.confidence < 0.5;
    const bool right = !t.value || (c.value && c.unit == t.unit && std::abs(*c.value - *t.value) <= 1e-3 * std::abs(*t.value));
    match.curves.push_back({p.truth, p.found, p.median, right});
    if (!right && (t.printed_label || c.value) && !said)
      match.wrong_silently.push_back(std::string(CurveRoleName(t.role)) + ": value wrong or missing");
  }
  for (std::size_t i = 0; i < truth.curves.size(); ++i) {
    if (truth_used[i]) continue;
    match.missing.push_back(i);
    if (found.needs_review.empty()) match.wrong_silently.push_back(std::string(CurveRoleName(truth.curves[i].role)) + ": missing");
  }
  for (std::size_t k = 0; k < found.curves.size(); ++k) {
    if (found_used[k]) continue;
    match.spurious.push_back(k);
    if (!found.curves[k].needs_review && found.curves[k].confidence >= 0.5)
      match.wrong_silently.push_back(std::string(CurveRoleName(found.curves[k].role)) + ": not on the sheet");
  }
  match.axes_right = AxisRight(found.x, truth.x) && AxisRight(found.y, truth.y);
  if (!match.axes_right && found.needs_review.empty()) match.wrong_silently.push_back("axes");
  return match;
}

}  // namespace islebook::paint
