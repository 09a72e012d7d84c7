// What practice knows of turbochargers in series, as direction and size on engines of our own. Common practice, no source, where none is named.

#include <cmath>
#include <memory>
#include <numbers>
#include <optional>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/case_file.h"
#include "mapstore/bench/compression.h"
#include "tests/mapstore/bench/balance_case.h"
#include "tests/mapstore/bench/model_map.h"

namespace islebook {
namespace {

using bench_test::MapOfModel;
using bench_test::MapOfTurbine;
using bench_test::ModelForFlow;

constexpr double kPsi = 6894.757293168;
constexpr double kHorsepower = 745.699872;

std::unique_ptr<CompressorReader> Compressor(double choke_flow, double top_ratio) {
  auto reader = MakeCompressorReader(MapOfModel(ModelForFlow(choke_flow, top_ratio)), {.name = "stage", .map = "rowan"});
  EXPECT_TRUE(reader.has_value());
  return reader ? std::move(*reader) : nullptr;
}

std::unique_ptr<TurbineReader> Turbine(double flow, bool vanes = false) {
  paint::TurbineModel model;
  model.wheel = "Elm 60";
  model.flow = flow;
  model.has_vanes = vanes;
  model.best_opening = 0.9;
  const PerformanceMap map = MapOfTurbine(model);
  auto reader = MakeTurbineReader(&map, {.map = "elm"}, "stage");
  EXPECT_TRUE(reader.has_value());
  return reader ? std::move(*reader) : nullptr;
}

// A 6.6-liter diesel with a large and a small wheel in series.
struct Pair {
  std::unique_ptr<CompressorReader> large = Compressor(0.78, 3.4), small = Compressor(0.42, 3.2);
  std::unique_ptr<TurbineReader> large_turbine = Turbine(0.070), small_turbine = Turbine(0.042);
  std::string wastegate = "1 in", opening, stage, engine;

