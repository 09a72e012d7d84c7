#include "mapstore/bench/atmosphere.h"

#include <cmath>

#include <fmt/format.h>

#include "mapstore/units/atmosphere.h"

namespace islebook {

Result<AirState> AmbientAtAltitude(double altitude_m) {
  if (!(altitude_m >= kLowestAltitude_m && altitude_m <= kHighestAltitude_m))
    return Fail(ErrorCode::kOutOfRange, fmt::format("an altitude of {:.6g} m is not a place where an engine runs; give {:.0f} to {:.0f} m.",
                                                    altitude_m, kLowestAltitude_m, kHighestAltitude_m));
  const auto air = StandardAtmosphere(Length::Meters(altitude_m));
  if (!air) return std::unexpected(air.error());
  return AirState{air->pressure.pascals(), air->temperature.kelvins()};
}

double AltitudeOfPressure(double pressure_Pa) {
  const auto height = PressureAltitude(Pressure::Pascals(pressure_Pa));
  if (!height) return pressure_Pa > 101325.0 ? kLowestAltitude_m : kHighestAltitude_m;
  return std::fmin(std::fmax(height->meters(), kLowestAltitude_m), kHighestAltitude_m);
}

double SaturationPressure(double temperature_K) {
  const double celsius = temperature_K - 273.15;
  return 611.2 * std::exp(17.62 * celsius / (243.12 + celsius));
}

}  // namespace islebook
