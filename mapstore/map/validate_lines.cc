#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <map>
#include <optional>
#include <tuple>
#include <utility>

#include <fmt/format.h>

#include "mapstore/map/curve_words.h"
#include "mapstore/map/map_lines.h"
#include "mapstore/map/validate_checks.h"

namespace islebook::validation {
namespace {

using frame_geometry::FindCrossings;

constexpr double kEndTolerance = 0.01;      // parts of the frame: lines that only meet at an end do not cross
constexpr double kRiseTolerance = 0.012;    // how much a line may rise where it should fall
constexpr double kSurgeTolerance = 0.03;    // how far a speed line may begin from the surge line
constexpr double kChokeTolerance = 0.05;    // how far one may end from the choke line
constexpr double kStepTolerance = 0.2;      // of a step
constexpr double kTurbineTolerance = 0.02;  // how much swallowing may fall

// Every line that crosses another of its family and is to blame for it.
void ReportCrossings(const Context& context, const std::vector<std::size_t>& curves, const char* why) {
  std::vector<std::pair<std::size_t, std::size_t>> pairs;
  std::vector<Point2> places;
  for (std::size_t i = 0; i < curves.size(); ++i)
    for (std::size_t j = i + 1; j < curves.size(); ++j)
      if (const auto crossings = FindCrossings(context.frame[curves[i]], context.frame[curves[j]], kEndTolerance); !crossings.empty()) {
        pairs.emplace_back(curves[i], curves[j]);
        places.push_back(crossings.front().at);
      }
  for (const std::size_t one : ToBlame(context, pairs)) {
    const auto pair = std::ranges::find_if(pairs, [one](const auto& p) { return p.first == one || p.second == one; });
    const std::size_t other = pair->first == one ? pair->second : pair->first;
    context.Add(Severity::kError, one,
                Capitalized(fmt::format("{} crosses {} near {}; {}.", CurveInWords(context.map.curves[one]), CurveInWords(context.map.curves[other]),
                                        context.PlaceInWords(places[static_cast<std::size_t>(pair - pairs.begin())]), why)));
  }
}

std::vector<Point2> FromSurge(std::vector<Point2> line) {
  if (line.front().x - line.front().y > line.back().x - line.back().y) std::ranges::reverse(line);
  return line;
}

// A line and its value in the family's common unit.
struct Valued {
  std::size_t curve = 0;
  double value = 0.0;
};
std::vector<Valued> WithValues(const Context& context, const std::vector<std::size_t>& curves) {
  const std::string unit = map_lines::CommonUnit(context.map, curves);
  std::vector<Valued> out;
  for (const std::size_t i : curves)
    if (const auto value = map_lines::ValueIn(context.map.curves[i], unit)) out.push_back({i, *value});
  return out;
}

// "between the 90,000 rpm and the 105,000 rpm lines": where a line lies among those whose values agree.
std::string NeighborsInWords(const Context& context, const std::vector<Valued>& lines, const std::vector<std::size_t>& odd, std::size_t one,
                             const std::function<int(std::size_t, std::size_t)>& order) {
  std::optional<std::size_t> below, above;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (i == one || std::ranges::find(odd, i) != odd.end()) continue;
    const int side = order(one, i);
    if (side > 0 && (!below || lines[i].value > lines[*below].value)) below = i;
    if (side < 0 && (!above || lines[i].value < lines[*above].value)) above = i;
  }
  const auto name = [&](std::size_t i) { return CurveInWords(context.map.curves[lines[i].curve]); };
  if (below && above) return fmt::format("between {} and {}", name(*below), name(*above));
  if (below) return "beyond " + name(*below);
  if (above) return "before " + name(*above);
  return "out of order";
}

// Labels with an even step, lines in the order in which they lie: the lines whose values fall between the steps that most keep, each with the value that
// would fit if its neighbors leave one choice. A line that is missing leaves a wider gap and accuses nobody.
std::map<std::size_t, std::optional<double>> BrokenSteps(const std::vector<Valued>& lines,
                                                         const std::function<int(std::size_t, std::size_t)>& order) {
  const std::size_t n = lines.size();
  if (n < 4) return {};
  // The rank of a line is the number of lines below it; only a family whose order is clear throughout has ranks.
  std::vector<std::size_t> by_rank(n, n);
  for (std::size_t i = 0; i < n; ++i) {
    std::size_t rank = 0;
    for (std::size_t j = 0; j < n; ++j) rank += i != j && order(i, j) > 0 ? 1 : 0;
    if (by_rank[rank] != n) return {};
    by_rank[rank] = i;
  }
  const auto value = [&](std::size_t rank) { return lines[by_rank[rank]].value; };
  std::vector<double> steps;
  for (std::size_t k = 0; k + 1 < n; ++k) steps.push_back(value(k + 1) - value(k));
  std::ranges::nth_element(steps, steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2));
  const double step = steps[steps.size() / 2];
  if (step == 0.0) return {};
  // The start that most values agree with.
  const auto off = [&](double start, std::size_t rank) {
    const double part = (value(rank) - start) / step;
    return std::fabs(part - std::round(part));
  };
  std::size_t best = 0;
  double start = value(0);
  for (std::size_t k = 0; k < n; ++k) {
    std::size_t on = 0;
    for (std::size_t j = 0; j < n; ++j) on += off(value(k), j) <= kStepTolerance ? 1 : 0;
    if (on > best) {
      best = on;
      start = value(k);
    }
  }
  if (4 * (n - best) > n) return {};  // no even step after all
  std::map<std::size_t, std::optional<double>> odd;
  for (std::size_t k = 1; k + 1 < n; ++k) {  // the outermost are often set closer or wider on purpose
    if (off(start, k) <= kStepTolerance) continue;
    const bool one_choice = off(start, k - 1) <= kStepTolerance && std::fabs((value(k + 1) - value(k - 1)) / step - 2.0) < kStepTolerance;
    odd[by_rank[k]] = one_choice ? std::optional(value(k - 1) + step) : std::nullopt;
  }
  return odd;
}

