#include "digitizer/page/paper_light.h"

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr float kBareTolerance = 0.06F;  // a place is bare if within this part of the closed level

cv::Mat Square(int side) { return cv::getStructuringElement(cv::MORPH_RECT, {side, side}); }

}  // namespace

cv::Mat3f PaperLevel(const cv::Mat3b& small, const cv::Mat1b& paper, int window_px) {
  const int side = std::max(3, window_px) | 1;
  // What is not paper takes no part: black while brightness spreads, white while it shrinks back.
  cv::Mat3b level = small.clone();
  cv::medianBlur(level, level, 3);
  if (!paper.empty()) level.setTo(cv::Scalar::all(0), paper == 0);
  cv::dilate(level, level, Square(side));
  if (!paper.empty()) level.setTo(cv::Scalar::all(255), paper == 0);
  cv::erode(level, level, Square(side));

  // The closing follows the brightest grain, not the mean of the paper; the mean of what is bare puts that right.
  cv::Mat3f weighted(small.size());
  cv::Mat1f weight(small.size());
  for (int y = 0; y < small.rows; ++y) {
    for (int x = 0; x < small.cols; ++x) {
      const cv::Vec3b p = small(y, x), l = level(y, x);
      cv::Vec3f ratio;
      float sum = 0.0F;
      for (int c = 0; c < 3; ++c) {
        ratio[c] = static_cast<float>(p[c]) / std::max<float>(1.0F, l[c]);
        sum += ratio[c];
      }
      const bool bare = std::abs(sum / 3.0F - 1.0F) < kBareTolerance && std::min({ratio[0], ratio[1], ratio[2]}) > 1.0F - 2.0F * kBareTolerance && (paper.empty() || paper(y, x) != 0);
      weight(y, x) = bare ? 1.0F : 0.0F;
      weighted(y, x) = bare ? ratio : cv::Vec3f(0, 0, 0);
    }
  }
  cv::Scalar sum_ratio = cv::sum(weighted);
  const double sum_weight = std::max(1.0, cv::sum(weight)[0]);
  const cv::Vec3f mean(static_cast<float>(sum_ratio[0] / sum_weight), static_cast<float>(sum_ratio[1] / sum_weight), static_cast<float>(sum_ratio[2] / sum_weight));
  const cv::Size box(side, side);
  for (int pass = 0; pass < 2; ++pass) {
    cv::blur(weighted, weighted, box);
    cv::blur(weight, weight, box);
  }
  cv::Mat3f result(small.size());
  constexpr float kPrior = 0.02F;  // weight of the sheet's own mean where little is bare
  for (int y = 0; y < small.rows; ++y) {
    for (int x = 0; x < small.cols; ++x) {
      for (int c = 0; c < 3; ++c) {
        const float ratio = (weighted(y, x)[c] + kPrior * mean[c]) / (weight(y, x) + kPrior);
        result(y, x)[c] = std::max(4.0F, static_cast<float>(level(y, x)[c]) * ratio);
      }
    }
  }
  return result;
}

bool IsInverted(const cv::Mat3b& small) {
  cv::Mat1b gray;
  cv::cvtColor(small, gray, cv::COLOR_BGR2GRAY);
  cv::Mat1b sorted = gray.clone().reshape(1, 1);
  std::nth_element(sorted.begin(), sorted.begin() + sorted.cols / 2, sorted.end());
  if (sorted(0, sorted.cols / 2) > 110) return false;
  cv::Mat1b light, dark;
  cv::morphologyEx(gray, light, cv::MORPH_TOPHAT, Square(9));
  cv::morphologyEx(gray, dark, cv::MORPH_BLACKHAT, Square(9));
  // Only strong strokes count; the texture of a desk has as many of either kind.
  const double light_strokes = cv::countNonZero(light > 50), dark_strokes = cv::countNonZero(dark > 50);
  return light_strokes > 0.002 * static_cast<double>(gray.total()) && light_strokes > 2.5 * dark_strokes;
}

}  // namespace islebook
