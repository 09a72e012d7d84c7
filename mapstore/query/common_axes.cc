#include "mapstore/query/common_axes.h"

#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "mapstore/map/curve_words.h"
#include "mapstore/query/query_units.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

bool IsFlow(Quantity quantity) {
  return quantity == Quantity::kCorrectedMassFlow || quantity == Quantity::kCorrectedVolumeFlow || quantity == Quantity::kTurbineFlowParameter;
}

bool IsPressureRatio(Quantity quantity) {
  return quantity == Quantity::kPressureRatioTotalToTotal || quantity == Quantity::kPressureRatioTotalToStatic;
}

bool IsExpansionRatio(Quantity quantity) {
  return quantity == Quantity::kExpansionRatioTotalToStatic || quantity == Quantity::kExpansionRatioTotalToTotal;
}

Quantity FlowQuantityOf(const Unit& unit, Quantity usual) {
  switch (unit.dimension) {
    case Dimension::kMassFlow: return Quantity::kCorrectedMassFlow;
    case Dimension::kVolumeFlow: return Quantity::kCorrectedVolumeFlow;
    case Dimension::kFlowParameter: return Quantity::kTurbineFlowParameter;
    default: return usual;
  }
}

bool Same(const ReferenceConditions& a, const ReferenceConditions& b) {
  return std::abs(a.temperature_K - b.temperature_K) < 1e-3 && std::abs(a.pressure_Pa - b.pressure_Pa) < 0.5;
}

std::string Conditions(const ReferenceConditions& reference) {
  return fmt::format("{} K and {} kPa", NumberInWords(reference.temperature_K, 6), NumberInWords(reference.pressure_Pa / 1000.0, 6));
}

void Turn(PerformanceMap& map) {
  std::swap(map.x, map.y);
  for (Curve& curve : map.curves) {
    for (Point2& p : curve.points) std::swap(p.x, p.y);
    for (Point2& s : curve.sigma) std::swap(s.x, s.y);
  }
}

// A flow or an efficiency: everything that is measured along one axis, multiplied.
void Multiply(Axis& axis, double factor) {
  axis.min *= factor;
  axis.max *= factor;
}

void MultiplyCurve(Curve& curve, double by_x, double by_y) {
  for (Point2& p : curve.points) p = {p.x * by_x, p.y * by_y};
  for (Point2& s : curve.sigma) s = {s.x * by_x, s.y * by_y};
}

// The axes that all are brought to.
struct Target {
  PerformanceMap map;  // without points: what QuestionUnits needs to know
  bool ratio_along_x = false;
  Axis flow, ratio;
  std::optional<Axis> efficiency;
};

