#pragma once
// Ridge points: the places, to sub-pixel, where the blurred ink is highest across some direction. Internal to ridges.

#include <vector>

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>

namespace islebook {

struct RidgePoint {
  float x, y;      // in the picture that was given
  float tx, ty;    // unit tangent, sign free
  float strength;  // -(second derivative across the line) * sigma^2
};

struct RidgePointField {
  std::vector<RidgePoint> points;  // row by row
  cv::Mat1i index;                 // per pixel: index into points, or -1
};

// `ink` inside `extent`; pixels where `allowed` is 0 are skipped (empty: all are looked at).
RidgePointField FindRidgePoints(const cv::Mat1b& ink, cv::Rect extent, const cv::Mat1b& allowed, double sigma_px, double low_contrast);

// Chains of indices into field.points, longest continuation first from the strongest point; second: whether the ends meet.
struct LinkedChain {
  std::vector<int> points;
  bool closed = false;
};
std::vector<LinkedChain> LinkRidgePoints(const RidgePointField& field, double high_contrast, int min_points);

}  // namespace islebook
