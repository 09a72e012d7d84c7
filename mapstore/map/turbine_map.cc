#include "mapstore/map/turbine_map.h"

#include <algorithm>

#include <fmt/format.h>

#include "mapstore/map/curve_words.h"
#include "mapstore/map/map_lines.h"

namespace islebook {
namespace {

bool IsTurbineX(Quantity q) {
  return q == Quantity::kExpansionRatioTotalToStatic || q == Quantity::kExpansionRatioTotalToTotal || q == Quantity::kVelocityRatio;
}
bool IsTurbineFlow(Quantity q) {
  return q == Quantity::kTurbineFlowParameter || q == Quantity::kCorrectedMassFlow || q == Quantity::kCorrectedVolumeFlow;
}

// Efficiency lines as fractions: by the unit of their axis, or by their size where the sheet does not describe one.
double EfficiencyFactor(const TurbineMap& out, const MapLine& line) {
  if (out.efficiency) return out.efficiency->unit == "%" ? 0.01 : 1.0;
  std::vector<double> heights;
  for (const Point2& p : line.points) heights.push_back(p.y);
  std::ranges::nth_element(heights, heights.begin() + static_cast<std::ptrdiff_t>(heights.size() / 2));
  return heights[heights.size() / 2] > 1.5 ? 0.01 : 1.0;
}

}  // namespace

Result<TurbineMap> AsTurbineMap(const PerformanceMap& map) {
  if (!map.kind) return Fail(ErrorCode::kWrongKind, "the map's kind is not known; say that it is a turbine before using it as one.");
  if (*map.kind != MapKind::kTurbine) return Fail(ErrorCode::kWrongKind, "this is a compressor map; a turbine map is needed.");
  if (!map.x || !map.y) return Fail(ErrorCode::kWrongKind, "the map has no axes, so its curves have no values; set the axes first.");
  const bool upright = IsTurbineX(map.x->quantity) && IsTurbineFlow(map.y->quantity),
             turned = IsTurbineX(map.y->quantity) && IsTurbineFlow(map.x->quantity);
  if (!upright && !turned)
    return Fail(ErrorCode::kWrongKind, fmt::format("the axes show {} and {}, not an expansion ratio and a flow; set the axes first.",
                                                   QuantityInWords(map.x->quantity), QuantityInWords(map.y->quantity)));

  TurbineMap out;
  out.expansion_ratio = turned ? *map.y : *map.x;
  out.flow = turned ? *map.x : *map.y;
  out.efficiency = map.efficiency;
  out.reference_conditions = map.reference_conditions;
  const auto leave_out = [&](std::size_t curve, const std::string& why) {
    out.left_out.push_back(Capitalized(fmt::format("{} is left out: it {}.", CurveInWords(map.curves[curve]), why)));
  };

  std::vector<std::size_t> all;
  for (std::size_t i = 0; i < map.curves.size(); ++i)
    if (map.curves[i].role == CurveRole::kFlowLine || map.curves[i].role == CurveRole::kEfficiencyLine) all.push_back(i);
  out.line_unit = map_lines::CommonUnit(map, all);

  const auto rising = [&](std::size_t curve, bool swap) {
    MapLine line = map_lines::LineOf(map, curve, swap);
    if (line.points.front().x > line.points.back().x) map_lines::Reverse(line);
    return line;
  };
  const auto fill = [&](CurveRole role, std::vector<TurbineLine>& lines) {
    std::vector<std::size_t> curves;
    for (const std::size_t i : all) {
      if (map.curves[i].role != role) continue;
      if (map.curves[i].points.size() < 2)
        leave_out(i, "has fewer than two points");
      else
        curves.push_back(i);
    }
    // An efficiency line is (x, efficiency) whichever way the flow lines are drawn.
    const bool swap = turned && role == CurveRole::kFlowLine;
    if (curves.size() == 1 && !map.curves[curves[0]].value) {
      lines.push_back({std::nullopt, rising(curves[0], swap)});
      return;
    }
    for (const std::size_t i : curves)
      if (!map_lines::ValueIn(map.curves[i], out.line_unit))
        leave_out(i, map.curves[i].value ? fmt::format("has its value in {}, the others in {}", map.curves[i].unit, out.line_unit) : "has no value");
    for (const auto& [value, pieces] : map_lines::GroupByValue(map, curves, out.line_unit)) {
      std::vector<MapLine> parts;
      for (const std::size_t i : pieces) parts.push_back(rising(i, swap));
      if (auto joined = map_lines::JoinPieces(parts, 0)) {
        lines.push_back({value, std::move(*joined)});
        continue;
      }
      const auto widest = std::ranges::max_element(parts, {}, [](const MapLine& line) { return line.points.back().x - line.points.front().x; });
      for (auto part = parts.begin(); part != parts.end(); ++part)
        if (part != widest) leave_out(part->curves.front(), "runs beside a longer one of the same name");
      lines.push_back({value, *widest});
    }
  };
  fill(CurveRole::kFlowLine, out.flow_lines);
  fill(CurveRole::kEfficiencyLine, out.efficiency_lines);
  for (TurbineLine& line : out.efficiency_lines) {
    const double factor = EfficiencyFactor(out, line.line);
    for (Point2& p : line.line.points) p.y *= factor;
    for (Point2& p : line.line.sigma) p.y *= factor;
  }
  return out;
}

}  // namespace islebook
