#include "digitizer/labels/number_forms.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "digitizer/labels/label_text.h"

namespace islebook {
namespace {

constexpr double kVote = 0.6;                          // confidence from which a reading tells its form
constexpr double kLeastSpeed = 0.4, kMostSpeed = 2.2;  // of the middle one

bool AllDigits(const std::string& s) {
  return !s.empty() && std::all_of(s.begin(), s.end(), [](char c) { return c >= '0' && c <= '9'; });
}

bool IsEfficiencyPattern(const std::string& pattern) { return pattern == "0.00" || pattern == "0.000" || pattern == ".00" || pattern == ".000"; }
bool IsSpeedPattern(const std::string& pattern) { return pattern == "00000" || pattern == "0,000" || pattern == "0k"; }

void Add(NumberForm& form, const std::string& text) {
  const auto parsed = ParseLabelText(text);
  if (!parsed) return;
  form.texts.push_back(text);
  form.values.push_back(parsed->value);
  form.units.push_back(parsed->unit);
}

// The ranges are common practice, no source: efficiencies of 30 to 95 %, speeds of 5,000 to 350,000 rpm in steps of 500, openings and relative speeds in
// steps of five.
NumberForm FormOf(const std::string& pattern, bool percent_is_efficiency, double usual) {
  NumberForm form;
  form.pattern = pattern;
  if (IsEfficiencyPattern(pattern)) {
    const bool fine = pattern.ends_with("000");
    for (int k = fine ? 60 : 30; k <= (fine ? 190 : 95); ++k) {
      const std::string text = fine ? fmt::format("{:.3f}", k * 0.005) : fmt::format("{:.2f}", k * 0.01);
      Add(form, pattern[0] == '.' ? text.substr(1) : text);
    }
  } else if (pattern == "0%") {
    if (percent_is_efficiency)
      for (int k = 30; k <= 95; ++k) Add(form, fmt::format("{}%", k));
    else
      for (int k = 5; k <= 130; k += 5) Add(form, fmt::format("{}%", k));
  } else if (pattern == "0k") {
    for (int k = 10; k <= 700; ++k) Add(form, k % 2 == 0 ? fmt::format("{}k", k / 2) : fmt::format("{}.5k", k / 2));
  } else {
    for (int k = 10; k <= 700; ++k) Add(form, pattern == "0,000" ? fmt::format("{},{:03d}", k / 2, k % 2 * 500) : fmt::format("{}", k * 500));
  }
  if (!IsSpeedPattern(pattern) || usual <= 0.0) return form;
  // A chart's speeds lie within a small factor of each other.
  NumberForm near;
  near.pattern = pattern;
  for (std::size_t i = 0; i < form.values.size(); ++i)
    if (form.values[i] > kLeastSpeed * usual && form.values[i] < kMostSpeed * usual) {
      near.texts.push_back(form.texts[i]);
      near.values.push_back(form.values[i]);
      near.units.push_back(form.units[i]);
    }
  return near;
}

double MedianOf(std::vector<double> values) {
  if (values.empty()) return 0.0;
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2), values.end());
  return values[values.size() / 2];
}

}  // namespace

std::string PatternOf(const std::string& text) {
  std::string s = text;
  std::replace(s.begin(), s.end(), ',', '.');
  std::erase(s, ' ');
  if (s.ends_with('%')) {
    s.pop_back();
    return AllDigits(s) && s.size() >= 1 && s.size() <= 3 && s[0] != '0' ? "0%" : "";
  }
  if (s.ends_with('k')) {
    s.pop_back();
    const auto point = s.find('.');
    if (point != std::string::npos) {
      if (s.substr(point) != ".5") return "";
      s.resize(point);
    }
    return AllDigits(s) && s.size() >= 1 && s.size() <= 3 && s[0] != '0' ? "0k" : "";
  }
  const auto point = s.find('.');
  if (point == std::string::npos) return AllDigits(s) && s.size() >= 4 && s.size() <= 6 && s.ends_with("00") && s[0] != '0' ? "00000" : "";
  const std::string before = s.substr(0, point), after = s.substr(point + 1);
  if (!AllDigits(after)) return "";
  if (before == "0" || before.empty()) {
    if (after.size() < 2 || after.size() > 3) return "";
    return before + (after.size() == 2 ? ".00" : ".000");
  }
  return AllDigits(before) && before.size() <= 3 && after.size() == 3 && after.ends_with("00") && before[0] != '0' ? "0,000" : "";
}

std::vector<NumberForm> FormsOf(const std::vector<CurveLabel>& labels) {
  std::map<std::string, int> votes;
  std::map<std::string, std::vector<double>> values;
  int fives = 0;
  double most_percent = 0.0;
  for (const CurveLabel& label : labels) {
    if (label.confidence < kVote || label.candidates.empty()) continue;
    const std::string pattern = PatternOf(label.text);
    if (pattern.empty()) continue;
    ++votes[pattern];
    values[pattern].push_back(label.value);
    if (pattern == "0%") most_percent = std::max(most_percent, label.value);
    fives += pattern == "0%" && std::fmod(label.value, 5.0) == 0.0;
  }
  const auto most = [&](auto of) -> std::pair<std::string, int> {
    std::pair<std::string, int> best{"", 0};
    for (const auto& [pattern, n] : votes)
      if (of(pattern) && n > best.second) best = {pattern, n};
    return best;
  };
  const auto efficiency = most(IsEfficiencyPattern), speed = most(IsSpeedPattern);
  const int percent = votes.contains("0%") ? votes["0%"] : 0;
  std::vector<NumberForm> forms;
  if (speed.second >= 2) forms.push_back(FormOf(speed.first, true, MedianOf(values[speed.first])));
  // Per cent is an efficiency beside speeds that are none, and an opening or a relative speed beside efficiencies or by itself.
  if (efficiency.second >= 2 && efficiency.second >= percent) {
    forms.push_back(FormOf(efficiency.first, true, 0.0));
  } else if (percent >= 2 && speed.second >= 2) {
    forms.push_back(FormOf("0%", true, 0.0));
  } else if (percent >= 2 && efficiency.second < 2 && 4 * fives >= 3 * percent) {
    forms.push_back(FormOf("0%", false, 0.0));
    if (most_percent <= 100.0)  // openings
      while (forms.back().values.back() > 100.0) forms.back().values.pop_back(), forms.back().texts.pop_back(), forms.back().units.pop_back();
  }
  return forms;
}

}  // namespace islebook
