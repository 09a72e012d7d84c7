#include "ui/chart/chart_words.h"

#include <cmath>
#include <cstdio>

#include "mapstore/map/curve_words.h"
#include "ui/chart/ticks.h"

namespace islebook {

std::string QuantityWords(Quantity quantity) {
  switch (quantity) {
    case Quantity::kCorrectedMassFlow: return "Corrected mass flow";
    case Quantity::kCorrectedVolumeFlow: return "Corrected volume flow";
    case Quantity::kPressureRatioTotalToTotal: return "Pressure ratio, total to total";
    case Quantity::kPressureRatioTotalToStatic: return "Pressure ratio, total to static";
    case Quantity::kExpansionRatioTotalToStatic: return "Expansion ratio, total to static";
    case Quantity::kExpansionRatioTotalToTotal: return "Expansion ratio, total to total";
    case Quantity::kTurbineFlowParameter: return "Flow parameter";
    case Quantity::kEfficiencyTotalToStatic: return "Efficiency, total to static";
    case Quantity::kEfficiencyTotalToTotal: return "Efficiency, total to total";
    case Quantity::kCorrectedSpeed: return "Corrected speed";
    case Quantity::kVelocityRatio: return "Velocity ratio";
  }
  return "";
}

std::string UnitWords(const std::string& unit) {
  if (unit == "1" || unit.empty()) return "";
  if (unit == "m3/s") return "m\u00b3/s";
  if (unit == "m3/min") return "m\u00b3/min";
  if (unit == "m3/h") return "m\u00b3/h";
  if (unit == "ft3/min") return "ft\u00b3/min";
  if (unit == "kg s-1 K0.5 kPa-1") return "kg/s\u00b7\u221aK/kPa";
  if (unit == "krpm") return "1,000 rpm";
  return unit;
}

std::string ReferenceWords(const ReferenceConditions& reference) {
  const double celsius = reference.temperature_K - 273.15;
  const double tenth = std::round(celsius * 10) / 10;
  // A sheet that says 298 K is not quoted as 24.85 °C.
  const bool whole_kelvin = std::abs(reference.temperature_K - std::round(reference.temperature_K)) < 1e-6;
  const std::string temperature = whole_kelvin ? ValueOnChart(reference.temperature_K) + " K" : ValueOnChart(tenth) + " \u00b0C";
  const double kilopascal = std::round(reference.pressure_Pa) / 1000;
  std::string words = "corrected to " + temperature + " and " + ValueOnChart(kilopascal) + " kPa";
  if (reference.basis == ReferenceConditions::Basis::kAssumed) words += " (assumed)";
  return words;
}

bool IsCorrected(Quantity quantity) {
  return quantity == Quantity::kCorrectedMassFlow || quantity == Quantity::kCorrectedVolumeFlow || quantity == Quantity::kCorrectedSpeed;
}

std::string AxisWords(const Axis& axis, const std::optional<ReferenceConditions>& reference) {
  std::string words = QuantityWords(axis.quantity);
  const std::string unit = UnitWords(axis.unit);
  if (!unit.empty()) words += ", " + unit;
  if (IsCorrected(axis.quantity)) words += reference ? ", " + ReferenceWords(*reference) : ", reference conditions not stated";
  return words;
}

std::string CurveLabel(const Curve& curve) {
  if (!curve.value) return "";
  std::string text = ValueOnChart(*curve.value);
  if (curve.unit == "1" && *curve.value > 0 && *curve.value < 1 && text.size() < 4 && curve.role == CurveRole::kEfficiencyIsland)
    text = NumberOnChart(*curve.value, 2);
  if (curve.unit == "%") text += " %";
  return text;
}

std::string CurveWords(const Curve& curve) {
  std::string words;
  switch (curve.role) {
    case CurveRole::kSpeedLine: words = "Speed line"; break;
    case CurveRole::kSurgeLine: words = "Surge line"; break;
    case CurveRole::kChokeLine: words = "Choke line"; break;
    case CurveRole::kEfficiencyIsland: words = "Island"; break;
    case CurveRole::kFlowLine: words = "Flow line"; break;
    case CurveRole::kEfficiencyLine: words = "Efficiency line"; break;
    case CurveRole::kOther: words = "Curve of unknown kind"; break;
  }
  const std::string label = CurveLabel(curve);
  if (!label.empty()) words += " " + label;
  const std::string unit = UnitWords(curve.unit);
  if (!label.empty() && !unit.empty() && curve.unit != "%") words += " " + unit;
  return words;
}

std::vector<ChartDoubt> NumberDoubts(const PerformanceMap& map) {
  std::vector<ChartDoubt> doubts;
  for (const std::string& reason : map.needs_review) doubts.push_back({static_cast<int>(doubts.size()) + 1, -1, reason});
  for (std::size_t i = 0; i < map.curves.size(); ++i) {
    const Curve& curve = map.curves[i];
    if (!curve.needs_review) continue;
    std::string words = CurveWords(curve) + ": " + JoinReasons(curve.reasons);
    if (curve.reasons.empty()) words += "needs a look";
    doubts.push_back({static_cast<int>(doubts.size()) + 1, static_cast<std::ptrdiff_t>(i), std::move(words)});
  }
  return doubts;
}

}  // namespace islebook
