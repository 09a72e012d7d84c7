#pragma once
// The standard atmosphere up to 20 km (ISO 2533, the same as US Standard Atmosphere 1976 there): what an engine breathes at altitude when nobody measured it.

#include "mapstore/units/error.h"
#include "mapstore/units/quantity.h"

namespace islebook {

struct Air {
  Temperature temperature = Temperature::Kelvins(288.15);
  Pressure pressure = Pressure::Pascals(101325.0);
  Density density = Density::KilogramsPerCubicMeter(1.225);
};

// `geopotential` height, -2 to 20 km; kOutOfRange beyond. Barometers and altimeters mean this height; a map's contour height is geometric, see below.
Result<Air> StandardAtmosphere(Length geopotential);

// Geometric to geopotential height, H = r z/(r + z) with r = 6 356 766 m. At 5000 m they differ by 4 m.
Length GeopotentialHeight(Length geometric);

// The height of a barometer reading, between the same bounds.
Result<Length> PressureAltitude(Pressure pressure);

}  // namespace islebook