Result<MapOnAxes> Bring(const PerformanceMap& printed, const Target& target) {
  MapOnAxes out;
  out.map = printed;
  PerformanceMap& map = out.map;
  if (RatioAlongX(map) != target.ratio_along_x) {
    Turn(map);
    out.turned = true;
    out.words.emplace_back("Its axes are exchanged.");
  }
  Axis& flow = target.ratio_along_x ? *map.y : *map.x;
  Axis& ratio = target.ratio_along_x ? *map.x : *map.y;
  if (IsFlow(ratio.quantity) || (IsPressureRatio(ratio.quantity) != IsPressureRatio(target.ratio.quantity)) ||
      (IsExpansionRatio(ratio.quantity) != IsExpansionRatio(target.ratio.quantity)))
    return Fail(ErrorCode::kWrongKind, fmt::format("Its {} cannot be laid over the {} of the first map.", QuantityInWords(ratio.quantity),
                                                   QuantityInWords(target.ratio.quantity)));
  if (ratio.quantity != target.ratio.quantity)
    out.doubts.push_back(fmt::format("Its {} is drawn over the {} of the first map: the two are not the same, so compare with care.",
                                     QuantityInWords(ratio.quantity), QuantityInWords(target.ratio.quantity)));

  const Result<Unit> unit = ParseUnit(flow.unit);
  if (!unit) return std::unexpected(unit.error());
  const auto& from = printed.reference_conditions;
  const auto& to = target.map.reference_conditions;
  const bool parameter = flow.quantity == Quantity::kTurbineFlowParameter && target.flow.quantity == Quantity::kTurbineFlowParameter;
  const bool convert = from && to && !Same(*from, *to) && !parameter;
  const Result<QuestionUnits> units = QuestionUnits::For(target.map, convert ? from : std::nullopt);
  if (!units) return std::unexpected(units.error());
  const Result<double> factor = units->Factor(QuestionValue::kFlow, *unit);
  if (!factor) return std::unexpected(factor.error());
  out.flow_factor = *factor;
  if (convert) {
    const Result<double> speeds = units->Factor(QuestionValue::kSpeed, std::nullopt);
    if (!speeds) return std::unexpected(speeds.error());
    out.speed_factor = *speeds;
  }

  if (flow.unit != target.flow.unit) out.words.push_back(fmt::format("Its {} are drawn in {}.", flow.unit, target.flow.unit));
  if (convert) {
    std::string sentence =
        fmt::format("It is corrected to {}, drawn here at {}: flow \u00d7 {:.4f}", Conditions(*from), Conditions(*to), out.flow_factor);
    if (std::abs(out.speed_factor - 1.0) > 5e-5) sentence += fmt::format(", speed \u00d7 {:.4f}", out.speed_factor);
    out.words.push_back(sentence + (flow.unit != target.flow.unit ? ", units included." : "."));
  }
  if (!parameter && !from && to) out.doubts.emplace_back("It states no reference conditions: its flow and speed are drawn as printed.");
  if (!parameter && from && from->basis == ReferenceConditions::Basis::kAssumed)
    out.doubts.emplace_back("Its reference conditions are assumed: its flow may be several per cent off.");

  const double by_x = target.ratio_along_x ? 1.0 : out.flow_factor, by_y = target.ratio_along_x ? out.flow_factor : 1.0;
  double by_efficiency = 1.0;
  if (map.efficiency && target.efficiency && map.efficiency->unit != target.efficiency->unit) {
    by_efficiency = target.efficiency->unit == "%" ? 100.0 : 0.01;
    Multiply(*map.efficiency, by_efficiency);
    map.efficiency->unit = target.efficiency->unit;
  }
  Multiply(flow, out.flow_factor);
  flow.unit = target.flow.unit;
  flow.quantity = target.flow.quantity;
  for (Curve& curve : map.curves) {
    if (curve.role == CurveRole::kEfficiencyLine && map.efficiency)
      MultiplyCurve(curve, by_x, by_efficiency);
    else
      MultiplyCurve(curve, by_x, by_y);
    const bool speed = curve.unit == "rpm" || curve.unit == "krpm" || curve.unit == "m/s";
    if (curve.value && speed) *curve.value *= out.speed_factor;
  }
  if (convert) map.reference_conditions = *to;
  return out;
}

}  // namespace

Result<std::vector<MapOnAxes>> BringToCommonAxes(const std::vector<PerformanceMap>& maps, const CommonAxesOptions& options) {
  for (std::size_t i = 0; i < maps.size(); ++i) {
    const std::string place = std::to_string(i + 1);
    const PerformanceMap& map = maps[i];
    if (!map.kind || !map.x || !map.y) return Fail(ErrorCode::kWrongKind, "It is no map with two axes, so it cannot be laid over another.", place);
    if (map.kind != maps.front().kind)
      return Fail(ErrorCode::kWrongKind, "A compressor's and a turbine's map have different axes and cannot be laid over each other.", place);
    if (!IsFlow(RatioAlongX(map) ? map.y->quantity : map.x->quantity))
      return Fail(ErrorCode::kWrongKind, "It has no flow axis, so it cannot be laid over another.", place);
  }
  if (maps.empty()) return std::vector<MapOnAxes>{};
  Target target;
  target.map = maps.front();
  target.ratio_along_x = RatioAlongX(maps.front());
  std::optional<Axis>& flow = target.ratio_along_x ? target.map.y : target.map.x;
  target.ratio = target.ratio_along_x ? *target.map.x : *target.map.y;
  if (options.reference) target.map.reference_conditions = options.reference;
  if (!options.flow_unit.empty() && options.flow_unit != flow->unit) {
    const Result<Unit> unit = ParseUnit(options.flow_unit);
    if (!unit) return std::unexpected(unit.error());
    flow->unit = options.flow_unit;
    flow->quantity = FlowQuantityOf(*unit, flow->quantity);
  }
  target.flow = *flow;
  for (const PerformanceMap& map : maps)
    if (!target.efficiency) target.efficiency = map.efficiency;

  std::vector<MapOnAxes> brought;
  for (std::size_t i = 0; i < maps.size(); ++i) {
    Result<MapOnAxes> one = Bring(maps[i], target);
    if (!one) return Fail(one.error().code, one.error().message, std::to_string(i + 1));
    brought.push_back(std::move(*one));
  }
  return brought;
}

}  // namespace islebook
