#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "digitizer/assemble/assemble.h"

namespace islebook {
namespace {

constexpr double kDoubtful = 0.5;
constexpr double kAxisInDoubt = 0.45;  // an axis with several doubts

// The axis that a curve's y is read on.
const AxisFit* YAxisOf(const JudgedCurve& c, const Panel& panel) {
  if (c.on_right_axis && panel.right) return &*panel.right;
  return panel.y ? &*panel.y : nullptr;
}

// Unit vector along the line at a point; zero where it has no length.
ImagePoint DirectionAt(const std::vector<ImagePoint>& points, std::size_t i) {
  const ImagePoint a = points[i > 0 ? i - 1 : 0], b = points[std::min(i + 1, points.size() - 1)];
  const double length = std::hypot(b.x - a.x, b.y - a.y);
  return length > 0.0 ? ImagePoint{(b.x - a.x) / length, (b.y - a.y) / length} : ImagePoint{0.0, 0.0};
}

// What the uncertain ends of an open line add along it: the points there may lie beyond the true end, the last one most. In px.
std::vector<double> SigmaAlong(const TracedCurve& trace) {
  constexpr double kBand = 1.96;  // a point this far inside the end, in sigmas of the end, is surely on the line
  const std::size_t n = trace.points.size();
  std::vector<double> along(n, 0.0);
  if (trace.closed) return along;
  for (const bool front : {true, false}) {
    const double end = trace.end_sigma_px[front ? 0 : 1];
    double away = 0.0;
    for (std::size_t k = 0; k < n && away < kBand * end; ++k) {
      const std::size_t i = front ? k : n - 1 - k;
      if (k > 0) {
        const ImagePoint p = trace.points[i], q = trace.points[front ? i - 1 : i + 1];
        away += std::hypot(p.x - q.x, p.y - q.y);
      }
      along[i] = std::max(along[i], end - away / kBand);
    }
  }
  return along;
}

Curve CalibrateCurve(const JudgedCurve& judged, const Panel& panel, const AxisFit& x, const AxisFit& y) {
  Curve curve;
  curve.role = judged.role;
  curve.value = judged.value;
  curve.unit = judged.value ? judged.unit : "";
  curve.closed = judged.trace.closed;
  curve.confidence = std::clamp(judged.confidence, 0.0, 1.0);
  curve.reasons = judged.reasons;
  curve.needs_review = !curve.reasons.empty() || curve.confidence < kDoubtful || curve.role == CurveRole::kOther;
  if (curve.needs_review && curve.reasons.empty()) curve.reasons.push_back("the program is not sure of this curve");
  const double residual = panel.frame.residual_px();
  const std::vector<double> along_px = SigmaAlong(judged.trace);
  for (std::size_t i = 0; i < judged.trace.points.size(); ++i) {
    const ImagePoint p = judged.trace.points[i];
    const FramePoint f = panel.frame.FrameFromImage(p);
    const std::array<double, 4> jac = panel.frame.Jacobian(p);
    const double line_px = i < judged.trace.sigma_px.size() ? static_cast<double>(judged.trace.sigma_px[i]) : 0.5;
    const double sigma_px = std::hypot(line_px, residual);
    curve.points.push_back({x.ValueAt(f.u), y.ValueAt(f.v)});
    curve.points_px.push_back({p.x, p.y});
    // One pixel's worth of axis value at this place: the derivative along the axis, also right on a log axis.
    const double step = 1e-4;
    const double per_u = (x.ValueAt(f.u + step) - x.ValueAt(f.u - step)) / (2 * step);
    const double per_v = (y.ValueAt(f.v + step) - y.ValueAt(f.v - step)) / (2 * step);
    const ImagePoint way = DirectionAt(judged.trace.points, i);
    const double along_u = std::abs(jac[0] * way.x + jac[1] * way.y) * along_px[i], along_v = std::abs(jac[2] * way.x + jac[3] * way.y) * along_px[i];
    curve.sigma.push_back({std::hypot(std::abs(per_u) * std::hypot(jac[0], jac[1]) * sigma_px, std::abs(per_u) * along_u, x.SigmaAt(f.u)),
                           std::hypot(std::abs(per_v) * std::hypot(jac[2], jac[3]) * sigma_px, std::abs(per_v) * along_v, y.SigmaAt(f.v))});
  }
  if (curve.closed && curve.points.size() > 3) {
    // Counterclockwise on the axes, from the lowest point.
    double area = 0;
    for (std::size_t i = 0; i < curve.points.size(); ++i) {
      const Point2 a = curve.points[i], b = curve.points[(i + 1) % curve.points.size()];
      area += a.x * b.y - b.x * a.y;
    }
    if (area < 0) {
      std::reverse(curve.points.begin(), curve.points.end());
      std::reverse(curve.points_px.begin(), curve.points_px.end());
      std::reverse(curve.sigma.begin(), curve.sigma.end());
    }
    const auto lowest =
        std::min_element(curve.points.begin(), curve.points.end(), [](const Point2& a, const Point2& b) { return a.y < b.y; }) - curve.points.begin();
    std::rotate(curve.points.begin(), curve.points.begin() + lowest, curve.points.end());
    std::rotate(curve.points_px.begin(), curve.points_px.begin() + lowest, curve.points_px.end());
    std::rotate(curve.sigma.begin(), curve.sigma.begin() + lowest, curve.sigma.end());
  }
  return curve;
}

void AddAxisDoubts(const char* name, const AxisFit& fit, PerformanceMap& map) {
  for (const std::string& d : fit.doubts) map.needs_review.push_back(fmt::format("{} axis: {}", name, d));
}

}  // namespace

Result<PerformanceMap> CalibrateMap(const JudgedMap& judged, const AxesFound& axes) {
  PerformanceMap map;
  map.kind = judged.kind;
  map.title = axes.title;
  map.reference_conditions = axes.reference_conditions;
  for (const std::string& d : axes.report.doubts) map.needs_review.push_back(d);
  for (const std::string& d : judged.report.doubts) map.needs_review.push_back(d);
  if (judged.main_panel >= axes.panels.size()) return map;
  const Panel& main = axes.panels[judged.main_panel];
  if (main.x) {
    map.x = main.x->axis;
    AddAxisDoubts("x", *main.x, map);
  }
  if (main.y) {
    map.y = main.y->axis;
    AddAxisDoubts("y", *main.y, map);
  }
  if (judged.kind == MapKind::kTurbine) {
    const AxisFit* efficiency = nullptr;
    if (judged.efficiency_panel && axes.panels[*judged.efficiency_panel].y) efficiency = &*axes.panels[*judged.efficiency_panel].y;
    if (efficiency == nullptr && main.right) efficiency = &*main.right;
    if (efficiency != nullptr) {
      map.efficiency = efficiency->axis;
      AddAxisDoubts("efficiency", *efficiency, map);
    }
  }
  Calibration calibration;
  calibration.model = main.frame.model();
  const auto corners = main.frame.Corners();
  for (std::size_t k = 0; k < 4; ++k) calibration.frame_px[k] = {corners[k].x, corners[k].y};
  calibration.parameters = main.frame.parameters();
  calibration.residual_px = main.frame.residual_px();
  const auto relative = [](const std::optional<AxisFit>& fit) { return fit && fit->slope != 0 ? std::abs(fit->SigmaAt(0.5) / fit->slope) : 0.0; };
  calibration.axis_sigma = {relative(main.x), relative(main.y)};
  const auto evidence = [&](const char* name, const std::optional<AxisFit>& fit) {
    if (fit)
      calibration.evidence.push_back(
          fmt::format("{}: {} of {} numbers agree, {} ticks used", name, fit->numbers_used, fit->numbers_read, fit->ticks_used));
  };
  evidence("x", main.x);
  evidence("y", main.y);
  evidence("right", main.right);
  map.calibration = calibration;

  for (const JudgedCurve& c : judged.curves) {
    if (c.panel >= axes.panels.size() || c.trace.points.size() < 2) continue;
    const Panel& panel = axes.panels[c.panel];
    const AxisFit* y = YAxisOf(c, panel);
    if (!panel.x || y == nullptr) continue;
    map.curves.push_back(CalibrateCurve(c, panel, *panel.x, *y));
    for (const AxisFit* axis : {&*panel.x, y})
      if (!axis->doubts.empty() && axis->confidence < kAxisInDoubt) {
        Curve& curve = map.curves.back();
        curve.reasons.push_back(fmt::format("the {} axis that it is read on is in doubt", axis == y ? "y" : "x"));
        curve.needs_review = true;
        curve.confidence = std::min(curve.confidence, axis->confidence);
      }
  }
  // The order of a document: by role, then by value.
  std::stable_sort(map.curves.begin(), map.curves.end(), [](const Curve& a, const Curve& b) {
    return std::tuple(static_cast<int>(a.role), a.value.value_or(1e300)) < std::tuple(static_cast<int>(b.role), b.value.value_or(1e300));
  });
  return map;
}

}  // namespace islebook