// Lines whose values disagree with the order or the step of their family, and values that stand twice.
void ReportOrder(const Context& context, const std::vector<Valued>& lines, const std::function<int(std::size_t, std::size_t)>& order) {
  std::vector<double> values;
  for (const Valued& line : lines) values.push_back(line.value);
  const auto fitting = BrokenSteps(lines, order);
  std::vector<bool> suspect;
  for (std::size_t i = 0; i < lines.size(); ++i) suspect.push_back(context.IsDoubted(lines[i].curve) || fitting.contains(i));
  const auto odd = OutOfOrder(values, order, suspect);
  const auto name = [&](std::size_t i) { return CurveInWords(context.map.curves[lines[i].curve]); };
  for (const std::size_t i : odd) {
    const auto fits = fitting.find(i);
    context.Add(
        Severity::kDoubt, lines[i].curve,
        Capitalized(fmt::format("{} lies {}, so its value or its place is in doubt{}.", name(i), NeighborsInWords(context, lines, odd, i, order),
                                fits == fitting.end() || !fits->second ? "" : fmt::format("; {} would fit", NumberInWords(*fits->second)))));
  }
  for (const auto& [i, fits] : fitting)
    if (std::ranges::find(odd, i) == odd.end())
      context.Add(
          Severity::kDoubt, lines[i].curve,
          Capitalized(fmt::format("{} breaks the even step of its family{}.", name(i), fits ? "; " + NumberInWords(*fits) + " would fit" : "")));
  for (std::size_t i = 0; i < lines.size(); ++i)
    for (std::size_t j = 0; j < lines.size(); ++j)
      if (i != j && lines[i].value == lines[j].value && HigherOf(context.frame[lines[i].curve], context.frame[lines[j].curve]) != 0) {
        context.Add(Severity::kDoubt, lines[i].curve, Capitalized(fmt::format("{} stands twice, on lines that run beside each other.", name(i))));
        break;
      }
}

// Four values or more, one step throughout: hardly by chance.
bool IsEven(const std::vector<Valued>& lines) {
  std::vector<double> values;
  for (const Valued& line : lines) values.push_back(line.value);
  std::ranges::sort(values);
  if (values.size() < 4) return false;
  const double step = values[1] - values[0];
  for (std::size_t i = 1; i + 1 < values.size(); ++i)
    if (std::fabs(values[i + 1] - values[i] - step) > 0.03 * step) return false;
  return step > 0.0;
}

