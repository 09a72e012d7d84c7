#include "mapstore/map/curve_words.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "mapstore/map/json_text.h"

namespace islebook {

std::string NumberInWords(double value, int significant_digits) {
  const double rounded = RoundToDigits(value, significant_digits);
  std::string text = JsonNumber(rounded);
  if (!std::isfinite(rounded)) return "no number";
  if (std::fabs(rounded) < 1e4 || text.find('e') != std::string::npos) return text;
  std::size_t end = text.find('.');
  if (end == std::string::npos) end = text.size();
  const std::size_t start = text[0] == '-' ? 1 : 0;
  for (std::size_t at = end; at > start + 3; at -= 3) text.insert(at - 3, ",");
  return text;
}

std::string CurveInWords(const Curve& curve) {
  const char* what = "curve";
  switch (curve.role) {
    case CurveRole::kSpeedLine: what = "speed line"; break;
    case CurveRole::kSurgeLine: return "the surge line";
    case CurveRole::kChokeLine: return "the choke line";
    case CurveRole::kEfficiencyIsland: what = "efficiency island"; break;
    case CurveRole::kFlowLine: what = "flow line"; break;
    case CurveRole::kEfficiencyLine: what = "efficiency line"; break;
    case CurveRole::kOther: what = "other curve"; break;
  }
  if (!curve.value)
    return fmt::format(
        "{} {} without a value",
        curve.role == CurveRole::kEfficiencyIsland || curve.role == CurveRole::kEfficiencyLine || curve.role == CurveRole::kOther ? "an" : "a", what);
  const std::string unit = curve.unit.empty() || curve.unit == "1" ? "" : curve.unit == "%" ? " %" : " " + curve.unit;
  return fmt::format("the {}{} {}", NumberInWords(*curve.value), unit, what);
}

const char* QuantityInWords(Quantity quantity) {
  switch (quantity) {
    case Quantity::kCorrectedMassFlow: return "corrected mass flow";
    case Quantity::kCorrectedVolumeFlow: return "corrected volume flow";
    case Quantity::kPressureRatioTotalToTotal: return "pressure ratio, total to total";
    case Quantity::kPressureRatioTotalToStatic: return "pressure ratio, total to static";
    case Quantity::kExpansionRatioTotalToStatic: return "expansion ratio, total to static";
    case Quantity::kExpansionRatioTotalToTotal: return "expansion ratio, total to total";
    case Quantity::kTurbineFlowParameter: return "turbine flow parameter";
    case Quantity::kEfficiencyTotalToStatic: return "efficiency, total to static";
    case Quantity::kEfficiencyTotalToTotal: return "efficiency, total to total";
    case Quantity::kCorrectedSpeed: return "corrected speed";
    case Quantity::kVelocityRatio: return "velocity ratio";
  }
  return "";
}

bool LacksReference(const PerformanceMap& map) {
  if (map.reference_conditions) return false;
  return std::ranges::any_of(std::array{&map.x, &map.y}, [](const std::optional<Axis>* axis) {
    return *axis && ((*axis)->quantity == Quantity::kCorrectedMassFlow || (*axis)->quantity == Quantity::kCorrectedVolumeFlow ||
                     (*axis)->quantity == Quantity::kCorrectedSpeed);
  });
}

std::string JoinReasons(const std::vector<std::string>& reasons) {
  std::string joined;
  for (std::string reason : reasons) {
    while (!reason.empty() && (reason.back() == '.' || reason.back() == ' ')) reason.pop_back();
    // The start of a sentence, unless it is an abbreviation or a name in capitals.
    const bool capital = reason.size() > 1 && reason[0] >= 'A' && reason[0] <= 'Z' && (reason[1] == ' ' || (reason[1] >= 'a' && reason[1] <= 'z'));
    if (capital) reason[0] = static_cast<char>(reason[0] - 'A' + 'a');
    if (!reason.empty()) joined += (joined.empty() ? "" : "; ") + reason;
  }
  return joined;
}

std::string Capitalized(std::string sentence) {
  if (!sentence.empty() && sentence[0] >= 'a' && sentence[0] <= 'z') sentence[0] = static_cast<char>(sentence[0] - 'a' + 'A');
  return sentence;
}

}  // namespace islebook
