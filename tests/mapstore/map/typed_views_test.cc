#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <random>
#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/map/compressor_map.h"
#include "mapstore/map/turbine_map.h"
#include "mapstore/map/validate.h"
#include "tests/mapstore/map/example_maps.h"

namespace islebook {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

// The same map with its curves in any order, running either way.
PerformanceMap Shuffled(PerformanceMap map, std::mt19937& random) {
  std::ranges::shuffle(map.curves, random);
  for (Curve& curve : map.curves)
    if (random() % 2 == 0) {
      std::ranges::reverse(curve.points);
      std::ranges::reverse(curve.points_px);
      std::ranges::reverse(curve.sigma);
    }
  return map;
}

TEST(CompressorMap, OrderedWhateverTheOrderOfTheCurves) {
  std::mt19937 random(2);
  for (int round = 0; round < 20; ++round) {
    const auto map = AsCompressorMap(Shuffled(ExampleCompressorMap(), random));
    ASSERT_TRUE(map) << map.error().message;
    EXPECT_EQ(map->speed_unit, "rpm");
    EXPECT_EQ(map->flow.unit, "lb/min");
    ASSERT_EQ(map->speed_lines.size(), 5u);
    for (std::size_t i = 0; i < 5; ++i) {
      const auto& line = map->speed_lines[i];
      EXPECT_EQ(line.speed, 60000.0 + 15000.0 * static_cast<double>(i));
      EXPECT_TRUE(std::ranges::is_sorted(line.line.points, {}, &Point2::x));
      EXPECT_EQ(line.line.points.front(), ExampleCompressorMap().curves[i].points.front());
      EXPECT_EQ(line.line.sigma.size(), line.line.points.size());
    }
    ASSERT_TRUE(map->surge_line && map->choke_line);
    EXPECT_TRUE(std::ranges::is_sorted(map->surge_line->points, {}, &Point2::y));
    EXPECT_LT(map->choke_line->points.front().y, map->choke_line->points.back().y);
    ASSERT_EQ(map->islands.size(), 3u);
    EXPECT_THAT((std::vector{map->islands[0].efficiency, map->islands[1].efficiency, map->islands[2].efficiency}), ElementsAre(0.72, 0.75, 0.78));
    EXPECT_TRUE(map->islands[0].pieces[0].closed);
    EXPECT_TRUE(map->islands[0].pieces[0].line.needs_review);
    EXPECT_TRUE(map->left_out.empty());
    EXPECT_EQ(map->reference_conditions->pressure_Pa, 96173.0);
  }
}

TEST(CompressorMap, UnitsOfLabelsBecomeOne) {
  PerformanceMap map = ExampleCompressorMap();
  map.curves[0].value = 60.0;
  map.curves[0].unit = "krpm";
  for (Curve& curve : map.curves)
    if (curve.role == CurveRole::kEfficiencyIsland) {
      *curve.value *= 100.0;
      curve.unit = "%";
    }
  const auto view = AsCompressorMap(map);
  ASSERT_TRUE(view);
  EXPECT_EQ(view->speed_unit, "rpm");
  EXPECT_NEAR(view->speed_lines[0].speed, 60000.0, 1e-6);
  EXPECT_NEAR(view->islands[2].efficiency, 0.78, 1e-12);
}

TEST(CompressorMap, PiecesOfOneLineAreJoined) {
  PerformanceMap map = ExampleCompressorMap();
  Curve right = map.curves[2];
  Curve& left = map.curves[2];
  const auto cut = [](Curve& curve, std::size_t from, std::size_t to) {
    for (auto* list : {&curve.points, &curve.points_px, &curve.sigma})
      *list = std::vector<Point2>(list->begin() + static_cast<std::ptrdiff_t>(from), list->begin() + static_cast<std::ptrdiff_t>(to));
  };
  const std::vector<Point2> whole = right.points;
  cut(left, 0, 9);
  cut(right, 9, whole.size());
  std::ranges::reverse(right.points);
  std::ranges::reverse(right.points_px);
  std::ranges::reverse(right.sigma);
  map.curves.push_back(right);
  const auto view = AsCompressorMap(map);
  ASSERT_TRUE(view);
  ASSERT_EQ(view->speed_lines.size(), 5u);
  EXPECT_EQ(view->speed_lines[2].line.points, whole);
  EXPECT_THAT(view->speed_lines[2].line.curves, ElementsAre(2u, map.curves.size() - 1));

  // Two lines of one speed that run beside each other: the longer stays, the other is named.
  map = ExampleCompressorMap();
  map.curves[1].value = map.curves[2].value;
  const auto doubled = AsCompressorMap(map);
  ASSERT_TRUE(doubled);
  EXPECT_EQ(doubled->speed_lines.size(), 4u);
  ASSERT_EQ(doubled->left_out.size(), 1u);
  EXPECT_THAT(doubled->left_out[0], HasSubstr("90,000 rpm"));
}

TEST(CompressorMap, WhatCannotBeUsedIsNamed) {
  PerformanceMap map = ExampleCompressorMap();
  map.curves[0].value.reset();
  map.curves[1].points.resize(1);
  map.curves[2].unit = "m/s";
  map.curves.back().value.reset();
  const auto view = AsCompressorMap(map);
  ASSERT_TRUE(view);
  EXPECT_EQ(view->speed_lines.size(), 2u);
  EXPECT_EQ(view->islands.size(), 2u);
  EXPECT_EQ(view->left_out.size(), 4u);
}

TEST(CompressorMap, SheetWithPressureRatioAlongXIsTurned) {
  PerformanceMap map = ExampleCompressorMap();
  const auto upright = AsCompressorMap(map);
  std::swap(map.x, map.y);
  for (Curve& curve : map.curves) {
    for (Point2& p : curve.points) std::swap(p.x, p.y);
    for (Point2& p : curve.sigma) std::swap(p.x, p.y);
  }
  const auto turned = AsCompressorMap(map);
  ASSERT_TRUE(turned) << turned.error().message;
  EXPECT_EQ(turned->flow, upright->flow);
  for (std::size_t i = 0; i < 5; ++i) EXPECT_EQ(turned->speed_lines[i].line.points, upright->speed_lines[i].line.points);
}

TEST(CompressorMap, OtherKindsAreRefused) {
  EXPECT_EQ(AsCompressorMap(ExampleTurbineMap()).error().code, ErrorCode::kWrongKind);
  EXPECT_EQ(AsCompressorMap(PerformanceMap{}).error().code, ErrorCode::kWrongKind);
  PerformanceMap map = ExampleCompressorMap();
  map.y.reset();
  EXPECT_THAT(AsCompressorMap(map).error().message, HasSubstr("no axes"));
  map = ExampleCompressorMap();
  map.x->quantity = Quantity::kVelocityRatio;
  EXPECT_THAT(AsCompressorMap(map).error().message, HasSubstr("velocity ratio"));
  EXPECT_EQ(AsTurbineMap(ExampleCompressorMap()).error().code, ErrorCode::kWrongKind);
}

TEST(TurbineMap, OrderedWhateverTheOrderOfTheCurves) {
  std::mt19937 random(3);
  for (int round = 0; round < 20; ++round) {
    const auto map = AsTurbineMap(Shuffled(ExampleTurbineMap(), random));
    ASSERT_TRUE(map) << map.error().message;
    EXPECT_EQ(map->line_unit, "%");
    ASSERT_EQ(map->flow_lines.size(), 3u);
    ASSERT_EQ(map->efficiency_lines.size(), 3u);
    for (std::size_t i = 0; i < 3; ++i) {
      EXPECT_EQ(map->flow_lines[i].value, 20.0 + 40.0 * static_cast<double>(i));
      EXPECT_EQ(map->efficiency_lines[i].value, map->flow_lines[i].value);
      EXPECT_TRUE(std::ranges::is_sorted(map->flow_lines[i].line.points, {}, &Point2::x));
      EXPECT_TRUE(std::ranges::is_sorted(map->efficiency_lines[i].line.points, {}, &Point2::x));
    }
  }
}

TEST(TurbineMap, EfficienciesAreFractions) {
  PerformanceMap map = ExampleTurbineMap();
  const auto fractions = AsTurbineMap(map);
  map.efficiency->unit = "%";
  map.efficiency->min *= 100.0;
  map.efficiency->max *= 100.0;
  for (Curve& curve : map.curves)
    if (curve.role == CurveRole::kEfficiencyLine) {
      for (Point2& p : curve.points) p.y *= 100.0;
      for (Point2& p : curve.sigma) p.y *= 100.0;
    }
  for (const bool described : {true, false}) {
    if (!described) map.efficiency.reset();
    const auto percent = AsTurbineMap(map);
    ASSERT_TRUE(percent);
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t k = 0; k < 16; ++k) {
        EXPECT_NEAR(percent->efficiency_lines[i].line.points[k].y, fractions->efficiency_lines[i].line.points[k].y, 1e-12);
        EXPECT_NEAR(percent->efficiency_lines[i].line.sigma[k].y, fractions->efficiency_lines[i].line.sigma[k].y, 1e-12);
      }
  }
}

