#include "ui/report/stage_overlay.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "mapstore/query/query_units.h"

namespace islebook {

std::string BenchPointWords(const PointResult& point, std::size_t stage) {
  const Verdict* worst = nullptr;
  for (const Verdict& verdict : point.stages[stage].verdicts)
    if (worst == nullptr || verdict.grade > worst->grade || (verdict.grade == worst->grade && verdict.shortfall > worst->shortfall)) worst = &verdict;
  if (worst != nullptr && worst->grade == Grade::kRoom)  // then the margin that everybody asks for
    for (const Verdict& verdict : point.stages[stage].verdicts)
      if (verdict.kind == VerdictKind::kSurge) worst = &verdict;
  return worst == nullptr ? point.name : fmt::format("{}: {}, {}", point.name, worst->words, GradeName(worst->grade));
}

namespace {

// Points as they come, and a line through those of each altitude.
class OverlayMaker {
 public:
  void Add(const PointResult& point, int number, ChartPoint drawn) {
    drawn.number = number;
    const double altitude = point.input.altitude_m.value_or(AltitudeOfPressure(point.input.ambient.pressure_Pa));
    Line& line = lines_[std::lround(altitude)];
    line.altitude = altitude;
    line.places.emplace_back(point.input.speed_rev_s, drawn.at);
    overlay_.points.push_back(std::move(drawn));
  }
  ChartOverlay Done(const UnitHabit& units);

 private:
  struct Line {
    double altitude = 0.0;
    std::vector<std::pair<double, Point2>> places;  // engine speed, place on the map
  };
  std::map<long, Line> lines_;
  ChartOverlay overlay_;
};

ChartOverlay OverlayMaker::Done(const UnitHabit& units) {
  ChartOverlay overlay = std::move(overlay_);
  std::map<long, Line> lines = std::move(lines_);
  const long lowest = lines.empty() ? 0 : lines.begin()->first, highest = lines.empty() ? 0 : lines.rbegin()->first;
  for (auto& [key, line] : lines) {
    std::stable_sort(line.places.begin(), line.places.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    // Points at one engine speed are alternatives, not a line.
    const bool rising = std::adjacent_find(line.places.begin(), line.places.end(), [](const auto& a, const auto& b) { return a.first == b.first; }) ==
                        line.places.end();
    if (line.places.size() < 2 || !rising) continue;
    ChartLine drawn;
    for (const auto& [speed, place] : line.places) drawn.points.push_back(place);
    if (lines.size() > 1) {
      drawn.words = AltitudeWords(line.altitude, units);
      drawn.lightness = 0.65 * static_cast<double>(key - lowest) / static_cast<double>(highest - lowest);
    }
    overlay.lines.push_back(std::move(drawn));
  }
  return overlay;
}

}  // namespace

ChartOverlay StageOverlay(const BenchResult& result, std::size_t stage) {
  OverlayMaker maker;
  for (std::size_t i = 0; i < result.points.size(); ++i) {
    const PointResult& point = result.points[i];
    if (!point.failure.empty()) continue;
    const StageResult& at = point.stages[stage];
    maker.Add(point, static_cast<int>(i) + 1,
              {.at = {at.reading.map_flow, at.pressure_ratio}, .words = BenchPointWords(point, stage), .off_map = at.reading.OffMap()});
  }
  return maker.Done(result.asked.units);
}

ChartOverlay TurbineOverlay(const BenchResult& result, std::size_t stage, const PerformanceMap& map) {
  const bool ratio_along_x = RatioAlongX(map);
  const std::optional<Axis>& ratio_axis = ratio_along_x ? map.x : map.y;
  if (!ratio_axis ||
      (ratio_axis->quantity != Quantity::kExpansionRatioTotalToStatic && ratio_axis->quantity != Quantity::kExpansionRatioTotalToTotal))
    return {};
  OverlayMaker maker;
  for (std::size_t i = 0; i < result.points.size(); ++i) {
    const PointResult& point = result.points[i];
    if (!point.failure.empty() || !point.stages[stage].turbine) continue;
    const TurbineState& at = *point.stages[stage].turbine;
    ChartPoint drawn;
    drawn.at = ratio_along_x ? Point2{at.expansion_ratio, at.reading.map_flow} : Point2{at.reading.map_flow, at.expansion_ratio};
    drawn.off_map = at.reading.flow_beyond;
    drawn.words = fmt::format("{}: expansion ratio {:.2f}", point.name, at.expansion_ratio);
    if (map.efficiency && ratio_along_x && !at.reading.efficiency_beyond)
      drawn.efficiency = at.reading.efficiency * (map.efficiency->unit == "%" ? 100.0 : 1.0);
    maker.Add(point, static_cast<int>(i) + 1, std::move(drawn));
  }
  return maker.Done(result.asked.units);
}

}  // namespace islebook
