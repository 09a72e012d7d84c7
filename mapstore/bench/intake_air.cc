#include "mapstore/bench/intake_air.h"

#include <algorithm>
#include <cmath>

#include "mapstore/bench/atmosphere.h"

namespace islebook {
namespace {

constexpr double kWaterOverAir = 18.01528 / 28.9651159;

}  // namespace

IntakeAir IntakeAirOf(const OperatingPoint& point) {
  IntakeAir air;
  if (!(point.relative_humidity > 0.0)) return air;
  const double vapor = std::clamp(point.relative_humidity * SaturationPressure(point.ambient.temperature_K) / point.ambient.pressure_Pa, 0.0, 0.5);
  air.gas = WorkingGas::MoistAir(vapor);
  air.humidity_ratio = vapor / (1.0 - vapor) * kWaterOverAir;
  return air;
}

double PressureDrop(const PressureLoss& loss, double before_Pa, double flow_kg_s) {
  const double drop = loss.fixed_Pa > 0.0 ? loss.fixed_Pa : loss.fraction * before_Pa;
  return loss.at_flow_kg_s ? drop * std::pow(flow_kg_s / *loss.at_flow_kg_s, 2) : drop;
}

}  // namespace islebook
