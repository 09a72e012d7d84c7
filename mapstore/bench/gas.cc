#include "mapstore/bench/gas.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

constexpr double kUniversal = 8314.462618;                // J/(kmol K), CODATA 2018
constexpr double kCarbon = 12.0107, kHydrogen = 1.00794;  // kg/kmol, as in thermo.inp

enum Species { kNitrogen, kOxygen, kArgon, kCarbonDioxide, kWater, kSpeciesCount };
using Moles = std::array<double, kSpeciesCount>;

struct SpeciesData {
  double molar_mass;                // kg/kmol
  std::array<double, 9> low, high;  // 200 to 1000 K, 1000 to 6000 K
};

constexpr std::array<SpeciesData, kSpeciesCount> kSpecies{{
    {28.0134,
     {2.210371497e+04, -3.818461820e+02, 6.082738360e+00, -8.530914410e-03, 1.384646189e-05, -9.625793620e-09, 2.519705809e-12, 7.108460860e+02,
      -1.076003744e+01},
     {5.877124060e+05, -2.239249073e+03, 6.066949220e+00, -6.139685500e-04, 1.491806679e-07, -1.923105485e-11, 1.061954386e-15, 1.283210415e+04,
      -1.586640027e+01}},
    {31.9988,
     {-3.425563420e+04, 4.847000970e+02, 1.119010961e+00, 4.293889240e-03, -6.836300520e-07, -2.023372700e-09, 1.039040018e-12, -3.391454870e+03,
      1.849699470e+01},
     {-1.037939022e+06, 2.344830282e+03, 1.819732036e+00, 1.267847582e-03, -2.188067988e-07, 2.053719572e-11, -8.193467050e-16, -1.689010929e+04,
      1.738716506e+01}},
    {39.948,
     {0.0, 0.0, 2.5, 0.0, 0.0, 0.0, 0.0, -7.453750000e+02, 4.379674910e+00},
     {2.010538475e+01, -5.992661070e-02, 2.500069401e+00, -3.992141160e-08, 1.205272140e-11, -1.819015576e-15, 1.078576636e-19, -7.449939610e+02,
      4.379180110e+00}},
    {44.0095,
     {4.943650540e+04, -6.264116010e+02, 5.301725240e+00, 2.503813816e-03, -2.127308728e-07, -7.689988780e-10, 2.849677801e-13, -4.528198460e+04,
      -7.048279440e+00},
     {1.176962419e+05, -1.788791477e+03, 8.291523190e+00, -9.223156780e-05, 4.863676880e-09, -1.891053312e-12, 6.330036590e-16, -3.908350590e+04,
      -2.652669281e+01}},
    {18.01528,
     {-3.947960830e+04, 5.755731020e+02, 9.317826530e-01, 7.222712860e-03, -7.342557370e-06, 4.955043490e-09, -1.336933246e-12, -3.303974310e+04,
      1.724205775e+01},
     {1.034972096e+06, -2.412698562e+03, 4.646110780e+00, 2.291998307e-03, -6.836830480e-07, 9.426468930e-11, -4.822380530e-15, -1.384286509e+04,
      -7.978148510e+00}},
}};

constexpr Moles kDryAir{0.78084, 0.209476, 0.009365, 0.000319, 0.0};

Moles MoistAirMoles(double vapor_fraction) {
  Moles moles = kDryAir;
  moles[kWater] = vapor_fraction / (1.0 - vapor_fraction);
  return moles;
}

double Mass(const Moles& moles) {
  double mass = 0.0;
  for (int i = 0; i < kSpeciesCount; ++i) mass += moles[i] * kSpecies[i].molar_mass;
  return mass;
}

}  // namespace

struct WorkingGas::Mixing {
  static WorkingGas Mix(const Moles& moles) {
    const double mass = Mass(moles);
    WorkingGas gas;
    for (int i = 0; i < kSpeciesCount; ++i) {
      const double share = moles[i] * kUniversal / mass;
      gas.gas_constant_ += share;
      for (std::size_t k = 0; k < gas.low_.size(); ++k) {
        gas.low_[k] += share * kSpecies[i].low[k];
        gas.high_[k] += share * kSpecies[i].high[k];
      }
    }
    return gas;
  }
};

WorkingGas WorkingGas::DryAir() {
  static const WorkingGas air = Mixing::Mix(kDryAir);
  return air;
}

WorkingGas WorkingGas::MoistAir(double vapor_fraction) { return Mixing::Mix(MoistAirMoles(std::clamp(vapor_fraction, 0.0, 0.5))); }

WorkingGas WorkingGas::Perfect(double gas_constant, double heat_capacity) {
  WorkingGas gas;
  gas.gas_constant_ = gas_constant;
  gas.low_[2] = gas.high_[2] = heat_capacity;
  return gas;
}

double StoichiometricAirFuelRatio(double hydrogen_per_carbon) {
  const double oxygen = 1.0 + hydrogen_per_carbon / 4.0;
  return oxygen / kDryAir[kOxygen] * Mass(kDryAir) / (kCarbon + hydrogen_per_carbon * kHydrogen);
}

