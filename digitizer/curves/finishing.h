#pragma once
// Finishing: joined paths become curves: trimmed ends given back, ends carried on to the line they run into, evenly spaced points with sigma. Internal to curves.

#include <vector>

#include "digitizer/curves/curves.h"
#include "digitizer/curves/joining.h"

namespace islebook {

// Gives back the points that were trimmed where they carry on smoothly.
void RestoreEnds(Path& path);

// Takes off end stretches that ride on another, heavier path: there the ink is that one's.
void CutRiders(std::vector<Path>& paths, double within_px);

// Ends that run into a heavier line at a shallow angle lean toward it: they are walked on from the free part to where the center lines meet.
void MeetAtShallowAngle(std::vector<Path>& paths, double reach_px);

// Carries free ends on to a line that passes within `reach_px` ahead of them, farther where the way there is inked or under print (`cover`).
void ExtendToJunctions(std::vector<Path>& paths, const cv::Mat1b& ink, const cv::Mat1b& cover, double reach_px);

// Paths that run along a longer one for nearly all their length, closer than `within_px`.
void DropDoubles(std::vector<Path>& paths, double within_px);

// `print`: 255 on glyphs, whose ink is not the curve's; may be empty.
TracedCurve FinishCurve(const Path& path, const Page& page, const cv::Mat1b& print, double spacing_px);

}  // namespace islebook
