#include "mapstore/bench/exhaust.h"

#include <fmt/format.h>

namespace islebook {

Result<ExhaustModel> ExhaustModel::Make(const OperatingPoint& point, const WorkingGas& air, double humidity_ratio) {
  const OperatingTarget& target = point.target;
  std::optional<double> ratio = target.air_fuel_ratio;
  if (!ratio) return Fail(ErrorCode::kBadCase, "turbines need the exhaust's mixture: give air_fuel_ratio (a loaded diesel 18 to 30).");
  constexpr double kHydrogenPerCarbon = 1.85;
  const double vapor = humidity_ratio > 0.0 ? humidity_ratio / (humidity_ratio + 18.01528 / 28.9651159) : 0.0;
  const auto gas = WorkingGas::LeanExhaust(*ratio, kHydrogenPerCarbon, vapor);
  if (!gas) return Fail(ErrorCode::kBadCase, gas.error().message);
  ExhaustModel model(point, air, *gas);
  model.fuel_per_air_ = 1.0 / (*ratio * (1.0 + humidity_ratio));
  if (target.fuel_consumption_kg_J) {
    model.power_per_fuel_ = 1.0 / *target.fuel_consumption_kg_J;
  } else if (target.power_W && target.fuel_flow_kg_s) {
    model.power_per_fuel_ = *target.power_W / *target.fuel_flow_kg_s;
  } else if (!point.exhaust.manifold_K) {
    return Fail(
        ErrorCode::kBadCase,
        "how hot the exhaust is follows from the fuel's use: give brake_specific_fuel_consumption (\"210 g/kWh\"), or the exhaust's temperature.");
  }
  return model;
}

Result<EngineExhaust> ExhaustModel::At(double air_flow_kg_s, double manifold_K) const {
  EngineExhaust out;
  out.air_flow_kg_s = air_flow_kg_s;
  out.fuel_flow_kg_s = air_flow_kg_s * fuel_per_air_;
  out.flow_kg_s = out.air_flow_kg_s + out.fuel_flow_kg_s;
  out.brake_W = out.fuel_flow_kg_s * power_per_fuel_;
  const double datum = gas_.Enthalpy(kHeatDatum_K);
  const ExhaustPath& path = point_->exhaust;
  double heat = 0.0;  // above the datum, per kg of exhaust
  if (path.manifold_K) {
    out.valve_K = *path.manifold_K;
    heat = gas_.Enthalpy(out.valve_K) - datum;
  } else {
    out.coolant_W = path.heat_to_coolant * out.fuel_flow_kg_s * kFuelHeatingValue_J_kg;
    const double air = air_flow_kg_s * (air_.Enthalpy(manifold_K) - air_.Enthalpy(kHeatDatum_K));
    heat = (air + out.fuel_flow_kg_s * kFuelHeatingValue_J_kg - out.brake_W - out.coolant_W) / out.flow_kg_s;
    const auto valve = gas_.TemperatureAtEnthalpy(datum + heat);
    if (!valve || *valve < 400.0 || *valve > 1600.0)
      return Fail(
          ErrorCode::kBadCase,
          fmt::format(
              "the engine's energy balance leaves an exhaust of {}; fuel consumption, air-fuel ratio and heat_to_coolant do not fit together.",
              valve ? fmt::format("{:.0f} K", *valve) : "no possible temperature"));
    out.valve_K = *valve;
  }
  out.manifold_loss_W = path.heat_loss * heat * out.flow_kg_s;
  const auto turbine = gas_.TemperatureAtEnthalpy(datum + heat * (1.0 - path.heat_loss));
  if (!turbine) return std::unexpected(turbine.error());
  out.turbine_K = *turbine;
  return out;
}

}  // namespace islebook
