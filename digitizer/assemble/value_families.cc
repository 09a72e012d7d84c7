#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/core.h>

#include "digitizer/assemble/values.h"

namespace islebook {
namespace {

constexpr double kVeryFar = 0.08;                             // between an island's efficiency and the next
constexpr double kLeastOfMiddle = 0.35, kMostOfMiddle = 2.8;  // speeds of one chart lie within a small factor of each other

// What most of a family's values are whole multiples of; 0 where there is no such number.
double GrainOf(const std::vector<double>& values) {
  if (values.size() < 4) return 0;
  for (double grain : {10000.0, 5000.0, 2500.0, 1000.0, 500.0, 250.0, 100.0, 50.0, 10.0}) {
    std::size_t on = 0;
    for (double v : values) on += std::abs(v / grain - std::round(v / grain)) < 1e-6;
    if (4 * on >= 3 * values.size()) return on < values.size() || grain > 100 ? grain : 0;
  }
  return 0;
}

}  // namespace

void DoubtOddSpeeds(const std::vector<std::size_t>& family, std::vector<CurveValue>& values) {
  std::vector<std::size_t> read;
  std::vector<double> rpm;
  for (std::size_t i : family) {
    const CurveValue& v = values[i];
    if (!v.value || v.inferred || (v.unit != "rpm" && v.unit != "krpm")) continue;
    read.push_back(i);
    rpm.push_back(*v.value * (v.unit == "krpm" ? 1000.0 : 1.0));
  }
  std::vector<double> sorted = rpm;
  std::sort(sorted.begin(), sorted.end());
  const double middle = sorted.empty() ? 0.0 : sorted[sorted.size() / 2];
  for (std::size_t k = 0; k < read.size() && read.size() >= 4; ++k)
    if (rpm[k] < kLeastOfMiddle * middle || rpm[k] > kMostOfMiddle * middle) {
      values[read[k]].reasons.push_back(fmt::format("{:g} is far from the other speeds; a digit may be lost", *values[read[k]].value));
      values[read[k]].confidence = std::min(values[read[k]].confidence, 0.35);
    }
  const double grain = GrainOf(rpm);
  for (std::size_t k = 0; k < read.size(); ++k) {
    CurveValue& v = values[read[k]];
    const auto on = [&](double g) { return std::abs(rpm[k] / g - std::round(rpm[k] / g)) < 1e-6; };
    if (grain > 0 && !on(grain)) {
      v.reasons.push_back(fmt::format("{:g} is no multiple of {:g} as the other speeds are; a digit may be misread", *v.value,
                                      grain / (v.unit == "krpm" ? 1000.0 : 1.0)));
      v.confidence = std::min(v.confidence, 0.35);
    } else if (grain == 0 && rpm[k] >= 10000 && !on(500.0)) {
      v.hints.push_back({fmt::format("{:g} is an odd number for a speed", *v.value), read.size() < 4 ? 0.5 : 0.2});
    }
  }
}

void DoubtOddEfficiencies(const std::vector<std::size_t>& family, std::vector<CurveValue>& values) {
  std::map<int, int> count;
  std::map<std::string, int> units;
  for (std::size_t i : family)
    if (values[i].value && !values[i].inferred) {
      ++count[values[i].decimals];
      ++units[values[i].unit];
    }
  const auto most = [](const auto& counts) {
    return std::max_element(counts.begin(), counts.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  };
  if (count.empty()) return;
  const auto usual = most(count);
  const auto unit = most(units);
  const bool fractions = std::ranges::any_of(family, [&](std::size_t i) {
    return values[i].value && !values[i].inferred && values[i].unit == "1" && values[i].decimals >= 2 && *values[i].value < 1.0;
  });
  std::vector<double> sorted;
  for (std::size_t i : family) {
    CurveValue& v = values[i];
    if (!v.value || v.inferred) continue;
    sorted.push_back(*v.value);
    // A point is lost more easily than one is made up: where one label has it, numbers without one have probably lost it, and with it what the first figure was.
    if (v.unit == "%" && (fractions || (v.unit != unit->first && unit->second >= 2))) {
      v.reasons.push_back(fmt::format("{:g} is in per cent, other efficiencies are not", *v.value));
      v.confidence = std::min(v.confidence, 0.4);
    }
    if (v.unit == "1" && v.decimals > 2 && count[v.decimals] == 1) {
      v.hints.push_back({fmt::format("{:g} has more decimals than efficiencies are printed with", *v.value), 0.55});
      continue;
    }
    if (v.decimals == usual->first || (usual->second < 2 && !(v.unit == "%" && v.decimals > 1))) continue;
    v.hints.push_back(
        {fmt::format("{:g} is printed with {} decimals than the other efficiencies", *v.value, v.decimals > usual->first ? "more" : "fewer"),
         count[v.decimals] > 1 && 2 * count[v.decimals] >= usual->second ? 0.3 : 0.55});
  }
  // The lowest and the highest island lie near the next ones.
  std::sort(sorted.begin(), sorted.end());
  sorted.erase(std::unique(sorted.begin(), sorted.end()), sorted.end());
  if (sorted.size() < 4) return;
  double widest = 0;
  for (std::size_t k = 1; k + 2 < sorted.size(); ++k) widest = std::max(widest, sorted[k + 1] - sorted[k]);
  for (std::size_t i : family) {
    CurveValue& v = values[i];
    if (!v.value || v.inferred) continue;
    if ((*v.value == sorted.front() && sorted[1] - sorted[0] > 3.0 * widest) ||
        (*v.value == sorted.back() && sorted[sorted.size() - 1] - sorted[sorted.size() - 2] > 2.0 * widest))
      v.hints.push_back({fmt::format("{:g} is far from the other efficiencies", *v.value),
                         *v.value == sorted.front() && (sorted[1] - sorted[0]) * (*v.value > 1.5 ? 0.01 : 1.0) > kVeryFar ? 0.55 : 0.35});
  }
}

void BelieveStrayLabels(const std::vector<CurveLabel>& labels, std::vector<char>& used, std::vector<CurveValue>& values) {
  for (CurveValue& v : values) {
    if (!v.value || !v.inferred) continue;
    for (std::size_t l = 0; l < labels.size(); ++l) {
      if (used[l] || labels[l].confidence < 0.5 || std::abs(labels[l].value - *v.value) > 1e-6 * std::abs(*v.value)) continue;
      // What follows from the neighbors is also printed, if not quite where it was looked for.
      used[l] = 1;
      v.inferred = false;
      v.reasons.clear();
      v.confidence = 0.7;
      break;
    }
  }
}

}  // namespace islebook
