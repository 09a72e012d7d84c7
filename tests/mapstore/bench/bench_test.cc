#include "mapstore/bench/bench.h"

#include <cmath>
#include <memory>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "mapstore/bench/bench_json.h"
#include "mapstore/bench/case_file.h"
#include "mapstore/bench/compression.h"
#include "mapstore/bench/gas.h"
#include "tests/mapstore/bench/model_map.h"
#include "tests/mapstore/bench/run_case.h"

namespace islebook {
namespace {

using bench_test::Case;
using bench_test::MapOfModel;
using bench_test::ModelForFlow;
using bench_test::ModelMapOptions;
using bench_test::ModelReader;
using bench_test::RunCase;
using testing::AllOf;
using testing::HasSubstr;

constexpr double kPsi = 6894.757293168;
constexpr double kPoundPerMinute = 0.45359237 / 60;

// A machine of one efficiency at every point, on a map without edges.
class FlatReader : public CompressorReader {
 public:
  explicit FlatReader(double efficiency, ReferenceConditions reference = {}) : efficiency_(efficiency) {
    facts_.reference = reference;
    facts_.flow_unit = "kg/s";
    facts_.speed_unit = "rpm";
    facts_.speed_unit_si = 1.0 / 60;
    facts_.has_efficiency = true;
  }
  CompressorReading Read(const CompressorState& state) const override {
    CompressorReading reading;
    reading.corrected_flow_kg_s =
        state.flow_kg_s * std::sqrt(state.inlet_K / facts_.reference.temperature_K) * facts_.reference.pressure_Pa / state.inlet_Pa;
    reading.map_flow = reading.corrected_flow_kg_s;
    reading.corrected_speed = 50000.0;
    reading.speed = 50000.0 * std::sqrt(state.inlet_K / facts_.reference.temperature_K);
    reading.efficiency = efficiency_;
    reading.surge_margin = 0.2;
    reading.choke_margin = 0.2;
    reading.inside = true;
    return reading;
  }
  CompressorTrial Work(const CompressorState& state) const override { return bench_test::WorkFromReading(Read(state), facts_); }
  const CompressorFacts& facts() const override { return facts_; }

