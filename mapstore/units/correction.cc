#include "mapstore/units/correction.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

double Theta(const Inlet& inlet, const ReferenceConditions& reference) { return inlet.temperature.kelvins() / reference.temperature_K; }
double Delta(const Inlet& inlet, const ReferenceConditions& reference) { return inlet.pressure.pascals() / reference.pressure_Pa; }

// How a corrected mass flow changes when the reference does: sqrt(T_from/T_to) p_to/p_from.
double FlowFactor(const ReferenceConditions& from, const ReferenceConditions& to) {
  return std::sqrt(from.temperature_K / to.temperature_K) * to.pressure_Pa / from.pressure_Pa;
}

// (0.740/g) ((g+1)/2)^(g/(g-1)); 0.740 is g* (2/(g*+1))^(g*/(g*-1)) of air, g* = 1.4, rounded as the report prints it.
double Epsilon(double gamma) { return 0.740 / gamma * std::pow((gamma + 1.0) / 2.0, gamma / (gamma - 1.0)); }

}  // namespace

Result<void> CheckInlet(const Inlet& inlet) {
  const double t = inlet.temperature.kelvins(), p = inlet.pressure.pascals();
  if (!(t >= 150.0 && t <= 2500.0))
    return Fail(ErrorCode::kOutOfRange, fmt::format("an inlet temperature of {:.1f} K is outside 150 to 2500 K; check its unit.", t));
  if (!(p >= 1e3 && p <= 1e7))
    return Fail(ErrorCode::kOutOfRange,
                fmt::format("an inlet pressure of {:.3f} kPa is outside 1 to 10,000 kPa; check its unit, and that it is absolute.", p / 1000.0));
  return {};
}

CorrectedMassFlow Correct(MassFlow flow, const Inlet& inlet, const ReferenceConditions& reference) {
  return CorrectedMassFlow::KilogramsPerSecond(flow.kilograms_per_second() * std::sqrt(Theta(inlet, reference)) / Delta(inlet, reference));
}
MassFlow Uncorrect(CorrectedMassFlow flow, const Inlet& inlet, const ReferenceConditions& reference) {
  return MassFlow::KilogramsPerSecond(flow.kilograms_per_second() * Delta(inlet, reference) / std::sqrt(Theta(inlet, reference)));
}
CorrectedSpeed Correct(RotationalSpeed speed, const Inlet& inlet, const ReferenceConditions& reference) {
  return CorrectedSpeed::RadiansPerSecond(speed.radians_per_second() / std::sqrt(Theta(inlet, reference)));
}
RotationalSpeed Uncorrect(CorrectedSpeed speed, const Inlet& inlet, const ReferenceConditions& reference) {
  return RotationalSpeed::RadiansPerSecond(speed.radians_per_second() * std::sqrt(Theta(inlet, reference)));
}
CorrectedVolumeFlow Correct(VolumeFlow flow, const Inlet& inlet, const ReferenceConditions& reference) {
  return CorrectedVolumeFlow::CubicMetersPerSecond(flow.cubic_meters_per_second() / std::sqrt(Theta(inlet, reference)));
}
VolumeFlow Uncorrect(CorrectedVolumeFlow flow, const Inlet& inlet, const ReferenceConditions& reference) {
  return VolumeFlow::CubicMetersPerSecond(flow.cubic_meters_per_second() * std::sqrt(Theta(inlet, reference)));
}

Density ReferenceDensity(const ReferenceConditions& reference, double gas_constant) {
  return Density::KilogramsPerCubicMeter(reference.pressure_Pa / (gas_constant * reference.temperature_K));
}
CorrectedMassFlow ToMassFlow(CorrectedVolumeFlow flow, const ReferenceConditions& reference, double gas_constant) {
  return CorrectedMassFlow::KilogramsPerSecond(flow.cubic_meters_per_second() *
                                               ReferenceDensity(reference, gas_constant).kilograms_per_cubic_meter());
}
CorrectedVolumeFlow ToVolumeFlow(CorrectedMassFlow flow, const ReferenceConditions& reference, double gas_constant) {
  return CorrectedVolumeFlow::CubicMetersPerSecond(flow.kilograms_per_second() /
                                                   ReferenceDensity(reference, gas_constant).kilograms_per_cubic_meter());
}

