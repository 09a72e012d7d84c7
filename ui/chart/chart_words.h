#pragma once
// What a chart says in words: quantities, units, reference conditions, doubts.

#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"

namespace islebook {

// "Corrected mass flow", "Pressure ratio, total to total".
std::string QuantityWords(Quantity quantity);
// A document's unit as people write it: "kg/s·√K/kPa", "m³/s"; empty for a pure number.
std::string UnitWords(const std::string& unit);
// "corrected to 29.4 °C and 96.17 kPa", with "(assumed)" where the sheet does not say.
std::string ReferenceWords(const ReferenceConditions& reference);
// Quantity, unit and, for a corrected quantity, the reference conditions.
// A flow or speed that depends on the conditions that it is corrected to.
bool IsCorrected(Quantity quantity);
std::string AxisWords(const Axis& axis, const std::optional<ReferenceConditions>& reference);
// "Speed line 90,000 rpm", "Island 0.74", "Surge line".
std::string CurveWords(const Curve& curve);
// The number at a curve, without its unit: "90,000", "0.74", "74 %".
std::string CurveLabel(const Curve& curve);

// A doubt with the number that its flag carries on the chart, the same as on the proof: first the sheet as a whole, then the curves in the map's order.
struct ChartDoubt {
  int number = 0;
  std::ptrdiff_t curve = -1;  // index into the map's curves; -1: about the sheet as a whole
  std::string words;
};
std::vector<ChartDoubt> NumberDoubts(const PerformanceMap& map);

}  // namespace islebook
