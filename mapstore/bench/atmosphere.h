#pragma once
// The air an engine breathes: the standard atmosphere where an altitude is given, and moisture.

#include "mapstore/units/error.h"

namespace islebook {

struct AirState {
  double pressure_Pa = 101325.0;  // absolute
  double temperature_K = 288.15;
};

inline constexpr double kLowestAltitude_m = -2000.0;
inline constexpr double kHighestAltitude_m = 9000.0;

// The standard atmosphere (mapstore/units/atmosphere.h) at a geopotential altitude, the one that maps of the land and barometers mean to 0.1 %.
// kOutOfRange outside the limits above: an engine runs nowhere else.
Result<AirState> AmbientAtAltitude(double altitude_m);
// Where the standard atmosphere has this pressure; the nearest limit beyond them.
double AltitudeOfPressure(double pressure_Pa);

// Pressure of water vapor over liquid water at saturation: the Magnus form with the coefficients of WMO-No. 8, -45 to 60 degrees C, 0.5 % (from memory).
double SaturationPressure(double temperature_K);

}  // namespace islebook
