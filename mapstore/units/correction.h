#pragma once
// Corrected and actual flow and speed. theta = T01/T_ref and delta = p01/p_ref, inlet totals over the map's reference conditions:
// W_c = W sqrt(theta)/delta, N_c = N/sqrt(theta) (NASA/TM-2014-216638). Plain arithmetic, thread-safe; nothing is checked but CheckInlet.

#include "mapstore/units/error.h"
#include "mapstore/units/quantity.h"
#include "mapstore/units/reference_conditions.h"

namespace islebook {

// The gas at a machine's inlet, total conditions.
struct Inlet {
  Temperature temperature = Temperature::Kelvins(288.15);
  Pressure pressure = Pressure::Pascals(101325.0);
};

// kOutOfRange: a temperature outside 150 to 2500 K or a pressure outside 1 kPa to 10 MPa is a slip of units, not an inlet.
Result<void> CheckInlet(const Inlet& inlet);

CorrectedMassFlow Correct(MassFlow flow, const Inlet& inlet, const ReferenceConditions& reference);
MassFlow Uncorrect(CorrectedMassFlow flow, const Inlet& inlet, const ReferenceConditions& reference);
CorrectedSpeed Correct(RotationalSpeed speed, const Inlet& inlet, const ReferenceConditions& reference);
RotationalSpeed Uncorrect(CorrectedSpeed speed, const Inlet& inlet, const ReferenceConditions& reference);

// Volume flow at inlet totals: V_c = V/sqrt(theta). The pressure plays no part.
CorrectedVolumeFlow Correct(VolumeFlow flow, const Inlet& inlet, const ReferenceConditions& reference);
VolumeFlow Uncorrect(CorrectedVolumeFlow flow, const Inlet& inlet, const ReferenceConditions& reference);

// The density of a gas at the reference conditions, and between corrected mass and volume flow by it: W_c = rho_ref V_c.
inline constexpr double kDryAirGasConstant = 287.05287;  // J/(kg K), ISO 2533
Density ReferenceDensity(const ReferenceConditions& reference, double gas_constant = kDryAirGasConstant);
CorrectedMassFlow ToMassFlow(CorrectedVolumeFlow flow, const ReferenceConditions& reference, double gas_constant = kDryAirGasConstant);
CorrectedVolumeFlow ToVolumeFlow(CorrectedMassFlow flow, const ReferenceConditions& reference, double gas_constant = kDryAirGasConstant);

// The same physical point read on a map with other reference conditions.
CorrectedMassFlow ChangeReference(CorrectedMassFlow flow, const ReferenceConditions& from, const ReferenceConditions& to);
CorrectedVolumeFlow ChangeReference(CorrectedVolumeFlow flow, const ReferenceConditions& from, const ReferenceConditions& to);
CorrectedSpeed ChangeReference(CorrectedSpeed speed, const ReferenceConditions& from, const ReferenceConditions& to);

// Turbines: W sqrt(T03)/p03, and the same as a corrected flow.
TurbineFlowParameter FlowParameter(MassFlow flow, const Inlet& inlet);
MassFlow FlowAt(TurbineFlowParameter parameter, const Inlet& inlet);
CorrectedMassFlow ToCorrectedFlow(TurbineFlowParameter parameter, const ReferenceConditions& reference);
TurbineFlowParameter ToFlowParameter(CorrectedMassFlow flow, const ReferenceConditions& reference);

// "Equivalent" values, which also allow for a gas other than air at the standard day (Haas and Kofskey, NASA TN D-7881, p. 4):
// theta_cr = (V_cr/V_cr*)^2 with V_cr^2 = 2 g/(g+1) R T, epsilon = (0.740/g) ((g+1)/2)^(g/(g-1)). On exhaust gas plain sqrt(T)/p is 2 to 3 % off in flow.
struct Gas {
  double gamma = 1.4;                        // ratio of specific heats, > 1
  double gas_constant = kDryAirGasConstant;  // J/(kg K)
};
struct EquivalentFactors {
  double theta_cr = 1.0;  // squared critical velocity ratio
  double epsilon = 1.0;
  double delta = 1.0;
};
EquivalentFactors EquivalentFactorsOf(const Gas& gas, const Inlet& inlet, const ReferenceConditions& reference = {});
CorrectedMassFlow EquivalentFlow(MassFlow flow, const EquivalentFactors& factors);        // epsilon w sqrt(theta_cr)/delta
CorrectedSpeed EquivalentSpeed(RotationalSpeed speed, const EquivalentFactors& factors);  // N/sqrt(theta_cr)
SpecificEnergy EquivalentWork(SpecificEnergy work, const EquivalentFactors& factors);     // dh/theta_cr
// The pressure ratio at which a gas of another gamma gives the same ideal work in units of its critical velocity squared: (g+1)/(g-1) (1 - PR^-((g-1)/g)) alike.
// Formula from memory; the printed pairs of NASA TN D-7881, D-7625 and TM X-1757 agree.
double EquivalentPressureRatio(double pressure_ratio, double gamma, double other_gamma = 1.4);

}  // namespace islebook
