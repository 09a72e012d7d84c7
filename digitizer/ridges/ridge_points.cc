#include "digitizer/ridges/ridge_points.h"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

// One row of the field. B is the blurred ink.
void FindInRow(const cv::Mat1f& B, int y, const std::uint8_t* allowed, float sigma2, float low, float floor_level, std::vector<RidgePoint>& out) {
  const float* a = B[y - 1];
  const float* b = B[y];
  const float* c = B[y + 1];
  for (int x = 1; x + 1 < B.cols; ++x) {
    if (b[x] < floor_level || (allowed != nullptr && allowed[x] == 0)) continue;
    const float ixx = b[x - 1] - 2 * b[x] + b[x + 1];
    const float iyy = a[x] - 2 * b[x] + c[x];
    if ((ixx + iyy) * sigma2 > -low) continue;
    const float ixy = 0.25f * (c[x + 1] - c[x - 1] - a[x + 1] + a[x - 1]);
    // Eigenvector of the most negative eigenvalue: the direction across the line.
    const float half = 0.5f * (ixx - iyy);
    const float root = std::sqrt(half * half + ixy * ixy);
    const float lambda = 0.5f * (ixx + iyy) - root;
    if (-lambda * sigma2 < low) continue;
    float nx, ny;
    if (half < 0) {
      nx = half - root;
      ny = ixy;
    } else {
      nx = ixy;
      ny = -half - root;
    }
    const float norm = std::sqrt(nx * nx + ny * ny);
    if (norm < 1e-12f) continue;
    nx /= norm;
    ny /= norm;
    const float gx = 0.5f * (b[x + 1] - b[x - 1]);
    const float gy = 0.5f * (c[x] - a[x]);
    const float t = -(gx * nx + gy * ny) / lambda;
    const float ox = t * nx, oy = t * ny;
    if (std::abs(ox) > 0.58f || std::abs(oy) > 0.58f) continue;
    out.push_back({x + ox, y + oy, -ny, nx, -lambda * sigma2});
  }
}

}  // namespace

RidgePointField FindRidgePoints(const cv::Mat1b& ink, cv::Rect extent, const cv::Mat1b& allowed, double sigma_px, double low_contrast) {
  extent &= cv::Rect(0, 0, ink.cols, ink.rows);
  RidgePointField field;
  if (extent.width < 3 || extent.height < 3) {
    field.index = cv::Mat1i(ink.rows, ink.cols, -1);
    return field;
  }
  const cv::Mat1b part = ink(extent);
  constexpr int kBand = 64;
  const int bands = (part.rows + kBand - 1) / kBand;
  std::vector<std::vector<RidgePoint>> found(bands);
  const int margin = static_cast<int>(std::ceil(4 * sigma_px)) + 1;
  const auto sigma2 = static_cast<float>(sigma_px * sigma_px);
  cv::parallel_for_(cv::Range(0, bands), [&](const cv::Range& range) {
    cv::Mat1f as_float, blurred;
    for (int band = range.start; band < range.end; ++band) {
      const int top = band * kBand, bottom = std::min(part.rows, top + kBand);
      const int from = std::max(0, top - margin), to = std::min(part.rows, bottom + margin);
      part.rowRange(from, to).convertTo(as_float, CV_32F);
      cv::GaussianBlur(as_float, blurred, {}, sigma_px, sigma_px, cv::BORDER_REPLICATE);
      std::vector<RidgePoint>& points = found[band];
      for (int y = std::max(top, 1); y < std::min(bottom, part.rows - 1); ++y) {
        const std::uint8_t* row = allowed.empty() ? nullptr : allowed[y + extent.y] + extent.x;
        const std::size_t before = points.size();
        FindInRow(blurred, y - from, row, sigma2, static_cast<float>(low_contrast), static_cast<float>(low_contrast) * 0.5f, points);
        for (std::size_t i = before; i < points.size(); ++i) {
          points[i].x += static_cast<float>(extent.x);
          points[i].y += static_cast<float>(from + extent.y);
        }
      }
    }
  });
  std::size_t total = 0;
  for (const auto& band : found) total += band.size();
  field.points.reserve(total);
  for (const auto& band : found) field.points.insert(field.points.end(), band.begin(), band.end());
  field.index = cv::Mat1i(ink.rows, ink.cols, -1);
  for (std::size_t i = 0; i < field.points.size(); ++i) {
    const RidgePoint& p = field.points[i];
    int& slot = field.index(std::clamp(cvRound(p.y), 0, ink.rows - 1), std::clamp(cvRound(p.x), 0, ink.cols - 1));
    if (slot < 0 || field.points[slot].strength < p.strength) slot = static_cast<int>(i);
  }
  return field;
}

