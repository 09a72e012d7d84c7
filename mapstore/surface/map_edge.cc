#include "mapstore/surface/map_edge.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

struct Nearest {
  double distance = 1e300;
  double side = 0.0;  // > 0: left of the curve, looking along it
};

Nearest NearestOn(const std::vector<LinePoint>& curve, double flow, double head, double flow_scale, double head_scale, bool extended) {
  Nearest nearest;
  const std::size_t pieces = curve.size() - 1;
  for (std::size_t i = 0; i < pieces; ++i) {
    const double ax = curve[i].flow / flow_scale, ay = curve[i].head / head_scale;
    const double dx = curve[i + 1].flow / flow_scale - ax, dy = curve[i + 1].head / head_scale - ay;
    const double px = flow / flow_scale - ax, py = head / head_scale - ay;
    const double length = dx * dx + dy * dy;
    if (length == 0.0) continue;
    double t = (px * dx + py * dy) / length;
    if (!(extended && i == 0)) t = std::max(t, 0.0);
    if (!(extended && i + 1 == pieces)) t = std::min(t, 1.0);
    const double distance = std::hypot(px - t * dx, py - t * dy);
    if (distance < nearest.distance) nearest = {distance, dx * py - dy * px};
  }
  return nearest;
}

}  // namespace

MapEdge::MapEdge(const SurfaceTable& table, const SurgeCurve& printed) {
  constexpr int kSteps = 96;
  std::vector<LinePoint> surge_points;
  for (int i = 0; i <= kSteps; ++i) {
    const double n = table.MinN() + (table.MaxN() - table.MinN()) * i / kSteps;
    const Pair surge = table.Value(n, 0.0), choke = table.Value(n, 1.0);
    surge_side_.push_back({surge[0], surge[1], 0.0, 0.0});
    choke_side_.push_back({choke[0], choke[1], 0.0, 0.0});
    const double beta = static_cast<double>(i) / kSteps;
    const Pair top = table.Value(table.MaxN(), beta), bottom = table.Value(table.MinN(), beta);
    top_.push_back({top[0], top[1], 0.0, 0.0});
    bottom_.push_back({bottom[0], bottom[1], 0.0, 0.0});
  }
  surge_points = surge_side_;
  if (!printed.empty()) {
    const double low = std::min(surge_side_.front().head, surge_side_.back().head),
                 high = std::max(surge_side_.front().head, surge_side_.back().head);
    const double reach = printed.MaxHead() - printed.MinHead();
    for (int i = 0; i <= 64; ++i) {
      const double head = printed.MinHead() + reach * i / 64.0;
      if (head < low - 0.01 * reach || head > high + 0.01 * reach) surge_points.push_back({printed.FlowAt(head), head, 0.0, 0.0});
    }
  }
  surge_ = SurgeCurve(std::move(surge_points));
  double flow_low = 1e300, flow_high = -1e300, head_low = 1e300, head_high = -1e300;
  for (const LinePoint& point : Outline()) {
    flow_low = std::min(flow_low, point.flow);
    flow_high = std::max(flow_high, point.flow);
    head_low = std::min(head_low, point.head);
    head_high = std::max(head_high, point.head);
  }
  flow_scale_ = std::max(flow_high - flow_low, 1e-300);
  head_scale_ = std::max(head_high - head_low, 1e-300);
}

std::vector<LinePoint> MapEdge::Outline() const {
  std::vector<LinePoint> outline = surge_side_;
  outline.insert(outline.end(), top_.begin() + 1, top_.end());
  outline.insert(outline.end(), choke_side_.rbegin() + 1, choke_side_.rend());
  outline.insert(outline.end(), bottom_.rbegin() + 1, bottom_.rend() - 1);
  return outline;
}

MapRegion MapEdge::RegionOutside(double flow, double head) const {
  const Nearest surge = NearestOn(surge_side_, flow, head, flow_scale_, head_scale_, true);
  const Nearest choke = NearestOn(choke_side_, flow, head, flow_scale_, head_scale_, true);
  const bool left = surge.side > 0.0, right = choke.side < 0.0;
  if (left && (!right || surge.distance <= choke.distance)) return MapRegion::kLeftOfSurge;
  if (right) return MapRegion::kPastChoke;
  const Nearest top = NearestOn(top_, flow, head, flow_scale_, head_scale_, false);
  const Nearest bottom = NearestOn(bottom_, flow, head, flow_scale_, head_scale_, false);
  return top.distance <= bottom.distance ? MapRegion::kOverSpeed : MapRegion::kUnderSpeed;
}

}  // namespace islebook
