#pragma once
// Isentropic relations of a perfect gas, for compressors, turbines and nozzles. Ratios are above 1; pressures total unless the ratio's own name says static.

#include "mapstore/units/error.h"
#include "mapstore/units/quantity.h"

namespace islebook {

struct PerfectGas {
  double cp = 1005.0;  // J/(kg K)
  double gamma = 1.4;
  double exponent() const { return (gamma - 1.0) / gamma; }
};

// T01 (PR^((g-1)/g) - 1): what an ideal compressor needs, in kelvins.
double IsentropicTemperatureRise(Temperature inlet, double pressure_ratio, const PerfectGas& gas = {});

// Of a real one, and its outlet temperature. kOutOfRange: pressure ratio below 1, efficiency not in (0, 1.05].
Result<double> CompressorTemperatureRise(Temperature inlet, double pressure_ratio, double efficiency, const PerfectGas& gas = {});
Result<Temperature> CompressorOutletTemperature(Temperature inlet, double pressure_ratio, double efficiency, const PerfectGas& gas = {});
Result<SpecificEnergy> CompressorWork(Temperature inlet, double pressure_ratio, double efficiency, const PerfectGas& gas = {});

// From measured temperatures. kOutOfRange where the outlet is no hotter than the inlet.
Result<double> CompressorEfficiency(Temperature inlet, Temperature outlet, double pressure_ratio, const PerfectGas& gas = {});

// The pressure ratio that so much work per mass gives at this efficiency.
Result<double> CompressorPressureRatio(Temperature inlet, SpecificEnergy work, double efficiency, const PerfectGas& gas = {});

// Work per mass that a turbine gives: eta cp T03 (1 - ER^-((g-1)/g)); efficiency and ratio both total to static or both total to total.
Result<SpecificEnergy> TurbineWork(Temperature inlet, double expansion_ratio, double efficiency, const PerfectGas& gas = {});
Result<double> TurbineEfficiency(Temperature inlet, double expansion_ratio, SpecificEnergy work, const PerfectGas& gas = {});

// Spouting velocity C0 = sqrt(2 cp T03 (1 - ER_ts^-((g-1)/g))) and the blade-jet speed ratio U/C0.
Result<double> SpoutingVelocity(Temperature inlet, double expansion_ratio_ts, const PerfectGas& gas = {});  // m/s
Result<double> VelocityRatio(TipSpeed tip_speed, Temperature inlet, double expansion_ratio_ts, const PerfectGas& gas = {});

// Choking: m sqrt(R T0)/(A p0) at Mach 1, and the pressure ratio p0/p at which it sets in.
double ChokedFlowFunction(double gamma);
double CriticalPressureRatio(double gamma);

// p/p0, rho/rho0, T/T0 at a Mach number, and A/A*.
struct IsentropicState {
  double pressure = 1.0, density = 1.0, temperature = 1.0, area = 1.0;
};
Result<IsentropicState> StateAtMach(double mach, double gamma);

}  // namespace islebook
