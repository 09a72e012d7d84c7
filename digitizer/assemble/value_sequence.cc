#include "digitizer/assemble/value_sequence.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include <fmt/core.h>

namespace islebook {
namespace {

// Costs are natural logarithms of likelihoods, as those of the labels' alternatives.
constexpr double kNoAlternative = 9.0;                // what a label's ink says against a number that is none of its alternatives
constexpr double kLeftOut = 8.0;                      // a label is nothing of its family
constexpr double kNeverLeftOut = 1e3;                 // what a person said is
constexpr double kUneven = 4.0;                       // a step unlike the others
constexpr double kAnySteps = 2.5, kAnyStep = 1.5;     // the family keeps no even steps at all; each of its steps is then a coincidence the less
constexpr double kCurveMissed = 2.5;                  // a curve that was not found
constexpr double kDisorder = 6.0;                     // two islands the wrong way round
constexpr double kUsualStep = 0.05, kFarStep = 0.02;  // between islands; beyond the first, each of the second speaks against a value as much as 1
constexpr double kClear = 3.0;                        // a decision by less than this is doubted
constexpr double kDecided = 0.75;                     // confidence of a value that the family decided

struct Option {
  double value = 0.0, cost = 0.0;
  std::string unit;
};

bool Same(double a, double b) { return std::abs(a - b) <= 1e-6 * std::max(std::abs(a), std::abs(b)); }

// Efficiencies are below one or in per cent, speeds are large or in thousands: one form is not mistaken for the other.
bool LikeKind(const LabelAlternative& a, const CurveValue& v) {
  const bool speed = a.value >= 1000.0 || a.unit == "krpm", was_speed = *v.value >= 1000.0 || v.unit == "krpm";
  return speed == was_speed && (a.value < 1.0) == (*v.value < 1.0);
}

// All that the labels of a curve may say, the cheapest first. The units are those that its family has settled on.
std::vector<Option> OptionsOf(const CurveValue& v, const std::vector<CurveLabel>& labels) {
  std::vector<Option> options;
  if (!v.value || v.inferred) return options;
  if (v.certain) return {{*v.value, 0.0, v.unit}};
  for (const std::size_t l : v.labels)
    for (const LabelAlternative& a : labels[l].alternatives) {
      if (!LikeKind(a, v) || std::any_of(options.begin(), options.end(), [&](const Option& o) { return Same(o.value, a.value); })) continue;
      Option option{a.value, 0.0, a.unit.empty() ? v.unit : a.unit};
      for (const std::size_t k : v.labels) {
        double cost = labels[k].alternatives.empty() ? (Same(labels[k].value, a.value) ? 0.0 : kNoAlternative) : kNoAlternative;
        for (const LabelAlternative& other : labels[k].alternatives)
          if (Same(other.value, a.value)) cost = std::min(cost, other.cost);
        option.cost += cost;
      }
      options.push_back(option);
    }
  if (std::none_of(options.begin(), options.end(), [&](const Option& o) { return Same(o.value, *v.value); }))
    options.push_back({*v.value, options.empty() ? 0.0 : kNoAlternative, v.unit});
  std::stable_sort(options.begin(), options.end(), [](const Option& a, const Option& b) { return a.cost < b.cost; });
  return options;
}

// `sure`: the first reading was.
void Decide(CurveValue& v, const Option& chosen, double margin, const std::optional<double>& rival, bool sure) {
  const bool changed = !Same(chosen.value, *v.value);
  if (changed) {
    v.value = chosen.value;
    if (!chosen.unit.empty()) v.unit = chosen.unit;
    v.confidence = kDecided;
    v.hints.clear();
  }
  if (margin >= kClear || (!changed && sure && margin > 0.5 * kClear)) return;
  v.confidence = std::min(v.confidence, 0.4);
  v.reasons.push_back(rival ? fmt::format("its label may say {:g} or {:g}", chosen.value, *rival)
                            : fmt::format("its label may not say {:g}", chosen.value));
}

bool SurelyRead(const CurveValue& v, const std::vector<CurveLabel>& labels) {
  constexpr double kSure = 0.75;
  return std::any_of(v.labels.begin(), v.labels.end(),
                     [&](std::size_t l) { return labels[l].confidence >= kSure && !labels[l].revised && Same(labels[l].value, *v.value); });
}

// The cheapest rising choice from the options of each curve.
class Rising {
 public:
  // `certain`: runs along the options; what a person said is not left out.
  Rising(std::vector<std::vector<Option>> options, std::vector<char> certain) : options_(std::move(options)), certain_(std::move(certain)) {}

