#pragma once
// Which of the efficiency islands that are flagged for review carry a value that the others bear out. Internal to mapstore/surface.
//
// An island's value is read from print and may be read wrong, or be another island's. Where the others say well enough what it must be, that settles it; where they do
// not, what is known of such readings remains: of the flagged islands of digitized sheets about one in eight has a wrong value.

#include <vector>

#include "mapstore/surface/efficiency_field.h"

namespace islebook {

// How far such a value is off, root mean square, as a fraction of efficiency.
inline constexpr double kWrongBy = 0.04;

// How likely the value of each island is right, by what a smooth sheet through the others says; 1 for those that are not flagged, not used, or have too few others.
// `roughness`: of the sheet (BsplineSheet's third).
std::vector<double> JudgeIslands(const std::vector<Island>& islands, const std::vector<char>& used, double roughness);

}  // namespace islebook
