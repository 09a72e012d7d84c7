#include <algorithm>
#include <cmath>
#include <functional>

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
constexpr double kTurbineTolerance = 0.02;  // how much swallowing may fall

// Every curve that crosses another of its family, the crossing named once on each.
void ReportCrossings(const Context& context, const std::vector<std::size_t>& curves, const char* why) {
  for (std::size_t i = 0; i < curves.size(); ++i)
    for (std::size_t j = i + 1; j < curves.size(); ++j) {
      const auto crossings = FindCrossings(context.frame[curves[i]], context.frame[curves[j]], kEndTolerance);
      if (crossings.empty()) continue;
      for (const auto& [one, other] : {std::pair(curves[i], curves[j]), std::pair(curves[j], curves[i])})
        context.Add(Severity::kError, one,
                    Capitalized(fmt::format("{} crosses {} near {}; {}.", CurveInWords(context.map.curves[one]), CurveInWords(context.map.curves[other]), context.PlaceInWords(crossings.front().at), why)));
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
std::string NeighborsInWords(const Context& context, const std::vector<Valued>& lines, const std::vector<std::size_t>& odd, std::size_t one, const std::function<int(std::size_t, std::size_t)>& order) {
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

void ReportOrder(const Context& context, const std::vector<Valued>& lines, const std::function<int(std::size_t, std::size_t)>& order) {
  std::vector<double> values;
  for (const Valued& line : lines) values.push_back(line.value);
  const auto odd = OutOfOrder(values, order);
  for (const std::size_t i : odd)
    context.Add(Severity::kDoubt, lines[i].curve,
                Capitalized(fmt::format("{} lies {}, so its value or its place is in doubt.", CurveInWords(context.map.curves[lines[i].curve]), NeighborsInWords(context, lines, odd, i, order))));
  for (std::size_t i = 0; i < lines.size(); ++i)
    for (std::size_t j = 0; j < lines.size(); ++j)
      if (i != j && lines[i].value == lines[j].value && HigherOf(context.frame[lines[i].curve], context.frame[lines[j].curve]) != 0)
        context.Add(Severity::kDoubt, lines[i].curve, Capitalized(fmt::format("{} stands twice, on lines that run beside each other.", CurveInWords(context.map.curves[lines[i].curve]))));
}

// Labels with an even step: a value that breaks it while both its neighbors keep it.
void ReportStep(const Context& context, std::vector<Valued> lines) {
  std::ranges::sort(lines, {}, &Valued::value);
  const auto repeated = std::ranges::unique(lines, {}, &Valued::value);
  lines.erase(repeated.begin(), repeated.end());
  if (lines.size() < 5) return;
  std::vector<double> steps;
  for (std::size_t i = 0; i + 1 < lines.size(); ++i) steps.push_back(lines[i + 1].value - lines[i].value);
  std::ranges::nth_element(steps, steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2));
  const double step = steps[steps.size() / 2];
  for (std::size_t i = 1; i + 1 < lines.size(); ++i) {
    const double span = lines[i + 1].value - lines[i - 1].value, middle = (lines[i + 1].value + lines[i - 1].value) / 2.0;
    if (std::fabs(span / step - 2.0) < 0.1 && std::fabs(lines[i].value - middle) > 0.2 * step)
      context.Add(Severity::kDoubt, lines[i].curve,
                  Capitalized(fmt::format("{} breaks the even step of its family; {} would fit.", CurveInWords(context.map.curves[lines[i].curve]), NumberInWords(middle))));
  }
}

}  // namespace

std::vector<std::size_t> OutOfOrder(const std::vector<double>& values, const std::function<int(std::size_t, std::size_t)>& order) {
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
    // Of two that accuse only each other, neither is the better witness: both go.
    for (std::size_t i = 0; i < n; ++i)
      if (count[i] == most) {
        gone[i] = true;
        out.push_back(i);
        if (most > 1) break;
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
      context.Add(Severity::kDoubt, i, Capitalized(fmt::format("{} has its speed in another unit than the others.", CurveInWords(context.map.curves[i]))));
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
  ReportStep(context, lines);

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
    if (rise > kRiseTolerance) context.Add(Severity::kDoubt, i, Capitalized(fmt::format("{} rises again to the right of its peak, by {:.1f} % of the chart's height.", name, 100.0 * rise)));
    if (back > kRiseTolerance) context.Add(Severity::kDoubt, i, Capitalized(fmt::format("{} turns back to lower flow, by {:.1f} % of the chart's width.", name, 100.0 * back)));
  }
}

void CheckSurgeLine(const Context& context) {
  const std::vector<std::size_t> surges = context.CurvesOf(CurveRole::kSurgeLine), lines = context.CurvesOf(CurveRole::kSpeedLine);
  if (surges.empty() || lines.empty()) return;
  std::vector<std::size_t> away;
  for (const std::size_t i : lines) {
    const Point2 end = FromSurge(context.frame[i]).front();
    double distance = 1e300;
    for (const std::size_t surge : surges) distance = std::min(distance, frame_geometry::DistanceTo(context.frame[surge], end));
    if (distance > kSurgeTolerance) away.push_back(i);
  }
  if (2 * away.size() > lines.size()) {
    context.Add(Severity::kDoubt, surges.front(), fmt::format("Only {} of {} speed lines begin at the surge line.", lines.size() - away.size(), lines.size()));
  } else {
    for (const std::size_t i : away)
      context.Add(Severity::kDoubt, i, Capitalized(fmt::format("{} does not begin at the surge line; a part of it may be missing.", CurveInWords(context.map.curves[i]))));
  }
  for (const std::size_t surge : surges) {
    std::vector<Point2> line = context.frame[surge];
    if (line.front().y > line.back().y) std::ranges::reverse(line);
    if (line.back().x < line.front().x - kSurgeTolerance) context.Add(Severity::kDoubt, surge, "The surge line leans to lower flow as the pressure ratio rises.");
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
      context.Add(Severity::kDoubt, i,
                  Capitalized(fmt::format("{} falls by {:.1f} % of the chart's height; a turbine swallows more, not less, as the expansion ratio rises.", CurveInWords(map.curves[i]), 100.0 * fall)));
    if (!map.curves[i].value && flows.size() > 1) context.Add(Severity::kDoubt, i, "A flow line carries no speed or opening, and there are several.");
  }

  const std::vector<Valued> valued = WithValues(context, flows);
  const std::string unit = map_lines::CommonUnit(map, flows);
  if (unit == "%" || unit == "1") {  // vane openings: the wider swallows more
    ReportCrossings(context, flows, "lines of different opening cannot meet");
    const auto higher = [&](std::size_t i, std::size_t j) { return HigherOf(context.frame[valued[i].curve], context.frame[valued[j].curve]); };
    int agree = 0, disagree = 0;
    for (std::size_t i = 0; i < valued.size(); ++i)
      for (std::size_t j = i + 1; j < valued.size(); ++j) {
        const int side = higher(i, j);
        if (side == 0 || valued[i].value == valued[j].value) continue;
        ((side > 0) == (valued[i].value > valued[j].value) ? agree : disagree) += 1;
      }
    if (disagree > 1 && agree == 0) context.Add(Severity::kRemark, std::nullopt, "The flow falls as the vane opening rises: on this sheet 0 may mean open.");
    else ReportOrder(context, valued, higher);
  }

  for (const std::size_t i : efficiencies) {
    if (!map.efficiency) break;
    const double factor = map.efficiency->unit == "%" ? 0.01 : 1.0;
    const auto [low, high] = std::ranges::minmax(map.curves[i].points, {}, &Point2::y);
    if (low.y * factor < -0.005 || high.y * factor > 0.95)
      context.Add(Severity::kDoubt, i, Capitalized(fmt::format("{} runs from {} to {} in efficiency, which no turbine has.", CurveInWords(map.curves[i]), NumberInWords(low.y * factor, 3), NumberInWords(high.y * factor, 3))));
  }
  if (!efficiencies.empty())
    for (const Valued& line : valued) {
      const auto same = [&](std::size_t e) {
        const auto value = map_lines::ValueIn(map.curves[e], unit);
        return value && std::fabs(*value - line.value) <= 1e-9 * std::fabs(line.value);
      };
      if (std::ranges::none_of(efficiencies, same))
        context.Add(Severity::kRemark, line.curve, Capitalized(fmt::format("{} has no efficiency line of the same value.", CurveInWords(map.curves[line.curve]))));
    }
}

}  // namespace islebook::validation