TEST(TurbineMap, OneLineNeedsNoValue) {
  PerformanceMap map = ExampleTurbineMap();
  map.curves.resize(2);
  for (Curve& curve : map.curves) {
    curve.value.reset();
    curve.unit.clear();
  }
  const auto view = AsTurbineMap(map);
  ASSERT_TRUE(view);
  EXPECT_EQ(view->flow_lines.size(), 1u);
  EXPECT_FALSE(view->flow_lines[0].value);
  EXPECT_TRUE(view->left_out.empty());
}

// A published compressor as a map: NASA HECC Data Archive, vaned diffuser, 12 mil clearance. Seven speed lines of measured readings; the 100 % line's leftmost reading is
// 10.3815 lbm/s at 4.8302, its choke 11.5493 lbm/s; leftmost of 70 %: 4.8832 at 2.3684, of 105 %: 11.5977 at 5.3414.
TEST(CompressorMap, MeasuredMapOfAPublishedCompressor) {
  std::ifstream file(std::string(ISLEBOOK_SHARED_DIR) + "/open_data/hecc/hecc_vaned_12mil.csv");
  if (!file) GTEST_SKIP() << "the open data folder is not beside this repository";
  std::string line;
  std::vector<std::string> names;
  std::map<int, std::vector<Point2>> by_speed;
  while (std::getline(file, line)) {
    if (line.empty() || line[0] == '#') continue;
    std::vector<std::string> cells;
    std::stringstream row(line);
    for (std::string cell; std::getline(row, cell, ',');) cells.push_back(cell);
    if (names.empty()) {
      names = cells;
      continue;
    }
    const auto value = [&](const char* name) {
      return std::stod(cells.at(static_cast<std::size_t>(std::ranges::find(names, name) - names.begin())));
    };
    by_speed[5 * static_cast<int>(std::lround(value("NC") / 5.0))].push_back({value("MDOTC"), value("TPR70")});
  }
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  map.x = Axis{Quantity::kCorrectedMassFlow, "lb/s", AxisScale::kLinear, 2.0, 14.0};
  map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 6.0};
  map.reference_conditions = ReferenceConditions{288.15, 101325.0, ReferenceConditions::Basis::kPrinted};
  for (auto& [percent, points] : by_speed) {
    std::ranges::sort(points, {}, [](const Point2& p) { return p.x - 3.0 * p.y; });  // along the line: flow rises, then pressure falls
    Curve curve;
    curve.role = CurveRole::kSpeedLine;
    curve.value = percent;
    curve.unit = "%";
    curve.points = points;
    map.curves.push_back(curve);
  }
  const auto view = AsCompressorMap(map);
  ASSERT_TRUE(view) << view.error().message;
  ASSERT_EQ(view->speed_lines.size(), 7u);
  const auto leftmost = [&](double speed) {
    const auto found = std::ranges::find(view->speed_lines, speed, &CompressorSpeedLine::speed);
    return *std::ranges::min_element(found->line.points, {}, &Point2::x);
  };
  EXPECT_NEAR(leftmost(100).x, 10.3815, 1e-4);
  EXPECT_NEAR(leftmost(100).y, 4.8302, 1e-4);
  EXPECT_NEAR(leftmost(70).x, 4.8832, 1e-4);
  EXPECT_NEAR(leftmost(70).y, 2.3684, 1e-4);
  EXPECT_NEAR(leftmost(105).x, 11.5977, 1e-4);
  EXPECT_NEAR(leftmost(105).y, 5.3414, 1e-4);
  const auto& line100 = std::ranges::find(view->speed_lines, 100.0, &CompressorSpeedLine::speed)->line.points;
  EXPECT_NEAR(std::ranges::max_element(line100, {}, &Point2::x)->x, 11.5493, 1e-4);
  for (const Finding& finding : ValidateMap(map)) EXPECT_NE(finding.severity, Severity::kError) << finding.sentence;
}

}  // namespace
}  // namespace islebook
