#pragma once
// What was joined to a line without being a part of it: crumbs of a worn grid. Internal to curves.

#include <vector>

#include "digitizer/axes/axes.h"
#include "digitizer/curves/joining.h"

namespace islebook {

// Cuts solid lines where they cross more bare paper than ink: the dots of a worn grid, one joined to the next. What lies beyond stays as a path of its own.
void CutBareStretches(std::vector<Path>& paths, const cv::Mat1b& ink, const cv::Mat1b& cover, double unit_px);

// Drops short lines that lie on one grid line of the panel for most of their length.
void DropGridLines(const Panel& panel, double unit_px, std::vector<Path>& paths);

}  // namespace islebook