  struct Choice {
    double cost = std::numeric_limits<double>::infinity();
    std::vector<int> option;  // per curve; -1: nothing chosen
  };

  Choice Best() const {
    Choice best = Under(0.0);
    best.cost += kAnySteps + kAnyStep * static_cast<double>(std::count_if(best.option.begin(), best.option.end(), [](int o) { return o >= 0; }));
    for (const double step : Steps())
      if (Choice choice = Under(step); choice.cost < best.cost) best = std::move(choice);
    return best;
  }

  // Without one option of one curve.
  Choice Without(std::size_t curve, std::size_t option) const {
    Rising other = *this;
    other.options_[curve].erase(other.options_[curve].begin() + static_cast<std::ptrdiff_t>(option));
    return other.Best();
  }

 private:
  std::vector<double> Steps() const {
    std::vector<double> steps;
    for (std::size_t i = 0; i < options_.size(); ++i)
      for (std::size_t j = i + 1; j < options_.size(); ++j)
        for (std::size_t a = 0; a < std::min<std::size_t>(2, options_[i].size()); ++a)
          for (std::size_t b = 0; b < std::min<std::size_t>(2, options_[j].size()); ++b) {
            const double step = (options_[j][b].value - options_[i][a].value) / static_cast<double>(j - i);
            if (step > 0.0 && std::none_of(steps.begin(), steps.end(), [&](double s) { return std::abs(s - step) < 0.005 * s; }))
              steps.push_back(step);
          }
    return steps;
  }

  // `step` 0: any.
  Choice Under(double step) const {
    const std::size_t n = options_.size();
    std::vector<double> skip(n + 1, 0.0);  // running cost of choosing nothing
    for (std::size_t i = 0; i < n; ++i) skip[i + 1] = skip[i] + (options_[i].empty() ? 0.0 : certain_[i] != 0 ? kNeverLeftOut : kLeftOut);
    struct Node {
      double cost = 0.0;
      int curve = -1, option = -1;
    };
    std::vector<std::vector<Node>> best(n);
    Choice choice;
    choice.option.assign(n, -1);
    choice.cost = skip[n];
    Node last;
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t a = 0; a < options_[i].size(); ++a) {
        Node node{skip[i]};
        for (std::size_t j = 0; j < i; ++j)
          for (std::size_t b = 0; b < options_[j].size(); ++b) {
            const double rise = options_[i][a].value - options_[j][b].value;
            if (rise <= 1e-9) continue;
            double cost = best[j][b].cost + skip[i] - skip[j + 1];
            if (step > 0.0) {
              const double steps = rise / step, off = std::abs(steps - std::round(steps));
              const double missed = std::round(steps) - static_cast<double>(i - j);
              cost += off > 0.02 || missed < 0.0 ? kUneven : kCurveMissed * missed;
            }
            if (node.curve < 0 ? cost < node.cost : cost < node.cost) node = {cost, static_cast<int>(j), static_cast<int>(b)};
          }
        node.cost += options_[i][a].cost;
        best[i].push_back(node);
        const double total = node.cost + skip[n] - skip[i + 1];
        if (total < choice.cost) {
          choice.cost = total;
          last = {total, static_cast<int>(i), static_cast<int>(a)};
        }
      }
    while (last.curve >= 0) {
      choice.option[static_cast<std::size_t>(last.curve)] = last.option;
      last = best[static_cast<std::size_t>(last.curve)][static_cast<std::size_t>(last.option)];
    }
    return choice;
  }

  std::vector<std::vector<Option>> options_;
  std::vector<char> certain_;
};

}  // namespace

