#include "ui/report/stage_overlay.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

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

ChartOverlay StageOverlay(const BenchResult& result, std::size_t stage) {
  ChartOverlay overlay;
  struct Line {
    double altitude = 0.0;
    std::vector<std::pair<double, Point2>> places;  // engine speed, place on the map
  };
  std::map<long, Line> lines;
  for (const PointResult& point : result.points) {
    if (!point.failure.empty()) continue;
    const StageResult& at = point.stages[stage];
    const Point2 place{at.reading.map_flow, at.pressure_ratio};
    overlay.points.push_back({.at = place, .words = BenchPointWords(point, stage), .off_map = at.reading.OffMap()});
    const double altitude = point.input.altitude_m.value_or(AltitudeOfPressure(point.input.ambient.pressure_Pa));
    Line& line = lines[std::lround(altitude)];
    line.altitude = altitude;
    line.places.emplace_back(point.input.speed_rev_s, place);
  }
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
      drawn.words = AltitudeWords(line.altitude, result.asked.units);
      drawn.lightness = 0.65 * static_cast<double>(key - lowest) / static_cast<double>(highest - lowest);
    }
    overlay.lines.push_back(std::move(drawn));
  }
  return overlay;
}

}  // namespace islebook
