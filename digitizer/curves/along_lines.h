#pragma once
// Curves that touch a heavier line and run along it: the two are one blot there, and what lies before and behind the touch is one curve. Internal to curves.

#include <vector>

#include "digitizer/curves/joining.h"

namespace islebook {

// Joins two open ends that come up to the same heavier line from the same side, facing each other, where their distances from it fit one smooth course that
// does not cross it: an island that touches a speed line or the surge line. `reach_px`: the longest touch.
void JoinAlongLines(std::vector<Path>& paths, const cv::Mat1b& ink, double reach_px);

}  // namespace islebook
