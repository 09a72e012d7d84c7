#include "digitizer/assemble/values.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/core.h>
#include <opencv2/core.hpp>

#include "digitizer/assemble/level_between.h"
#include "digitizer/assemble/value_sequence.h"
#include "mapstore/map/curve_words.h"

namespace islebook {
namespace {

enum class LabelClass { kEfficiency, kSpeed, kPercent, kPlain };

// What a number can be, by its unit and size.
LabelClass ClassOf(const CurveLabel& l) {
  if (l.unit == "rpm" || l.unit == "krpm" || l.unit == "m/s") return LabelClass::kSpeed;
  if (l.unit == "%") return LabelClass::kPercent;
  if (l.value > 0.2 && l.value < 1.0) return LabelClass::kEfficiency;
  if (l.value >= 1000) return LabelClass::kSpeed;
  return LabelClass::kPlain;
}

double ClassFits(LabelClass c, CurveRole role, double value) {
  switch (role) {
    case CurveRole::kEfficiencyIsland:
      if (c == LabelClass::kEfficiency) return 1;
      if (c == LabelClass::kPercent) return value >= 20 && value <= 95 ? 1 : 0.1;
      if (c == LabelClass::kPlain) return value >= 30 && value <= 95 ? 0.6 : 0.02;
      return 0.01;
    case CurveRole::kSpeedLine:
      if (c == LabelClass::kSpeed) return 1;
      if (c == LabelClass::kPercent) return 0.4;
      if (c == LabelClass::kPlain) return value >= 10 ? 0.5 : 0.02;  // a lone figure is dust or a piece of a word
      return 0.02;
    default:  // turbine lines: speed or vane opening
      return c == LabelClass::kEfficiency ? 0.4 : 1.0;
  }
}

bool CarriesValue(CurveRole role) {
  return role == CurveRole::kSpeedLine || role == CurveRole::kEfficiencyIsland || role == CurveRole::kFlowLine || role == CurveRole::kEfficiencyLine;
}

double PlaceScore(const CurveLabel& label, const LabelCandidate& c, CurveRole role) {
  const double heights = c.distance_px / std::max(4.0, label.height_px);
  const bool island = role == CurveRole::kEfficiencyIsland;
  switch (c.place) {
    case LabelPlace::kOnLine: return std::exp(-0.5 * heights);
    case LabelPlace::kAtEnd: return (island ? 0.5 : 1.0) * std::exp(-0.6 * heights);
    case LabelPlace::kBeside: return (island ? 0.35 : 0.45) * std::exp(-0.9 * heights);
  }
  return 0;
}

// Whether the label's ink allows this value nearly as well as what was read.
bool MaySay(const CurveLabel& label, double value) {
  constexpr double kNearly = 5.0;
  return std::any_of(label.alternatives.begin(), label.alternatives.end(),
                     [&](const LabelAlternative& a) { return a.cost < kNearly && std::abs(a.value - value) < 1e-6 * value; });
}

struct Claim {
  std::size_t label, curve;
  double score;
};

// Figures after the point or comma that parts them, as printed.
int DecimalsOf(const std::string& text) {
  const auto at = text.find_last_of(".,");
  if (at == std::string::npos) return 0;
  int n = 0;
  for (std::size_t i = at + 1; i < text.size() && text[i] >= '0' && text[i] <= '9'; ++i) ++n;
  return n == 3 && text.find('.') == std::string::npos ? 0 : n;  // three after a comma: thousands
}

std::string Printed(const CurveLabel& l) { return "\"" + l.text + "\""; }

// Values of the curves in `order` should rise strictly (or fall, when `either_way`). What is not in every longest run that does is doubted: of two
// numbers that changed places either may be the wrong one.
void DoubtOrder(const std::vector<std::size_t>& order, std::vector<CurveValue>& values, bool either_way, const char* what) {
  std::vector<std::size_t> with;
  for (std::size_t i : order)
    if (values[i].value) with.push_back(i);
  if (with.size() < 3) return;
  struct Run {
    int longest = 0;
    std::vector<char> in_all;
  };
  const auto longest = [&](bool rising) {
    const auto before = [&](std::size_t a, std::size_t b) {
      return rising ? *values[with[a]].value < *values[with[b]].value : *values[with[a]].value > *values[with[b]].value;
    };
    const std::size_t n = with.size();
    std::vector<int> up_to(n, 1), from(n, 1);  // members of the longest run that ends here, and that begins here
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t j = 0; j < i; ++j)
        if (before(j, i)) up_to[i] = std::max(up_to[i], up_to[j] + 1);
    for (std::size_t i = n; i-- > 0;)
      for (std::size_t j = i + 1; j < n; ++j)
        if (before(i, j)) from[i] = std::max(from[i], from[j] + 1);
    Run run;
    run.longest = *std::max_element(up_to.begin(), up_to.end());
    std::vector<int> at_rank(n + 1, 0);
    const auto in_one = [&](std::size_t i) { return up_to[i] + from[i] - 1 == run.longest; };
    for (std::size_t i = 0; i < n; ++i)
      if (in_one(i)) ++at_rank[static_cast<std::size_t>(up_to[i])];
    for (std::size_t i = 0; i < n; ++i) run.in_all.push_back(in_one(i) && at_rank[static_cast<std::size_t>(up_to[i])] == 1);
    return run;
  };
  Run run = longest(true);
  if (either_way)
    if (Run down = longest(false); down.longest > run.longest) run = std::move(down);
  for (std::size_t k = 0; k < with.size(); ++k)
    if (!run.in_all[k]) {
      values[with[k]].reasons.push_back(fmt::format("the value {:g} is out of order among the {}", *values[with[k]].value, what));
      values[with[k]].confidence = std::min(values[with[k]].confidence, 0.3);
    }
}

// A number between two neighbors of an even sequence is suggested, never asserted.
void SuggestMissing(const std::vector<std::size_t>& order, std::vector<CurveValue>& values) {
  const auto n = static_cast<int>(order.size());
  std::vector<double> steps;
  for (int i = 0; i + 1 < n; ++i)
    if (values[order[static_cast<std::size_t>(i)]].value && values[order[static_cast<std::size_t>(i + 1)]].value)
      steps.push_back(*values[order[static_cast<std::size_t>(i + 1)]].value - *values[order[static_cast<std::size_t>(i)]].value);
  if (steps.empty()) return;
  std::sort(steps.begin(), steps.end());
  const double step = steps[steps.size() / 2];
  if (step == 0) return;
  const bool even =
      std::all_of(steps.begin(), steps.end(), [&](double s) { return std::abs(s / step - std::round(s / step)) < 0.02 && s / step > 0.5; });
  if (!even) return;
  for (int i = 0; i < n; ++i) {
    CurveValue& v = values[order[static_cast<std::size_t>(i)]];
    if (v.value || v.certain) continue;
    int below = i - 1, above = i + 1;
    while (below >= 0 && !values[order[static_cast<std::size_t>(below)]].value) --below;
    while (above < n && !values[order[static_cast<std::size_t>(above)]].value) ++above;
    std::optional<double> value;
    std::string unit;
    if (below >= 0 && above < n) {
      const CurveValue &b = values[order[static_cast<std::size_t>(below)]], &a = values[order[static_cast<std::size_t>(above)]];
      if (b.inferred || a.inferred) continue;
      if (std::abs((*a.value - *b.value) / step - (above - below)) > 0.05) continue;
      value = *b.value + step * (i - below);
      unit = b.unit;
    } else if (below >= 0 && !values[order[static_cast<std::size_t>(below)]].inferred) {
      value = *values[order[static_cast<std::size_t>(below)]].value + step * (i - below);
      unit = values[order[static_cast<std::size_t>(below)]].unit;
    } else if (above < n && !values[order[static_cast<std::size_t>(above)]].inferred) {
      value = *values[order[static_cast<std::size_t>(above)]].value - step * (above - i);
      unit = values[order[static_cast<std::size_t>(above)]].unit;
    }
    if (!value || *value <= 0) continue;
    v.value = value;
    v.unit = unit;
    v.inferred = true;
    v.confidence = 0.4;
    v.reasons.push_back(fmt::format("no label was read; {} {} follows from its neighbors", NumberInWords(*value), unit));
  }
}

// Pairs of islands of which the first has the lower value: along a speed line that crosses one island twice, everything between is higher, and on both
// sides the efficiency falls.
std::vector<std::pair<std::size_t, std::size_t>> LowerIslands(const std::vector<PlotCurve>& curves, const std::vector<RoleGuess>& guesses) {
  std::map<std::pair<std::size_t, std::size_t>, int> votes;
  for (std::size_t s = 0; s < curves.size(); ++s) {
    if (guesses[s].drop || guesses[s].role != CurveRole::kSpeedLine) continue;
    std::vector<std::pair<double, std::size_t>> met;
    for (std::size_t i = 0; i < curves.size(); ++i)
      if (!guesses[i].drop && guesses[i].role == CurveRole::kEfficiencyIsland)
        for (const Crossing& x : FindCrossings(curves[s], curves[i])) met.emplace_back(x.along_a, i);
    std::sort(met.begin(), met.end());
    std::size_t left = met.size(), right = 0;  // the innermost pair
    for (std::size_t k = 0; k < met.size(); ++k)
      for (std::size_t j = k + 1; j < met.size(); ++j)
        if (met[j].second == met[k].second && (left == met.size() || j - k < right - left)) left = k, right = j;
    if (left == met.size()) continue;
    const auto lower = [&](std::size_t a, std::size_t b) {
      if (met[a].second != met[b].second) ++votes[{met[a].second, met[b].second}];
    };
    for (std::size_t k = 0; k < left; ++k)
      for (std::size_t j = k + 1; j <= left; ++j) lower(k, j);
    for (std::size_t k = met.size(); k-- > right + 1;)
      for (std::size_t j = right; j < k; ++j) lower(k, j);
  }
  std::vector<std::pair<std::size_t, std::size_t>> pairs;
  for (const auto& [pair, n] : votes)
    if (const auto other = votes.find({pair.second, pair.first}); other == votes.end() || n > 2 * other->second) pairs.push_back(pair);
  return pairs;
}

// Walking along a speed line the efficiency rises once and falls once.
void DoubtNesting(const std::vector<PlotCurve>& curves, const std::vector<RoleGuess>& guesses, std::vector<CurveValue>& values) {
  std::map<std::size_t, int> odd, seen;
  for (std::size_t s = 0; s < curves.size(); ++s) {
    if (guesses[s].drop || guesses[s].role != CurveRole::kSpeedLine) continue;
    std::vector<std::pair<double, std::size_t>> met;
    for (std::size_t i = 0; i < curves.size(); ++i) {
      if (guesses[i].drop || guesses[i].role != CurveRole::kEfficiencyIsland || !values[i].value) continue;
      for (const Crossing& x : FindCrossings(curves[s], curves[i])) met.emplace_back(x.along_a, i);
    }
    std::sort(met.begin(), met.end());
    if (met.size() < 3) continue;
    // The longest part of the sequence that rises and then falls; what is outside of it is odd. Only at the top, around the peak, are two values the same.
    const std::size_t n = met.size();
    std::vector<int> up(n, 1), down(n, 1), up_from(n, -1), down_to(n, -1);
    const auto value = [&](std::size_t k) { return *values[met[k].second].value; };
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t j = 0; j < i; ++j)
        if (value(j) < value(i) && up[j] + 1 > up[i]) {
          up[i] = up[j] + 1;
          up_from[i] = static_cast<int>(j);
        }
    for (std::size_t i = n; i-- > 0;)
      for (std::size_t j = n; j-- > i + 1;)
        if (value(j) < value(i) && down[j] + 1 > down[i]) {
          down[i] = down[j] + 1;
          down_to[i] = static_cast<int>(j);
        }
    std::size_t top = 0, beyond = 0;
    int most = 0;
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t j = i; j < n; ++j)
        if ((i == j || value(i) == value(j)) && up[i] + down[j] - (i == j ? 1 : 0) > most) {
          most = up[i] + down[j] - (i == j ? 1 : 0);
          top = i;
          beyond = j;
        }
    std::vector<char> in(n, 0);
    for (int k = static_cast<int>(top); k >= 0; k = up_from[static_cast<std::size_t>(k)]) in[static_cast<std::size_t>(k)] = 1;
    for (int k = static_cast<int>(beyond); k >= 0; k = down_to[static_cast<std::size_t>(k)]) in[static_cast<std::size_t>(k)] = 1;
    // Of two neighbors of one value neither is better than the other.
    for (std::size_t k = 0; k < n; ++k)
      if (!in[k])
        for (const std::size_t beside : {k - 1, k + 1})
          if (beside < n && in[beside] && value(beside) == value(k) && met[beside].second != met[k].second) in[beside] = 2;
    for (char& c : in) c = c == 1;
    for (std::size_t k = 0; k < n; ++k) {
      ++seen[met[k].second];
      if (!in[k]) ++odd[met[k].second];
    }
  }
  for (const auto& [i, count] : odd)
    if (count >= 2 || 2 * count >= seen[i]) {
      values[i].reasons.push_back(fmt::format("{:g} does not fit between the islands beside it", *values[i].value));
      values[i].confidence = std::min(values[i].confidence, 0.3);
    }
}

}  // namespace