// Whether each value falls on an even step through the trusted ones; empty where those keep none.
std::vector<bool> OnTheStep(const std::vector<Valued>& lines, std::vector<double> trusted) {
  std::ranges::sort(trusted);
  if (trusted.size() < 3) return {};
  double step = trusted[1] - trusted[0];
  for (std::size_t i = 1; i + 1 < trusted.size(); ++i) step = std::min(step, trusted[i + 1] - trusted[i]);
  if (!(step > 0.0)) return {};
  const auto on = [&](double value) {
    const double part = (value - trusted.front()) / step;
    return std::fabs(part - std::round(part)) < 0.06;
  };
  if (!std::ranges::all_of(trusted, on)) return {};
  std::vector<bool> out;
  for (const Valued& line : lines) out.push_back(on(line.value));
  return out;
}

}  // namespace

std::vector<std::size_t> OutOfOrder(const std::vector<double>& values, const std::function<int(std::size_t, std::size_t)>& order,
                                    const std::vector<bool>& suspect) {
  const std::size_t n = values.size();
  std::vector<std::vector<bool>> conflict(n, std::vector<bool>(n, false));
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) {
      if (i == j || values[i] == values[j]) continue;
      const int side = order(i, j);
      if (side != 0 && (side > 0) != (values[i] > values[j])) conflict[i][j] = conflict[j][i] = true;
    }
  std::vector<std::size_t> out;
  std::vector<bool> gone(n, false);
  while (true) {
    std::vector<int> count(n, 0);
    for (std::size_t i = 0; i < n; ++i)
      for (std::size_t j = 0; j < n; ++j) count[i] += !gone[i] && !gone[j] && conflict[i][j] ? 1 : 0;
    const int most = n == 0 ? 0 : *std::ranges::max_element(count);
    if (most == 0) break;
    // Of those with equal counts, one that is doubted anyway is the worse witness. Of two that accuse only each other, neither may be the better: both go.
    bool any_suspect = false;
    for (std::size_t i = 0; i < n; ++i) any_suspect = any_suspect || (count[i] == most && i < suspect.size() && suspect[i]);
    for (std::size_t i = 0; i < n; ++i)
      if (count[i] == most && (!any_suspect || suspect[i])) {
        gone[i] = true;
        out.push_back(i);
        if (most > 1 || any_suspect) break;
      }
  }
  std::ranges::sort(out);
  return out;
}

void CheckSpeedLines(const Context& context) {
  const std::vector<std::size_t> curves = context.CurvesOf(CurveRole::kSpeedLine);
  ReportCrossings(context, curves, "lines of different speed cannot meet");
  const std::vector<Valued> lines = WithValues(context, curves);
  for (const std::size_t i : curves)
    if (context.map.curves[i].value && std::ranges::find(lines, i, &Valued::curve) == lines.end())
      context.Add(Severity::kDoubt, i,
                  Capitalized(fmt::format("{} has its speed in another unit than the others.", CurveInWords(context.map.curves[i]))));
  // The faster of two lines lies above the other, or to its right where they share no flow.
  const auto faster = [&](std::size_t i, std::size_t j) {
    const auto &a = context.frame[lines[i].curve], &b = context.frame[lines[j].curve];
    if (const int higher = HigherOf(a, b); higher != 0) return higher;
    const auto center = [](const std::vector<Point2>& line) {
      const auto [low, high] = std::ranges::minmax(line, {}, &Point2::x);
      return (low.x + high.x) / 2.0;
    };
    const double apart = center(a) - center(b);
    return apart > 0.02 ? 1 : apart < -0.02 ? -1 : 0;
  };
  ReportOrder(context, lines, faster);

  for (const std::size_t i : curves) {
    const std::vector<Point2> line = FromSurge(context.frame[i]);
    double peak = line.front().y, lowest = line.front().y, rise = 0.0, farthest = line.front().x, back = 0.0;
    bool falling = false;
    for (const Point2& p : line) {
      if (!falling) {
        peak = std::max(peak, p.y);
        lowest = p.y;
        falling = peak - p.y > kRiseTolerance;
      }
      lowest = std::min(lowest, p.y);
      rise = std::max(rise, p.y - lowest);
    }
    for (const Point2& p : line) {
      farthest = std::max(farthest, p.x);
      back = std::max(back, farthest - p.x);
    }
    const std::string name = CurveInWords(context.map.curves[i]);
    if (rise > kRiseTolerance)
      context.Add(Severity::kDoubt, i,
                  Capitalized(fmt::format("{} rises again to the right of its peak, by {:.1f} % of the chart's height.", name, 100.0 * rise)));
    if (back > kRiseTolerance)
      context.Add(Severity::kDoubt, i,
                  Capitalized(fmt::format("{} turns back to lower flow, by {:.1f} % of the chart's width.", name, 100.0 * back)));
  }
}