 private:
  double efficiency_;
  CompressorFacts facts_;
};

// Common practice, no source: 400 hp, air-fuel ratio 12, 0.55 lb/(hp h): 44.0 lb/min. A two-liter (122 cubic inch) four-stroke at 7,200 rpm, 92 %, 130 F in the
// manifold: 41.1 psia there and 43.1 behind a compressor with 2 psi of cooler loss.
TEST(BenchTest, WorkedAirDemand) {
  const FlatReader map(0.7);
  const BenchResult result = RunCase(Case(R"case(
[engine]
displacement = "122 in3"
speed = "7200 rpm"
volumetric_efficiency = "92 %"
power = "400 hp"
air_fuel_ratio = 12
brake_specific_fuel_consumption = "0.55 lb/(hp h)"
[ambient]
pressure = "14.7 psia"
temperature = "59 °F"
[air_path]
inlet_loss = "1 psi"
cooler_loss = "2 psi"
cooler_effectiveness = "100 %"
coolant_temperature = "130 °F"
[[stage]]
compressor = "x"
)case"),
                                     {&map});
  const PointResult& point = result.points.at(0);
  ASSERT_TRUE(point.failure.empty()) << point.failure;
  EXPECT_NEAR(point.air_flow_kg_s / kPoundPerMinute, 44.0, 0.01);
  EXPECT_NEAR(point.manifold_Pa / kPsi, 41.1, 0.1);  // the worked example rounds its gas constant and its zero of temperature
  EXPECT_NEAR(point.stages[0].outlet_Pa / kPsi, 43.1, 0.1);
  EXPECT_NEAR(point.stages[0].inlet_Pa / kPsi, 13.7, 1e-6);
  EXPECT_NEAR((point.manifold_K - 273.15) * 1.8 + 32, 130.0, 1e-6);
}

// Common practice, no source: 10 psi of boost at a barometer of 14.7 with 1 psi lost before the compressor is PR 1.80; and with 3 psi lost in the cooler and
// 0.5 psi before the compressor, PR 2.0 leaves 10.7 psi of boost, not 14.7.
TEST(BenchTest, PressureRatioHoldsTheLosses) {
  const FlatReader map(0.7);
  const char* text = R"case(
[engine]
displacement = "6 L"
speed = "2000 rpm"
[ambient]
pressure = "14.7 psia"
[[stage]]
compressor = "x"
[[point]]
boost = "10 psi"
inlet_loss = "1 psi"
cooler_loss = "0 psi"
[[point]]
boost = "10.7 psi"
inlet_loss = "0.5 psi"
cooler_loss = "3 psi"
)case";
  const BenchResult result = RunCase(Case(text), {&map});
  EXPECT_NEAR(result.points.at(0).stages[0].pressure_ratio, 1.80, 0.005);
  EXPECT_NEAR(result.points.at(1).stages[0].pressure_ratio, 2.00, 0.001);
}

// From the standard atmosphere (ISO 2533): at 10,000 ft the same mass of air stands 1.403 times further right on the map, and the same manifold pressure higher.
TEST(BenchTest, AltitudeMovesThePointUpAndRight) {
  const FlatReader map(0.7);
  const BenchResult result = RunCase(Case(R"case(
[engine]
displacement = "6 L"
speed = "2000 rpm"
air_flow = "0.2 kg/s"
[ambient]
altitude = ["0 m", "10000 ft"]
[air_path]
inlet_loss = "0 kPa"
cooler_effectiveness = "100 %"
coolant_temperature = "40 °C"
[[stage]]
compressor = "x"
)case"),
                                     {&map});
  const StageResult &low = result.points.at(0).stages[0], &high = result.points.at(1).stages[0];
  EXPECT_NEAR(high.reading.corrected_flow_kg_s / low.reading.corrected_flow_kg_s, 1.403, 0.0006);
  EXPECT_NEAR(result.points[0].manifold_Pa, result.points[1].manifold_Pa, 1e-6);
  EXPECT_NEAR(high.pressure_ratio / low.pressure_ratio, 101325 / 69681.6, 1e-4);
}

// One machine, two maps of it printed for different reference conditions (298 K and 100 kPa; 85 F and 28.4 inHg, 7.4 % apart from the standard day): the engine
// does not care. Also a map in volume flow, and one with tip speeds.
TEST(BenchTest, ReferenceConditionsAndUnitsOfTheMapDoNotMatter) {
  const paint::CompressorModel model = ModelForFlow(0.55, 3.8);
  const ModelMapOptions standard{.reference = {298.0, 100000.0, ReferenceConditions::Basis::kPrinted}};
  ModelMapOptions trade = standard;
  trade.reference = {302.594, 96173.4, ReferenceConditions::Basis::kPrinted};
  trade.flow_unit = "lb/min";
  trade.speed_unit = "krpm";
  paint::CompressorModel moved = model;
  const double flow = std::sqrt(298.0 / 302.594) * 96173.4 / 100000.0, speed = std::sqrt(302.594 / 298.0);
  moved.surge_flow *= flow;
  moved.choke_flow *= flow;
  moved.design_rpm *= speed;
  ModelMapOptions volume = standard;
  volume.flow_unit = "m3/h";
  const CompressorStage stage{.name = "charger", .map = "x"};
  const BenchCase asked = Case(R"case(
[engine]
displacement = "12 L"
speed = "1700 rpm"
boost = "1.5 bar"
[[stage]]
compressor = "x"
[[point]]
[[point]]
altitude = "1500 m"
)case");
  std::vector<BenchResult> results;
  for (const PerformanceMap& map : {MapOfModel(model, standard), MapOfModel(moved, trade), MapOfModel(model, volume)}) {
    const auto reader = MakeCompressorReader(map, stage);
    ASSERT_TRUE(reader.has_value()) << reader.error().message;
    results.push_back(RunCase(asked, {reader->get()}));
  }
  EXPECT_NEAR(flow, 0.926227 / 0.970475, 1e-5);  // published factors of both pairs against the standard day
  for (std::size_t p = 0; p < 2; ++p) {
    const PointResult& a = results[0].points[p];
    ASSERT_TRUE(a.stages[0].reading.inside);
    for (const std::size_t other : {1u, 2u}) {
      const PointResult& b = results[other].points[p];
      EXPECT_NEAR(b.air_flow_kg_s / a.air_flow_kg_s, 1.0, 2e-4);
      EXPECT_NEAR(b.stages[0].efficiency, a.stages[0].efficiency, 1e-3);
      EXPECT_NEAR(*b.stages[0].reading.speed * results[other].maps[0].speed_unit_si / (*a.stages[0].reading.speed * results[0].maps[0].speed_unit_si),
                  1.0, 3e-4);
      EXPECT_NEAR(*b.stages[0].reading.surge_margin, *a.stages[0].reading.surge_margin, 3e-3);
    }
  }
}

// The program's answer against a slow and simple one: bisection on the manifold temperature over a model that is itself read by bisection.
TEST(BenchTest, AgreesWithBruteForce) {
  const paint::CompressorModel model = ModelForFlow(0.55, 3.8);
  const ModelReader exact(model);
  const CompressorStage stage{.name = "charger", .map = "x"};
  const auto drawn = MakeCompressorReader(MapOfModel(model), stage);
  ASSERT_TRUE(drawn.has_value()) << drawn.error().message;
  const WorkingGas air = WorkingGas::DryAir();
  const BenchCase asked = Case(R"case(
[engine]
displacement = "12 L"
strokes = 4
volumetric_efficiency = "92 %"
[ambient]
altitude = "300 m"
[air_path]
inlet_loss = "3 kPa"
cooler_loss = "2 %"
cooler_effectiveness = "70 %"
coolant_temperature = "30 °C"
[[stage]]
compressor = "x"
[[point]]
speed = "1100 rpm"
manifold_pressure = "1.8 bar absolute"
[[point]]
speed = "1500 rpm"
manifold_pressure = "2.5 bar absolute"
[[point]]
speed = "1900 rpm"
manifold_pressure = "2.6 bar absolute"
)case");
  const BenchResult by_model = RunCase(asked, {&exact}), by_map = RunCase(asked, {drawn->get()});
  for (std::size_t p = 0; p < asked.points.size(); ++p) {
    const OperatingPoint& point = asked.points[p];
    const double inlet = point.ambient.pressure_Pa - 3000, outlet = *point.target.manifold_Pa / 0.98, ratio = outlet / inlet;
    const auto flow_at = [&](double manifold) {
      return 0.92 * 0.012 * point.speed_rev_s / 2 * *point.target.manifold_Pa / (air.GasConstant() * manifold);
    };
    const auto next = [&](double manifold) {
      const CompressorReading reading = exact.Read({flow_at(manifold), point.ambient.temperature_K, inlet, ratio});
      const auto change = Compress(air, point.ambient.temperature_K, ratio, reading.efficiency.value());
      return change->outlet_temperature_K - 0.7 * (change->outlet_temperature_K - 303.15);
    };
    double low = 300, high = 420;
    for (int i = 0; i < 200; ++i) (next(0.5 * (low + high)) > 0.5 * (low + high) ? low : high) = 0.5 * (low + high);
    const PointResult &a = by_model.points[p], &b = by_map.points[p];
    ASSERT_TRUE(a.failure.empty()) << a.failure;
    ASSERT_TRUE(b.failure.empty()) << b.failure;
    EXPECT_NEAR(a.manifold_K, low, 1e-6);
    EXPECT_NEAR(a.air_flow_kg_s, flow_at(low), 1e-9);
    // Through the map's curves and the surface between them.
    EXPECT_NEAR(b.manifold_K, low, 0.1);
    EXPECT_NEAR(b.air_flow_kg_s / flow_at(low), 1.0, 5e-4);
    EXPECT_NEAR(b.stages[0].efficiency, a.stages[0].efficiency, 0.003);
    EXPECT_NEAR(*b.stages[0].reading.speed / *a.stages[0].reading.speed, 1.0, 0.002);
    EXPECT_NEAR(*b.stages[0].reading.surge_margin, *a.stages[0].reading.surge_margin, 0.01);
    EXPECT_NEAR(*b.stages[0].reading.choke_margin, *a.stages[0].reading.choke_margin, 0.01);
  }
}

// Random plausible cases: always an answer or a named reason, nothing that is not finite, and mass and energy conserved to 1e-8.
TEST(BenchTest, RandomCasesConserveMassAndEnergy) {
  std::mt19937 random(20240611);
  const auto between = [&random](double a, double b) { return std::uniform_real_distribution<double>(a, b)(random); };
  const CompressorStage low_stage{.name = "low", .map = "x"}, high_stage{.name = "high", .map = "y"};
  const auto large = MakeCompressorReader(MapOfModel(ModelForFlow(0.75, 4.0)), low_stage);
  const auto small = MakeCompressorReader(MapOfModel(ModelForFlow(0.40, 3.4)), high_stage);
  ASSERT_TRUE(large.has_value() && small.has_value());
  int solved = 0, on_map = 0, all = 0;
  for (int trial = 0; trial < 1000; ++trial) {
    BenchCase asked;
    const bool two = trial % 3 == 0;
    asked.stages.push_back(low_stage);
    if (two) {
      asked.stages.push_back(high_stage);
      asked.stages[1].inlet_loss.fixed_Pa = between(0, 5000);
      asked.stages[1].inlet_cooler = {trial % 2 == 0 ? between(0, 0.8) : 0.0, between(290, 330)};
      if (trial % 5 == 0) asked.stages[0].pressure_ratio = between(1.2, 2.2);
    }
    OperatingPoint point;
    point.name = "random";
    point.engine = {between(0.004, 0.016), trial % 7 == 0 ? 2 : 4, between(0.7, 1.1)};
    point.speed_rev_s = between(12, 40);
    const auto ambient = AmbientAtAltitude(between(-300, 4500));
    ASSERT_TRUE(ambient.has_value());
    point.ambient = *ambient;
    point.ambient.temperature_K += between(-25, 30);
    point.relative_humidity = between(0, 1);
    point.inlet_loss = {between(0, 6000), 0.0, trial % 2 == 0 ? std::optional<double>(0.4) : std::nullopt};
    point.cooler_loss = {0.0, between(0, 0.05), std::nullopt};
    point.cooler = {between(0, 0.95), between(285, 350)};
    switch (trial % 4) {
      case 0: point.target.manifold_Pa = between(1.1e5, 5e5); break;
      case 1: point.target.boost_Pa = between(0, 3e5); break;
      case 2: point.target.air_flow_kg_s = between(0.05, 0.9); break;
      default:
        point.target.power_W = between(3e4, 6e5);
        point.target.fuel_consumption_kg_J = between(190, 260) / 3.6e9;
        point.target.air_fuel_ratio = between(18, 32);
    }
    asked.points.push_back(point);
    std::vector<const CompressorReader*> maps{large->get()};
    if (two) maps.push_back(small->get());
    const auto result = RunBench(asked, maps);
    ASSERT_TRUE(result.has_value());
    const std::string report = WriteBenchReport(*result);
    EXPECT_EQ(report.find("nan"), std::string::npos);
    EXPECT_EQ(report.find("inf,"), std::string::npos);
    EXPECT_FALSE(result->summary.empty());
    ++all;
    const PointResult& at = result->points[0];
    if (!at.failure.empty()) {
      EXPECT_TRUE(at.failure.ends_with(".")) << at.failure;
      continue;
    }
    ++solved;
    on_map += at.stages[0].reading.inside ? 1 : 0;
    const WorkingGas gas =
        WorkingGas::MoistAir(std::min(0.5, point.relative_humidity * SaturationPressure(point.ambient.temperature_K) / point.ambient.pressure_Pa));
    // Mass: what the engine swallows at the manifold is what every stage passes.
    const double swallowed = EngineAirFlow(point.engine, point.speed_rev_s, at.manifold_Pa, at.manifold_K, gas.GasConstant());
    EXPECT_NEAR(swallowed / at.air_flow_kg_s, 1.0, 1e-8);
    for (const StageResult& stage : at.stages) EXPECT_NEAR(stage.flow_kg_s / at.air_flow_kg_s, 1.0, 1e-8);
    // Energy: from ambient to manifold, compressor power in, cooler heat out.
    double power = 0.0, heat = at.cooler_W;
    for (const StageResult& stage : at.stages) {
      power += stage.power_W;
      heat += stage.inlet_cooler_W;
      EXPECT_NEAR(stage.power_W, at.air_flow_kg_s * (gas.Enthalpy(stage.outlet_K) - gas.Enthalpy(stage.inlet_K)),
                  1e-8 * std::abs(stage.power_W) + 1e-5);
    }
    const double rise = at.air_flow_kg_s * (gas.Enthalpy(at.manifold_K) - gas.Enthalpy(point.ambient.temperature_K));
    EXPECT_NEAR(power - heat, rise, 1e-8 * (std::abs(power) + std::abs(heat)) + 1e-4);
    EXPECT_NEAR(at.compressor_power_W, power, 1e-9 * power + 1e-9);
    // Pressures add up, ratios multiply.
    double pressure = point.ambient.pressure_Pa - at.inlet_loss_Pa;
    EXPECT_NEAR(at.stages[0].inlet_Pa, pressure, 1e-8 * pressure);
    for (const StageResult& stage : at.stages) EXPECT_NEAR(stage.outlet_Pa, stage.inlet_Pa * stage.pressure_ratio, 1e-8 * stage.outlet_Pa);
    EXPECT_NEAR(at.stages.back().outlet_Pa - at.cooler_loss_Pa, at.manifold_Pa, 1e-8 * at.manifold_Pa);
    // The cooler does what it is said to do.
    const double cooled = CoolerOutletTemperature(at.stages.back().outlet_K, point.cooler.coolant_K, point.cooler.effectiveness);
    EXPECT_NEAR(at.manifold_K, cooled, 1e-8 * cooled);
  }
  EXPECT_GE(solved, 700);
  EXPECT_GE(on_map, 150);
  RecordProperty("solved", solved);
}

// A two-stroke fills every turn: twice the air of a four-stroke.
TEST(BenchTest, TwoStrokesTakeTwiceTheAir) {
  const FlatReader map(0.72);
  const char* text = R"case(
[engine]
displacement = "9 L"
speed = "1500 rpm"
volumetric_efficiency = 1
strokes = 4
boost = "1 bar"
[[stage]]
compressor = "x"
)case";
  BenchCase four = Case(text), two = four;
  two.points[0].engine.strokes = 2;
  EXPECT_NEAR(RunCase(two, {&map}).points[0].air_flow_kg_s / RunCase(four, {&map}).points[0].air_flow_kg_s, 2.0, 1e-9);
}

