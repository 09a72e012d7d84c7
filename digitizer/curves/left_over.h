#pragma once
// Left over: pieces of drawn lines that no curve took up. One that lies ahead of a curve's open end says that the curve goes on. Internal to curves.

#include <vector>

#include "digitizer/curves/curves.h"
#include "digitizer/curves/joining.h"

namespace islebook {

// Gives paths the short pieces beyond print which hides the way to them (`cover`), be they left over or paths of their own: the last px of a speed line
// behind a label, say.
void AttachTails(const std::vector<Stroke>& strokes, const cv::Mat1b& ink, const cv::Mat1b& cover, double unit_px, std::vector<Path>& paths);

// Adds a doubt to each of `curves` (in the order of `paths`) that seems to go on beyond one of its open ends, by a stroke that no path covers.
void DoubtCutEnds(const std::vector<Path>& paths, const std::vector<Stroke>& strokes, double unit_px, std::vector<TracedCurve>& curves);

}  // namespace islebook
