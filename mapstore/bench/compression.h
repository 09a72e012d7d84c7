#pragma once
// One compressor, one turbine, one cooler: what happens to the gas. SI: K, J/kg; pressures as ratios of total pressures.

#include "mapstore/bench/gas.h"
#include "mapstore/units/error.h"

namespace islebook {

struct StateChange {
  double isentropic_temperature_K = 0.0;  // at the end of the loss-free change
  double outlet_temperature_K = 0.0;
  double work_J_kg = 0.0;  // taken in by the gas (compressor) or given out by it (turbine), positive both times
};

// Compression by `pressure_ratio` >= 1 at an isentropic efficiency in (0, 1]: enthalpy rises by the isentropic rise over the efficiency. kOutOfRange otherwise.
Result<StateChange> Compress(const WorkingGas& gas, double inlet_temperature_K, double pressure_ratio, double efficiency);
// Expansion by `expansion_ratio` >= 1 (inlet over outlet); the work is the isentropic work times the efficiency.
Result<StateChange> Expand(const WorkingGas& gas, double inlet_temperature_K, double expansion_ratio, double efficiency);
// Efficiency of a compression that was measured.
Result<double> CompressionEfficiency(const WorkingGas& gas, double inlet_temperature_K, double outlet_temperature_K, double pressure_ratio);

// Effectiveness: the part of the difference between gas and coolant that the cooler takes away, 0 to 1.
double CoolerOutletTemperature(double inlet_temperature_K, double coolant_temperature_K, double effectiveness);

// Compressor pressure ratio that a turbine can drive, constant heat capacities (Isermann, Combustion Engine Diagnosis, eqs. 5.4.14 to 5.4.18):
// p2/p1 = [1 + eta (m_t cp_t T3)/(m_c cp_c T1) (1 - (p4/p3)^((g_t-1)/g_t))]^(g_c/(g_c-1)), eta = eta_c eta_t eta_m.
struct ShaftBalance {
  double overall_efficiency = 0.5;
  double mass_ratio = 1.05;  // turbine over compressor
  double compressor_heat_capacity = 1005.0, compressor_gamma = 1.4, compressor_inlet_K = 288.15;
  double turbine_heat_capacity = 1148.0, turbine_gamma = 1.333, turbine_inlet_K = 873.15;
};
double DrivenPressureRatio(const ShaftBalance& shaft, double expansion_ratio);

// Two compressors in series with the least work for `overall` = PR1 * PR2, where the second one's inlet temperature does not depend on the split (a cooler between):
// PR1/PR2 = (T2 eta1 / (T1 eta2))^(g/(g-1)), from setting the derivative of the work to zero; for T1 = T2 and equal efficiencies the square root
// (Cengel, Fundamentals of Thermal-Fluid Sciences, eq. 7-59).
struct PressureSplit {
  double first = 1.0, second = 1.0;
};
PressureSplit LeastWorkSplit(double overall, double first_inlet_K, double second_inlet_K, double first_efficiency, double second_efficiency,
                             double gamma);

}  // namespace islebook
