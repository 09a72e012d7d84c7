#include "digitizer/assemble/map_edge.h"

#include <algorithm>
#include <cmath>

namespace islebook {

MapEdge FindMapEdge(const std::vector<CurveRole>& roles, const std::vector<PlotCurve>& curves) {
  MapEdge edge;
  for (std::size_t i = 0; i < roles.size(); ++i) {
    if (roles[i] == CurveRole::kSurgeLine) edge.surge = i;
    if (roles[i] == CurveRole::kSurgeLine || roles[i] == CurveRole::kChokeLine) edge.drawn.push_back(i);
    if (roles[i] == CurveRole::kSpeedLine) edge.by_speed.push_back(i);
  }
  std::ranges::sort(edge.by_speed, [&](std::size_t a, std::size_t b) { return curves[a].max_y < curves[b].max_y; });
  if (edge.by_speed.size() >= 2) {
    edge.bottom = edge.by_speed.front();
    edge.top = edge.by_speed.back();
    edge.drawn.push_back(*edge.bottom);
    edge.drawn.push_back(*edge.top);
  }
  return edge;
}

std::optional<double> InsideOf(const PlotCurve& line, PlotPoint p, bool below) {
  for (std::size_t k = 1; k < line.points.size(); ++k) {
    const PlotPoint a = line.points[k - 1], b = line.points[k];
    if ((a.x <= p.x) == (b.x <= p.x)) continue;
    const double y = a.y + (b.y - a.y) * (p.x - a.x) / (b.x - a.x);
    const bool inside = below ? p.y > y : p.y < y;
    return (inside ? 1.0 : -1.0) * DistanceTo(line, p);  // steep lines are near sideways, too
  }
  return std::nullopt;
}

}  // namespace islebook
