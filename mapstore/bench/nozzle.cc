#include "mapstore/bench/nozzle.h"

#include <algorithm>
#include <cmath>

namespace islebook {

double CriticalPressureRatio(double gamma) { return std::pow((gamma + 1.0) / 2.0, gamma / (gamma - 1.0)); }

double ChokedFlowFunction(double gamma) { return std::sqrt(gamma) * std::pow(2.0 / (gamma + 1.0), (gamma + 1.0) / (2.0 * (gamma - 1.0))); }

double FlowFunction(double gamma, double pressure_ratio) {
  if (!(pressure_ratio > 1.0)) return 0.0;
  const double r = 1.0 / std::min(pressure_ratio, CriticalPressureRatio(gamma));
  return std::sqrt(2.0 * gamma / (gamma - 1.0) * (std::pow(r, 2.0 / gamma) - std::pow(r, (gamma + 1.0) / gamma)));
}

MachState IsentropicFlow(double gamma, double mach) {
  const double t = 1.0 / (1.0 + (gamma - 1.0) / 2.0 * mach * mach);
  const double area = std::pow(2.0 / (gamma + 1.0) / t, (gamma + 1.0) / (2.0 * (gamma - 1.0))) / mach;
  return {std::pow(t, gamma / (gamma - 1.0)), t, area};
}

}  // namespace islebook
