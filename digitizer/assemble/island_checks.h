#pragma once
// Checks on efficiency islands against each other and against the map's edge, at which they are clipped. Internal to assemble.

#include "digitizer/assemble/checks.h"

namespace islebook {

// Islands that end against the end of another line, that stop short of the edge they run toward, that end at print inside the map, or that were joined
// outside the map.
void CheckIslands(const CheckedPanel& panel);

}  // namespace islebook
