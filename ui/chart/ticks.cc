#include "ui/chart/ticks.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace islebook {
namespace {

struct Step {
  double size = 1.0;
  int parts = 5;  // minor steps in a major one
  int decimals = 0;
};

Step RoundStep(double span, int about) {
  const double raw = span / std::max(about, 1);
  const double decade = std::pow(10.0, std::floor(std::log10(raw)));
  struct Choice {
    double factor;
    int parts;
    int extra;
  };
  constexpr Choice kChoices[] = {{1.0, 5, 0}, {2.0, 4, 0}, {2.5, 5, 1}, {5.0, 5, 0}, {10.0, 5, 0}};
  Choice best = kChoices[0];
  double best_miss = 1e9;
  for (const Choice& choice : kChoices) {
    double miss = std::abs(std::log(choice.factor * decade / raw));
    if (choice.extra) miss += 0.12;  // quarters are harder to read off
    if (miss < best_miss) best_miss = miss, best = choice;
  }
  Step step;
  step.size = best.factor * decade;
  step.parts = best.parts;
  const int power = static_cast<int>(std::lround(std::log10(decade))) + (best.factor == 10.0 ? 1 : 0);
  step.decimals = std::max(0, -power + best.extra);
  return step;
}

Ticks LinearTicks(double min, double max, int about) {
  const Step step = RoundStep(max - min, about);
  Ticks ticks;
  ticks.decimals = step.decimals;
  const double minor = step.size / step.parts;
  const auto first = static_cast<long>(std::ceil(min / minor - 1e-6));
  const auto last = static_cast<long>(std::floor(max / minor + 1e-6));
  for (long k = first; k <= last; ++k) {
    const double value = static_cast<double>(k) * minor;
    if (k % step.parts == 0)
      ticks.major.push_back(value);
    else
      ticks.minor.push_back(value);
  }
  return ticks;
}

Ticks LogTicks(double min, double max, int about) {
  const double decades = std::log10(max / min);
  if (decades < 0.7) return LinearTicks(min, max, about);  // too short a span for a decade's series
  const bool dense = decades < 2.2, close = decades < 1.3;
  Ticks ticks;
  for (int power = static_cast<int>(std::floor(std::log10(min))); power <= static_cast<int>(std::ceil(std::log10(max))); ++power) {
    for (int digit = 1; digit <= 9; ++digit) {
      const double value = digit * std::pow(10.0, power);
      if (value < min * (1 - 1e-9) || value > max * (1 + 1e-9)) continue;
      const bool is_major = digit == 1 || (dense && (digit == 2 || digit == 5)) || (close && digit != 7 && digit != 9);
      (is_major ? ticks.major : ticks.minor).push_back(value);
      if (is_major) ticks.decimals = std::max(ticks.decimals, -power);
    }
  }
  return ticks;
}

}  // namespace

Ticks PlaceTicks(double min, double max, AxisScale scale, int about) {
  if (!(max > min)) return {{min}, {}, 0};
  return scale == AxisScale::kLog && min > 0 ? LogTicks(min, max, about) : LinearTicks(min, max, about);
}

AxisSpan RoundOutward(double min, double max, AxisScale scale, int about) {
  if (scale == AxisScale::kLog && min > 0) {
    // Whole digits of the decade, and 1.5.
    const auto decade = [](double v) { return std::pow(10.0, std::floor(std::log10(v) + 1e-9)); };
    const double low_decade = decade(min), high_decade = decade(max), low_digit = min / low_decade, high_digit = max / high_decade;
    const double floor = low_decade * (low_digit >= 1.5 && low_digit < 2 ? 1.5 : std::floor(low_digit + 1e-9));
    const double ceiling = high_decade * (high_digit > 1 + 1e-9 && high_digit <= 1.5 ? 1.5 : std::ceil(high_digit - 1e-9));
    return {floor, ceiling > floor ? ceiling : floor * 10};
  }
  if (!(max > min)) {
    const double half = std::max(std::abs(min) * 0.5, 0.5);
    min -= half, max += half;
  }
  const Step step = RoundStep(max - min, about);
  const double part = step.size / 2;  // half a step is round enough for an end
  return {std::floor(min / part + 1e-6) * part, std::ceil(max / part - 1e-6) * part};
}

std::string NumberOnChart(double value, int decimals) {
  char text[64];
  if (!(std::abs(value) < 1e15)) {
    std::snprintf(text, sizeof text, "%.6g", value);
    return text;
  }
  std::snprintf(text, sizeof text, "%.*f", std::clamp(decimals, 0, 12), std::abs(value));
  const std::string digits = text;
  const bool is_zero = digits.find_first_not_of("0.") == std::string::npos;
  const std::size_t point = std::min(digits.find('.'), digits.size());
  std::string out = value < 0 && !is_zero ? "\u2212" : "";
  for (std::size_t i = 0; i < digits.size(); ++i) {
    if (i > 0 && i < point && point > 4 && (point - i) % 3 == 0) out += ',';
    out += digits[i];
  }
  return out;
}

std::string ValueOnChart(double value) {
  const double size = std::abs(value);
  int decimals = 0;
  const int most = size >= 1e5 ? 0 : size > 0 ? std::clamp(5 - static_cast<int>(std::floor(std::log10(size))), 0, 8) : 0;
  for (; decimals < most; ++decimals) {
    const double scale = std::pow(10.0, decimals);
    if (std::abs(std::round(value * scale) / scale - value) <= 1e-6 * size) break;
  }
  return NumberOnChart(value, decimals);
}

}  // namespace islebook
