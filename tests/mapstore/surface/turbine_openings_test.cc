#include "mapstore/surface/turbine_openings.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace islebook {
namespace {

using testing::HasSubstr;

// A turbine with vanes by formulas: a nozzle whose throat opens with the vanes, efficiency a parabola over the blade-jet speed ratio whose best value depends on them.
double FlowOf(double opening, double speed, double ratio) {
  const double area = 0.010 + 0.016 * opening - 0.004 * opening * opening;
  return area * std::sqrt(1.0 - std::pow(ratio, -2.0)) * (1.0 - 0.05 * speed / 1e5);
}
double EfficiencyOf(double opening, double speed, double ratio) {
  const double jet = std::sqrt(1.0 - std::pow(ratio, -0.254)), x = 0.55 * speed / 1e5 / jet;
  return 0.76 - 0.12 * (opening - 0.6) * (opening - 0.6) - 1.1 * (x - 0.95) * (x - 0.95) * 0.5;
}

PerformanceMap MapAt(double opening, const std::string& unit = "rpm") {
  PerformanceMap map;
  map.kind = MapKind::kTurbine;
  map.x = Axis{Quantity::kExpansionRatioTotalToStatic, "1", AxisScale::kLinear, 1.0, 4.0};
  map.y = Axis{Quantity::kTurbineFlowParameter, "kg s-1 K0.5 kPa-1", AxisScale::kLinear, 0.0, 0.05};
  map.efficiency = Axis{Quantity::kEfficiencyTotalToStatic, "1", AxisScale::kLinear, 0.3, 0.9};
  for (const double speed : {60000.0, 80000.0, 100000.0, 120000.0}) {
    Curve flow, efficiency;
    flow.role = CurveRole::kFlowLine;
    efficiency.role = CurveRole::kEfficiencyLine;
    flow.value = efficiency.value = speed;
    flow.unit = efficiency.unit = unit;
    for (int k = 0; k < 60; ++k) {
      const double ratio = 1.3 + 2.0 * k / 59.0;
      flow.points.push_back({ratio, FlowOf(opening, speed, ratio)});
      efficiency.points.push_back({ratio, EfficiencyOf(opening, speed, ratio)});
    }
    map.curves.push_back(flow);
    map.curves.push_back(efficiency);
  }
  return map;
}

TurbineOpenings Built() {
  std::vector<TurbineAtOpening> maps;
  for (const double opening : {1.0, 0.2, 0.6, 0.4, 0.8}) maps.push_back({opening, *TurbineSurface::Build(MapAt(opening))});
  return *TurbineOpenings::Build(maps);
}

TEST(TurbineOpenings, VaneOpeningIsAFurtherCoordinate) {
  const TurbineOpenings turbine = Built();
  EXPECT_THAT(turbine.Openings(), testing::ElementsAre(0.2, 0.4, 0.6, 0.8, 1.0));
  for (double opening = 0.2; opening <= 1.0; opening += 0.05) {
    for (const double speed : {65000.0, 90000.0, 115000.0}) {
      for (const double ratio : {1.5, 2.2, 3.1}) {
        const std::optional<TurbineValue> flow = turbine.Flow(opening, speed, ratio), efficiency = turbine.Efficiency(opening, speed, ratio);
        ASSERT_TRUE(flow && efficiency) << opening;
        EXPECT_NEAR(FlowOf(opening, speed, ratio), flow->value, 4e-3 * flow->value) << opening;
        EXPECT_NEAR(EfficiencyOf(opening, speed, ratio), efficiency->value, 3e-3) << opening;
        const double step = 1e-3;
        EXPECT_NEAR((turbine.Flow(opening, speed, ratio + step)->value - turbine.Flow(opening, speed, ratio - step)->value) / (2 * step),
                    flow->by_expansion_ratio, 1e-3 * flow->value)
            << opening;
        EXPECT_NEAR((turbine.Flow(opening, speed + 50.0, ratio)->value - turbine.Flow(opening, speed - 50.0, ratio)->value) / 100.0,
                    flow->by_parameter, 1e-2 * flow->value / speed)
            << opening;
      }
    }
  }
}

TEST(TurbineOpenings, FlowTellsTheOpening) {
  const TurbineOpenings turbine = Built();
  const std::vector<double> found = turbine.OpeningsFor(90000.0, 2.0, turbine.Flow(0.53, 90000.0, 2.0)->value);
  ASSERT_EQ(1u, found.size());
  EXPECT_NEAR(0.53, found.front(), 1e-9);
  EXPECT_TRUE(turbine.OpeningsFor(90000.0, 2.0, 1.0).empty());
  EXPECT_TRUE(turbine.OpeningsFor(90000.0, 2.0, std::nan("")).empty());
}

TEST(TurbineOpenings, OutsideNothingIsSaid) {
  const TurbineOpenings turbine = Built();
  const double nan = std::nan(""), infinity = std::numeric_limits<double>::infinity();
  for (const double odd : {0.19, 1.01, -1.0, nan, infinity}) EXPECT_FALSE(turbine.Flow(odd, 90000.0, 2.0)) << odd;
  for (const double odd : {50000.0, 130000.0, nan, infinity}) EXPECT_FALSE(turbine.Efficiency(0.5, odd, 2.0)) << odd;
  for (const double odd : {0.9, 50.0, nan, infinity}) EXPECT_FALSE(turbine.Flow(0.5, 90000.0, odd)) << odd;
}

TEST(TurbineOpenings, RefusesWhatItCannotUse) {
  const TurbineSurface surface = *TurbineSurface::Build(MapAt(0.5)), thousands = *TurbineSurface::Build(MapAt(0.5, "krpm")),
                       vanes = *TurbineSurface::Build(MapAt(0.5, "%"));
  EXPECT_EQ(ErrorCode::kNotEnoughCurves, TurbineOpenings::Build({}).error().code);
  EXPECT_EQ(ErrorCode::kNotEnoughCurves, TurbineOpenings::Build({{0.5, surface}}).error().code);
  EXPECT_EQ(ErrorCode::kInvalidArgument, TurbineOpenings::Build({{0.5, surface}, {0.5, surface}}).error().code);
  EXPECT_EQ(ErrorCode::kInvalidArgument, TurbineOpenings::Build({{0.5, surface}, {std::nan(""), surface}}).error().code);
  EXPECT_EQ(ErrorCode::kInvalidArgument, TurbineOpenings::Build({{0.5, surface}, {0.6, thousands}}).error().code);
  EXPECT_EQ(ErrorCode::kWrongKind, TurbineOpenings::Build({{0.5, vanes}, {0.6, surface}}).error().code);
  EXPECT_THAT(TurbineOpenings::Build({{0.5, surface}, {0.6, vanes}}).error().message, HasSubstr("labeled with speeds"));
}

}  // namespace
}  // namespace islebook
