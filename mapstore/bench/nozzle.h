#pragma once
// Flow through a hole: a wastegate, a turbine seen as a nozzle. Isentropic, constant heat capacity ratio, from rest (NACA Report 1135). Choking itself:
// CriticalPressureRatio and ChokedFlowFunction in mapstore/units/isentropic.h.

namespace islebook {

// m sqrt(R T0) / (A p0) at total inlet over outlet pressure; 0 at 1 and below, the choked value from the critical ratio on.
double FlowFunction(double gamma, double pressure_ratio);

}  // namespace islebook