void CheckLimits(const Context& context) {
  const std::vector<std::size_t> surges = context.CurvesOf(CurveRole::kSurgeLine), chokes = context.CurvesOf(CurveRole::kChokeLine),
                                 lines = context.CurvesOf(CurveRole::kSpeedLine);
  // Two lines of one kind may be pieces of one, above each other; beside each other they are not.
  for (const auto* limits : {&surges, &chokes})
    for (const std::size_t one : *limits)
      for (const std::size_t other : *limits) {
        if (one == other) continue;
        const auto [low, high] = std::ranges::minmax(context.frame[one], {}, &Point2::y);
        const auto [other_low, other_high] = std::ranges::minmax(context.frame[other], {}, &Point2::y);
        const double shared = std::min(high.y, other_high.y) - std::max(low.y, other_low.y);
        const bool weaker = context.IsDoubted(one) || (!context.IsDoubted(other) && frame_geometry::LengthOf(context.frame[one]) <=
                                                                                        frame_geometry::LengthOf(context.frame[other]));
        if (weaker && shared > 0.3 * std::min(high.y - low.y, other_high.y - other_low.y))
          context.Add(Severity::kDoubt, one,
                      fmt::format("There are two {} lines beside each other; this is the shorter or the less certain.",
                                  limits == &surges ? "surge" : "choke"));
      }
  if (lines.empty()) return;

  const auto away_from = [&](const std::vector<std::size_t>& limits, bool at_surge, double tolerance) {
    std::vector<std::size_t> away;
    for (const std::size_t i : lines) {
      const std::vector<Point2> line = FromSurge(context.frame[i]);
      double distance = 1e300;
      for (const std::size_t limit : limits)
        distance = std::min(distance, frame_geometry::DistanceTo(context.frame[limit], at_surge ? line.front() : line.back()));
      if (distance > tolerance) away.push_back(i);
    }
    return away;
  };
  if (!surges.empty()) {
    const auto away = away_from(surges, true, kSurgeTolerance);
    if (2 * away.size() > lines.size()) {
      context.Add(Severity::kDoubt, surges.front(),
                  fmt::format("Only {} of {} speed lines begin at the surge line.", lines.size() - away.size(), lines.size()));
    } else {
      for (const std::size_t i : away)
        context.Add(
            Severity::kDoubt, i,
            Capitalized(fmt::format("{} does not begin at the surge line; a part of it may be missing.", CurveInWords(context.map.curves[i]))));
    }
  }
  if (!chokes.empty()) {
    const auto away = away_from(chokes, false, kChokeTolerance);
    if (2 * away.size() > lines.size())
      context.Add(Severity::kDoubt, chokes.front(),
                  fmt::format("Only {} of {} speed lines end at the choke line.", lines.size() - away.size(), lines.size()));
  }
  for (const std::size_t surge : surges) {
    std::vector<Point2> line = context.frame[surge];
    if (line.front().y > line.back().y) std::ranges::reverse(line);
    if (line.back().x < line.front().x - kSurgeTolerance)
      context.Add(Severity::kDoubt, surge, "The surge line leans to lower flow as the pressure ratio rises.");
  }
}

