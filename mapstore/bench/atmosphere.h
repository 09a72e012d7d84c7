#pragma once
// The standard atmosphere of ISO 2533 (the same as US Standard Atmosphere 1976 here), lowest layer, and moisture of air.

#include "mapstore/units/error.h"

namespace islebook {

struct AirState {
  double pressure_Pa = 101325.0;  // absolute
  double temperature_K = 288.15;
};

inline constexpr double kLowestAltitude_m = -2000.0;
inline constexpr double kHighestAltitude_m = 9000.0;

// At a geopotential altitude (the one in tables and on maps; it differs from height by tape by 0.1 % at 6,000 m). kOutOfRange outside the limits above.
Result<AirState> StandardAtmosphere(double altitude_m);
// Geopotential altitude of a geometric height, both in m above sea level.
double GeopotentialAltitude(double geometric_m);
// Where the standard atmosphere has this pressure.
double PressureAltitude(double pressure_Pa);

// Pressure of water vapor over liquid water at saturation: the Magnus form with the coefficients of WMO-No. 8, -45 to 60 degrees C, 0.5 % (from memory).
double SaturationPressure(double temperature_K);

}  // namespace islebook
