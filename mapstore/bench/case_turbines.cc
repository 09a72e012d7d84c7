#include "mapstore/bench/case_turbines.h"

#include <numbers>

#include <fmt/format.h>

#include "mapstore/bench/turbine_reader.h"

namespace islebook {
namespace {

constexpr double kZeroCelsius = 273.15;

const MeasureSpec kArea{Dimension::kArea, "8.5 cm2", 1e-6, 0.5, "above 0 and at most 5,000 cm2"};
const MeasureSpec kEfficiency{Dimension::kRatio, "70 %", 0.1, 1.0, "from 10 to 100 %"};
const MeasureSpec kShaft{Dimension::kRatio, "97 %", 0.5, 1.0, "from 50 to 100 %"};
const MeasureSpec kDiameter{Dimension::kLength, "25 mm", 1e-3, 0.5, "from 1 to 500 mm"};
const MeasureSpec kWheel{Dimension::kLength, "70 mm", 5e-3, 1.0, "from 5 to 1,000 mm"};
const MeasureSpec kOpening{Dimension::kRatio, "40 %", 0.0, 1.0, "from 0 (shut) to 100 %"};
const MeasureSpec kVaneOpening{Dimension::kRatio, "40 %", -10.0, 10.0, "as the lines of the map are labeled"};
const MeasureSpec kDischarge{Dimension::kRatio, "0.7", 0.1, 1.0, "from 0.1 to 1"};
const MeasureSpec kReferenceTemperature{Dimension::kTemperature, "288 K", 200.0, 1300.0, "from 200 to 1,300 K"};
const MeasureSpec kMapGasTemperature{Dimension::kTemperature, "15 °C", 230.0, 1300.0, "from -43 to 1,027 °C"};
const MeasureSpec kReferencePressure{Dimension::kPressure, "101.3 kPa", 5e4, 1.3e5, "from 50 to 130 kPa, absolute"};
const MeasureSpec kExhaustTemperature{Dimension::kTemperature, "600 °C", 400.0, 1400.0, "from 127 to 1,127 °C"};
const MeasureSpec kHeat{Dimension::kRatio, "24 %", 0.0, 0.6, "from 0 to 60 %"};
const MeasureSpec kHeatLoss{Dimension::kRatio, "3 %", 0.0, 0.5, "from 0 to 50 %"};

// What the map was measured with: hot gas like the engine's, or air.
void ParseMapGas(const CaseSection& stage, bool by_map, CaseReader& reader, std::vector<AssumedValue>& assumed, TurbineStage& turbine) {
  const auto gas = stage.Text("turbine_map_gas");
  const bool air = gas && *gas == "air";
  if (!by_map) {
    for (const char* key : {"turbine_map_gas", "turbine_map_gas_temperature"})
      if (stage.Has(key))
        reader.Refuse(stage.Line(key),
                      fmt::format("{} says how a turbine map was measured, and {} has none; leave it out.", stage.Name(key), stage.path()));
    return;
  }
  if (gas && !air && *gas != "exhaust")
    reader.Refuse(stage.Line("turbine_map_gas"),
                  fmt::format("{} is \"exhaust\" (a hot gas stand) or \"air\", not \"{}\".", stage.Name("turbine_map_gas"), *gas));
  if (!air && stage.Has("turbine_map_gas_temperature"))
    reader.Refuse(stage.Line("turbine_map_gas_temperature"),
                  fmt::format("{} belongs beside turbine_map_gas = \"air\".", stage.Name("turbine_map_gas_temperature")));
  if (!stage.Has("turbine_map_gas"))
    Assume(assumed, stage.Name("turbine_map_gas"), "exhaust",
           "measured with hot gas like the engine's; one measured with cold air passes 2 to 3 % more");
  if (!air) return;
  turbine.map_air_K = 288.15;
  if (const auto given = stage.Value("turbine_map_gas_temperature", kMapGasTemperature)) {
    turbine.map_air_K = given->si;
  } else {
    Assume(assumed, stage.Name("turbine_map_gas_temperature"), "15 °C", "cold air, or values corrected to standard air");
  }
}

}  // namespace

const std::vector<const char*>& TurbineKeys() {
  static const std::vector<const char*> keys{"turbine",
                                             "turbine_effective_area",
                                             "turbine_efficiency",
                                             "turbine_reference_temperature",
                                             "turbine_reference_pressure",
                                             "turbine_wheel_diameter",
                                             "turbine_map_gas",
                                             "turbine_map_gas_temperature",
                                             "vane_opening",
                                             "wastegate_diameter",
                                             "wastegate_opening",
                                             "wastegate_discharge",
                                             "shaft_efficiency"};
  return keys;
}

const std::vector<const char*>& ExhaustKeys() {
  static const std::vector<const char*> keys{"exhaust_temperature", "heat_to_coolant", "heat_loss", "back_pressure"};
  return keys;
}

std::optional<TurbineStage> ParseTurbine(const CaseSection& stage, CaseReader& reader, std::vector<AssumedValue>& assumed) {
  const bool by_map = stage.Has("turbine"), by_area = stage.Has("turbine_effective_area");
  if (!by_map && !by_area) {
    for (const char* key : TurbineKeys())
      if (stage.Has(key))
        reader.Refuse(
            stage.Line(key),
            fmt::format("{} belongs to a turbine, and {} has none; add turbine = \"FILE.map.json\" or turbine_effective_area = \"8.5 cm2\".",
                        stage.Name(key), stage.path()));
    return std::nullopt;
  }
  if (by_map && by_area)
    reader.Refuse(
        stage.Line("turbine_effective_area"),
        fmt::format("{} has both a turbine map and turbine_effective_area; the map says what it swallows, leave the area out.", stage.path()));
  TurbineStage turbine;
  turbine.line = stage.Line(by_map ? "turbine" : "turbine_effective_area");
  turbine.map = stage.Text("turbine").value_or("");
  const auto set = [&stage](const char* key, const MeasureSpec& spec, std::optional<double>& value) {
    if (const auto given = stage.Value(key, spec)) value = given->si;
  };
  set("turbine_effective_area", kArea, turbine.effective_area_m2);
  set("turbine_efficiency", kEfficiency, turbine.assumed_efficiency);
  set("turbine_reference_temperature", kReferenceTemperature, turbine.reference_K);
  if (const auto pressure = stage.Absolute("turbine_reference_pressure", kReferencePressure, "")) turbine.reference_Pa = pressure->si;
  set("turbine_wheel_diameter", kWheel, turbine.wheel_diameter_m);
  ParseMapGas(stage, by_map, reader, assumed, turbine);
  if (by_area && !turbine.assumed_efficiency)
    Assume(assumed, stage.Name("turbine_efficiency"), fmt::format("{:.0f} %", 100 * kAssumedTurbineEfficiency),
           "a radial turbine near its best point");
  if (auto opening = stage.OverSpeed("vane_opening", kVaneOpening)) turbine.vane_opening = HeldOpening(std::move(*opening));
  if (const auto bore = stage.Value("wastegate_diameter", kDiameter)) turbine.wastegate_area_m2 = std::numbers::pi / 4 * bore->si * bore->si;
  if (auto opening = stage.OverSpeed("wastegate_opening", kOpening)) turbine.wastegate_opening = HeldOpening(std::move(*opening));
  for (const char* key : {"wastegate_opening", "wastegate_discharge"})
    if (stage.Has(key) && turbine.wastegate_area_m2 == 0.0)
      reader.Refuse(stage.Line(key), fmt::format("{} needs wastegate_diameter beside it: the bore of the port.", stage.Name(key)));
  if (const auto discharge = stage.Value("wastegate_discharge", kDischarge)) {
    turbine.wastegate_discharge = discharge->si;
  } else if (turbine.wastegate_area_m2 > 0.0) {
    Assume(assumed, stage.Name("wastegate_discharge"), "0.7", "the share of a flap valve's port that the flow fills");
  }
  if (const auto shaft = stage.Value("shaft_efficiency", kShaft)) {
    turbine.shaft_efficiency = shaft->si;
  } else {
    Assume(assumed, stage.Name("shaft_efficiency"), "97 %", "bearings");
  }
  return turbine;
}

ExhaustPath ParseExhaust(const CaseSection& point, const CaseSection& exhaust, bool needed, std::vector<AssumedValue>& assumed) {
  ExhaustPath path;
  const auto prefer = [&](const char* key) -> const CaseSection& { return point.Has(key) ? point : exhaust; };
  if (const auto given = prefer("exhaust_temperature").Value("exhaust_temperature", kExhaustTemperature)) path.manifold_K = given->si;
  if (const auto given = exhaust.Value("heat_to_coolant", kHeat)) {
    path.heat_to_coolant = given->si;
  } else if (needed && !path.manifold_K) {
    Assume(assumed, "exhaust.heat_to_coolant", "24 %", "of the fuel's heat, to coolant, oil and the engine's skin");
  }
  if (const auto given = exhaust.Value("heat_loss", kHeatLoss)) {
    path.heat_loss = given->si;
  } else if (needed) {
    Assume(assumed, "exhaust.heat_loss", "3 %", "of the exhaust's heat, from a bare manifold");
  }
  if (const auto loss = prefer("back_pressure").Loss("back_pressure")) {
    path.back_pressure = *loss;
  } else if (needed) {
    path.back_pressure.fixed_Pa = 6000.0;
    Assume(assumed, "exhaust.back_pressure", "6 kPa", "silencer and pipe, at every flow");
  }
  return path;
}

void FillFuel(bool needed, OperatingPoint& point, std::vector<AssumedValue>& assumed) {
  if (!needed) return;
  OperatingTarget& target = point.target;
  if (!target.air_fuel_ratio) {
    target.air_fuel_ratio = 24.0;
    Assume(assumed, "engine.air_fuel_ratio", "24", "a loaded diesel");
  }
  if (!target.fuel_consumption_kg_J && !(target.power_W && target.fuel_flow_kg_s) && !point.exhaust.manifold_K) {
    target.fuel_consumption_kg_J = 210.0 / 3.6e9;
    Assume(assumed, "engine.brake_specific_fuel_consumption", "210 g/kWh", "a loaded diesel");
  }
}

}  // namespace islebook
