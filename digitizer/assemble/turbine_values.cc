#include "digitizer/assemble/turbine_values.h"

#include <algorithm>
#include <cmath>
#include <string>

#include <fmt/core.h>

#include "digitizer/assemble/value_sequence.h"

namespace islebook {
namespace {

constexpr double kLeastLength = 0.1;    // of the frame's height: shorter ones are pieces
constexpr double kSameEnd = 0.02;       // of the frame's width
constexpr double kRangesTell = 0.05;    // of the frame's width: how far the ends of a family's lines must spread to tell them apart
constexpr int kMisread = 2;             // digits by which a misread number may differ
constexpr double kEven = 0.09;          // of a step: printed speeds are rounded
constexpr double kNearExpected = 0.04;  // of a value
constexpr double kAgreed = 0.9;         // confidence of a value that two labels say
constexpr double kRepaired = 0.75;      // of one that was misread once
constexpr double kInferred = 0.4;

struct Line {
  std::size_t panel, curve;
  CurveRole role;
  double from = 0, to = 0, right_y = 0;  // ends along the x axis, 0..1; height of the right end
};

struct Pair {
  std::size_t flow, efficiency;  // indices of lines
  bool agreed = false;
};

std::string Digits(double value) { return fmt::format("{:.10g}", value); }

int EditDistance(const std::string& a, const std::string& b) {
  std::vector<int> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    int diagonal = row[0];
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int above = row[j];
      row[j] = std::min({above + 1, row[j - 1] + 1, diagonal + (a[i - 1] != b[j - 1])});
      diagonal = above;
    }
  }
  return row[b.size()];
}

// Whether one may be read for the other.
bool MayBeMisread(double a, double b) {
  const std::string x = Digits(a), y = Digits(b);
  const int distance = EditDistance(x, y);
  return distance <= kMisread && 2 * distance <= static_cast<int>(std::max(x.size(), y.size()));
}

bool Same(double a, double b) { return std::abs(a - b) <= 1e-6 * std::max(std::abs(a), std::abs(b)); }

class Settlement {
 public:
  explicit Settlement(const std::vector<TurbinePanel>& panels) : panels_(panels) {
    for (std::size_t p = 0; p < panels.size(); ++p) {
      const std::vector<TracedCurve>& traces = panels[p].evidence->curves.curves;
      std::vector<PlotCurve> seen;
      for (const TracedCurve& t : traces) seen.push_back(SeeInFrame(t, panels[p].panel->frame));
      std::vector<RoleGuess> guesses = GuessTurbineRoles({&traces, &seen}, panels[p].main_is_flow, panels[p].panel->right.has_value());
      KeepRoles(panels[p].known, guesses);
      given_.push_back(GiveValues(traces, seen, guesses, panels[p].evidence->labels.labels, panels[p].known));
      for (std::size_t c = 0; c < traces.size(); ++c) {
        if (guesses[c].drop || seen[c].length < kLeastLength ||
            (guesses[c].role != CurveRole::kFlowLine && guesses[c].role != CurveRole::kEfficiencyLine))
          continue;
        Line line{p, c, guesses[c].role};
        line.from = seen[c].min_x / seen[c].aspect;
        line.to = seen[c].max_x / seen[c].aspect;
        line.right_y = seen[c].Right().y;
        (line.role == CurveRole::kFlowLine ? flows_ : efficiencies_).push_back(lines_.size());
        lines_.push_back(line);
      }
    }
  }

  std::vector<ValuesGiven> Run() {
    PairUp();
    if (pairs_.size() >= 2) {
      for (const Pair& pair : pairs_) SettleTogether(ValueOf(pair.flow), LabelsOf(pair.flow), ValueOf(pair.efficiency), LabelsOf(pair.efficiency));
      FindSeries();
      for (std::size_t k = 0; k < pairs_.size(); ++k) Settle(k);
    }
    return std::move(given_);
  }

 private:
  CurveValue& ValueOf(std::size_t line) { return given_[lines_[line].panel].values[lines_[line].curve]; }

  const std::vector<CurveLabel>& LabelsOf(std::size_t line) const { return panels_[lines_[line].panel].evidence->labels.labels; }

  void PairUp() {
    double first = 1, last = 0, least = 1, most = 0;
    for (std::size_t f : flows_) {
      first = std::min(first, lines_[f].from);
      last = std::max(last, lines_[f].from);
      least = std::min(least, lines_[f].to);
      most = std::max(most, lines_[f].to);
    }
    if (std::max(last - first, most - least) > kRangesTell)
      PairByRange();
    else
      PairByRank();
  }

