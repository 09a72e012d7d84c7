#include "tests/mapstore/bench/balance_case.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "mapstore/bench/atmosphere.h"
#include "tests/mapstore/bench/model_map.h"

namespace islebook::bench_test {

PerformanceMap MapOfTurbine(const paint::TurbineModel& model) {
  PerformanceMap map;
  map.kind = MapKind::kTurbine;
  map.title = "Fellside Rotors " + model.wheel;
  map.x = Axis{Quantity::kExpansionRatioTotalToStatic, "1", AxisScale::kLinear, 1.0, 4.0};
  map.y = Axis{Quantity::kTurbineFlowParameter, "kg s-1 K0.5 kPa-1", AxisScale::kLinear, 0.0, model.flow * 1.3};
  map.efficiency = Axis{Quantity::kEfficiencyTotalToStatic, "1", AxisScale::kLinear, 0.0, 0.9};
  const auto add = [&map, &model](double line, double value, const std::string& unit) {
    Curve flow{.role = CurveRole::kFlowLine, .value = value, .unit = unit};
    Curve efficiency{.role = CurveRole::kEfficiencyLine, .value = value, .unit = unit};
    for (int k = 0; k <= 40; ++k) {
      const double ratio = model.FirstRatio(line) + (model.LastRatio(line) - model.FirstRatio(line)) * k / 40;
      flow.points.push_back({ratio, model.Flow(ratio, line)});
      efficiency.points.push_back({ratio, model.Efficiency(ratio, line)});
    }
    flow.sigma.assign(flow.points.size(), {1e-3, model.flow * 2e-3});
    efficiency.sigma.assign(efficiency.points.size(), {1e-3, 2e-3});
    map.curves.push_back(std::move(flow));
    map.curves.push_back(std::move(efficiency));
  };
  if (model.has_vanes) {
    for (const double opening : {0.1, 0.3, 0.5, 0.7, 0.9}) add(opening, 100 * opening, "%");
  } else {
    for (const double speed : {0.5, 0.65, 0.8, 0.95, 1.1}) add(speed, std::round(model.design_rpm * speed / 1000) * 1000, "rpm");
  }
  return map;
}

WheelShelf::WheelShelf() {
  paint::Random random(20261125);
  for (double inducer = 36; inducer < 125; inducer *= 1.11) {
    const paint::CompressorModel model = paint::CompressorModel::Draw(random, inducer, "Alder");
    auto reader = MakeCompressorReader(MapOfModel(model), {.name = "stage", .map = "alder"});
    if (reader) compressors_.emplace_back(model.choke_flow, std::move(*reader));
  }
  for (double wheel = 32; wheel < 130; wheel *= 1.11)
    for (const bool vanes : {false, true}) {
      const paint::TurbineModel model = paint::TurbineModel::Draw(random, wheel, "Elm", vanes);
      const PerformanceMap map = MapOfTurbine(model);
      TurbineStage stage;
      stage.map = "elm";
      auto reader = MakeTurbineReader(&map, stage, "stage");
      if (reader) (vanes ? vaned_ : turbines_).emplace_back(model.flow, std::move(*reader));
    }
  const auto by_size = [](const auto& a, const auto& b) { return a.first < b.first; };
  std::sort(compressors_.begin(), compressors_.end(), by_size);
  std::sort(turbines_.begin(), turbines_.end(), by_size);
  std::sort(vaned_.begin(), vaned_.end(), by_size);
}

const WheelShelf& WheelShelf::Get() {
  static const WheelShelf shelf;
  return shelf;
}

namespace {

template <typename Wheels>
const auto& Smallest(const Wheels& wheels, double size) {
  for (const auto& [reach, reader] : wheels)
    if (reach >= size) return *reader;
  return *wheels.back().second;
}

}  // namespace

const CompressorReader& WheelShelf::CompressorFor(double flow) const { return Smallest(compressors_, flow); }
const TurbineReader& WheelShelf::TurbineFor(double flow, bool vanes) const { return Smallest(vanes ? vaned_ : turbines_, flow); }

std::string PairText(const std::string& port, const std::string& points, const std::string& more) {
  return R"([engine]
displacement = "6.6 L"
volumetric_efficiency = "90 %"
air_fuel_ratio = 22
brake_specific_fuel_consumption = "220 g/kWh"
[ambient]
temperature = "25 °C"
[air_path]
inlet_loss = "2 kPa at 0.5 kg/s"
cooler_loss = "8 kPa at 0.5 kg/s"
cooler_effectiveness = "80 %"
coolant_temperature = "35 °C"
[exhaust]
back_pressure = "8 kPa at 0.5 kg/s"
)" + more +
         R"([[stage]]
name = "large"
compressor = "rowan"
turbine = "elm"
[[stage]]
name = "small"
compressor = "rowan"
turbine = "elm"
)" + port +
         points;
}