constexpr const char* kTwoStages = R"case(
[engine]
displacement = "14 L"
speed = "1500 rpm"
[ambient]
pressure = "14.7 psia"
temperature = "15 °C"
[air_path]
inlet_loss = "0 psi"
cooler_loss = "0 psi"
[[stage]]
compressor = "x"
[[stage]]
compressor = "y"
inlet_loss = "0 psi"
[[point]]
boost = "60 psi"
)case";

// Common practice, no source: ratios multiply, so 60 psi of boost takes 2.254 twice (and 2.54 twice would be 80, not 60).
TEST(BenchTest, PressureRatiosMultiply) {
  const FlatReader map(0.7);
  BenchCase asked = Case(kTwoStages);
  asked.stages[0].pressure_ratio = 2.254;
  const PointResult point = RunCase(asked, {&map, &map}).points[0];
  ASSERT_TRUE(point.failure.empty()) << point.failure;
  EXPECT_NEAR(point.stages[1].pressure_ratio, 2.254, 0.002);
  EXPECT_NEAR(point.overall_pressure_ratio, point.stages[0].pressure_ratio * point.stages[1].pressure_ratio, 1e-9);
  asked.points[0].target.boost_Pa = (14.7 * 2.54 * 2.54 - 14.7) * kPsi;
  asked.stages[0].pressure_ratio = 2.54;
  EXPECT_NEAR(RunCase(asked, {&map, &map}).points[0].stages[1].pressure_ratio, 2.54, 1e-6);
}

