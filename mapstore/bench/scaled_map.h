#pragma once
// The map of a wheel of another size by similarity: the same shape, the same tip speeds and gas. Flow grows with the square of the size, speed falls with it, pressure ratio and
// efficiency stay (small wheels are in truth a little worse: Reynolds number and clearances). An estimate: not the map of any wheel that exists.

#include "mapstore/map/performance_map.h"

namespace islebook {

// `size`: new diameter over old, above 0. Rotational speeds are scaled, tip speeds and vane openings stay. The title says so; points_px and calibration are left out.
PerformanceMap ScaledWheel(const PerformanceMap& map, double size);

}  // namespace islebook