  void PairByRange() {
    struct Choice {
      double cost;
      std::size_t flow, efficiency;
    };
    std::vector<Choice> choices;
    for (std::size_t f : flows_)
      for (std::size_t e : efficiencies_) {
        const double from = std::abs(lines_[f].from - lines_[e].from), to = std::abs(lines_[f].to - lines_[e].to);
        if (std::max(from, to) < kSameEnd) choices.push_back({from + to, f, e});
      }
    std::stable_sort(choices.begin(), choices.end(), [](const Choice& a, const Choice& b) { return a.cost < b.cost; });
    std::vector<char> taken(lines_.size(), 0);
    for (const Choice& c : choices) {
      if (taken[c.flow] || taken[c.efficiency]) continue;
      taken[c.flow] = taken[c.efficiency] = 1;
      pairs_.push_back({c.flow, c.efficiency});
    }
    // A chart's speeds rise with the ranges that they cover.
    std::stable_sort(pairs_.begin(), pairs_.end(),
                     [&](const Pair& a, const Pair& b) { return lines_[a.flow].from + lines_[a.flow].to < lines_[b.flow].from + lines_[b.flow].to; });
  }

  // Openings share one range: the families are paired by rank, in the sense that more labels agree with.
  void PairByRank() {
    if (flows_.size() != efficiencies_.size()) return;
    const auto rank = [&](std::vector<std::size_t> family) {
      std::stable_sort(family.begin(), family.end(), [&](std::size_t a, std::size_t b) { return lines_[a].right_y < lines_[b].right_y; });
      return family;
    };
    const std::vector<std::size_t> f = rank(flows_), up = rank(efficiencies_);
    std::vector<std::size_t> down(up.rbegin(), up.rend());
    const auto agree = [&](const std::vector<std::size_t>& e) {
      std::size_t n = 0;
      for (std::size_t k = 0; k < f.size(); ++k) {
        const auto &a = ValueOf(f[k]).value, &b = ValueOf(e[k]).value;
        n += a && b && Same(*a, *b);
      }
      return n;
    };
    const std::size_t with = agree(up), against = agree(down);
    if (std::max(with, against) < 2 || with == against) return;
    for (std::size_t k = 0; k < f.size(); ++k) pairs_.push_back({f[k], with > against ? up[k] : down[k]});
  }

  // Pairs whose two labels agree, as far as they keep one order.
  void FindSeries() {
    std::vector<std::size_t> agreed;
    for (std::size_t k = 0; k < pairs_.size(); ++k) {
      const auto &a = ValueOf(pairs_[k].flow).value, &b = ValueOf(pairs_[k].efficiency).value;
      if (a && b && Same(*a, *b)) agreed.push_back(k);
    }
    for (bool rising : {true, false}) {
      std::vector<std::size_t> best(agreed.size(), 1), before(agreed.size(), agreed.size());
      std::size_t last = 0;
      for (std::size_t i = 0; i < agreed.size(); ++i) {
        for (std::size_t j = 0; j < i; ++j) {
          const double a = Value(agreed[j]), b = Value(agreed[i]);
          if ((rising ? a < b : a > b) && best[j] + 1 > best[i]) {
            best[i] = best[j] + 1;
            before[i] = j;
          }
        }
        if (best[i] > best[last]) last = i;
      }
      if (agreed.empty() || best[last] <= series_.size()) continue;
      series_.clear();
      for (std::size_t i = last; i < agreed.size(); i = before[i]) series_.insert(series_.begin(), agreed[i]);
      rising_ = rising;
    }
    for (std::size_t k : series_) pairs_[k].agreed = true;
  }

  static int Zeros(double value) {
    const std::string digits = Digits(value);
    return static_cast<int>(digits.size() - 1 - digits.find_last_not_of('0'));
  }

  // Printed speeds are rounded alike.
  bool OddAmongRound(std::size_t pair, double value) {
    int least = 9;
    for (std::size_t k : series_)
      if (k != pair) least = std::min(least, Zeros(Value(k)));
    return series_.size() >= 3 && least < 9 && Zeros(value) + 2 <= least;
  }

  double Value(std::size_t pair) { return *ValueOf(pairs_[pair].flow).value; }

  bool Fits(std::size_t pair, double value) {
    for (std::size_t k : series_) {
      const bool below = k < pair;
      if (rising_ == below ? Value(k) >= value : Value(k) <= value) return false;
    }
    return true;
  }

  // What even steps of the series would put here.
  std::optional<double> Expected(std::size_t pair) {
    if (series_.size() < 3) return std::nullopt;
    const double step = (Value(series_.back()) - Value(series_.front())) / static_cast<double>(series_.back() - series_.front());
    for (std::size_t k : series_)
      if (std::abs(Value(k) - Value(series_.front()) - step * static_cast<double>(k - series_.front())) > kEven * std::abs(step)) return std::nullopt;
    return Value(series_.front()) + step * (static_cast<double>(pair) - static_cast<double>(series_.front()));
  }

