#include "ui/report/pressure_strip.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace islebook {

std::vector<StripLine> PressureLines(const BenchResult& result) {
  const double unit = result.asked.units.Of(ShopQuantity::kPressure).factor;
  std::map<long, std::vector<const PointResult*>> by_altitude;  // to the meter
  for (const PointResult& point : result.points)
    if (point.failure.empty())
      by_altitude[std::lround(point.input.altitude_m.value_or(AltitudeOfPressure(point.input.ambient.pressure_Pa)))].push_back(&point);
  std::vector<StripLine> lines;
  for (auto& [altitude, points] : by_altitude) {
    std::stable_sort(points.begin(), points.end(),
                     [](const PointResult* a, const PointResult* b) { return a->input.speed_rev_s < b->input.speed_rev_s; });
    if (points.size() < 2 || !(points.back()->input.speed_rev_s > points.front()->input.speed_rev_s)) continue;
    StripLine boost, drive;
    for (const PointResult* point : points) {
      const double rpm = point->input.speed_rev_s * 60, ambient = point->input.ambient.pressure_Pa;
      boost.points.push_back({rpm, (point->manifold_Pa - ambient) / unit});
      if (point->exhaust) drive.points.push_back({rpm, (point->exhaust->drive_Pa - ambient) / unit});
    }
    const double part = by_altitude.size() > 1 ? static_cast<double>(altitude - by_altitude.begin()->first) /
                                                     static_cast<double>(std::max(1L, by_altitude.rbegin()->first - by_altitude.begin()->first))
                                               : 0.0;
    const std::string place = by_altitude.size() > 1
                                  ? ", " + AltitudeWords(points.front()->input.altitude_m.value_or(static_cast<double>(altitude)), result.asked.units)
                                  : "";
    boost.words = "boost" + place;
    drive.words = "drive pressure" + place;
    drive.limit = true;
    boost.lightness = drive.lightness = 0.55 * part;
    lines.push_back(std::move(boost));
    if (!drive.points.empty()) lines.push_back(std::move(drive));
  }
  return lines;
}

StripOptions PressureStrip(const BenchResult& result) {
  StripOptions options;
  options.title = result.turbines.empty() ? "Boost over engine speed" : "Boost and drive pressure over engine speed";
  options.x_words = "Engine speed, rpm";
  options.y_words = std::string("Above ambient, ") + result.asked.units.Of(ShopQuantity::kPressure).name;
  return options;
}

}  // namespace islebook
