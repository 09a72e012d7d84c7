#include "digitizer/page/paper_light.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr int kDarkGround = 110;         // a ground at most this bright may be a dark one
constexpr int kStrongStroke = 50;        // levels by which a stroke differs from its ground
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
      const bool bare = std::abs(sum / 3.0F - 1.0F) < kBareTolerance && std::min({ratio[0], ratio[1], ratio[2]}) > 1.0F - 2.0F * kBareTolerance &&
                        (paper.empty() || paper(y, x) != 0);
      weight(y, x) = bare ? 1.0F : 0.0F;
      weighted(y, x) = bare ? ratio : cv::Vec3f(0, 0, 0);
    }
  }
  cv::Scalar sum_ratio = cv::sum(weighted);
  const double sum_weight = std::max(1.0, cv::sum(weight)[0]);
  const cv::Vec3f mean(static_cast<float>(sum_ratio[0] / sum_weight), static_cast<float>(sum_ratio[1] / sum_weight),
                       static_cast<float>(sum_ratio[2] / sum_weight));
  const cv::Size box(2 * side + 1, 2 * side + 1);
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

int MedianBrightness(const cv::Mat3b& small, const cv::Mat1b& paper) {
  cv::Mat1b gray;
  cv::cvtColor(small, gray, cv::COLOR_BGR2GRAY);
  std::vector<std::uint8_t> levels;
  for (int y = 0; y < gray.rows; ++y)
    for (int x = 0; x < gray.cols; ++x)
      if (paper.empty() || paper(y, x) != 0) levels.push_back(gray(y, x));
  if (levels.empty()) return 255;
  const auto middle = levels.begin() + static_cast<std::ptrdiff_t>(levels.size() / 2);
  std::nth_element(levels.begin(), middle, levels.end());
  return *middle;
}

bool IsInverted(const cv::Mat3b& small, const cv::Mat1b& paper) {
  if (MedianBrightness(small, paper) > kDarkGround) return false;
  cv::Mat1b gray;
  cv::cvtColor(small, gray, cv::COLOR_BGR2GRAY);
  // The ground at every place is what most of its surroundings are.
  cv::Mat1b half, ground;
  cv::resize(gray, half, {}, 0.5, 0.5, cv::INTER_AREA);
  cv::medianBlur(half, half, 41);
  cv::resize(half, ground, gray.size(), 0, 0, cv::INTER_LINEAR);
  cv::Mat1b light_on = gray - ground > kStrongStroke, dark_on = ground - gray > kStrongStroke;
  if (!paper.empty()) light_on &= paper, dark_on &= paper;
  // Only strong strokes count; the texture of a desk has as many of either kind.
  const double area = paper.empty() ? static_cast<double>(gray.total()) : cv::countNonZero(paper);
  const double light_strokes = cv::countNonZero(light_on), dark_strokes = cv::countNonZero(dark_on);
  return light_strokes > 0.002 * area && light_strokes > 2.5 * dark_strokes;
}

}  // namespace islebook