void CheckTurbineLines(const Context& context) {
  const PerformanceMap& map = context.map;
  const std::vector<std::size_t> flows = context.CurvesOf(CurveRole::kFlowLine), efficiencies = context.CurvesOf(CurveRole::kEfficiencyLine);
  for (const std::size_t i : flows) {
    std::vector<Point2> line = context.frame[i];
    if (line.front().x > line.back().x) std::ranges::reverse(line);
    double highest = line.front().y, fall = 0.0;
    for (const Point2& p : line) {
      highest = std::max(highest, p.y);
      fall = std::max(fall, highest - p.y);
    }
    if (fall > kTurbineTolerance)
      context.Add(
          Severity::kDoubt, i,
          Capitalized(fmt::format("{} falls by {:.1f} % of the chart's height; a turbine swallows more, not less, as the expansion ratio rises.",
                                  CurveInWords(map.curves[i]), 100.0 * fall)));
    if (!map.curves[i].value && flows.size() > 1) context.Add(Severity::kDoubt, i, "A flow line carries no speed or opening, and there are several.");
  }

  const std::vector<Valued> valued = WithValues(context, flows);
  const std::string unit = map_lines::CommonUnit(map, flows);
  const bool openings = unit == "%" || unit == "1";
  if (openings) ReportCrossings(context, flows, "lines of different opening cannot meet");
  // The wider opening swallows more. Speed moves the lines one way or the other, but all of them the same way.
  const auto higher = [&](std::size_t i, std::size_t j) { return HigherOf(context.frame[valued[i].curve], context.frame[valued[j].curve]); };
  int agree = 0, disagree = 0;
  for (std::size_t i = 0; i < valued.size(); ++i)
    for (std::size_t j = i + 1; j < valued.size(); ++j) {
      const int side = higher(i, j);
      if (side == 0 || valued[i].value == valued[j].value) continue;
      ((side > 0) == (valued[i].value > valued[j].value) ? agree : disagree) += 1;
    }
  if (openings && disagree > 1 && agree == 0)
    context.Add(Severity::kRemark, std::nullopt, "The flow falls as the vane opening rises: on this sheet 0 may mean open.");
  const int way = disagree > agree ? -1 : 1;
  const auto order = [&](std::size_t i, std::size_t j) { return way * higher(i, j); };
  if (valued.size() >= 3) ReportOrder(context, valued, order);

  for (const std::size_t i : efficiencies) {
    if (!map.efficiency) break;
    const double factor = map.efficiency->unit == "%" ? 0.01 : 1.0;
    const auto [low, high] = std::ranges::minmax(map.curves[i].points, {}, &Point2::y);
    if (low.y * factor < -0.005 || high.y * factor > 0.95)
      context.Add(Severity::kDoubt, i,
                  Capitalized(fmt::format("{} runs from {} to {} in efficiency, which no turbine has.", CurveInWords(map.curves[i]),
                                          NumberInWords(low.y * factor, 3), NumberInWords(high.y * factor, 3))));
  }
  // The two families carry the same values. Where one value of each has no partner, one of the two is misread; where a line is missing, that is worth knowing.
  if (efficiencies.empty()) return;
  std::vector<Valued> lonely_flows, lonely_efficiencies;
  const std::vector<Valued> other = WithValues(context, efficiencies);
  const auto has_partner = [](const Valued& line, const std::vector<Valued>& among) {
    return std::ranges::any_of(among, [&](const Valued& v) { return std::fabs(v.value - line.value) <= 1e-6 * std::fabs(line.value); });
  };
  std::ranges::copy_if(valued, std::back_inserter(lonely_flows), [&](const Valued& v) { return !has_partner(v, other); });
  std::ranges::copy_if(other, std::back_inserter(lonely_efficiencies), [&](const Valued& v) { return !has_partner(v, valued); });
  if (map_lines::CommonUnit(map, efficiencies) != unit) return;
  const bool misread = !lonely_flows.empty() && !lonely_efficiencies.empty() && lonely_flows.size() < valued.size();
  std::vector<double> trusted;
  for (const Valued& line : valued)
    if (has_partner(line, other)) trusted.push_back(line.value);
  const std::vector<bool> flows_fit = OnTheStep(lonely_flows, trusted), efficiencies_fit = OnTheStep(lonely_efficiencies, trusted);
  const bool flows_even = IsEven(valued), efficiencies_even = IsEven(other);
  const bool any_misfit =
      std::ranges::find(flows_fit, false) != flows_fit.end() || std::ranges::find(efficiencies_fit, false) != efficiencies_fit.end();
  for (const auto& [lines, fit, family] :
       {std::tuple(&lonely_flows, &flows_fit, "efficiency"), std::tuple(&lonely_efficiencies, &efficiencies_fit, "flow")})
    for (std::size_t i = 0; i < lines->size(); ++i) {
      const bool of_even_family = lines == &lonely_flows ? flows_even && !efficiencies_even : efficiencies_even && !flows_even;
      const bool blameless = of_even_family || (any_misfit && !fit->empty() && (*fit)[i]);  // it falls on the step of the rest, another does not
      const bool doubt = misread && !blameless;
      context.Add(doubt ? Severity::kDoubt : Severity::kRemark, (*lines)[i].curve,
                  Capitalized(fmt::format("{} has no {} line of the same value{}.", CurveInWords(map.curves[(*lines)[i].curve]), family,
                                          doubt ? ", and another line there has none either: one of them may be misread" : "")));
    }
}

}  // namespace islebook::validation
