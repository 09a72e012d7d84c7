// Maps on common axes: units, reference conditions, orientation, and what is said about them.

#include "mapstore/query/common_axes.h"

#include <cmath>

#include <gtest/gtest.h>

namespace islebook {
namespace {

PerformanceMap Map(const std::string& unit, Quantity quantity, const std::optional<ReferenceConditions>& reference) {
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  map.x = Axis{quantity, unit, AxisScale::kLinear, 0.0, 2.0};
  map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 3.0};
  map.reference_conditions = reference;
  map.curves.push_back(
      {.role = CurveRole::kSpeedLine, .value = 100000.0, .unit = "rpm", .points = {{1.0, 2.0}, {1.5, 1.8}}, .sigma = {{0.01, 0.02}, {0.01, 0.02}}});
  map.curves.push_back({.role = CurveRole::kEfficiencyIsland, .value = 0.7, .unit = "1", .points = {{1.2, 1.9}, {1.3, 1.9}}});
  return map;
}

const ReferenceConditions kStandard{288.15, 101325.0, ReferenceConditions::Basis::kPrinted};
const ReferenceConditions kWarm{302.6, 96170.0, ReferenceConditions::Basis::kPrinted};

TEST(CommonAxesTest, AVolumeFlowBecomesAMassFlowByTheDensityOfTheStandardDay) {
  const auto brought =
      BringToCommonAxes({Map("kg/s", Quantity::kCorrectedMassFlow, kStandard), Map("m3/s", Quantity::kCorrectedVolumeFlow, kStandard)});
  ASSERT_TRUE(brought) << brought.error().message;
  // 1.2250 kg/m3 at 288.15 K and 101325 Pa: ISO 2533:1975, table of the standard atmosphere at 0 m.
  EXPECT_NEAR((*brought)[1].flow_factor, 1.2250, 5e-5);
  EXPECT_NEAR((*brought)[1].map.curves[0].points[1].x, 1.5 * 1.2250, 1e-4);
  EXPECT_EQ((*brought)[1].map.x->quantity, Quantity::kCorrectedMassFlow);
  EXPECT_EQ((*brought)[1].map.curves[1].value, 0.7);
}

TEST(CommonAxesTest, ReferenceConditionsMoveFlowAndSpeedAndTheirSigma) {
  const auto brought = BringToCommonAxes({Map("kg/s", Quantity::kCorrectedMassFlow, kStandard), Map("kg/s", Quantity::kCorrectedMassFlow, kWarm)});
  ASSERT_TRUE(brought);
  // W_c = W sqrt(T / T_ref) / (p / p_ref), N_c = N / sqrt(T / T_ref): NASA/TM-2014-216638.
  const double flow = std::sqrt(302.6 / 288.15) * 101325.0 / 96170.0, speed = std::sqrt(288.15 / 302.6);
  const MapOnAxes& warm = (*brought)[1];
  EXPECT_NEAR(warm.flow_factor, flow, 1e-9);
  EXPECT_NEAR(warm.speed_factor, speed, 1e-9);
  EXPECT_NEAR(*warm.map.curves[0].value, 100000.0 * speed, 1e-3);
  EXPECT_NEAR(warm.map.curves[0].sigma[0].x, 0.01 * flow, 1e-9);
  EXPECT_EQ(warm.map.curves[0].sigma[0].y, 0.02);
  EXPECT_EQ(warm.map.reference_conditions, kStandard);
  ASSERT_EQ(warm.words.size(), 1u);
  EXPECT_NE(warm.words[0].find("96.17 kPa"), std::string::npos) << warm.words[0];
  EXPECT_TRUE((*brought)[0].words.empty());
  // The other way round the first map rules.
  const auto other = BringToCommonAxes({Map("kg/s", Quantity::kCorrectedMassFlow, kWarm), Map("kg/s", Quantity::kCorrectedMassFlow, kStandard)});
  ASSERT_TRUE(other);
  EXPECT_NEAR((*other)[1].flow_factor, 1 / flow, 1e-9);
}

TEST(CommonAxesTest, ASheetTurnedRoundIsTurnedBack) {
  PerformanceMap turned = Map("kg/s", Quantity::kCorrectedMassFlow, kStandard);
  std::swap(turned.x, turned.y);
  for (Curve& curve : turned.curves)
    for (Point2& p : curve.points) std::swap(p.x, p.y);
  const auto brought = BringToCommonAxes({Map("kg/s", Quantity::kCorrectedMassFlow, kStandard), turned});
  ASSERT_TRUE(brought);
  EXPECT_TRUE((*brought)[1].turned);
  EXPECT_EQ((*brought)[1].map.curves[0].points, (*brought)[0].map.curves[0].points);
}

TEST(CommonAxesTest, WhatStandsAgainstComparingIsSaid) {
  PerformanceMap assumed = Map("kg/s", Quantity::kCorrectedMassFlow, kStandard), unknown = assumed, to_static = assumed;
  assumed.reference_conditions->basis = ReferenceConditions::Basis::kAssumed;
  unknown.reference_conditions.reset();
  to_static.y->quantity = Quantity::kPressureRatioTotalToStatic;
  const auto brought = BringToCommonAxes({Map("kg/s", Quantity::kCorrectedMassFlow, kStandard), assumed, unknown, to_static});
  ASSERT_TRUE(brought);
  EXPECT_TRUE((*brought)[0].doubts.empty());
  for (std::size_t i = 1; i < 4; ++i) EXPECT_EQ((*brought)[i].doubts.size(), 1u) << i;
  EXPECT_EQ((*brought)[2].flow_factor, 1.0);
}

TEST(CommonAxesTest, OneMapAloneIsSeenInAnotherUnit) {
  const auto brought = BringToCommonAxes({Map("kg/s", Quantity::kCorrectedMassFlow, kStandard)}, {.flow_unit = "lb/min"});
  ASSERT_TRUE(brought);
  // The pound is 0.45359237 kg: international yard and pound agreement, 1959.
  EXPECT_NEAR((*brought)[0].map.curves[0].points[0].x, 60 / 0.45359237, 1e-6);
  EXPECT_EQ((*brought)[0].map.x->unit, "lb/min");
}

TEST(CommonAxesTest, WhatCannotBeLaidOverEachOtherIsRefusedWithItsNumber) {
  PerformanceMap turbine;
  turbine.kind = MapKind::kTurbine;
  turbine.x = Axis{Quantity::kExpansionRatioTotalToStatic, "1", AxisScale::kLinear, 1, 4};
  turbine.y = Axis{Quantity::kTurbineFlowParameter, "kg s-1 K0.5 kPa-1", AxisScale::kLinear, 0, 0.1};
  PerformanceMap bare;
  for (const PerformanceMap& other : {turbine, bare}) {
    const auto refused = BringToCommonAxes({Map("kg/s", Quantity::kCorrectedMassFlow, kStandard), other});
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().code, ErrorCode::kWrongKind);
    EXPECT_EQ(refused.error().place, "2");
  }
}

}  // namespace
}  // namespace islebook
