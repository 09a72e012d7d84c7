#include "digitizer/page/paper_outline.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <fmt/format.h>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr double kRough = 0.013;        // relative unevenness (print removed) beyond which a place is edge or texture, not paper
constexpr double kBandSigma = 4.0;      // px; unevenness slower than this is light, not texture
constexpr int kPrintWindow = 9;         // px; print strokes are narrower than this at the reduced size
constexpr int kEdgeReach = 8;           // px by which the smooth area stops short of the paper's edge
constexpr double kHardlyDarker = 0.95;  // with an edge all around, this much is enough
constexpr double kDarker = 0.82;        // surroundings at most this bright against the paper are not paper

// Unevenness of the picture with its print closed away, relative to the local brightness, largest over the channels.
cv::Mat1f Unevenness(const cv::Mat3b& small) {
  cv::Mat3b bare;
  cv::medianBlur(small, bare, 3);
  cv::morphologyEx(bare, bare, cv::MORPH_CLOSE, cv::getStructuringElement(cv::MORPH_RECT, {kPrintWindow, kPrintWindow}));
  float logarithm[256];
  for (int i = 0; i < 256; ++i) logarithm[i] = std::log(static_cast<float>(i) + 8.0F);
  cv::Mat3f level(bare.size());
  for (int y = 0; y < bare.rows; ++y)
    for (int x = 0; x < bare.cols; ++x)
      for (int c = 0; c < 3; ++c) level(y, x)[c] = logarithm[bare(y, x)[c]];
  cv::Mat3f slow;
  cv::GaussianBlur(level, slow, {0, 0}, kBandSigma);
  cv::Mat1f uneven(bare.size());
  for (int y = 0; y < bare.rows; ++y) {
    for (int x = 0; x < bare.cols; ++x) {
      const cv::Vec3f d = level(y, x) - slow(y, x);
      uneven(y, x) = std::max({std::abs(d[0]), std::abs(d[1]), std::abs(d[2])});
    }
  }
  cv::blur(uneven, uneven, {7, 7});
  return uneven;
}

// The brightness of the least bright channel: low on a dark desk and on a colored one.
cv::Mat1b Whiteness(const cv::Mat3b& small) {
  cv::Mat1b white(small.size());
  for (int y = 0; y < small.rows; ++y)
    for (int x = 0; x < small.cols; ++x) white(y, x) = std::min({small(y, x)[0], small(y, x)[1], small(y, x)[2]});
  cv::morphologyEx(white, white, cv::MORPH_CLOSE, cv::getStructuringElement(cv::MORPH_RECT, {15, 15}));
  return white;
}

double MedianOf(const cv::Mat1b& values, const cv::Mat1b& where) {
  std::vector<int> histogram(256, 0);
  int count = 0;
  for (int y = 0; y < values.rows; ++y)
    for (int x = 0; x < values.cols; ++x)
      if (where(y, x) != 0) ++histogram[values(y, x)], ++count;
  if (count == 0) return 0.0;
  int seen = 0;
  for (int level = 0; level < 256; ++level) {
    seen += histogram[static_cast<std::size_t>(level)];
    if (2 * seen >= count) return level;
  }
  return 255.0;
}

