#include "digitizer/ridges/ink_blobs.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr double kGlyphInBars = 5.0;  // glyphs that touch each other reach no farther than this many bars
constexpr double kLeastGlyphPx = 60;  // and at least this far
constexpr double kThin = 1.6;         // of the bars' width: a wider spread of ink is no bar
constexpr double kBentBar = 0.06;     // of its length: how far a bar in a tight turn strays from its chord

}  // namespace

InkBlobs::InkBlobs(const cv::Mat1b& ink, cv::Rect where, double level, double bar_length_px, double bar_width_px)
    : where_(where & cv::Rect(0, 0, ink.cols, ink.rows)) {
  const cv::Mat1b dark = ink(where_) > level;
  cv::Mat stats, centers;
  const int n = cv::connectedComponentsWithStats(dark, labels_, stats, centers, 8);
  shapes_.assign(static_cast<std::size_t>(n), BlobShape::kNone);
  boxes_.resize(static_cast<std::size_t>(n));
  const double largest = std::max(kLeastGlyphPx, kGlyphInBars * bar_length_px);
  struct Moments {
    double n = 0, x = 0, y = 0, xx = 0, xy = 0, yy = 0;
  };
  std::vector<Moments> moments(static_cast<std::size_t>(n));
  for (int i = 1; i < n; ++i) {
    boxes_[static_cast<std::size_t>(i)] = {stats.at<int>(i, cv::CC_STAT_LEFT), stats.at<int>(i, cv::CC_STAT_TOP), stats.at<int>(i, cv::CC_STAT_WIDTH),
                                           stats.at<int>(i, cv::CC_STAT_HEIGHT)};
    const cv::Rect& box = boxes_[static_cast<std::size_t>(i)];
    if (std::max(box.width, box.height) > largest) shapes_[static_cast<std::size_t>(i)] = BlobShape::kLine;
  }
  for (int y = 0; y < labels_.rows; ++y) {
    const int* row = labels_[y];
    for (int x = 0; x < labels_.cols; ++x) {
      if (row[x] == 0) continue;
      const auto i = static_cast<std::size_t>(row[x]);
      if (shapes_[i] == BlobShape::kLine) continue;
      Moments& m = moments[i];
      const double dx = x - boxes_[i].x, dy = y - boxes_[i].y;
      m.n += 1;
      m.x += dx;
      m.y += dy;
      m.xx += dx * dx;
      m.xy += dx * dy;
      m.yy += dy * dy;
    }
  }
  for (std::size_t i = 1; i < shapes_.size(); ++i) {
    if (shapes_[i] == BlobShape::kLine) continue;
    const Moments& m = moments[i];
    const double xx = m.xx / m.n - m.x * m.x / (m.n * m.n), yy = m.yy / m.n - m.y * m.y / (m.n * m.n), xy = m.xy / m.n - m.x * m.y / (m.n * m.n);
    const double mean = 0.5 * (xx + yy), spread = std::hypot(0.5 * (xx - yy), xy);
    // A bar of length l and width w has variances l^2/12 and w^2/12, and each pixel adds 1/12.
    const double length = std::sqrt(12 * std::max(0.0, mean + spread)), width = std::sqrt(12 * std::max(0.0, mean - spread));
    shapes_[i] = width <= kThin * bar_width_px + 0.5 + kBentBar * length ? BlobShape::kBar : BlobShape::kGlyph;
  }
}

int InkBlobs::BlobAt(const std::vector<ImagePoint>& points) const {
  std::map<int, int> votes;
  for (const ImagePoint& p : points) {
    const int x = cvRound(p.x) - where_.x, y = cvRound(p.y) - where_.y;
    if (x >= 0 && y >= 0 && x < labels_.cols && y < labels_.rows && labels_(y, x) > 0) ++votes[labels_(y, x)];
  }
  const auto most = std::max_element(votes.begin(), votes.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  return most == votes.end() ? 0 : most->first;
}

BlobShape InkBlobs::ShapeAt(const std::vector<ImagePoint>& points) const { return shapes_[static_cast<std::size_t>(BlobAt(points))]; }

bool InkBlobs::StandsByGlyph(const std::vector<ImagePoint>& points, double reach_px) const {
  const int own = BlobAt(points);
  const int r = static_cast<int>(std::ceil(reach_px));
  for (const ImagePoint& p : points) {
    const int cx = cvRound(p.x) - where_.x, cy = cvRound(p.y) - where_.y;
    for (int y = std::max(0, cy - r); y <= std::min(labels_.rows - 1, cy + r); ++y)
      for (int x = std::max(0, cx - r); x <= std::min(labels_.cols - 1, cx + r); ++x) {
        const int i = labels_(y, x);
        if (i > 0 && i != own && shapes_[static_cast<std::size_t>(i)] == BlobShape::kGlyph) return true;
      }
  }
  return false;
}

}  // namespace islebook