namespace {

class Linker {
 public:
  explicit Linker(const RidgePointField& field) : field_(field), used_(field.points.size(), 0) {}

  bool Used(int i) const { return used_[i] != 0; }

  LinkedChain Grow(int seed) {
    LinkedChain chain;
    Take(seed);
    std::vector<int> back;
    const RidgePoint& s = field_.points[seed];
    Walk(seed, s.tx, s.ty, chain.points);
    Walk(seed, -s.tx, -s.ty, back);
    std::vector<int> all(back.rbegin(), back.rend());
    all.push_back(seed);
    all.insert(all.end(), chain.points.begin(), chain.points.end());
    chain.points = std::move(all);
    if (chain.points.size() >= 8) {
      const RidgePoint& a = field_.points[chain.points.front()];
      const RidgePoint& b = field_.points[chain.points.back()];
      chain.closed = std::hypot(a.x - b.x, a.y - b.y) < 2.2f;
    }
    return chain;
  }

 private:
  // Marks the point and its doubles beside the line as used.
  void Take(int i) {
    used_[i] = 1;
    const RidgePoint& p = field_.points[i];
    const int cx = cvRound(p.x), cy = cvRound(p.y);
    for (int dy = -1; dy <= 1; ++dy)
      for (int dx = -1; dx <= 1; ++dx) {
        const int j = At(cx + dx, cy + dy);
        if (j < 0 || used_[j]) continue;
        const RidgePoint& q = field_.points[j];
        const float ex = q.x - p.x, ey = q.y - p.y;
        const float along = std::abs(ex * p.tx + ey * p.ty);
        if (along < 0.35f && std::abs(q.tx * p.tx + q.ty * p.ty) > 0.9f) used_[j] = 1;
      }
  }

  int At(int x, int y) const {
    if (x < 0 || y < 0 || x >= field_.index.cols || y >= field_.index.rows) return -1;
    return field_.index(y, x);
  }

  void Walk(int from, float dx, float dy, std::vector<int>& out) {
    int current = from;
    while (true) {
      const RidgePoint& p = field_.points[current];
      int best = -1;
      float best_cost = 1e9f;
      const int cx = cvRound(p.x), cy = cvRound(p.y);
      for (int reach = 1; reach <= 2 && best < 0; ++reach)
        for (int oy = -reach; oy <= reach; ++oy)
          for (int ox = -reach; ox <= reach; ++ox) {
            if (std::max(std::abs(ox), std::abs(oy)) != reach) continue;
            const int j = At(cx + ox, cy + oy);
            if (j < 0 || used_[j]) continue;
            const RidgePoint& q = field_.points[j];
            const float ex = q.x - p.x, ey = q.y - p.y;
            const float length = std::sqrt(ex * ex + ey * ey);
            if (length < 0.2f || length > 2.6f) continue;
            const float ahead = (ex * dx + ey * dy) / length;
            const float turn = std::abs(q.tx * dx + q.ty * dy);
            if (ahead < (reach == 1 ? 0.6f : 0.85f) || turn < (reach == 1 ? 0.55f : 0.85f)) continue;
            const float cost = length + 2.0f * (1 - ahead) + 2.0f * (1 - turn);
            if (cost < best_cost) {
              best_cost = cost;
              best = j;
            }
          }
      if (best < 0) return;
      const RidgePoint& q = field_.points[best];
      const float sign = q.tx * dx + q.ty * dy >= 0 ? 1.0f : -1.0f;
      dx = sign * q.tx;
      dy = sign * q.ty;
      Take(best);
      out.push_back(best);
      current = best;
    }
  }

  const RidgePointField& field_;
  std::vector<std::uint8_t> used_;
};

}  // namespace

std::vector<LinkedChain> LinkRidgePoints(const RidgePointField& field, double high_contrast, int min_points) {
  std::vector<int> seeds;
  for (std::size_t i = 0; i < field.points.size(); ++i)
    if (field.points[i].strength >= high_contrast) seeds.push_back(static_cast<int>(i));
  std::stable_sort(seeds.begin(), seeds.end(), [&](int a, int b) { return field.points[a].strength > field.points[b].strength; });
  Linker linker(field);
  std::vector<LinkedChain> chains;
  for (int seed : seeds) {
    if (linker.Used(seed)) continue;
    LinkedChain chain = linker.Grow(seed);
    if (static_cast<int>(chain.points.size()) >= min_points) chains.push_back(std::move(chain));
  }
  return chains;
}

}  // namespace islebook