// Common practice, no source: with 30 to 35 psi absolute before it instead of about 15, the small compressor's corrected flow is roughly halved.
TEST(BenchTest, TheSmallCompressorSeesHalfTheFlow) {
  const FlatReader map(0.75);
  for (const double before : {30.0, 35.0}) {
    BenchCase asked = Case(kTwoStages);
    asked.stages[0].outlet_Pa = before * kPsi;
    asked.points[0].target.boost_Pa = 35 * kPsi;
    const PointResult point = RunCase(asked, {&map, &map}).points[0];
    ASSERT_TRUE(point.failure.empty()) << point.failure;
    const double share = point.stages[1].reading.corrected_flow_kg_s / point.stages[0].reading.corrected_flow_kg_s;
    EXPECT_GT(share, 0.45);
    EXPECT_LT(share, 0.62);
    EXPECT_NEAR(share, 14.7 / before * std::sqrt(point.stages[1].inlet_K / point.stages[0].inlet_K), 1e-9);
    EXPECT_LT(point.stages[1].pressure_ratio, 1.7);
  }
}

// The least-work split found on machines of equal efficiency: the square root where the air is cooled back between the stages (Cengel, Fundamentals of
// Thermal-Fluid Sciences, eq. 7-59), and 2.5357 before 1.5775 for 288.15 K and 330 K and an overall ratio of 4 (derived for gamma 1.4; real air moves it little).
TEST(BenchTest, TheSplitOfLeastWork) {
  const FlatReader map(0.75);
  BenchCase asked = Case(kTwoStages);
  asked.stages[1].inlet_cooler = {1.0, 288.15};
  asked.points[0].target = {.manifold_Pa = 4.0 * 14.7 * kPsi};
  PointResult point = RunCase(asked, {&map, &map}).points[0];
  ASSERT_TRUE(point.failure.empty()) << point.failure;
  EXPECT_TRUE(point.least_work_split);
  EXPECT_NEAR(point.stages[0].pressure_ratio, 2.0, 0.002);
  EXPECT_NEAR(point.stages[1].pressure_ratio, 2.0, 0.002);
  asked.stages[1].inlet_cooler = {1.0, 330.0};
  point = RunCase(asked, {&map, &map}).points[0];
  EXPECT_NEAR(point.stages[0].pressure_ratio, 2.5357, 0.01);
  EXPECT_NEAR(point.stages[1].pressure_ratio, 1.5775, 0.006);
  // No other split takes less.
  for (const double first : {1.5, 2.0, 2.4, 2.7, 3.2}) {
    BenchCase given = asked;
    given.stages[0].pressure_ratio = first;
    const PointResult other = RunCase(given, {&map, &map}).points[0];
    EXPECT_GE(other.compressor_power_W / other.air_flow_kg_s, point.compressor_power_W / point.air_flow_kg_s * (1 - 1e-9)) << first;
  }
}

