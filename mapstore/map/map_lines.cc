#include "mapstore/map/map_lines.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "mapstore/units/unit.h"

namespace islebook::map_lines {
namespace {

double Coordinate(const Point2& p, int coordinate) { return coordinate == 0 ? p.x : p.y; }

}  // namespace

MapLine LineOf(const PerformanceMap& map, std::size_t curve, bool swap) {
  const Curve& c = map.curves[curve];
  MapLine line{c.points, c.sigma, {curve}, c.needs_review};
  if (swap) {
    for (Point2& p : line.points) std::swap(p.x, p.y);
    for (Point2& p : line.sigma) std::swap(p.x, p.y);
  }
  return line;
}

void Reverse(MapLine& line) {
  std::ranges::reverse(line.points);
  std::ranges::reverse(line.sigma);
}

std::optional<MapLine> JoinPieces(std::vector<MapLine> pieces, int coordinate) {
  if (pieces.empty()) return std::nullopt;
  const auto low = [&](const MapLine& line) {
    return std::min(Coordinate(line.points.front(), coordinate), Coordinate(line.points.back(), coordinate));
  };
  const auto high = [&](const MapLine& line) {
    return std::max(Coordinate(line.points.front(), coordinate), Coordinate(line.points.back(), coordinate));
  };
  std::ranges::stable_sort(pieces, {}, low);
  // Pieces that run downwards in the coordinate are joined from the far end.
  const MapLine& longest = *std::ranges::max_element(pieces, {}, [&](const MapLine& line) { return high(line) - low(line); });
  const bool falling = Coordinate(longest.points.back(), coordinate) < Coordinate(longest.points.front(), coordinate);
  for (std::size_t i = 0; i + 1 < pieces.size(); ++i) {
    const double overlap = high(pieces[i]) - low(pieces[i + 1]);
    if (overlap > 0.05 * std::min(high(pieces[i]) - low(pieces[i]), high(pieces[i + 1]) - low(pieces[i + 1]))) return std::nullopt;
  }
  if (falling) std::ranges::reverse(pieces);
  MapLine out = std::move(pieces.front());
  for (std::size_t i = 1; i < pieces.size(); ++i) {
    const MapLine& next = pieces[i];
    const bool both_have_sigma = out.sigma.size() == out.points.size() && next.sigma.size() == next.points.size();
    out.points.insert(out.points.end(), next.points.begin(), next.points.end());
    if (both_have_sigma)
      out.sigma.insert(out.sigma.end(), next.sigma.begin(), next.sigma.end());
    else
      out.sigma.clear();
    out.curves.insert(out.curves.end(), next.curves.begin(), next.curves.end());
    out.needs_review = out.needs_review || next.needs_review;
  }
  return out;
}

std::string CommonUnit(const PerformanceMap& map, const std::vector<std::size_t>& curves) {
  std::map<std::string, int> counts;
  for (const std::size_t i : curves)
    if (map.curves[i].value) ++counts[map.curves[i].unit];
  std::string common;
  int most = 0;
  for (const auto& [unit, count] : counts)
    if (count > most) {
      most = count;
      common = unit;
    }
  return common;
}

std::optional<double> ValueIn(const Curve& curve, const std::string& unit) {
  if (!curve.value) return std::nullopt;
  if (curve.unit == unit) return curve.value;
  const auto converted = ConvertValue(*curve.value, curve.unit, unit);
  return converted ? std::optional(*converted) : std::nullopt;
}

std::vector<std::pair<double, std::vector<std::size_t>>> GroupByValue(const PerformanceMap& map, const std::vector<std::size_t>& curves,
                                                                      const std::string& unit) {
  std::vector<std::pair<double, std::vector<std::size_t>>> groups;
  for (const std::size_t i : curves) {
    const auto value = ValueIn(map.curves[i], unit);
    if (!value) continue;
    const auto same = std::ranges::find_if(groups, [&](const auto& group) { return std::fabs(group.first - *value) <= 1e-9 * std::fabs(*value); });
    if (same != groups.end())
      same->second.push_back(i);
    else
      groups.push_back({*value, {i}});
  }
  std::ranges::sort(groups, {}, [](const auto& group) { return group.first; });
  return groups;
}

}  // namespace islebook::map_lines
