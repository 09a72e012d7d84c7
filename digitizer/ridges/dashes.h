#pragma once
// Dashes: short bars that follow one another along a smooth line. Internal to ridges.

#include <vector>

#include "digitizer/ridges/ridges.h"

namespace islebook {

// Sets is_dash on chains that are bars of runs of four or more, or of fewer on a sheet that has such runs, and draws them into the mask.
void ClaimDashes(const cv::Mat1b& ink, std::vector<RidgeChain>& chains, cv::Mat1b& dash_mask);

}  // namespace islebook
