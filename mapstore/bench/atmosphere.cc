#include "mapstore/bench/atmosphere.h"

#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

// ISO 2533.
constexpr double kSeaLevelTemperature = 288.15, kSeaLevelPressure = 101325.0, kLapse = 0.0065, kGravity = 9.80665, kGasConstant = 287.05287;
constexpr double kEarthRadius = 6356766.0;
constexpr double kExponent = kGravity / (kLapse * kGasConstant);

}  // namespace

Result<AirState> StandardAtmosphere(double altitude_m) {
  if (!(altitude_m >= kLowestAltitude_m && altitude_m <= kHighestAltitude_m))
    return Fail(ErrorCode::kOutOfRange, fmt::format("an altitude of {:.6g} m is not a place where an engine runs; give {:.0f} to {:.0f} m.", altitude_m,
                                                    kLowestAltitude_m, kHighestAltitude_m));
  const double temperature = kSeaLevelTemperature - kLapse * altitude_m;
  return AirState{kSeaLevelPressure * std::pow(temperature / kSeaLevelTemperature, kExponent), temperature};
}

double GeopotentialAltitude(double geometric_m) { return kEarthRadius * geometric_m / (kEarthRadius + geometric_m); }

double PressureAltitude(double pressure_Pa) {
  return kSeaLevelTemperature / kLapse * (1.0 - std::pow(pressure_Pa / kSeaLevelPressure, 1.0 / kExponent));
}

double SaturationPressure(double temperature_K) {
  const double celsius = temperature_K - 273.15;
  return 611.2 * std::exp(17.62 * celsius / (243.12 + celsius));
}

}  // namespace islebook
