#pragma once
// Line follower: where a line goes on, as an estimate with covariance that is carried along it. Internal to curves.
// A Kalman filter over arc length; the state is the place across the line, the direction and the curvature, the curvature wanders.

#include <opencv2/core/matx.hpp>

#include "digitizer/curves/joining.h"

namespace islebook {

struct FollowState {
  ImagePoint at;
  double heading = 0.0;    // rad, the way it walks
  double curvature = 0.0;  // rad per px
  cv::Matx33d covariance;  // of the offset across (px), heading, curvature
};

FollowState StartFollowing(const PathEnd& end);
// What is known at one end of a path, having walked all along it.
FollowState FollowAlong(const Path& path, bool to_front);
// `step` px onward. How much the curvature may change goes with its third power: a line's bends keep their proportions at every size.
void Predict(FollowState& state, double step);
// The line's center was seen `offset` px to the side (positive: to the right of the way on the picture, y down).
// `variance` (px^2) is that of the place; neighbors share their error, so it is more than the noise of one.
inline constexpr double kPlaceVariance = 0.04;
void Observe(FollowState& state, double offset, double variance = kPlaceVariance);

// Squared misfit, in standard deviations, of two ends that face each other as parts of one line; kNoJoin where the second does not lie ahead of the first.
double Misfit(FollowState onward, const FollowState& facing);

}  // namespace islebook
