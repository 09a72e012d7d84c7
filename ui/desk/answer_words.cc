#include "ui/desk/answer_words.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

std::string Thousands(std::string digits) {
  const std::size_t sign = digits.starts_with('-') ? 1 : 0, dot = std::min(digits.find('.'), digits.size());
  if (digits.find('e') != std::string::npos || dot < sign + 5) return digits;
  for (std::size_t i = dot; i > sign + 3; i -= 3) digits.insert(i - 3, ",");
  return digits;
}

}  // namespace

// A number as it was asked for.
std::string AsGiven(std::optional<double> value) {
  if (!value || !std::isfinite(*value)) return "-";
  const double size = std::abs(*value);
  return size != 0.0 && (size < 1e-4 || size >= 1e9) ? fmt::format("{:.6g}", *value)
                                                     : Thousands(fmt::format("{:.10g}", std::stod(fmt::format("{:.6g}", *value))));
}

std::string WithUnit(const std::string& word, const std::string& unit) {
  return unit.empty() || unit == "1" ? word : fmt::format("{} {}", word, unit);
}

std::string WithSigma(double value, std::optional<double> sigma, int most, int usual) {
  if (!std::isfinite(value)) return "-";
  const int magnitude = value != 0.0 ? static_cast<int>(std::floor(std::log10(std::abs(value)))) : 0;
  if (!sigma || !std::isfinite(*sigma) || *sigma <= 0.0) return Thousands(fmt::format("{:.{}f}", value, std::clamp(usual - 1 - magnitude, 0, 9)));
  // Two digits of an uncertainty that begins with 1, one otherwise.
  int last = static_cast<int>(std::floor(std::log10(*sigma)));
  if (*sigma / std::pow(10.0, last) < 1.95) --last;
  const int most_digits = most - 1 - magnitude;
  const int digits = std::clamp(-last, 0, std::max(most_digits, 0));
  double shown = *sigma;
  if (-last > digits) shown = std::max(shown, std::pow(10.0, -digits));  // below what is shown, it is less than the last digit
  if (last > 0) {
    const double step = std::pow(10.0, last);
    return Thousands(fmt::format("{:.0f}", std::round(value / step) * step)) + " ± " +
           Thousands(fmt::format("{:.0f}", std::ceil(shown / step - 0.5) * step));
  }
  return Thousands(fmt::format("{:.{}f}", value, digits)) + " ± " + Thousands(fmt::format("{:.{}f}", shown, digits));
}

std::string PercentWithSigma(std::optional<double> value, std::optional<double> sigma) {
  if (!value) return "-";
  const double percent = 100.0 * *value;
  if (!sigma || !std::isfinite(*sigma)) return fmt::format("{:.1f} %", percent);
  // No finer than a tenth: what is surer than that is said to be so sure.
  return WithSigma(percent, std::max(100.0 * *sigma, 0.1), 4, 3) + " %";
}

const char* WhereWords(const AskableMap& map, const MapAnswer& answer) {
  if (!answer.asked) return "not asked";
  if (map.is_turbine()) return answer.inside ? "on the map" : "outside the lines";
  if (!answer.region) return "not known";
  switch (*answer.region) {
    case MapRegion::kOnMap: return "on the map";
    case MapRegion::kLeftOfSurge: return "left of the surge line";
    case MapRegion::kPastChoke: return "past choke";
    case MapRegion::kOverSpeed: return "over speed";
    case MapRegion::kUnderSpeed: return "under speed";
  }
  return "";
}

std::string AnswerWords(const AskableMap& map, const MapAnswer& answer) {
  std::string words;
  const auto add = [&](const std::string& part) { words += (words.empty() ? "" : ", ") + part; };
  if (!answer.inside) add(WhereWords(map, answer));
  if (map.is_turbine()) {
    if (answer.speed) add(WithUnit(AsGiven(answer.speed), map.speed_unit()));
    if (answer.vane_opening) add(WithUnit(AsGiven(answer.vane_opening), map.vane_opening_unit()));
  } else if (answer.speed) {
    add(WithUnit(WithSigma(*answer.speed, answer.sigma_speed, 6, 5), map.speed_unit()));
  }
  if (answer.efficiency) add("efficiency " + WithSigma(*answer.efficiency, answer.sigma_efficiency, 3, 3));
  if (answer.surge_margin) add("surge margin " + PercentWithSigma(answer.surge_margin, answer.sigma_surge_margin));
  return words;
}

}  // namespace islebook