Result<WorkingGas> WorkingGas::LeanExhaust(double air_fuel_ratio, double hydrogen_per_carbon, double vapor_fraction) {
  if (!(hydrogen_per_carbon >= 0.0 && hydrogen_per_carbon <= 4.0))
    return Fail(ErrorCode::kOutOfRange, fmt::format("a fuel has 0 to 4 hydrogen atoms for each carbon atom, not {:.3g}.", hydrogen_per_carbon));
  const double least = StoichiometricAirFuelRatio(hydrogen_per_carbon);
  if (!(air_fuel_ratio >= least))
    return Fail(ErrorCode::kOutOfRange,
                fmt::format("an air-fuel ratio of {:.3g} leaves fuel unburned (the least for this fuel is {:.2f}); give a leaner one.",
                            air_fuel_ratio, least));
  Moles moles = MoistAirMoles(std::clamp(vapor_fraction, 0.0, 0.5));
  const double fuel = Mass(kDryAir) / air_fuel_ratio / (kCarbon + hydrogen_per_carbon * kHydrogen);  // kmol of CHy for the air above
  moles[kOxygen] = std::max(0.0, moles[kOxygen] - fuel * (1.0 + hydrogen_per_carbon / 4.0));
  moles[kCarbonDioxide] += fuel;
  moles[kWater] += fuel * hydrogen_per_carbon / 2.0;
  return Mixing::Mix(moles);
}

double WorkingGas::HeatCapacity(double t) const {
  const Coefficients& a = Range(t);
  return (a[0] / t + a[1]) / t + a[2] + t * (a[3] + t * (a[4] + t * (a[5] + t * a[6])));
}

double WorkingGas::Gamma(double t) const {
  const double cp = HeatCapacity(t);
  return cp / (cp - gas_constant_);
}

double WorkingGas::Enthalpy(double t) const {
  const Coefficients& a = Range(t);
  return -a[0] / t + a[1] * std::log(t) + t * (a[2] + t * (a[3] / 2 + t * (a[4] / 3 + t * (a[5] / 4 + t * a[6] / 5)))) + a[7];
}

double WorkingGas::Entropy(double t) const {
  const Coefficients& a = Range(t);
  return -a[0] / (2 * t * t) - a[1] / t + a[2] * std::log(t) + t * (a[3] + t * (a[4] / 2 + t * (a[5] / 3 + t * a[6] / 4))) + a[8];
}

namespace {

// Newton's method on a function that rises with temperature; `start` within the range. False when the root lies outside it.
template <typename Value, typename Slope>
bool SolveTemperature(double wanted, double start, Value value, Slope slope, double& t) {
  t = std::clamp(start, WorkingGas::kLowestTemperature, WorkingGas::kHighestTemperature);
  for (int i = 0; i < 60; ++i) {
    const double step = (wanted - value(t)) / slope(t);
    const double next = std::clamp(t + step, WorkingGas::kLowestTemperature, WorkingGas::kHighestTemperature);
    const double moved = std::abs(next - t);
    t = next;
    if (moved <= 1e-13 * t) return std::abs(step) <= 1e-6 * t;  // held by the range's end: a large step is still asked for
  }
  return std::abs(wanted - value(t)) <= 1e-9 * std::abs(slope(t)) * t;
}

}  // namespace

Result<double> WorkingGas::TemperatureAtEnthalpy(double enthalpy) const {
  double t = 0.0;
  const bool found = std::isfinite(enthalpy) &&
                     SolveTemperature(enthalpy, 400.0, [this](double x) { return Enthalpy(x); }, [this](double x) { return HeatCapacity(x); }, t);
  if (!found) return Fail(ErrorCode::kOutOfRange, "the gas would be colder than 200 K or hotter than 6000 K, beyond its data.");
  return t;
}

Result<double> WorkingGas::IsentropicTemperature(double temperature, double pressure_ratio) const {
  if (!(temperature >= kLowestTemperature && temperature <= kHighestTemperature))
    return Fail(ErrorCode::kOutOfRange, fmt::format("gas data reach from 200 to 6000 K, not to {:.4g} K.", temperature));
  if (!(pressure_ratio > 0.0 && std::isfinite(pressure_ratio)))
    return Fail(ErrorCode::kOutOfRange, fmt::format("a pressure ratio is above 0, not {:.3g}.", pressure_ratio));
  const double wanted = Entropy(temperature) + gas_constant_ * std::log(pressure_ratio);
  const double start = temperature * std::pow(pressure_ratio, gas_constant_ / HeatCapacity(temperature));
  double t = 0.0;
  if (!SolveTemperature(wanted, start, [this](double x) { return Entropy(x); }, [this](double x) { return HeatCapacity(x) / x; }, t))
    return Fail(ErrorCode::kOutOfRange, "the gas would be colder than 200 K or hotter than 6000 K, beyond its data.");
  return t;
}

}  // namespace islebook
