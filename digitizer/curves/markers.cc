#include "digitizer/curves/markers.h"

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr double kLargestPart = 0.025;  // ring diameter as a part of the frame's shorter side
constexpr double kRound = 0.72;         // 4 pi area / perimeter^2
constexpr std::size_t kFewest = 4;

}  // namespace

std::vector<Marker> FindMarkers(const Page& page, cv::Rect where, const cv::Mat1b& print) {
  where &= cv::Rect(0, 0, page.ink.cols, page.ink.rows);
  if (where.width < 20 || where.height < 20) return {};
  // Twice the size: holes of a few pixels keep their shape.
  cv::Mat1b big;
  cv::resize(page.ink(where), big, {}, 2, 2, cv::INTER_LINEAR);
  cv::Mat1b dark = big > 70;
  std::vector<std::vector<cv::Point>> contours;
  std::vector<cv::Vec4i> hierarchy;
  cv::findContours(dark, contours, hierarchy, cv::RETR_CCOMP, cv::CHAIN_APPROX_NONE);
  struct Hole {
    Marker marker;
    double area;
  };
  std::vector<Hole> holes;
  const double largest = kLargestPart * std::min(where.width, where.height) * 2;
  for (std::size_t i = 0; i < contours.size(); ++i) {
    if (hierarchy[i][3] < 0) continue;  // an outer contour
    const cv::Rect box = cv::boundingRect(contours[i]);
    if (box.width > largest || box.height > largest || box.width < 6 || box.height < 6) continue;
    const double area = cv::contourArea(contours[i]), round_trip = cv::arcLength(contours[i], true);
    if (round_trip <= 0 || 4 * M_PI * area / (round_trip * round_trip) < kRound) continue;
    const double aspect = static_cast<double>(box.width) / box.height;
    if (aspect < 0.72 || aspect > 1.39) continue;
    const cv::Moments m = cv::moments(contours[i]);
    if (m.m00 <= 0) continue;
    const ImagePoint center{(m.m10 / m.m00 + 0.5) / 2 - 0.5 + where.x, (m.m01 / m.m00 + 0.5) / 2 - 0.5 + where.y};
    if (!print.empty()) {
      const int x = std::clamp(cvRound(center.x), 0, print.cols - 1), y = std::clamp(cvRound(center.y), 0, print.rows - 1);
      const int r = std::max(1, box.width / 4 + 1);
      if (cv::countNonZero(print(cv::Rect(x - r, y - r, 2 * r + 1, 2 * r + 1) & cv::Rect(0, 0, print.cols, print.rows))) > 0) continue;
    }
    holes.push_back({{center, std::sqrt(area / M_PI) / 2}, area});
  }
  // The commonest size.
  std::size_t best = 0, best_count = 0;
  const auto alike = [](const Hole& a, const Hole& b) { return a.area > 0.55 * b.area && a.area < 1.8 * b.area; };
  for (std::size_t i = 0; i < holes.size(); ++i) {
    const auto count = static_cast<std::size_t>(std::count_if(holes.begin(), holes.end(), [&](const Hole& h) { return alike(h, holes[i]); }));
    if (count > best_count) {
      best = i;
      best_count = count;
    }
  }
  if (best_count < kFewest) return {};
  std::vector<Marker> markers;
  for (const Hole& h : holes) {
    if (!alike(h, holes[best])) continue;
    Marker marker = h.marker;
    // Out to where the ring's ink ends, along eight directions.
    std::vector<double> reach;
    for (int k = 0; k < 8; ++k) {
      const double a = k * M_PI / 4;
      double r = marker.radius_px;
      bool on_ink = false;
      for (; r < 4 * marker.radius_px + 6; r += 0.5) {
        const int x = cvRound(marker.center.x + r * std::cos(a)), y = cvRound(marker.center.y + r * std::sin(a));
        if (x < 0 || y < 0 || x >= page.ink.cols || y >= page.ink.rows) break;
        const bool dark_here = page.ink(y, x) > 70;
        if (on_ink && !dark_here) break;
        on_ink |= dark_here;
      }
      reach.push_back(r);
    }
    std::sort(reach.begin(), reach.end());
    marker.radius_px = reach[3];
    if (marker.radius_px > 3.2 * h.marker.radius_px + 4) continue;
    markers.push_back(marker);
  }
  if (markers.size() < kFewest) markers.clear();
  return markers;
}

}  // namespace islebook