cv::Mat1b FillHoles(const cv::Mat1b& mask) {
  std::vector<std::vector<cv::Point>> outlines;
  cv::findContours(mask.clone(), outlines, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  cv::Mat1b filled = cv::Mat1b::zeros(mask.size());
  cv::drawContours(filled, outlines, -1, cv::Scalar(255), cv::FILLED);
  return filled;
}

// Area of the mask against the area of the smallest quadrilateral-like hull: near 1 for a sheet of paper.
double FourSidedness(const cv::Mat1b& mask) {
  std::vector<std::vector<cv::Point>> outlines;
  cv::findContours(mask.clone(), outlines, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  if (outlines.empty()) return 0.0;
  const auto largest = std::max_element(outlines.begin(), outlines.end(), [](const auto& a, const auto& b) { return a.size() < b.size(); });
  std::vector<cv::Point> hull, corners;
  cv::convexHull(*largest, hull);
  const double length = cv::arcLength(hull, true);
  for (double tolerance = 0.01; tolerance < 0.12; tolerance += 0.01) {
    cv::approxPolyDP(hull, corners, tolerance * length, true);
    if (corners.size() <= 6) break;  // a corner outside the picture turns one corner into two
  }
  if (corners.size() < 4 || corners.size() > 6) return 0.0;
  return cv::contourArea(*largest) / std::max(1.0, cv::contourArea(hull));
}

// Part of the outline, away from the picture's own border, that runs along an edge.
double EdgeAround(const cv::Mat1b& mask, const cv::Mat1b& rough) {
  cv::Mat1b near_edge;
  cv::dilate(rough, near_edge, cv::getStructuringElement(cv::MORPH_RECT, {2 * kEdgeReach + 1, 2 * kEdgeReach + 1}));
  std::vector<std::vector<cv::Point>> outlines;
  cv::findContours(mask.clone(), outlines, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  const cv::Rect inner(3, 3, mask.cols - 6, mask.rows - 6);
  int count = 0, on_edge = 0;
  for (const auto& outline : outlines) {
    for (const cv::Point& p : outline) {
      if (!inner.contains(p)) continue;
      ++count;
      on_edge += near_edge(p) != 0 ? 1 : 0;
    }
  }
  return count == 0 ? 0.0 : static_cast<double>(on_edge) / count;
}

}  // namespace

PaperOutline FindPaper(const cv::Mat3b& small, double min_area) {
  PaperOutline outline;
  const double whole = static_cast<double>(small.total());
  const cv::Mat1f uneven = Unevenness(small);
  const cv::Mat1b smooth = uneven < kRough;
  const cv::Mat1b white = Whiteness(small);

  cv::Mat1i parts;
  cv::Mat1i facts;
  cv::Mat1d centers;
  const int count = cv::connectedComponentsWithStats(smooth, parts, facts, centers, 4, CV_32S);
  int chosen = 0, chosen_area = 0;
  for (int i = 1; i < count; ++i) {
    if (facts(i, cv::CC_STAT_AREA) > chosen_area) chosen = i, chosen_area = facts(i, cv::CC_STAT_AREA);
  }
  if (chosen == 0 || chosen_area < 0.5 * min_area * whole) {
    outline.note = "no paper outline: the picture has no large smooth area";
    return outline;
  }
  // A plain desk is smooth too, and may be larger; the paper on it is brighter.
  double level = MedianOf(white, parts == chosen);
  for (int i = 1; i < count; ++i) {
    if (i == chosen || facts(i, cv::CC_STAT_AREA) < min_area * whole) continue;
    const double other = MedianOf(white, parts == i);
    if (level < kDarker * other) chosen = i, level = other;
  }
  // A few pixels stay between the smooth area and the paper's edge; strokes, blocks and notches at the edge belong to the paper.
  cv::Mat1b mask = FillHoles(parts == chosen);
  cv::Mat1b padded;
  const int reach = std::max(small.rows, small.cols) / 16;
  cv::copyMakeBorder(mask, padded, reach, reach, reach, reach, cv::BORDER_CONSTANT, cv::Scalar(0));
  cv::morphologyEx(padded, padded, cv::MORPH_CLOSE, cv::getStructuringElement(cv::MORPH_ELLIPSE, {reach, reach}));
  cv::morphologyEx(padded, padded, cv::MORPH_OPEN, cv::getStructuringElement(cv::MORPH_RECT, {kEdgeReach + 1, kEdgeReach + 1}));
  cv::dilate(padded, padded, cv::getStructuringElement(cv::MORPH_RECT, {kEdgeReach + 1, kEdgeReach + 1}));  // keeps the corners
  mask = FillHoles(padded(cv::Rect(reach, reach, small.cols, small.rows)));

  const double part = cv::countNonZero(mask) / whole;
  if (part > 0.985) {
    outline.note = "the paper fills the picture";
    return outline;
  }
  if (part < min_area) {
    outline.note = "no paper outline: the smooth area is too small";
    return outline;
  }
  // What lies around must be unlike paper, or the picture is a chart cut out tightly, its print dividing the paper.
  cv::Mat1b around;
  cv::dilate(mask, around, cv::getStructuringElement(cv::MORPH_RECT, {2 * kEdgeReach + 1, 2 * kEdgeReach + 1}));
  around = ~around;
  const double around_level = MedianOf(white, around);
  cv::Mat1b rough = uneven > kRough;
  const double around_count = std::max(1, cv::countNonZero(around));
  const double rough_part = cv::countNonZero(rough & around) / around_count;
  const bool darker = around_level < kDarker * level;
  bool paper_like = false;
  if (!darker && FourSidedness(mask) > 0.94) {
    const bool textured = rough_part > 0.7;
    const bool edged = rough_part > 0.2 && around_level < kHardlyDarker * level && EdgeAround(mask, rough) > 0.9;
    paper_like = textured || edged;
  }
  if (!darker && !paper_like) {
    outline.note = "no paper outline: the surroundings look like paper too";
    return outline;
  }
  outline.mask = mask;
  outline.part = part;
  outline.note = fmt::format("paper on {:.0f} % of the picture", 100.0 * part);
  return outline;
}

}  // namespace islebook