CorrectedMassFlow ChangeReference(CorrectedMassFlow flow, const ReferenceConditions& from, const ReferenceConditions& to) {
  return flow * FlowFactor(from, to);
}
CorrectedVolumeFlow ChangeReference(CorrectedVolumeFlow flow, const ReferenceConditions& from, const ReferenceConditions& to) {
  return flow * std::sqrt(to.temperature_K / from.temperature_K);
}
CorrectedSpeed ChangeReference(CorrectedSpeed speed, const ReferenceConditions& from, const ReferenceConditions& to) {
  return speed * std::sqrt(to.temperature_K / from.temperature_K);
}

TurbineFlowParameter FlowParameter(MassFlow flow, const Inlet& inlet) {
  return TurbineFlowParameter::KilogramRootKelvinPerSecondPascal(flow.kilograms_per_second() * std::sqrt(inlet.temperature.kelvins()) /
                                                                 inlet.pressure.pascals());
}
MassFlow FlowAt(TurbineFlowParameter parameter, const Inlet& inlet) {
  return MassFlow::KilogramsPerSecond(parameter.kilogram_root_kelvin_per_second_pascal() * inlet.pressure.pascals() /
                                      std::sqrt(inlet.temperature.kelvins()));
}
CorrectedMassFlow ToCorrectedFlow(TurbineFlowParameter parameter, const ReferenceConditions& reference) {
  return CorrectedMassFlow::KilogramsPerSecond(parameter.kilogram_root_kelvin_per_second_pascal() * reference.pressure_Pa /
                                               std::sqrt(reference.temperature_K));
}
TurbineFlowParameter ToFlowParameter(CorrectedMassFlow flow, const ReferenceConditions& reference) {
  return TurbineFlowParameter::KilogramRootKelvinPerSecondPascal(flow.kilograms_per_second() * std::sqrt(reference.temperature_K) /
                                                                 reference.pressure_Pa);
}

EquivalentFactors EquivalentFactorsOf(const Gas& gas, const Inlet& inlet, const ReferenceConditions& reference) {
  const auto critical_velocity_squared = [](double gamma, double r, double t) { return 2.0 * gamma / (gamma + 1.0) * r * t; };
  EquivalentFactors factors;
  factors.theta_cr = critical_velocity_squared(gas.gamma, gas.gas_constant, inlet.temperature.kelvins()) /
                     critical_velocity_squared(1.4, kDryAirGasConstant, reference.temperature_K);
  factors.epsilon = Epsilon(gas.gamma);
  factors.delta = Delta(inlet, reference);
  return factors;
}
CorrectedMassFlow EquivalentFlow(MassFlow flow, const EquivalentFactors& factors) {
  return CorrectedMassFlow::KilogramsPerSecond(factors.epsilon * flow.kilograms_per_second() * std::sqrt(factors.theta_cr) / factors.delta);
}
CorrectedSpeed EquivalentSpeed(RotationalSpeed speed, const EquivalentFactors& factors) {
  return CorrectedSpeed::RadiansPerSecond(speed.radians_per_second() / std::sqrt(factors.theta_cr));
}
SpecificEnergy EquivalentWork(SpecificEnergy work, const EquivalentFactors& factors) { return work / factors.theta_cr; }

double EquivalentPressureRatio(double pressure_ratio, double gamma, double other_gamma) {
  const double work = (gamma + 1.0) / (gamma - 1.0) * -std::expm1(-std::log(pressure_ratio) * (gamma - 1.0) / gamma);
  // Beyond what the other gas can give at all, an expansion into a vacuum: as far as numbers need to go.
  const double rest = std::max(1.0 - work * (other_gamma - 1.0) / (other_gamma + 1.0), 1e-9);
  return std::exp(-std::log(rest) * other_gamma / (other_gamma - 1.0));
}

}  // namespace islebook
