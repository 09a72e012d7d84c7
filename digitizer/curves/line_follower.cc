#include "digitizer/curves/line_follower.h"

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>

namespace islebook {
namespace {

constexpr double kLeastWander = 1e-10;  // rad^2 per px^3
constexpr double kWanderPerCurvature = 5.0;
constexpr double kPlaceSlack = 0.35;  // px, rad, rad per px: what lines stray from the model where two pieces meet
constexpr double kHeadingSlack = 0.02;
constexpr double kCurvatureSlack = 0.0008;
constexpr double kMostCurvature = 0.12;  // rad per px

}  // namespace

FollowState StartFollowing(const PathEnd& end) {
  FollowState state;
  state.at = end.at;
  state.heading = end.out;
  state.curvature = std::clamp(end.curvature, -kMostCurvature, kMostCurvature);
  state.covariance = cv::Matx33d::zeros();
  state.covariance(0, 0) = 0.04;
  state.covariance(1, 1) = end.sigma_out * end.sigma_out;
  state.covariance(2, 2) = end.sigma_curvature * end.sigma_curvature;
  return state;
}

FollowState FollowAlong(const Path& path, bool to_front) {
  Path stretch;
  constexpr std::size_t kMost = 400;
  const std::size_t n = std::min(kMost, path.points.size());
  for (std::size_t k = 0; k < n; ++k) stretch.points.push_back(path.points[to_front ? n - 1 - k : path.points.size() - n + k]);
  // In at the far end, the way it faces turned about.
  FollowState state = StartFollowing(EndOfPath(stretch, true));
  state.heading += M_PI;
  state.curvature = -state.curvature;
  for (std::size_t k = 0; k + 1 < n; ++k) {
    const PathPoint& next = stretch.points[k + 1];
    const double ex = next.at.x - state.at.x, ey = next.at.y - state.at.y;
    const double along = ex * std::cos(state.heading) + ey * std::sin(state.heading);
    if (along < 0.2) continue;
    Predict(state, along);
    if (next.bridged) continue;
    Observe(state, -(next.at.x - state.at.x) * std::sin(state.heading) + (next.at.y - state.at.y) * std::cos(state.heading));
  }
  return state;
}

void Predict(FollowState& state, double step) {
  const double middle = state.heading + 0.5 * step * state.curvature;
  state.at.x += step * std::cos(middle);
  state.at.y += step * std::sin(middle);
  state.heading += step * state.curvature;
  const cv::Matx33d f(1, step, 0.5 * step * step, 0, 1, step, 0, 0, 1);
  // The curvature is known no better than its own spread says.
  const double k = std::min(kMostCurvature, std::abs(state.curvature));
  const double wander = std::max(kLeastWander, kWanderPerCurvature * k * k * k);
  const double s2 = step * step, s3 = s2 * step;
  const cv::Matx33d q(s2 * s3 / 20, s2 * s2 / 8, s3 / 6, s2 * s2 / 8, s3 / 3, s2 / 2, s3 / 6, s2 / 2, step);
  state.covariance = f * state.covariance * f.t() + wander * q;
}

void Observe(FollowState& state, double offset, double variance) {
  const double s = state.covariance(0, 0) + variance;
  const cv::Vec3d gain(state.covariance(0, 0) / s, state.covariance(1, 0) / s, state.covariance(2, 0) / s);
  state.at.x += -gain[0] * offset * std::sin(state.heading);
  state.at.y += gain[0] * offset * std::cos(state.heading);
  state.heading += gain[1] * offset;
  state.curvature = std::clamp(state.curvature + gain[2] * offset, -kMostCurvature, kMostCurvature);
  const cv::Matx<double, 1, 3> row(state.covariance(0, 0), state.covariance(0, 1), state.covariance(0, 2));
  state.covariance -= cv::Matx31d(gain[0], gain[1], gain[2]) * row;
}

double Misfit(FollowState onward, const FollowState& facing) {
  const double ex = facing.at.x - onward.at.x, ey = facing.at.y - onward.at.y;
  const double along = ex * std::cos(onward.heading) + ey * std::sin(onward.heading);
  if (along < -6 || along < 0.4 * std::hypot(ex, ey) - 6) return kNoJoin;
  for (double walked = 0; walked < along; walked += 1.0) Predict(onward, std::min(1.0, along - walked));
  const double across = -(facing.at.x - onward.at.x) * std::sin(onward.heading) + (facing.at.y - onward.at.y) * std::cos(onward.heading);
  const cv::Vec3d off(across, std::remainder(facing.heading + M_PI - onward.heading, 2 * M_PI), -facing.curvature - onward.curvature);
  if (std::abs(off[1]) > 1.0) return kNoJoin;
  // Turned about, offset and curvature change their sign.
  const cv::Matx33d turn(-1, 0, 0, 0, 1, 0, 0, 0, -1);
  cv::Matx33d covariance = onward.covariance + turn * facing.covariance * turn;
  covariance(0, 0) += kPlaceSlack * kPlaceSlack;
  covariance(1, 1) += kHeadingSlack * kHeadingSlack;
  covariance(2, 2) += kCurvatureSlack * kCurvatureSlack;
  return (off.t() * covariance.inv() * off)[0];
}

}  // namespace islebook