  std::string Text(const std::string& points) const {
    return bench_test::PairText("wastegate_diameter = \"" + wastegate + "\"\n" + (opening.empty() ? "" : "wastegate_opening = \"" + opening + "\"\n"),
                                points);
  }
  BenchResult Run(const std::string& points) const {
    const auto parsed = ParseCase(Text(points), "case.toml");
    EXPECT_TRUE(parsed.has_value()) << (parsed ? "" : parsed.error().message);
    if (!parsed) return {};
    auto result = RunBench(*parsed, {large.get(), small.get()}, {large_turbine.get(), small_turbine.get()});
    EXPECT_TRUE(result.has_value());
    if (!result) return {};
    for (const PointResult& point : result->points) EXPECT_EQ(point.failure, "") << point.name;
    return *result;
  }
  PointResult At(double rpm, const std::string& target, const std::string& more = "") const { return Run(fmt(rpm, target, more)).points.at(0); }
  static std::string fmt(double rpm, const std::string& target, const std::string& more) {
    return "[[point]]\nspeed = \"" + std::to_string(std::lround(rpm)) + " rpm\"\n" + target + "\n" + more + "\n";
  }
};

// Read at its own inlet, where twice the pressure stands, the small wheel sees about half the flow, and a small pressure ratio.
TEST(BalancePractice, SmallWheelSeesAboutHalfTheCorrectedFlow) {
  const PointResult point = Pair().At(2400, "boost = \"30 psi\"");
  const StageResult &large = point.stages[0], &small = point.stages[1];
  EXPECT_GT(small.inlet_Pa, 27 * kPsi);
  EXPECT_LT(small.inlet_Pa, 38 * kPsi);
  EXPECT_NEAR(small.reading.corrected_flow_kg_s / large.reading.corrected_flow_kg_s, 0.55, 0.1);
  EXPECT_LT(small.pressure_ratio, large.pressure_ratio);
  // Pressure ratios multiply but for what the pipes take.
  EXPECT_NEAR(large.pressure_ratio * small.pressure_ratio / point.overall_pressure_ratio, 1.0, 0.02);
  EXPECT_GT(large.reading.surge_margin.value_or(-1), 0.0);
  EXPECT_GT(small.reading.surge_margin.value_or(-1), 0.0);
}

TEST(BalancePractice, WastegateFromSevenEighthsToOneInch) {
  Pair pair;
  pair.wastegate = "0.875 in";
  const auto small = ParseCase(pair.Text(Pair::fmt(2000, "boost = \"1 bar\"", "")), "a");
  pair.wastegate = "1 in";
  const auto large = ParseCase(pair.Text(Pair::fmt(2000, "boost = \"1 bar\"", "")), "a");
  ASSERT_TRUE(small && large);
  EXPECT_NEAR(large->stages[1].turbine->wastegate_area_m2 / small->stages[1].turbine->wastegate_area_m2, 1.31, 0.005);
}

// An open port spares drive pressure where there is too much gas, and costs boost where there is too little.
TEST(BalancePractice, OpeningThePortHelpsAtTheTopAndCostsAtTheBottom) {
  Pair pair;
  pair.opening = "0 %";
  const PointResult shut_top = pair.At(3300, "boost = \"30 psi\""), shut_bottom = pair.At(1500, "boost = \"30 psi\"");
  pair.opening = "60 %";
  const PointResult open_top = pair.At(3300, "boost = \"30 psi\""), open_bottom = pair.At(1500, "boost = \"30 psi\"");
  EXPECT_LT(open_top.exhaust->drive_Pa, shut_top.exhaust->drive_Pa - 5 * kPsi);
  EXPECT_LT(open_top.exhaust->drive_ratio, shut_top.exhaust->drive_ratio);
  EXPECT_LT(open_bottom.manifold_Pa, shut_bottom.manifold_Pa - 0.5 * kPsi);
  EXPECT_LT(*open_bottom.power_W, *shut_bottom.power_W);
}

// Same boost, larger port: it stands less open, and lets more past at the end of its travel.
TEST(BalancePractice, LargerPortReachesTheTargetWhereASmallOneIsWideOpen) {
  Pair pair;
  pair.wastegate = "0.5 in";
  const PointResult small = pair.At(3300, "boost = \"30 psi\"");
  EXPECT_EQ(small.stages[1].turbine->regulation, Regulation::kOpen);
  EXPECT_GT(small.exhaust->target_ratio, 1.01);
  pair.wastegate = "1.5 in";
  const PointResult large = pair.At(3300, "boost = \"30 psi\"");
  EXPECT_EQ(large.stages[1].turbine->regulation, Regulation::kHolding);
  EXPECT_NEAR(large.exhaust->target_ratio, 1.0, 1e-6);
  EXPECT_LT(large.exhaust->drive_Pa, small.exhaust->drive_Pa);
}

// The most power at a speed before a compressor leaves its map or goes over its speed.
double PowerCeiling(const Pair& pair, double rpm) {
  double low = 250, high = 1200;  // hp
  for (int i = 0; i < 16; ++i) {
    const double half = 0.5 * (low + high);
    const PointResult point = pair.At(rpm, "power = \"" + std::to_string(half) + " hp\"");
    bool holds = std::abs(point.exhaust->target_ratio - 1.0) < 1e-3;
    for (const StageResult& stage : point.stages)
      holds = holds && stage.reading.region != MapRegion::kPastChoke && stage.reading.region != MapRegion::kOverSpeed;
    (holds ? low : high) = half;
  }
  return low;
}

TEST(BalancePractice, LargeCompressorRaisesThePowerCeilingAndSmallOneHardly) {
  const double step = std::pow(80.0 / 75.0, 2);  // five millimeters in a 75 mm inducer
  Pair pair;
  pair.wastegate = "2 in";
  const double base = PowerCeiling(pair, 3000);
  pair.large = Compressor(0.78 * step, 3.4);
  const double larger_large = PowerCeiling(pair, 3000);
  pair.large = Compressor(0.78, 3.4);
  pair.small = Compressor(0.42 * step, 3.2);
  const double larger_small = PowerCeiling(pair, 3000);
  EXPECT_GT(base, 300);
  EXPECT_GT(larger_large - base, 20);  // 40 to 50 hp at 700 to 750 hp: direction and order
  EXPECT_LT(larger_large - base, 150);
  EXPECT_LT(larger_small - base, 0.4 * (larger_large - base));
}

// Held to the same manifold pressure higher up, the large compressor's point moves up and to the right.
TEST(BalancePractice, AltitudeMovesPointsUpAndToTheRight) {
  const Pair pair;
  const PointResult low = pair.At(2600, "manifold_pressure = \"36 psia\"", "altitude = \"0 m\""),
                    high = pair.At(2600, "manifold_pressure = \"36 psia\"", "altitude = \"2500 m\"");
  EXPECT_GT(high.overall_pressure_ratio, 1.2 * low.overall_pressure_ratio);
  EXPECT_GT(high.stages[0].pressure_ratio, low.stages[0].pressure_ratio);
  EXPECT_GT(high.stages[0].reading.map_flow, 1.1 * low.stages[0].reading.map_flow);
}

// A set that is right at 3,000 rpm is not right at 4,000: the small turbine drives the pressure before it up. A larger one moves that limit up by a few hundred rpm.
TEST(BalancePractice, DrivePressureLimitsSpeedAndALargerSmallTurbineBuysSome) {
  const auto limit = [](const Pair& pair) {  // where drive pressure passes boost by a third
    double low = 1800, high = 5000;
    for (int i = 0; i < 18; ++i) {
      const double half = 0.5 * (low + high);
      const PointResult point = pair.At(half, "boost = \"30 psi\"");
      (point.exhaust->drive_ratio < 1.33 ? low : high) = half;
    }
    return low;
  };
  Pair pair;
  const PointResult at_3000 = pair.At(3000, "boost = \"30 psi\""), at_4000 = pair.At(4000, "boost = \"30 psi\"");
  EXPECT_LT(at_3000.exhaust->drive_ratio, 1.33);
  EXPECT_GT(at_4000.exhaust->drive_ratio, 1.33);
  const double before = limit(pair);
  pair.small_turbine = Turbine(0.042 * 1.12);
  const double after = limit(pair);
  EXPECT_GT(after - before, 100);  // 300 to 400 rpm: direction and order
  EXPECT_LT(after - before, 1000);
}

// All the exhaust must pass the small turbine: as speed rises it is there that expansion grows, not at the large one's port.
TEST(BalancePractice, SmallTurbineIsTheFirstChokePoint) {
  Pair pair;
  pair.opening = "0 %";
  const PointResult slow = pair.At(2000, "boost = \"30 psi\""), fast = pair.At(3600, "boost = \"30 psi\"");
  EXPECT_GT(fast.exhaust->drive_Pa / slow.exhaust->drive_Pa, 1.2);
  EXPECT_GT(fast.stages[1].turbine->inlet_Pa - fast.stages[1].turbine->outlet_Pa,
            fast.stages[0].turbine->inlet_Pa - fast.stages[0].turbine->outlet_Pa);
}

// Nearly closed while there is little gas, open with load.
TEST(BalancePractice, VanesOpenWithLoad) {
  const auto compressor = Compressor(0.42, 3.4);
  const auto turbine = Turbine(0.050, true);
  double before = -1.0;
  for (const int rpm : {1700, 2000, 2400, 2900}) {
    const auto parsed = ParseCase(R"([engine]
displacement = "6.6 L"
[[stage]]
compressor = "rowan"
turbine = "yew"
)" + Pair::fmt(rpm, "boost = \"1.1 bar\"", ""),
                                  "case.toml");
    ASSERT_TRUE(parsed.has_value()) << parsed.error().message;
    const auto result = RunBench(*parsed, {compressor.get()}, {turbine.get()});
    ASSERT_TRUE(result && result->points[0].failure.empty());
    const double opening = result->points[0].stages[0].turbine->opening;
    EXPECT_GT(opening, before) << rpm;
    before = opening;
  }
  EXPECT_GT(before, 0.4);
}

