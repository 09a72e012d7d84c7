#include "mapstore/bench/scaled_map.h"

#include <fmt/format.h>

#include "mapstore/units/unit.h"

namespace islebook {
namespace {

bool IsFlow(const std::optional<Axis>& axis) {
  return axis && (axis->quantity == Quantity::kCorrectedMassFlow || axis->quantity == Quantity::kCorrectedVolumeFlow ||
                  axis->quantity == Quantity::kTurbineFlowParameter);
}

bool IsRotation(const std::string& unit) {
  const auto parsed = ParseUnit(unit);
  return parsed && parsed->dimension == Dimension::kRotationalSpeed;
}

}  // namespace

PerformanceMap ScaledWheel(const PerformanceMap& map, double size) {
  PerformanceMap scaled = map;
  const double area = size * size;
  scaled.title = fmt::format("{}, scaled to {:.3g} %", map.title.empty() ? "wheel" : map.title, 100 * size);
  scaled.calibration.reset();
  scaled.source.reset();
  const bool x_is_flow = IsFlow(map.x), y_is_flow = IsFlow(map.y);
  const auto stretch = [area](std::optional<Axis>& axis) {
    axis->min *= area;
    axis->max *= area;
  };
  if (x_is_flow) stretch(scaled.x);
  if (y_is_flow) stretch(scaled.y);
  for (Curve& curve : scaled.curves) {
    curve.points_px.clear();
    // An efficiency line stands over the expansion ratio: its y is no flow.
    const bool y_scales = y_is_flow && curve.role != CurveRole::kEfficiencyLine;
    for (std::vector<Point2>* list : {&curve.points, &curve.sigma})
      for (Point2& point : *list) {
        if (x_is_flow) point.x *= area;
        if (y_scales) point.y *= area;
      }
    const bool is_line = curve.role == CurveRole::kSpeedLine || curve.role == CurveRole::kFlowLine || curve.role == CurveRole::kEfficiencyLine;
    if (is_line && curve.value && IsRotation(curve.unit)) *curve.value /= size;
  }
  return scaled;
}

}  // namespace islebook
