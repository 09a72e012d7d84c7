// Turbine maps measured with another gas than the engine's, and openings that follow a schedule.

#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/bench/nozzle.h"
#include "mapstore/bench/turbine_reader.h"
#include "tests/mapstore/bench/balance_case.h"
#include "tests/mapstore/bench/balance_checks.h"

namespace islebook {
namespace {

using bench_test::DrawCase;
using bench_test::DrawnCase;
using testing::HasSubstr;

// Corrected to the standard day: two lines of speed over the expansion ratio.
PerformanceMap MapOf(double low_rpm, double high_rpm, double (*flow)(double ratio), double (*efficiency)(double rpm)) {
  PerformanceMap map;
  map.kind = MapKind::kTurbine;
  map.x = Axis{Quantity::kExpansionRatioTotalToStatic, "1", AxisScale::kLinear, 1.0, 4.0};
  map.y = Axis{Quantity::kCorrectedMassFlow, "kg/s", AxisScale::kLinear, 0.0, 5.0};
  map.efficiency = Axis{Quantity::kEfficiencyTotalToStatic, "1", AxisScale::kLinear, 0.0, 1.0};
  map.reference_conditions = ReferenceConditions{288.15, 101325.0, ReferenceConditions::Basis::kPrinted};
  for (const double rpm : {low_rpm, high_rpm}) {
    Curve line{.role = CurveRole::kFlowLine, .value = rpm, .unit = "rpm"};
    Curve efficient{.role = CurveRole::kEfficiencyLine, .value = rpm, .unit = "rpm"};
    for (int k = 0; k <= 60; ++k) {
      const double ratio = 1.2 + 2.4 * k / 60;
      line.points.push_back({ratio, flow(ratio)});
      efficient.points.push_back({ratio, efficiency(rpm)});
    }
    line.sigma.assign(line.points.size(), {1e-4, 1e-4});
    efficient.sigma = line.sigma;
    map.curves.push_back(std::move(line));
    map.curves.push_back(std::move(efficient));
  }
  return map;
}

std::unique_ptr<TurbineReader> ReaderOf(const PerformanceMap& map, std::optional<double> air_K) {
  TurbineStage stage;
  stage.map = "elm";
  stage.map_air_K = air_K;
  auto reader = MakeTurbineReader(&map, stage, "stage");
  EXPECT_TRUE(reader.has_value());
  return std::move(*reader);
}

WorkingGas OfGamma(double gamma) { return WorkingGas::Perfect(287.05, 287.05 * gamma / (gamma - 1.0)); }

// Kofskey, Roelke and Haas, NASA TN D-7625 (1974), table I: engine conditions (gamma 1.320) 1089 K, 26.34 N/cm2, 34700 rpm, 3.28 kg/s; equivalent, in standard air, 18075 rpm,
// 2.507 kg/s. And Haas and Kofskey, NASA TN D-7881 (1975), table I: 1.2885, 1478 K, 91.2 N/cm2, 70000 rpm, 0.952 kg/s; 31460 rpm, 0.246 kg/s.
TEST(TurbineMapGasTest, EngineValuesOfPublishedTurbines) {
  // Flow and speed of the equivalent column stand on the map; the efficiency tells at which speed it was read.
  const auto by_speed = [](double rpm) { return 0.5 + 1e-5 * (rpm - 18075.0); };
  const PerformanceMap first = MapOf(16000, 20000, [](double) { return 2.507; }, by_speed);
  const TurbineReading one =
      ReaderOf(first, 288.15)->Read({.inlet_K = 1089, .inlet_Pa = 26.34e4, .expansion_ratio = 1.9, .speed_rev_s = 34700.0 / 60}, OfGamma(1.320));
  EXPECT_NEAR(one.flow_kg_s / 3.28, 1.0, 0.002);
  EXPECT_NEAR(*one.parameter / 18075, 1.0, 0.0005);
  EXPECT_NEAR(one.efficiency, 0.5, 1e-3);
  // Read as it stands the map gives some 2.2 % more, which is what plain sqrt(T)/p is off against the printed flow (2.453 for 2.507 kg/s).
  const TurbineReading plain =
      ReaderOf(first, std::nullopt)
          ->Read({.inlet_K = 1089, .inlet_Pa = 26.34e4, .expansion_ratio = 1.9, .speed_rev_s = 34700.0 / 60}, OfGamma(1.320));
  EXPECT_NEAR(plain.flow_kg_s / one.flow_kg_s, 1.022, 0.002);
  EXPECT_NEAR(*plain.parameter / 17849, 1.0, 0.0005);

  const PerformanceMap second = MapOf(28000, 33000, [](double) { return 0.246; }, [](double) { return 0.8; });
  const TurbineReading two =
      ReaderOf(second, 288.15)->Read({.inlet_K = 1478, .inlet_Pa = 91.2e4, .expansion_ratio = 2.7, .speed_rev_s = 70000.0 / 60}, OfGamma(1.2885));
  EXPECT_NEAR(two.flow_kg_s / 0.952, 1.0, 0.004);
  EXPECT_NEAR(*two.parameter / 31460, 1.0, 0.0005);
}

// A nozzle measured with air and run on exhaust: choked exactly what isentropic flow says (NACA Report 1135), unchoked near it.
TEST(TurbineMapGasTest, ANozzlePassesWhatIsentropicFlowSays) {
  constexpr double kArea = 10e-4;
  const PerformanceMap map = MapOf(
      20000, 30000, [](double ratio) { return kArea * 101325.0 / std::sqrt(287.05 * 288.15) * FlowFunction(1.4, ratio); },
      [](double) { return 0.7; });
  const WorkingGas exhaust = *WorkingGas::LeanExhaust(24);
  const auto reader = ReaderOf(map, 288.15), plain = ReaderOf(map, std::nullopt);
  for (const double ratio : {1.4, 1.7, 2.2, 3.0}) {
    const TurbineInlet inlet{.inlet_K = 900, .inlet_Pa = 3e5, .expansion_ratio = ratio, .speed_rev_s = 700};
    const double flow = kArea * 3e5 / std::sqrt(exhaust.GasConstant() * 900) * FlowFunction(exhaust.Gamma(900), ratio);
    EXPECT_NEAR(reader->Read(inlet, exhaust).flow_kg_s / flow, 1.0, ratio > 2.0 ? 1e-3 : 4e-3) << ratio;
    EXPECT_GT(plain->Read(inlet, exhaust).flow_kg_s / flow, 1.01) << ratio;
  }
  // Hot air is nearer to exhaust than cold air is.
  const TurbineInlet inlet{.inlet_K = 900, .inlet_Pa = 3e5, .expansion_ratio = 2.5, .speed_rev_s = 700};
  const double cold = reader->Read(inlet, exhaust).flow_kg_s, hot = ReaderOf(map, 873.15)->Read(inlet, exhaust).flow_kg_s,
               none = plain->Read(inlet, exhaust).flow_kg_s;
  EXPECT_LT(cold, hot);
  EXPECT_LT(hot, none);
}

TEST(TurbineScheduleTest, VanesStandWhereTheScheduleHasThem) {
  paint::Random random(41);
  int solved = 0;
  for (int i = 0; i < 200 && solved < 5; ++i) {
    DrawnCase drawn = DrawCase(random, 1);
    const TurbineFacts& facts = drawn.turbines[0]->facts();
    if (!facts.has_vanes) continue;
    const double here = drawn.asked.points[0].speed_rev_s;
    TurbineStage& turbine = *drawn.asked.stages[0].turbine;
    turbine.wastegate_area_m2 = 0.0;
    turbine.vane_opening = HeldOpening({{0.8 * here, 0.3}, {1.4 * here, 0.6}});
    const auto state = bench_test::SolveDrawn(drawn);
    if (!state) continue;
    ++solved;
    EXPECT_NEAR(*state->turbines[0].vane_opening * facts.parameter_factor, 0.4, 1e-9);
    EXPECT_EQ(state->turbines[0].regulation, Regulation::kHeld);
    bench_test::ExpectConserved(drawn, *state);
    drawn.asked.stages[0].turbine->vane_opening = 0.4;
    const auto fixed = bench_test::SolveDrawn(drawn);
    ASSERT_TRUE(fixed.has_value());
    EXPECT_NEAR(fixed->air.air_flow_kg_s / state->air.air_flow_kg_s, 1.0, 1e-9);
    // An opening beyond the map's lines is refused, wherever on the schedule it stands.
    drawn.asked.stages[0].turbine->vane_opening = HeldOpening({{0.1 * here, 0.3}, {9 * here, 1.2}});
    const auto beyond = bench_test::SolveDrawn(drawn);
    ASSERT_FALSE(beyond.has_value());
    EXPECT_THAT(beyond.error().message, HasSubstr("lies outside the lines"));
  }
  EXPECT_EQ(solved, 5);
}

}  // namespace
}  // namespace islebook