// Compressors alone, without turbines, at a boost of 30 psi: where each wheel stands on its map.
std::vector<std::optional<MapRegion>> RegionsAt(double rpm, const std::vector<const CompressorReader*>& compressors) {
  std::string text = "[engine]\ndisplacement = \"6.6 L\"\n";
  for (std::size_t i = 0; i < compressors.size(); ++i) text += "[[stage]]\nname = \"" + std::to_string(i + 1) + "\"\ncompressor = \"rowan\"\n";
  const auto parsed = ParseCase(text + Pair::fmt(rpm, "boost = \"30 psi\"", ""), "case.toml");
  EXPECT_TRUE(parsed.has_value()) << (parsed ? "" : parsed.error().message);
  if (!parsed) return {};
  const auto result = RunBench(*parsed, compressors);
  EXPECT_TRUE(result && result->points[0].failure.empty());
  std::vector<std::optional<MapRegion>> regions;
  if (result)
    for (const StageResult& stage : result->points[0].stages) regions.push_back(stage.reading.region);
  return regions;
}

// At low speed and high load the large wheel alone surges; at 3,000 to 3,500 rpm the small wheel alone has run out of flow. The pair keeps both on their maps.
TEST(BalancePractice, ThePairStaysOnMapsThatEachWheelAloneLeaves) {
  const Pair pair;
  const CompressorReader *large = pair.large.get(), *small = pair.small.get();
  using testing::ElementsAre;
  using testing::Optional;
  EXPECT_THAT(RegionsAt(1500, {large}), ElementsAre(Optional(MapRegion::kLeftOfSurge)));
  // Out at the right, by choke or above the highest speed line.
  EXPECT_THAT(RegionsAt(3300, {small}), ElementsAre(Optional(testing::AnyOf(MapRegion::kPastChoke, MapRegion::kOverSpeed))));
  for (const double rpm : {1500.0, 2000.0, 2600.0, 3300.0})
    EXPECT_THAT(RegionsAt(rpm, {large, small}), ElementsAre(Optional(MapRegion::kOnMap), Optional(MapRegion::kOnMap))) << rpm;
}

