#pragma once
// Working gases of the air and exhaust path: ideal gases whose heat capacity varies with temperature. SI throughout: K, J/kg, J/(kg K), Pa.
// Data: NASA 9-coefficient polynomials, McBride, Zehe, Gordon, NASA/TP-2002-211556 (file thermo.inp of NASA's CEA, Apache-2.0), 200 to 6000 K.
// Dry air by mole: N2 78.084, O2 20.9476, Ar 0.9365, CO2 0.0319 % (Gordon 1982, in the same file). Values: copy freely, share between threads freely.

#include <array>

#include "mapstore/units/error.h"

namespace islebook {

class WorkingGas {
 public:
  static WorkingGas DryAir();
  // `vapor_fraction`: mole fraction of water vapor, 0 to 0.5.
  static WorkingGas MoistAir(double vapor_fraction);
  // Burned gas of a fuel C H_y with excess air (no CO, no soot). air_fuel_ratio is kg of dry air per kg of fuel.
  // kOutOfRange below the stoichiometric ratio: the gas would hold unburned fuel.
  static Result<WorkingGas> LeanExhaust(double air_fuel_ratio, double hydrogen_per_carbon = 1.85, double vapor_fraction = 0.0);
  // Constant heat capacity, for textbook examples worked that way.
  static WorkingGas Perfect(double gas_constant, double heat_capacity);

  double GasConstant() const { return gas_constant_; }
  double HeatCapacity(double temperature) const;  // at constant pressure
  double Gamma(double temperature) const;
  // Enthalpy from the elements at 298.15 K: differences between gases of one mass balance hold the heat of reaction.
  double Enthalpy(double temperature) const;
  // Entropy at 1 bar, up to a constant of the mixture.
  double Entropy(double temperature) const;

  // Temperature with this enthalpy; kOutOfRange outside 200 to 6000 K.
  Result<double> TemperatureAtEnthalpy(double enthalpy) const;
  // End of an isentropic change from (temperature, p) to (result, p * pressure_ratio). Ratios below 1 expand.
  Result<double> IsentropicTemperature(double temperature, double pressure_ratio) const;

  static constexpr double kLowestTemperature = 200.0;
  static constexpr double kHighestTemperature = 6000.0;

 private:
  using Coefficients = std::array<double, 9>;  // a1..a7, b1, b2, per kg: already multiplied by the gas constant
  struct Mixing;
  const Coefficients& Range(double temperature) const { return temperature < 1000.0 ? low_ : high_; }

  double gas_constant_ = 0.0;
  Coefficients low_{}, high_{};
};

// kg of dry air that burn 1 kg of C H_y with nothing left over: 14.57 for 1.85.
double StoichiometricAirFuelRatio(double hydrogen_per_carbon = 1.85);

}  // namespace islebook
