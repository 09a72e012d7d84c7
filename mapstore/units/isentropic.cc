#include "mapstore/units/isentropic.h"

#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

Result<void> CheckRatio(double ratio, const char* name) {
  if (ratio >= 1.0 && ratio < 1000.0) return {};
  return Fail(ErrorCode::kOutOfRange, fmt::format("{} {:.4g} is not 1 or more; both pressures must be absolute.", name, ratio));
}
Result<void> CheckEfficiency(double efficiency) {
  if (efficiency > 0.0 && efficiency <= 1.05) return {};
  return Fail(ErrorCode::kOutOfRange, fmt::format("an efficiency of {:.4g} is not between 0 and 1; give it as a fraction.", efficiency));
}

// 1 - ER^-((g-1)/g)
double ExpansionTerm(double ratio, const PerfectGas& gas) { return 1.0 - std::pow(ratio, -gas.exponent()); }

}  // namespace

double IsentropicTemperatureRise(Temperature inlet, double pressure_ratio, const PerfectGas& gas) {
  return inlet.kelvins() * (std::pow(pressure_ratio, gas.exponent()) - 1.0);
}

Result<double> CompressorTemperatureRise(Temperature inlet, double pressure_ratio, double efficiency, const PerfectGas& gas) {
  if (auto good = CheckRatio(pressure_ratio, "a pressure ratio of"); !good) return std::unexpected(good.error());
  if (auto good = CheckEfficiency(efficiency); !good) return std::unexpected(good.error());
  return IsentropicTemperatureRise(inlet, pressure_ratio, gas) / efficiency;
}

Result<Temperature> CompressorOutletTemperature(Temperature inlet, double pressure_ratio, double efficiency, const PerfectGas& gas) {
  const auto rise = CompressorTemperatureRise(inlet, pressure_ratio, efficiency, gas);
  if (!rise) return std::unexpected(rise.error());
  return inlet.Plus(*rise);
}

Result<SpecificEnergy> CompressorWork(Temperature inlet, double pressure_ratio, double efficiency, const PerfectGas& gas) {
  const auto rise = CompressorTemperatureRise(inlet, pressure_ratio, efficiency, gas);
  if (!rise) return std::unexpected(rise.error());
  return SpecificEnergy::JoulesPerKilogram(gas.cp * *rise);
}

Result<double> CompressorEfficiency(Temperature inlet, Temperature outlet, double pressure_ratio, const PerfectGas& gas) {
  if (auto good = CheckRatio(pressure_ratio, "a pressure ratio of"); !good) return std::unexpected(good.error());
  const double rise = KelvinsBetween(inlet, outlet);
  if (!(rise > 0.0)) return Fail(ErrorCode::kOutOfRange, "the outlet is no hotter than the inlet, so no efficiency follows; check the temperatures.");
  return IsentropicTemperatureRise(inlet, pressure_ratio, gas) / rise;
}

Result<double> CompressorPressureRatio(Temperature inlet, SpecificEnergy work, double efficiency, const PerfectGas& gas) {
  if (auto good = CheckEfficiency(efficiency); !good) return std::unexpected(good.error());
  if (!(work.joules_per_kilogram() >= 0.0)) return Fail(ErrorCode::kOutOfRange, "the work put into a compressor cannot be negative.");
  return std::pow(1.0 + efficiency * work.joules_per_kilogram() / (gas.cp * inlet.kelvins()), 1.0 / gas.exponent());
}

Result<SpecificEnergy> TurbineWork(Temperature inlet, double expansion_ratio, double efficiency, const PerfectGas& gas) {
  if (auto good = CheckRatio(expansion_ratio, "an expansion ratio of"); !good) return std::unexpected(good.error());
  if (auto good = CheckEfficiency(efficiency); !good) return std::unexpected(good.error());
  return SpecificEnergy::JoulesPerKilogram(efficiency * gas.cp * inlet.kelvins() * ExpansionTerm(expansion_ratio, gas));
}

Result<double> TurbineEfficiency(Temperature inlet, double expansion_ratio, SpecificEnergy work, const PerfectGas& gas) {
  if (auto good = CheckRatio(expansion_ratio, "an expansion ratio of"); !good) return std::unexpected(good.error());
  if (expansion_ratio == 1.0) return Fail(ErrorCode::kOutOfRange, "nothing expands at an expansion ratio of 1, so no efficiency follows.");
  return work.joules_per_kilogram() / (gas.cp * inlet.kelvins() * ExpansionTerm(expansion_ratio, gas));
}

Result<double> SpoutingVelocity(Temperature inlet, double expansion_ratio_ts, const PerfectGas& gas) {
  if (auto good = CheckRatio(expansion_ratio_ts, "an expansion ratio of"); !good) return std::unexpected(good.error());
  return std::sqrt(2.0 * gas.cp * inlet.kelvins() * ExpansionTerm(expansion_ratio_ts, gas));
}

Result<double> VelocityRatio(TipSpeed tip_speed, Temperature inlet, double expansion_ratio_ts, const PerfectGas& gas) {
  const auto velocity = SpoutingVelocity(inlet, expansion_ratio_ts, gas);
  if (!velocity) return std::unexpected(velocity.error());
  if (*velocity == 0.0) return Fail(ErrorCode::kOutOfRange, "nothing expands at an expansion ratio of 1, so there is no velocity ratio.");
  return tip_speed.meters_per_second() / *velocity;
}

double ChokedFlowFunction(double gamma) { return std::sqrt(gamma) * std::pow(2.0 / (gamma + 1.0), (gamma + 1.0) / (2.0 * (gamma - 1.0))); }
double CriticalPressureRatio(double gamma) { return std::pow((gamma + 1.0) / 2.0, gamma / (gamma - 1.0)); }

Result<IsentropicState> StateAtMach(double mach, double gamma) {
  if (!(mach > 0.0 && mach < 100.0) || !(gamma > 1.0 && gamma < 2.0))
    return Fail(ErrorCode::kOutOfRange, "the Mach number must be above 0 and gamma between 1 and 2.");
  const double term = 1.0 + (gamma - 1.0) / 2.0 * mach * mach;
  IsentropicState state;
  state.temperature = 1.0 / term;
  state.pressure = std::pow(term, -gamma / (gamma - 1.0));
  state.density = std::pow(term, -1.0 / (gamma - 1.0));
  state.area = std::pow(2.0 * term / (gamma + 1.0), (gamma + 1.0) / (2.0 * (gamma - 1.0))) / mach;
  return state;
}

}  // namespace islebook
