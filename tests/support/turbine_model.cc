#include "tests/support/turbine_model.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace islebook::paint {
namespace {

constexpr double kGasHeat = 1150.0;        // J/(kg K), exhaust
constexpr double kGasTemperature = 873.0;  // K
constexpr double kExponent = 0.25;         // (gamma - 1) / gamma at gamma = 4/3

double SpoutingVelocity(double ratio) { return std::sqrt(2 * kGasHeat * kGasTemperature * (1 - std::pow(ratio, -kExponent))); }
double RatioOf(double velocity) { return std::pow(std::max(1e-3, 1 - velocity * velocity / (2 * kGasHeat * kGasTemperature)), -1 / kExponent); }

}  // namespace

double TurbineModel::Flow(double ratio, double line) const {
  const double full = has_vanes ? flow * (0.3 + 0.7 * std::pow(line, 0.9)) : flow * (1 - 0.12 * (line - 0.7));
  const double effective = 1 - (1 - 1 / ratio) * (has_vanes ? 1.0 : 1 - speed_effect * line * line);
  const double part = (std::max(effective, choke_ratio) - choke_ratio) / (1 - choke_ratio);
  return full * std::sqrt(1 - part * part);
}

double TurbineModel::Efficiency(double ratio, double line) const {
  if (has_vanes) {  // measured at one blade speed
    // Wide vanes turn the gas less: their best point lies at a lower velocity ratio.
    const double v = 0.55 * tip_speed / SpoutingVelocity(ratio) / best_velocity_ratio * (1 + 0.3 * (line - 0.7));
    const double opening = 1 - 0.55 * std::pow(line - best_opening, 2) - 0.12 * std::max(0.0, best_opening - line);
    return peak_efficiency * opening * (1 - 0.8 * sharpness * (v - 1) * (v - 1));
  }
  const double v = line * tip_speed / SpoutingVelocity(ratio) / best_velocity_ratio;
  return (peak_efficiency - 0.08 * (line - 0.75) * (line - 0.75)) * (1 - sharpness * (v - 1) * (v - 1));
}

double TurbineModel::FirstRatio(double line) const {
  return has_vanes ? low_ratio : std::max(1.04, RatioOf(line * tip_speed / (best_velocity_ratio * 1.28)));
}

double TurbineModel::LastRatio(double line) const {
  return has_vanes ? high_ratio : std::min(high_ratio, RatioOf(line * tip_speed / (best_velocity_ratio * 0.66)));
}

TurbineModel TurbineModel::Draw(Random& random, double wheel_mm, std::string wheel, bool has_vanes) {
  TurbineModel model;
  model.wheel = std::move(wheel);
  model.wheel_mm = wheel_mm;
  model.has_vanes = has_vanes;
  model.tip_speed = random.Between(430, 500);
  model.design_rpm = 60 * model.tip_speed / (std::numbers::pi * wheel_mm * 0.001);
  model.flow = random.Between(9.5, 13.5) * wheel_mm * wheel_mm * 1e-6;
  model.choke_ratio = random.Between(0.32, 0.46);
  model.speed_effect = random.Between(0.2, 0.42);
  model.peak_efficiency = random.Between(0.66, 0.78);
  model.best_velocity_ratio = random.Between(0.63, 0.71);
  model.sharpness = random.Between(0.8, 1.3);
  model.best_opening = random.Between(0.86, 0.98);
  model.low_ratio = random.Between(1.15, 1.3);
  model.high_ratio = random.Between(2.7, 3.6);
  return model;
}

}  // namespace islebook::paint
