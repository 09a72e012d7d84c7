#pragma once
// Graph lines: lines that have one height at each place of the x axis, as on turbine charts. They cross each other at any angle and crowd together at
// low expansion ratio, and many are dashed. Internal to curves.

#include <vector>

#include "digitizer/axes/axes.h"
#include "digitizer/curves/joining.h"

namespace islebook {

// Whether the panel's lines run over expansion ratio or velocity ratio.
bool HoldsGraphLines(const Panel& panel);

// Follows all lines at once, from where they lie well apart into the crowd: each end carries its own prediction (place, direction, curvature, with
// their covariance: a Kalman filter along the line), takes the ink that fits it and that no other line has, and runs on unseen where other ink or
// print covers it.
std::vector<Path> FollowGraphLines(const std::vector<Stroke>& strokes, const JoinField& field, const PrintFound& print, const FrameMapping& frame);

}  // namespace islebook