// The larger wheel turns the turbine slower, away from its best velocity ratio (0.68 of the model): the same work then takes a larger expansion, and behind the same outlet
// that is drive pressure.
TEST(BalancePractice, ASlowerTurbineMeansMoreDrivePressure) {
  const auto turbine = Turbine(0.050);
  const auto gas = WorkingGas::LeanExhaust(24.0, 1.85, 0.0);
  ASSERT_TRUE(turbine && gas.has_value());
  constexpr double kInlet_K = 873.15, kOutlet_Pa = 110000.0, kBest_rpm = 102000.0;
  const auto work = [&](double expansion_ratio, double rpm) {
    const TurbineReading reading = turbine->Read(
        {.inlet_K = kInlet_K, .inlet_Pa = kOutlet_Pa * expansion_ratio, .expansion_ratio = expansion_ratio, .speed_rev_s = rpm / 60}, *gas);
    EXPECT_FALSE(reading.efficiency_beyond) << rpm << " rpm at " << expansion_ratio;
    return Expand(*gas, kInlet_K, expansion_ratio, reading.efficiency)->work_J_kg;
  };
  const double wanted = work(2.0, kBest_rpm);
  double before = 2.0;
  for (const double share : {0.85, 0.7}) {
    double low = 1.6, high = 2.9;
    for (int i = 0; i < 30; ++i) {
      const double half = 0.5 * (low + high);
      (work(half, share * kBest_rpm) < wanted ? low : high) = half;
    }
    EXPECT_GT(low, 1.01 * before) << share;
    before = low;
  }
}

// A larger wheel turns slower for the same pressure ratio.
TEST(BalancePractice, LargerWheelTurnsSlower) {
  const Pair pair;
  paint::CompressorModel large = ModelForFlow(0.9, 3.4);
  large.design_rpm *= 83.0 / 96.0;
  const auto reader = MakeCompressorReader(MapOfModel(large), {.name = "stage", .map = "oak"});
  ASSERT_TRUE(reader.has_value());
  const CompressorReading a = pair.large->Read({0.45, 298, 98000, 2.2}), b = (*reader)->Read({0.45 * 0.9 / 0.78, 298, 98000, 2.2});
  ASSERT_TRUE(a.speed && b.speed);
  EXPECT_LT(*b.speed, 0.95 * *a.speed);
}

// Drive pressure above boost costs work; what a turbine must give follows the textbook balance of a shaft (Isermann, Combustion Engine Diagnosis, eqs. 5.4.14 to 5.4.18,
// constant heat capacities) within what varying heat capacities make.
TEST(BalancePractice, ShaftFollowsTheTextbookBalance) {
  const PointResult point = Pair().At(2600, "boost = \"30 psi\"");
  for (const StageResult& stage : point.stages) {
    const TurbineState& turbine = *stage.turbine;
    const double cp = 1150.0, gamma = 1.335;  // near 800 K at an air-fuel ratio of 22 (shared table of lean exhaust, 3.3)
    ShaftBalance shaft{.overall_efficiency = stage.efficiency * turbine.reading.efficiency * 0.97,
                       .mass_ratio = turbine.flow_kg_s / stage.flow_kg_s,
                       .compressor_heat_capacity = 1009.0,
                       .compressor_gamma = 1.398,
                       .compressor_inlet_K = stage.inlet_K,
                       .turbine_heat_capacity = cp,
                       .turbine_gamma = gamma,
                       .turbine_inlet_K = turbine.inlet_K};
    EXPECT_NEAR(DrivenPressureRatio(shaft, turbine.expansion_ratio) / stage.pressure_ratio, 1.0, 0.02);
  }
}

}  // namespace
}  // namespace islebook
