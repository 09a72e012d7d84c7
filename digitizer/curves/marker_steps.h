#pragma once
// Marker steps: where markers stand so close together that no usable piece of the line shows between them, the line is taken from center to center. Internal to curves.

#include <vector>

#include "digitizer/curves/markers.h"
#include "digitizer/curves/strokes.h"

namespace islebook {

// Adds a stroke through every row of such markers. `free_px`: how long a piece of line must be to be a stroke of its own.
void AddMarkerSteps(const Page& page, const std::vector<Marker>& markers, double free_px, std::vector<Stroke>& strokes);

}  // namespace islebook
