#include "mapstore/bench/compression.h"

#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

Result<void> CheckChange(double ratio, double efficiency, const char* name) {
  if (!(ratio >= 1.0 && std::isfinite(ratio))) return Fail(ErrorCode::kOutOfRange, fmt::format("{} is {:.4g}; it must be at least 1.", name, ratio));
  if (!(efficiency > 0.0 && efficiency <= 1.0))
    return Fail(ErrorCode::kOutOfRange, fmt::format("an efficiency is above 0 and at most 1, not {:.4g}.", efficiency));
  return {};
}

}  // namespace

Result<StateChange> Compress(const WorkingGas& gas, double inlet_temperature_K, double pressure_ratio, double efficiency) {
  if (auto checked = CheckChange(pressure_ratio, efficiency, "the pressure ratio"); !checked) return std::unexpected(checked.error());
  const auto isentropic = gas.IsentropicTemperature(inlet_temperature_K, pressure_ratio);
  if (!isentropic) return std::unexpected(isentropic.error());
  const double inlet = gas.Enthalpy(inlet_temperature_K);
  const double work = (gas.Enthalpy(*isentropic) - inlet) / efficiency;
  const auto outlet = gas.TemperatureAtEnthalpy(inlet + work);
  if (!outlet) return std::unexpected(outlet.error());
  return StateChange{*isentropic, *outlet, work};
}

Result<StateChange> Expand(const WorkingGas& gas, double inlet_temperature_K, double expansion_ratio, double efficiency) {
  if (auto checked = CheckChange(expansion_ratio, efficiency, "the expansion ratio"); !checked) return std::unexpected(checked.error());
  const auto isentropic = gas.IsentropicTemperature(inlet_temperature_K, 1.0 / expansion_ratio);
  if (!isentropic) return std::unexpected(isentropic.error());
  const double inlet = gas.Enthalpy(inlet_temperature_K);
  const double work = (inlet - gas.Enthalpy(*isentropic)) * efficiency;
  const auto outlet = gas.TemperatureAtEnthalpy(inlet - work);
  if (!outlet) return std::unexpected(outlet.error());
  return StateChange{*isentropic, *outlet, work};
}

Result<double> CompressionEfficiency(const WorkingGas& gas, double inlet_temperature_K, double outlet_temperature_K, double pressure_ratio) {
  const auto isentropic = gas.IsentropicTemperature(inlet_temperature_K, pressure_ratio);
  if (!isentropic) return std::unexpected(isentropic.error());
  if (!(outlet_temperature_K > inlet_temperature_K && outlet_temperature_K <= WorkingGas::kHighestTemperature))
    return Fail(ErrorCode::kOutOfRange, "a compressor's outlet is hotter than its inlet.");
  const double inlet = gas.Enthalpy(inlet_temperature_K);
  return (gas.Enthalpy(*isentropic) - inlet) / (gas.Enthalpy(outlet_temperature_K) - inlet);
}

double CoolerOutletTemperature(double inlet_temperature_K, double coolant_temperature_K, double effectiveness) {
  return inlet_temperature_K - effectiveness * (inlet_temperature_K - coolant_temperature_K);
}

double DrivenPressureRatio(const ShaftBalance& s, double expansion_ratio) {
  const double drop = 1.0 - std::pow(expansion_ratio, -(s.turbine_gamma - 1.0) / s.turbine_gamma);
  const double energy = s.mass_ratio * s.turbine_heat_capacity * s.turbine_inlet_K / (s.compressor_heat_capacity * s.compressor_inlet_K);
  return std::pow(1.0 + s.overall_efficiency * energy * drop, s.compressor_gamma / (s.compressor_gamma - 1.0));
}

PressureSplit LeastWorkSplit(double overall, double first_inlet_K, double second_inlet_K, double first_efficiency, double second_efficiency,
                             double gamma) {
  const double ratio = std::pow(second_inlet_K * first_efficiency / (first_inlet_K * second_efficiency), gamma / (gamma - 1.0));
  const double first = std::sqrt(overall * ratio);
  return {first, overall / first};
}

}  // namespace islebook