  void Settle(std::size_t k) {
    const Pair& pair = pairs_[k];
    CurveValue &flow = ValueOf(pair.flow), &efficiency = ValueOf(pair.efficiency);
    if (flow.certain && efficiency.certain) return;
    if (pair.agreed) {
      if (OddAmongRound(k, *flow.value)) {
        for (CurveValue* v : {&flow, &efficiency}) {
          v->confidence = std::min(v->confidence, kInferred);
          v->reasons.push_back(fmt::format("{:g} is less round than the others; a digit may be misread", *v->value));
        }
        return;
      }
      for (CurveValue* v : {&flow, &efficiency})
        if (!v->certain) *v = Said(*v->value, v->unit, kAgreed);
      for (const std::size_t line : {pair.flow, pair.efficiency}) ++given_[lines_[line].panel].agreed;
      return;
    }
    if (flow.certain != efficiency.certain && (flow.certain ? flow : efficiency).value) {
      const CurveValue& told = flow.certain ? flow : efficiency;
      CurveValue& open = flow.certain ? efficiency : flow;
      const bool read = ReadAt(flow.certain ? pair.efficiency : pair.flow, *told.value);
      open = Said(*told.value, told.unit, read ? kRepaired : kInferred);
      if (!read) {
        open.inferred = true;
        open.reasons.push_back(fmt::format("{:g} is that of its partner over the same expansion ratios", *told.value));
      }
      return;
    }
    if (series_.size() < 2) return;
    const std::optional<double> expected = Expected(k);
    const auto good = [&](const CurveValue& v) { return v.value && !v.inferred && Fits(k, *v.value); };
    const bool flow_good = good(flow), efficiency_good = good(efficiency);
    std::size_t told = lines_.size();
    if (flow_good != efficiency_good)
      told = flow_good ? pair.flow : pair.efficiency;
    else if (flow_good && expected && Same(*expected, *flow.value) != Same(*expected, *efficiency.value))
      told = Same(*expected, *flow.value) ? pair.flow : pair.efficiency;
    if (told == lines_.size() && flow_good && efficiency_good && MayBeMisread(*flow.value, *efficiency.value) &&
        Zeros(*flow.value) != Zeros(*efficiency.value))
      told = Zeros(*flow.value) > Zeros(*efficiency.value) ? pair.flow : pair.efficiency;
    if (told == lines_.size()) {
      if (expected && !flow_good && !efficiency_good) Restore(pair, *expected);
      return;
    }
    const double value = *ValueOf(told).value;
    // Steps that are known to be even are not broken on one label's word.
    if (expected && std::abs(*expected - value) > kNearExpected * std::abs(*expected)) return;
    const std::size_t other = told == pair.flow ? pair.efficiency : pair.flow;
    CurveValue& open = ValueOf(other);
    const std::string unit = ValueOf(told).unit;
    if (OddAmongRound(k, value)) {
      ValueOf(told).confidence = std::min(ValueOf(told).confidence, kInferred);
      ValueOf(told).reasons.push_back(fmt::format("{:g} is less round than the others; a digit may be misread", value));
      return;
    }
    if (ReadAt(other, value) || (open.value && !open.inferred && MayBeMisread(*open.value, value))) {
      open = Said(value, unit, kRepaired);
      ValueOf(told) = Said(value, unit, kRepaired);
      return;
    }
    const std::string reason = open.value && !open.inferred
                                   ? fmt::format("its label reads {:g}; {:g} is what its partner and the series say", *open.value, value)
                                   : fmt::format("no label was read; {:g} is that of its partner over the same expansion ratios", value);
    open = Said(value, unit, kInferred);
    open.inferred = true;
    open.reasons.push_back(reason);
  }

  // Both labels were misread: one of them with a zero lost may be what the series expects.
  void Restore(const Pair& pair, double expected) {
    for (const std::size_t line : {pair.flow, pair.efficiency}) {
      const CurveValue read = ValueOf(line);
      if (!read.value) continue;
      for (const double value : {10 * *read.value, 100 * *read.value}) {
        if (std::abs(value - expected) > kNearExpected * expected) continue;
        for (const std::size_t of : {pair.flow, pair.efficiency}) {
          CurveValue said = Said(value, read.unit, kInferred);
          said.inferred = true;
          said.reasons.push_back(fmt::format("its label reads {:g}; {:g} is what the series says", *read.value, value));
          ValueOf(of) = said;
        }
        return;
      }
    }
  }

  // Whether a label of this value stands at the line, though it was given to another.
  bool ReadAt(std::size_t line, double value) const {
    for (const CurveLabel& l : panels_[lines_[line].panel].evidence->labels.labels) {
      if (!Same(l.value, value) || l.confidence < 0.5) continue;
      for (const LabelCandidate& c : l.candidates)
        if (c.curve == lines_[line].curve) return true;
    }
    return false;
  }

  static CurveValue Said(double value, const std::string& unit, double confidence) {
    CurveValue v;
    v.value = value;
    v.unit = unit;
    v.confidence = confidence;
    return v;
  }

  const std::vector<TurbinePanel>& panels_;
  std::vector<ValuesGiven> given_;
  std::vector<Line> lines_;
  std::vector<std::size_t> flows_, efficiencies_;
  std::vector<Pair> pairs_;          // in the order of their values, rising or falling
  std::vector<std::size_t> series_;  // pairs that agree, in order
  bool rising_ = true;
};

}  // namespace

std::vector<ValuesGiven> GiveTurbineValues(const std::vector<TurbinePanel>& panels) { return Settlement(panels).Run(); }

}  // namespace islebook
