#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/map/curve_words.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/validate.h"
#include "mapstore/parcel/curve_tables.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

std::unexpected<Error> Bad(std::string why, std::string place = {}) { return Fail(ErrorCode::kBadTable, std::move(why), std::move(place)); }

}  // namespace

Result<PerformanceMap> MapFromTables(const CurveTables& tables) {
  PerformanceMap map;
  map.title = tables.title.value_or("");
  map.kind = tables.kind;
  if (!map.kind) {
    for (const TableCurve& curve : tables.curves) {
      const bool turbine = curve.role == CurveRole::kFlowLine || curve.role == CurveRole::kEfficiencyLine;
      if (curve.role == CurveRole::kOther) continue;
      const MapKind kind = turbine ? MapKind::kTurbine : MapKind::kCompressor;
      if (map.kind && *map.kind != kind) return Bad("the table holds curves of a compressor and of a turbine; give one file a map.", curve.place);
      map.kind = kind;
    }
  }
  if (tables.curves.empty()) return Bad("the table holds no curve.");
  const bool turbine = map.kind == MapKind::kTurbine;
  // The span of what is there, where the table gives no axis.
  const auto axis = [&](const TableAxis& given, const std::optional<Axis>& printed, Quantity usual, const char* name,
                        auto value) -> Result<std::optional<Axis>> {
    if (printed) return printed;
    Axis made;
    if (given.quantity) {
      made.quantity = *given.quantity;
    } else {
      made.quantity = usual;
      map.needs_review.push_back(fmt::format("the table does not say what {} is; {} is assumed", name, QuantityInWords(usual)));
    }
    if (given.unit.empty())
      return Bad(
          fmt::format("the header of {0} gives no unit, for instance \"{0} [{1}]\".", name, name == std::string("x") && !turbine ? "lb/min" : "1"),
          "line 1");
    made.unit = given.unit;
    double low = INFINITY, high = -INFINITY;
    for (const TableCurve& curve : tables.curves)
      for (const Point2& p : curve.points)
        if (const std::optional<double> v = value(curve, p)) low = std::min(low, *v), high = std::max(high, *v);
    if (!(low <= high)) return std::nullopt;
    if (low == high) high = low + 1.0;
    made.min = low;
    made.max = high;
    return made;
  };
  const auto volume = [&](const std::string& unit) {
    const Result<Unit> parsed = ParseUnit(unit);
    return parsed && parsed->dimension == Dimension::kVolumeFlow;
  };
  const bool has_efficiency = !tables.efficiency.unit.empty() || tables.printed_efficiency;
  const auto on_efficiency = [&](const TableCurve& curve) { return curve.role == CurveRole::kEfficiencyLine && has_efficiency; };
  auto x = axis(tables.x, tables.printed_x,
                turbine                 ? Quantity::kExpansionRatioTotalToStatic
                : volume(tables.x.unit) ? Quantity::kCorrectedVolumeFlow
                                        : Quantity::kCorrectedMassFlow,
                "x", [](const TableCurve&, const Point2& p) { return std::optional(p.x); });
  if (!x) return std::unexpected(x.error());
  auto y = axis(tables.y, tables.printed_y,
                !turbine                               ? Quantity::kPressureRatioTotalToTotal
                : tables.y.unit == "kg s-1 K0.5 kPa-1" ? Quantity::kTurbineFlowParameter
                : volume(tables.y.unit)                ? Quantity::kCorrectedVolumeFlow
                                                       : Quantity::kCorrectedMassFlow,
                "y", [&](const TableCurve& curve, const Point2& p) { return on_efficiency(curve) ? std::nullopt : std::optional(p.y); });
  if (!y) return std::unexpected(y.error());
  map.x = *x;
  map.y = *y;
  if (has_efficiency) {
    auto efficiency = axis(tables.efficiency, tables.printed_efficiency, Quantity::kEfficiencyTotalToStatic, "efficiency",
                           [&](const TableCurve& curve, const Point2& p) { return on_efficiency(curve) ? std::optional(p.y) : std::nullopt; });
    if (!efficiency) return std::unexpected(efficiency.error());
    map.efficiency = *efficiency;
  }
  map.reference_conditions = tables.reference_conditions;
  if (!map.reference_conditions)
    map.needs_review.push_back("the table gives no reference conditions; flows may be several per cent off until they are known");
  for (const TableCurve& given : tables.curves) {
    Curve curve;
    curve.role = given.role;
    curve.value = given.value;
    curve.unit = given.unit;
    curve.closed = given.closed.value_or(given.role == CurveRole::kEfficiencyIsland);
    curve.points = given.points;
    if (std::all_of(given.sigma.begin(), given.sigma.end(), [](const auto& sigma) { return sigma.has_value(); }))
      for (const auto& sigma : given.sigma) curve.sigma.push_back(*sigma);
    curve.needs_review = given.needs_review.value_or(false) || given.role == CurveRole::kOther;
    if (curve.needs_review) curve.reasons = {given.role == CurveRole::kOther ? "a curve of no known role" : "the table asks for a look"};
    map.curves.push_back(std::move(curve));
  }
  if (const Result<void> sane = CheckWritable(map); !sane) return std::unexpected(sane.error());
  for (const Finding& finding : ValidateMap(map)) {
    if (finding.severity == Severity::kRemark) continue;
    if (finding.curve) {
      map.curves[*finding.curve].needs_review = true;
      map.curves[*finding.curve].reasons.push_back(finding.sentence);
    } else {
      map.needs_review.push_back(finding.sentence);
    }
  }
  return AsWritten(map);
}

}  // namespace islebook
