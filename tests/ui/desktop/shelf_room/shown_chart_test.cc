// What the chart shows and answers, without a window.

#include <gtest/gtest.h>

#include "tests/ui/desktop/shelf_room/shelf_room_support.h"
#include "ui/desktop/shelf_room/shown_chart.h"

namespace islebook {
namespace {

TEST(ShownChartTest, ReadsBothMapsOfAComparisonAsEachIsPrinted) {
  QTemporaryDir folder;
  ShelfOnTheSide side(folder.filePath("shelf.db").toStdString());
  ASSERT_TRUE(side.is_open());
  PerformanceMap map = ScaledCompressor("A", 1.0, 1.0);
  map.reference_conditions = ReferenceConditions{288.15, 101325.0, ReferenceConditions::Basis::kPrinted};
  side.Add("A", map);
  // The same machine as a sheet would print it whose flows and speeds are corrected to 302.6 K and 96.17 kPa:
  // W_c = W sqrt(T / T_ref) / (p / p_ref), N_c = N / sqrt(T / T_ref) (NASA/TM-2014-216638).
  PerformanceMap other = map;
  const double flow = std::sqrt(288.15 / 302.6) * 96170.0 / 101325.0, speed = std::sqrt(302.6 / 288.15);
  other.reference_conditions = ReferenceConditions{302.6, 96170.0, ReferenceConditions::Basis::kPrinted};
  other.x->max *= flow;
  for (Curve& curve : other.curves) {
    for (Point2& p : curve.points) p.x *= flow;
    for (Point2& s : curve.sigma) s.x *= flow;
    if (curve.role == CurveRole::kSpeedLine) *curve.value *= speed;
  }
  side.Add("B", other);
  const Result<ShownChart> chart = OpenShownChart(*side, {"A", "B"}, UnitHabit::kUs);
  ASSERT_TRUE(chart) << chart.error().message;
  ASSERT_EQ(chart->compared.size(), 2u);
  const MapOnAxes& second = chart->compared[1].on_axes;
  EXPECT_NEAR(second.flow_factor * flow, 1.0, 1e-6);
  EXPECT_NEAR(second.speed_factor * speed, 1.0, 1e-6);
  ASSERT_EQ(second.words.size(), 1u);
  EXPECT_NE(second.words[0].find("302.6 K"), std::string::npos) << second.words[0];
  // Laid over each other they are one map again.
  for (std::size_t i = 0; i < map.curves.size(); ++i) {
    const Curve &a = chart->compared[0].on_axes.map.curves[i], &b = second.map.curves[i];
    for (std::size_t k = 0; k < a.points.size(); ++k) EXPECT_NEAR(a.points[k].x, b.points[k].x, 1e-6 * std::abs(a.points[k].x) + 1e-9);
    if (a.role == CurveRole::kSpeedLine) {
      EXPECT_NEAR(*a.value, *b.value, 1e-6 * *a.value);
    }
  }
}

TEST(ShownChartTest, DifferentKindsAreRefusedByName) {
  const auto refused = PrepareComparison({"Alder 52", "Elm 58"}, {ScaledCompressor("A", 1, 1), ExampleTurbineMap()});
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, ErrorCode::kWrongKind);
  EXPECT_EQ(refused.error().place, "Elm 58");
}

}  // namespace
}  // namespace islebook
