#pragma once
// What the ink leaves open of a joined path: its way under print, and its last stretch toward a heavier line that it runs into. Internal to curves.

#include <vector>

#include "digitizer/curves/joining.h"

namespace islebook {

// Draws bridges under print (`cover`) anew, as the smooth line that the ink well before and behind them calls for: the last px beside print often lean
// toward another line that ends at the same pad.
void SmoothHiddenWays(std::vector<Path>& paths, const cv::Mat1b& ink, const cv::Mat1b& cover);

// Walks free ends on, as they bend, while there is ink (for dashed paths dashes) or print ahead, to a heavier line within `reach_px`: two lines that meet
// at a shallow angle are one blot for long.
void FollowInkToLine(std::vector<Path>& paths, const cv::Mat1b& ink, const cv::Mat1b& cover, double reach_px);

}  // namespace islebook