// On its map between two pressure ratios only.
class BandReader : public FlatReader {
 public:
  BandReader(double lowest, double highest) : FlatReader(0.75), lowest_(lowest), highest_(highest) {}
  CompressorReading Read(const CompressorState& state) const override {
    CompressorReading reading = FlatReader::Read(state);
    reading.inside = state.pressure_ratio >= lowest_ && state.pressure_ratio <= highest_;
    reading.region = reading.inside ? MapRegion::kOnMap : MapRegion::kLeftOfSurge;
    return reading;
  }

 private:
  double lowest_, highest_;
};

// A narrow range in which both are on their maps is found: two per cent wide where one map bounds it, any width where each bounds one side.
TEST(BenchTest, ANarrowRangeOfSplitsIsFound) {
  const FlatReader wide(0.75);
  const double overall = (60.0 + 14.7) / 14.7;
  for (double at = 1.3; at < 4.0; at *= 1.037) {
    const BandReader band(at, at * 1.02), up_to(1.0, at * 1.0002), from(1.0, overall / at);
    for (const PointResult& point : {RunCase(Case(kTwoStages), {&band, &wide}).points[0], RunCase(Case(kTwoStages), {&up_to, &from}).points[0]}) {
      ASSERT_TRUE(point.failure.empty()) << point.failure;
      EXPECT_GE(point.stages[0].pressure_ratio, at * (1 - 1e-6));
      EXPECT_LE(point.stages[0].pressure_ratio, at * 1.02 * (1 + 1e-6));
      EXPECT_THAT(point.doubts, testing::Not(testing::Contains(HasSubstr("equal ratios")))) << at;
    }
  }
}