void SettleRising(const std::vector<std::size_t>& order, bool either_way, const std::vector<CurveLabel>& labels, std::vector<CurveValue>& values) {
  constexpr std::size_t kFewest = 4, kMostOptions = 12;
  std::vector<std::size_t> curves = order;
  std::vector<std::vector<Option>> options;
  std::vector<char> certain;
  std::size_t valued = 0;
  for (const std::size_t i : curves) {
    options.push_back(OptionsOf(values[i], labels));
    if (options.back().size() > kMostOptions) options.back().resize(kMostOptions);
    valued += options.back().empty() ? 0 : 1;
    certain.push_back(values[i].certain ? 1 : 0);
  }
  if (valued < kFewest) return;
  Rising rising(options, certain);
  Rising::Choice choice = rising.Best();
  if (either_way) {
    std::vector<std::vector<Option>> back(options.rbegin(), options.rend());
    Rising falling(back, {certain.rbegin(), certain.rend()});
    if (Rising::Choice other = falling.Best(); other.cost < choice.cost) {
      choice = std::move(other);
      rising = std::move(falling);
      options = std::move(back);
      std::reverse(curves.begin(), curves.end());
    }
  }
  for (std::size_t k = 0; k < curves.size(); ++k) {
    if (choice.option[k] < 0) continue;
    const auto chosen = static_cast<std::size_t>(choice.option[k]);
    // Where the first choice is also by far the cheapest the family need not be asked.
    if (Same(options[k][chosen].value, *values[curves[k]].value) && (options[k].size() < 2 || (chosen == 0 && options[k][1].cost > 2.0 * kClear)))
      continue;
    const Rising::Choice other = rising.Without(k, chosen);
    std::optional<double> rival;
    if (other.option[k] >= 0) {
      const auto at = static_cast<std::size_t>(other.option[k]);
      rival = options[k][at < chosen ? at : at + 1].value;
    }
    Decide(values[curves[k]], options[k][chosen], other.cost - choice.cost, rival, SurelyRead(values[curves[k]], labels));
  }
}

void SettleNested(const std::vector<std::size_t>& family, const std::vector<std::pair<std::size_t, std::size_t>>& lower,
                  const std::vector<CurveLabel>& labels, std::vector<CurveValue>& values) {
  std::vector<std::vector<Option>> options(values.size());
  std::vector<std::size_t> chosen(values.size(), 0);
  for (const std::size_t i : family) options[i] = OptionsOf(values[i], labels);
  const auto cost_of = [&](std::size_t i, std::size_t option) {
    double cost = options[i][option].cost;
    for (const auto& [low, high] : lower) {
      if (low != i && high != i) continue;
      const std::size_t other = low == i ? high : low;
      if (options[other].empty()) continue;
      const double mine = options[i][option].value, theirs = options[other][chosen[other]].value;
      if (low == i ? mine > theirs - 1e-9 : mine < theirs + 1e-9) cost += kDisorder;
    }
    double nearest = std::numeric_limits<double>::infinity();
    const double mine = options[i][option].value, scale = mine > 1.5 ? 0.01 : 1.0;
    for (const std::size_t other : family)
      if (other != i && !options[other].empty()) nearest = std::min(nearest, scale * std::abs(options[other][chosen[other]].value - mine));
    if (std::isfinite(nearest)) cost += std::max(0.0, nearest - kUsualStep) / kFarStep;
    return cost;
  };
  constexpr int kRounds = 6;
  for (int round = 0; round < kRounds; ++round) {
    bool changed = false;
    for (const std::size_t i : family)
      for (std::size_t k = 0; k < options[i].size(); ++k)
        if (cost_of(i, k) < cost_of(i, chosen[i]) - 1e-9) chosen[i] = k, changed = true;
    if (!changed) break;
  }
  for (const std::size_t i : family) {
    if (options[i].empty()) continue;
    double margin = std::numeric_limits<double>::infinity();
    std::optional<double> rival;
    for (std::size_t k = 0; k < options[i].size(); ++k)
      if (k != chosen[i] && cost_of(i, k) - cost_of(i, chosen[i]) < margin) {
        margin = cost_of(i, k) - cost_of(i, chosen[i]);
        rival = options[i][k].value;
      }
    Decide(values[i], options[i][chosen[i]], margin, rival, SurelyRead(values[i], labels));
  }
}

void SettleTogether(CurveValue& a, const std::vector<CurveLabel>& labels_a, CurveValue& b, const std::vector<CurveLabel>& labels_b) {
  if (!a.value || !b.value || a.inferred || b.inferred || Same(*a.value, *b.value) || (a.certain && b.certain)) return;
  const std::vector<Option> of_a = OptionsOf(a, labels_a), of_b = OptionsOf(b, labels_b);
  double best = kNoAlternative, second = std::numeric_limits<double>::infinity();
  const Option* chosen = nullptr;
  for (const Option& x : of_a)
    for (const Option& y : of_b) {
      if (!Same(x.value, y.value)) continue;
      const double cost = x.cost + y.cost;
      if (cost < best) {
        second = best;
        best = cost;
        chosen = &x;
      } else {
        second = std::min(second, cost);
      }
    }
  if (chosen == nullptr || second - best < kClear) return;
  for (CurveValue* v : {&a, &b})
    if (!v->certain) Decide(*v, *chosen, kClear, std::nullopt, true);
}

}  // namespace islebook
