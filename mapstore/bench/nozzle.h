#pragma once
// Flow through a hole: a wastegate, a turbine seen as a nozzle. Isentropic, constant heat capacity ratio, from rest (NACA Report 1135).

namespace islebook {

// Total inlet pressure over outlet pressure at which the throat reaches the speed of sound.
double CriticalPressureRatio(double gamma);
// m sqrt(R T0) / (A p0) at that ratio and beyond.
double ChokedFlowFunction(double gamma);
// m sqrt(R T0) / (A p0) at total inlet over outlet pressure; 0 at 1 and below.
double FlowFunction(double gamma, double pressure_ratio);

struct MachState {
  double pressure_ratio = 1.0;     // static over total
  double temperature_ratio = 1.0;  // static over total
  double area_ratio = 1.0;         // area over throat area
};
MachState IsentropicFlow(double gamma, double mach);

}  // namespace islebook
