#include "digitizer/curves/marker_look.h"

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>

namespace islebook {
namespace {

constexpr int kAcross = 21;  // places

float InkBetween(const cv::Mat1b& ink, double x, double y) {
  x = std::clamp(x, 0.0, ink.cols - 1.001);
  y = std::clamp(y, 0.0, ink.rows - 1.001);
  const int x0 = static_cast<int>(x), y0 = static_cast<int>(y);
  const double fx = x - x0, fy = y - y0;
  const unsigned char* upper = ink.ptr(y0) + x0;
  const unsigned char* lower = ink.ptr(y0 + 1) + x0;
  return static_cast<float>((1 - fy) * ((1 - fx) * upper[0] + fx * upper[1]) + fy * ((1 - fx) * lower[0] + fx * lower[1]));
}

}  // namespace

const std::vector<cv::Point2f>& LookPlaces() {
  static const std::vector<cv::Point2f> places = [] {
    std::vector<cv::Point2f> p;
    for (int i = 0; i < kAcross; ++i)
      for (int j = 0; j < kAcross; ++j) {
        const double v = kLookRim * (2.0 * i / (kAcross - 1) - 1), u = kLookRim * (2.0 * j / (kAcross - 1) - 1);
        if (u * u + v * v <= kLookRim * kLookRim) p.emplace_back(static_cast<float>(u), static_cast<float>(v));
      }
    return p;
  }();
  return places;
}

MarkerLook LookAt(const cv::Mat1b& ink, ImagePoint center, double radius_px) {
  MarkerLook look;
  look.reserve(LookPlaces().size());
  for (const cv::Point2f& p : LookPlaces()) look.push_back(InkBetween(ink, center.x + radius_px * p.x, center.y + radius_px * p.y));
  return look;
}

double Likeness(const MarkerLook& a, const MarkerLook& b, const std::vector<char>* seen) {
  double n = 0, sa = 0, sb = 0, aa = 0, bb = 0, ab = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (seen != nullptr && (*seen)[i] == 0) continue;
    ++n;
    sa += a[i];
    sb += b[i];
    aa += static_cast<double>(a[i]) * a[i];
    bb += static_cast<double>(b[i]) * b[i];
    ab += static_cast<double>(a[i]) * b[i];
  }
  if (n < 8) return 0;
  const double va = aa - sa * sa / n, vb = bb - sb * sb / n;
  // Evenly gray all over: like nothing.
  if (va < 100 * n || vb < 100 * n) return 0;
  return (ab - sa * sb / n) / std::sqrt(va * vb);
}

MarkerLook MedianLook(const std::vector<const MarkerLook*>& looks) {
  MarkerLook median;
  if (looks.empty()) return median;
  std::vector<float> values(looks.size());
  for (std::size_t k = 0; k < looks.front()->size(); ++k) {
    for (std::size_t i = 0; i < looks.size(); ++i) values[i] = (*looks[i])[k];
    std::nth_element(values.begin(), values.begin() + static_cast<long>(values.size() / 2), values.end());
    median.push_back(values[values.size() / 2]);
  }
  return median;
}

}  // namespace islebook