DrawnCase DrawCase(paint::Random& random, int stages) {
  const WheelShelf& shelf = WheelShelf::Get();
  DrawnCase drawn;
  OperatingPoint point;
  point.name = "drawn";
  point.engine = {random.Between(2e-3, 14e-3), 4, random.Between(0.82, 0.97)};
  const double rated_rpm = std::clamp(4300 - 170e3 * point.engine.displacement_m3, 1800.0, 4000.0) * random.Between(0.9, 1.1);
  point.speed_rev_s = rated_rpm * random.Between(0.4, 1.0) / 60;
  point.altitude_m = random.Chance(0.6) ? 0.0 : random.Between(0, 3000);
  point.ambient = AmbientAtAltitude(*point.altitude_m).value_or(AirState{});
  point.ambient.temperature_K += random.Between(-10, 25);
  point.relative_humidity = random.Chance(0.5) ? 0.0 : random.Between(0.2, 0.9);
  const double rated_ratio = stages == 1 ? random.Between(1.7, 2.9) : stages == 2 ? random.Between(2.4, 4.4) : random.Between(3.2, 6.0);
  const double rated_air = EngineAirFlow(point.engine, rated_rpm / 60, rated_ratio * 1e5, 320, 287);
  point.inlet_loss = {random.Between(1500, 4000), 0.0, rated_air};
  point.cooler_loss = {random.Between(4000, 9000), 0.0, rated_air};
  point.cooler = {random.Between(0.6, 0.9), point.ambient.temperature_K + random.Between(3, 20)};
  point.target.air_fuel_ratio = random.Between(20, 32);
  point.target.fuel_consumption_kg_J = random.Between(195, 235) / 3.6e9;
  point.exhaust.heat_to_coolant = random.Between(0.18, 0.28);
  point.exhaust.back_pressure = {random.Between(3000, 10000), 0.0, rated_air};
  const double wanted = 1.0 + (rated_ratio - 1.0) * random.Between(0.5, 1.0);
  if (random.Chance(0.5)) {
    point.target.boost_Pa = (wanted - 1.0) * 1e5;
  } else {
    point.target.power_W =
        EngineAirFlow(point.engine, point.speed_rev_s, wanted * 1e5, 320, 287) / *point.target.air_fuel_ratio / *point.target.fuel_consumption_kg_J;
  }
  double ratio_before = 1.0;
  for (int i = 0; i < stages; ++i) {
    CompressorStage stage;
    stage.name = stages == 1 ? "only" : i == 0 ? "large" : i + 1 == stages ? "small" : "middle";
    const double each = std::pow(rated_ratio, 1.0 / stages);
    drawn.compressors.push_back(&shelf.CompressorFor(rated_air / ratio_before * (i == 0 ? 1.0 : 1.15) * random.Between(1.05, 1.5)));
    TurbineStage turbine;
    turbine.map = "elm";
    turbine.shaft_efficiency = random.Between(0.94, 0.99);
    // Rated exhaust at the pressure before this turbine, with drive pressure about the boost.
    const bool last = i + 1 == stages;
    const double before_kPa = 1e2 * std::pow(rated_ratio, static_cast<double>(i + 1) / stages) * random.Between(0.75, 1.1);
    const double parameter = 1.04 * rated_air * std::sqrt(850.0) / before_kPa * random.Between(0.75, 1.15);
    const bool vanes = last && random.Chance(0.3);
    if (random.Chance(0.7)) {
      drawn.turbines.push_back(&shelf.TurbineFor(parameter, vanes));
      if (!vanes && last) turbine.wastegate_area_m2 = std::numbers::pi / 4 * std::pow(random.Between(0.012, 0.04), 2);
    } else {
      drawn.turbines.push_back(&shelf.TurbineFor(parameter, false));
      if (last && random.Chance(0.7)) turbine.wastegate_area_m2 = std::numbers::pi / 4 * std::pow(random.Between(0.012, 0.04), 2);
    }
    if (turbine.wastegate_area_m2 > 0.0 && random.Chance(0.15)) turbine.wastegate_opening = random.Part();
    stage.inlet_loss = {i == 0 ? 0.0 : random.Between(500, 3000), 0.0, rated_air};
    stage.turbine = turbine;
    ratio_before *= each;
    drawn.asked.stages.push_back(stage);
  }
  drawn.asked.points.push_back(point);
  return drawn;
}

}  // namespace islebook::bench_test
