#include "digitizer/assemble/level_between.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <fmt/core.h>

#include "mapstore/map/curve_words.h"

namespace islebook {
namespace {

constexpr double kSame = 1e-6;

struct Met {
  double along = 0.0;
  std::size_t island = 0;
};

std::vector<Met> IslandsAlong(std::size_t line, const std::vector<PlotCurve>& curves, const std::vector<RoleGuess>& guesses) {
  std::vector<Met> met;
  for (std::size_t i = 0; i < curves.size(); ++i)
    if (!guesses[i].drop && guesses[i].role == CurveRole::kEfficiencyIsland)
      for (const Crossing& x : FindCrossings(curves[line], curves[i])) met.push_back({x.along_a, i});
  std::sort(met.begin(), met.end(), [](const Met& a, const Met& b) { return a.along < b.along; });
  return met;
}

}  // namespace

void SuggestLevelsBetween(const std::vector<PlotCurve>& curves, const std::vector<RoleGuess>& guesses, std::vector<CurveValue>& values) {
  std::vector<double> levels;  // of the chart
  for (std::size_t i = 0; i < curves.size(); ++i)
    if (!guesses[i].drop && guesses[i].role == CurveRole::kEfficiencyIsland && values[i].value && !values[i].inferred)
      levels.push_back(*values[i].value);
  std::sort(levels.begin(), levels.end());
  levels.erase(std::unique(levels.begin(), levels.end(), [](double a, double b) { return b - a < kSame; }), levels.end());

  struct Said {
    double value;
    std::string unit;
  };
  std::map<std::size_t, std::vector<Said>> said;
  for (std::size_t s = 0; s < curves.size(); ++s) {
    if (guesses[s].drop || guesses[s].role != CurveRole::kSpeedLine) continue;
    const std::vector<Met> met = IslandsAlong(s, curves, guesses);
    for (std::size_t from = 0; from < met.size(); ++from) {
      if (!values[met[from].island].value) continue;
      std::size_t to = from + 1;
      std::set<std::size_t> open;
      while (to < met.size() && !values[met[to].island].value) open.insert(met[to++].island);
      if (to == met.size() || open.empty() || open.size() != to - from - 1) continue;  // one met twice holds the peak
      const CurveValue &a = values[met[from].island], &b = values[met[to].island];
      if (a.inferred || b.inferred || a.unit != b.unit || std::abs(*a.value - *b.value) < kSame) continue;
      const double low = std::min(*a.value, *b.value), high = std::max(*a.value, *b.value);
      std::vector<double> between;
      for (const double level : levels)
        if (level > low + kSame && level < high - kSame) between.push_back(level);
      if (between.size() != open.size()) continue;
      if (*a.value > *b.value) std::reverse(between.begin(), between.end());
      for (std::size_t k = 0; k < between.size(); ++k) said[met[from + 1 + k].island].push_back({between[k], a.unit});
    }
  }
  for (const auto& [island, what] : said) {
    if (std::any_of(what.begin(), what.end(), [&](const Said& w) { return std::abs(w.value - what.front().value) > kSame; })) continue;
    CurveValue& v = values[island];
    v.value = what.front().value;
    v.unit = what.front().unit;
    v.inferred = true;
    v.confidence = 0.4;
    v.reasons.push_back(fmt::format("no label was read; {} is the level of the chart that belongs between its neighbors", NumberInWords(*v.value)));
  }
}

}  // namespace islebook