// Where no split puts both on their maps, equal ratios are shown and flagged, not a least work of guessed efficiencies.
TEST(BenchTest, NoSplitOnTheMaps) {
  const CompressorStage stage{.name = "x", .map = "x"};
  const auto tiny = MakeCompressorReader(MapOfModel(ModelForFlow(0.1, 3.0)), stage);
  ASSERT_TRUE(tiny.has_value());
  const PointResult point = RunCase(Case(kTwoStages), {tiny->get(), tiny->get()}).points[0];
  ASSERT_TRUE(point.failure.empty()) << point.failure;
  EXPECT_NEAR(point.stages[0].pressure_ratio, point.stages[1].pressure_ratio, 0.02);
  EXPECT_THAT(point.doubts, testing::Contains(HasSubstr("equal ratios")));
  EXPECT_EQ(point.grade, Grade::kOver);
}

TEST(BenchTest, ThreeStagesInSeries) {
  const FlatReader map(0.75);
  BenchCase asked =
      Case(std::string(kTwoStages).replace(std::string(kTwoStages).find("[[point]]"), 0, "[[stage]]\ncompressor = \"z\"\ninlet_loss = \"0 psi\"\n"));
  for (const std::size_t i : {1u, 2u}) asked.stages[i].inlet_cooler = {1.0, 288.15};
  asked.points[0].target = {.manifold_Pa = 8.0 * 14.7 * kPsi};
  const PointResult point = RunCase(asked, {&map, &map, &map}).points[0];
  ASSERT_TRUE(point.failure.empty()) << point.failure;
  for (const StageResult& stage : point.stages) EXPECT_NEAR(stage.pressure_ratio, 2.0, 0.01) << stage.name;
}

}  // namespace
}  // namespace islebook
