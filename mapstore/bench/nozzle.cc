#include "mapstore/bench/nozzle.h"

#include <algorithm>
#include <cmath>

#include "mapstore/units/isentropic.h"

namespace islebook {

double FlowFunction(double gamma, double pressure_ratio) {
  if (!(pressure_ratio > 1.0)) return 0.0;
  const double r = 1.0 / std::min(pressure_ratio, CriticalPressureRatio(gamma));
  return std::sqrt(2.0 * gamma / (gamma - 1.0) * (std::pow(r, 2.0 / gamma) - std::pow(r, (gamma + 1.0) / gamma)));
}

}  // namespace islebook
