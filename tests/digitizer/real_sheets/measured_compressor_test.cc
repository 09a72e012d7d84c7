// A published chart against the readings that were plotted in it. Chart: NASA HECC Data Archive read-me, 14 April 2023, fig. 1 (vaned diffuser, 12 mil
// exit clearance). Readings: the archive's table of the same test, columns MDOTC (corrected flow, lbm/s), TPR70 (total pressure ratio) and NC (per cent of
// corrected speed); straight segments join them in the chart. Prints the agreement in % of the axis span. Skipped where ../shared is absent.

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "digitizer/digitize.h"

namespace islebook {
namespace {

const std::filesystem::path kShared = ISLEBOOK_SHARED_DIR;

// Readings by the speed they were taken at, in whole per cent.
std::map<int, std::vector<Point2>> Readings(const std::filesystem::path& table) {
  std::map<int, std::vector<Point2>> out;
  std::ifstream stream(table);
  std::map<std::string, std::size_t> column;
  for (std::string line; std::getline(stream, line);) {
    if (line.empty() || line[0] == '#') continue;
    std::vector<std::string> cells;
    std::stringstream row(line);
    for (std::string cell; std::getline(row, cell, ',');) cells.push_back(cell);
    if (column.empty()) {
      for (std::size_t i = 0; i < cells.size(); ++i) column[cells[i]] = i;
      continue;
    }
    out[static_cast<int>(std::lround(std::stod(cells.at(column.at("NC")))))].push_back(
        {std::stod(cells.at(column.at("MDOTC"))), std::stod(cells.at(column.at("TPR70")))});
  }
  return out;
}

double ToSegments(const Point2& p, const std::vector<Point2>& line, const Point2& span) {
  double best = 1e18;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const double ax = line[i].x / span.x, ay = line[i].y / span.y, dx = line[i + 1].x / span.x - ax, dy = line[i + 1].y / span.y - ay;
    const double px = p.x / span.x - ax, py = p.y / span.y - ay, length = dx * dx + dy * dy;
    const double t = length > 0 ? std::clamp((px * dx + py * dy) / length, 0.0, 1.0) : 0.0;
    best = std::min(best, std::hypot(px - t * dx, py - t * dy));
  }
  return 100.0 * best;
}

double Quantile(std::vector<double> v, double part) {
  if (v.empty()) return 1e9;
  std::sort(v.begin(), v.end());
  return v[std::min(v.size() - 1, static_cast<std::size_t>(part * static_cast<double>(v.size())))];
}

TEST(MeasuredCompressor, SpeedLinesAgreeWithThePublishedReadings) {
  const std::filesystem::path chart = kShared / "real_sheets" / "hecc_vaned_fig1.jpg",
                              table = kShared / "open_data" / "hecc" / "hecc_vaned_12mil.csv";
  if (!std::filesystem::exists(chart) || !std::filesystem::exists(table))
    GTEST_SKIP() << "The published chart and its readings (../shared) are not here.";
  const std::map<int, std::vector<Point2>> readings = Readings(table);
  ASSERT_EQ(readings.size(), 7U);
  auto sheet = ReadSheet(chart);
  ASSERT_TRUE(sheet) << sheet.error().message;
  const auto result = Digitize(*sheet, {});
  ASSERT_TRUE(result) << result.error().message;
  ASSERT_EQ(result->maps.size(), 1U);
  const PerformanceMap& map = result->maps.front();
  ASSERT_TRUE(map.x && map.y);
  // The printed ends of the axes: 4 to 14 lbm/s, 1.5 to 5.5; to 0.2 % of the span.
  EXPECT_EQ(map.x->unit, "lb/s");
  EXPECT_NEAR(map.x->min, 4.0, 0.02);
  EXPECT_NEAR(map.x->max, 14.0, 0.02);
  EXPECT_NEAR(map.y->min, 1.5, 0.008);
  EXPECT_NEAR(map.y->max, 5.5, 0.008);
  const Point2 span{map.x->max - map.x->min, map.y->max - map.y->min};
  int whole = 0, named = 0;
  for (const auto& [speed, points] : readings) {
    // The curve that comes nearest to these readings as a whole.
    const Curve* best = nullptr;
    std::vector<double> away, back;
    for (const Curve& curve : map.curves) {
      std::vector<double> d;
      for (const Point2& p : points) d.push_back(ToSegments(p, curve.points, span));
      if (best == nullptr || Quantile(d, 0.5) < Quantile(away, 0.5)) best = &curve, away = d;
    }
    ASSERT_NE(best, nullptr) << "no curves were found";
    for (const Point2& p : best->points) back.push_back(ToSegments(p, points, span));
    const bool right_value = best->value && best->unit == "%" && std::abs(*best->value - speed) < 0.5;
    std::printf("%3d %%: %2zu readings, off by %.3f %% of the span (median), %.3f (95 %%), %.3f (worst); back %.3f (worst); %s %g %s\n", speed,
                points.size(), Quantile(away, 0.5), Quantile(away, 0.95), Quantile(away, 1.0), Quantile(back, 1.0), CurveRoleName(best->role),
                best->value.value_or(0.0), best->unit.c_str());
    // Every reading lies on its line, also where a piece of the line's label hangs on to its end.
    EXPECT_LE(Quantile(away, 1.0), 0.25) << speed << " % speed line";
    whole += Quantile(away, 1.0) <= 0.5 && Quantile(back, 1.0) <= 0.5;
    named += right_value && best->role == CurveRole::kSpeedLine;
    // What is not whole must say so.
    if (!best->needs_review) {
      EXPECT_LT(Quantile(away, 1.0), 0.5) << speed << " % speed line: a reading lies off the recovered curve, and no flag says so";
      EXPECT_LT(Quantile(back, 1.0), 0.5) << speed << " % speed line: the recovered curve leaves the readings, and no flag says so";
    }
  }
  EXPECT_GE(whole, 5);
  std::printf("%d of 7 lines whole and within 0.5 %% of the span, %d of 7 with their speed\n", whole, named);
}

}  // namespace
}  // namespace islebook
