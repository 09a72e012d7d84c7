#include "ui/chart/difference_overlay.h"

#include <set>

namespace islebook {
namespace {

bool IsOnEfficiency(const PerformanceMap& map, const Curve& curve) { return curve.role == CurveRole::kEfficiencyLine && map.efficiency.has_value(); }

// Only where a curve runs or whether it is there can be seen.
bool ShowsAsTrace(ChangeKind kind) {
  return kind == ChangeKind::kCurveMoved || kind == ChangeKind::kCurveReach || kind == ChangeKind::kIslandGrew || kind == ChangeKind::kIslandShrank ||
         kind == ChangeKind::kCurveRemoved;
}

}  // namespace

ChartOverlay DifferenceOverlay(const PerformanceMap& before, const std::vector<MapChange>& changes, const PerformanceMap& after) {
  ChartOverlay overlay;
  std::set<std::size_t> traced;
  for (const MapChange& change : changes) {
    if (change.before && ShowsAsTrace(change.kind) && traced.insert(*change.before).second) {
      const Curve& curve = before.curves[*change.before];
      overlay.traces.push_back({curve.points, curve.closed, IsOnEfficiency(before, curve)});
    }
    const PerformanceMap& map = change.after ? after : before;
    const std::optional<std::size_t> index = change.after ? change.after : change.before;
    if (!index || map.curves[*index].points.empty()) continue;
    const Curve& curve = map.curves[*index];
    const Point2 at = change.at.value_or(curve.points[curve.points.size() / 2]);
    ChartPoint point{.at = at, .words = change.sentence};
    if (IsOnEfficiency(map, curve)) point.efficiency = at.y;
    overlay.points.push_back(std::move(point));
  }
  return overlay;
}

}  // namespace islebook
