#pragma once
// How bright bare paper is at every place: lamp, shadow, glare, paper tint and printed tints together.

#include <opencv2/core/mat.hpp>

namespace islebook {

// `small`: the sheet, dark on light, reduced; `paper`: its paper mask (may be empty); `window_px`: wider than any stroke.
// Returns the level of bare paper, BGR in the picture's own values, smooth except where a tint has an edge.
// Method: gray closing with a window wider than the strokes, then corrected by the local mean of what is bare.
cv::Mat3f PaperLevel(const cv::Mat3b& small, const cv::Mat1b& paper, int window_px);

// Light lines on a dark ground? Looks at the paper only, if a mask is given.
bool IsInverted(const cv::Mat3b& small, const cv::Mat1b& paper = {});

// The middle of all brightnesses, 0..255.
int MedianBrightness(const cv::Mat3b& small, const cv::Mat1b& paper = {});

}  // namespace islebook