ValuesGiven GiveValues(const std::vector<TracedCurve>& traces, const std::vector<PlotCurve>& curves, const std::vector<RoleGuess>& guesses,
                       const std::vector<CurveLabel>& labels, const std::vector<JudgedCurve>& known) {
  ValuesGiven given;
  given.values.resize(curves.size());
  std::vector<Claim> claims;
  // Where speeds are printed as speeds, what is printed as an efficiency belongs to no speed line.
  std::size_t speeds = 0, fractions = 0;
  for (const CurveLabel& l : labels) {
    speeds += ClassOf(l) == LabelClass::kSpeed;
    fractions += ClassOf(l) == LabelClass::kEfficiency;
  }
  for (std::size_t l = 0; l < labels.size(); ++l)
    for (const LabelCandidate& c : labels[l].candidates) {
      if (c.curve >= curves.size() || guesses[c.curve].drop || !CarriesValue(guesses[c.curve].role)) continue;
      const CurveRole role = guesses[c.curve].role;
      const bool as_efficiency = ClassOf(labels[l]) == LabelClass::kPercent || ClassOf(labels[l]) == LabelClass::kEfficiency;
      if (role == CurveRole::kSpeedLine && as_efficiency && (speeds >= 2 || (ClassOf(labels[l]) == LabelClass::kPercent && labels[l].value < 5)))
        continue;
      const double color = cv::norm(labels[l].lab - traces[c.curve].lab) / 25.0;
      const double score = PlaceScore(labels[l], c, role) * ClassFits(ClassOf(labels[l]), role, labels[l].value) *
                           (0.25 + 0.75 * std::exp(-color * color)) * (0.3 + 0.7 * labels[l].confidence);
      if (score > 0.02) claims.push_back({l, c.curve, score});
    }
  // What a person said is certain. Its own label is taken then, and no other line of the family carries that value.
  for (std::size_t i = 0; i < known.size(); ++i) {
    if (!known[i].word.value) continue;
    CurveValue& v = given.values[i];
    v.certain = true;
    v.value = known[i].value;
    v.unit = known[i].unit;
    v.confidence = 1.0;
  }
  const auto says = [&](std::size_t label, std::size_t curve) {
    const CurveValue& v = given.values[curve];
    return v.certain && v.value && std::abs(*v.value - labels[label].value) < 1e-6 * std::abs(*v.value);
  };
  std::erase_if(claims, [&](const Claim& claim) {
    if (given.values[claim.curve].certain) return !says(claim.label, claim.curve);
    if (guesses[claim.curve].role == CurveRole::kEfficiencyIsland) return false;  // they may be drawn in several pieces
    for (std::size_t i = 0; i < curves.size(); ++i)
      if (says(claim.label, i) && guesses[i].role == guesses[claim.curve].role) return true;
    return false;
  });
  for (Claim& claim : claims)
    if (given.values[claim.curve].certain) claim.score += 1.0;
  // One label, one curve; the clearest claims first. A second label of the same value on a curve confirms it.
  std::stable_sort(claims.begin(), claims.end(), [](const Claim& a, const Claim& b) { return a.score > b.score; });
  std::vector<char> used(labels.size(), 0);
  std::vector<double> taken(curves.size(), 0);
  for (const Claim& claim : claims) {
    if (used[claim.label]) continue;
    const CurveLabel& label = labels[claim.label];
    CurveValue& v = given.values[claim.curve];
    if (v.value) {
      if (std::abs(*v.value - label.value) < 1e-9 * std::max(1.0, std::abs(label.value))) {
        used[claim.label] = 1;
        v.labels.push_back(claim.label);
      } else if (claim.score > 0.6 * taken[claim.curve]) {
        // Two numbers on one curve: this label may still find another curve; the doubt stays if it does not.
        const bool elsewhere = std::any_of(claims.begin(), claims.end(), [&](const Claim& o) {
          return o.label == claim.label && o.curve != claim.curve && !given.values[o.curve].value && o.score > 0.3 * claim.score;
        });
        if (!elsewhere && (MaySay(label, *v.value) ||
                           std::any_of(v.labels.begin(), v.labels.end(), [&](std::size_t l) { return MaySay(labels[l], label.value); }))) {
          used[claim.label] = 1;  // one of the two is misread; the family tells which
          v.labels.push_back(claim.label);
        } else if (!elsewhere)
          v.reasons.push_back("a second number, " + Printed(label) + ", stands at this curve");
      }
      continue;
    }
    used[claim.label] = 1;
    taken[claim.curve] = claim.score;
    v.value = label.value;
    v.unit = label.unit;
    v.confidence = std::min(1.0, 0.35 + 0.65 * std::min(1.0, claim.score / 0.5)) * std::min(1.0, 0.4 + label.confidence);
    v.decimals = DecimalsOf(label.text);
    v.labels.push_back(claim.label);
    if (label.revised && label.confidence < 0.55) {
      // What its family is printed like has been asked already; its place among them is yet to come.
      v.hints.push_back({fmt::format("its label is hard to read; among the numbers printed like it {} is the likeliest", label.text), 0.3});
      v.confidence = std::max(v.confidence, 0.55);
    } else if (label.confidence < 0.55)
      v.hints.push_back({"the label " + Printed(label) + " was hard to read", label.confidence < 0.4 ? 0.4 : 0.2});
    // A rival curve nearly as near.
    for (const Claim& rival : claims) {
      if (rival.label != claim.label || rival.curve == claim.curve || rival.score < 0.75 * claim.score) continue;
      if (given.values[rival.curve].value) continue;
      v.confidence = std::min(v.confidence, 0.6);
    }
  }
  // Units by the family: a plain number takes the unit that its kin carry.
  for (CurveRole role : {CurveRole::kSpeedLine, CurveRole::kEfficiencyIsland, CurveRole::kFlowLine, CurveRole::kEfficiencyLine}) {
    std::map<std::string, int> count;
    for (std::size_t i = 0; i < curves.size(); ++i)
      if (!guesses[i].drop && guesses[i].role == role && given.values[i].value && !given.values[i].unit.empty()) ++count[given.values[i].unit];
    if (role == CurveRole::kSpeedLine && speeds >= 2) {
      count.erase("%");
      count.erase("1");
    }
    std::string usual;
    int most = 0;
    for (const auto& [unit, k] : count)
      if (k > most) {
        usual = unit;
        most = k;
      }
    for (std::size_t i = 0; i < curves.size(); ++i) {
      CurveValue& v = given.values[i];
      if (guesses[i].drop || guesses[i].role != role || !v.value) continue;
      if (v.unit.empty()) {
        if (role == CurveRole::kEfficiencyIsland)
          v.unit = *v.value > 1.5 ? "%" : "1";
        else if (!usual.empty())
          v.unit = usual;
        else
          v.unit = *v.value >= 1000 ? "rpm" : "1";
      } else if (most >= 2 && v.unit != usual) {
        v.reasons.push_back(fmt::format("its label is in {}, those beside it are in {}", v.unit, usual));
        v.confidence = std::min(v.confidence, 0.4);
      }
    }
  }

  // Order within the families.
  for (CurveRole role : {CurveRole::kSpeedLine, CurveRole::kFlowLine, CurveRole::kEfficiencyLine}) {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < curves.size(); ++i)
      if (!guesses[i].drop && guesses[i].role == role) order.push_back(i);
    if (order.empty()) continue;
    if (role == CurveRole::kSpeedLine) {
      std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return curves[a].max_y < curves[b].max_y; });
      SettleRising(order, false, labels, given.values);
      DoubtOrder(order, given.values, false, "speed lines");
      SuggestMissing(order, given.values);
    } else {
      std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        const PlotPoint p = curves[a].Right(), q = curves[b].Right();
        return role == CurveRole::kFlowLine && std::abs(p.y - q.y) > 0.004 ? p.y < q.y : p.x < q.x;
      });
      if (role == CurveRole::kFlowLine) SettleRising(order, true, labels, given.values);
      if (role == CurveRole::kFlowLine) DoubtOrder(order, given.values, true, "flow lines");
    }
  }
  std::vector<std::size_t> islands;
  for (std::size_t i = 0; i < curves.size(); ++i)
    if (!guesses[i].drop && guesses[i].role == CurveRole::kEfficiencyIsland) islands.push_back(i);
  SettleNested(islands, LowerIslands(curves, guesses), labels, given.values);
  SuggestLevelsBetween(curves, guesses, given.values);
  BelieveStrayLabels(labels, used, given.values);
  for (CurveRole role : {CurveRole::kSpeedLine, CurveRole::kFlowLine, CurveRole::kEfficiencyLine, CurveRole::kEfficiencyIsland}) {
    std::vector<std::size_t> family;
    for (std::size_t i = 0; i < curves.size(); ++i)
      if (!guesses[i].drop && guesses[i].role == role) family.push_back(i);
    if (role == CurveRole::kEfficiencyIsland)
      DoubtOddEfficiencies(family, given.values);
    else
      DoubtOddSpeeds(family, given.values);
  }
  for (std::size_t l = 0; l < labels.size(); ++l)
    if (!used[l] && labels[l].confidence > 0.6 && ClassOf(labels[l]) != LabelClass::kPlain) given.stray_labels.push_back(labels[l].text);
  DoubtNesting(curves, guesses, given.values);
  for (CurveValue& v : given.values) {
    if (!v.certain) continue;
    v.confidence = 1.0;
    v.reasons.clear();
    v.hints.clear();
  }
  return given;
}

}  // namespace islebook
