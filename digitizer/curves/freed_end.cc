#include "digitizer/curves/freed_end.h"

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>

namespace islebook {
namespace {

constexpr double kLeadPx = 14.0;   // px at an end that print may have led astray, times the unit
constexpr double kLeadBars = 1.2;  // the same of a dashed line, in longest dashes
constexpr double kAstray = 1.0;    // px that the tip of such an end strays from the course of the rest

unsigned char At(const cv::Mat1b& m, ImagePoint p) { return m(std::clamp(cvRound(p.y), 0, m.rows - 1), std::clamp(cvRound(p.x), 0, m.cols - 1)); }

}  // namespace

std::optional<FreedEnd> FreeEnd(const Path& path, bool front, const cv::Mat1b& cover, double unit_px) {
  if (path.closed || path.inked_px < kKnowsPx * unit_px) return std::nullopt;
  const std::size_t n = path.points.size();
  const auto at = [&](std::size_t k) -> const PathPoint& { return path.points[front ? k : n - 1 - k]; };
  const double lead = path.Dashed() ? std::max(kLeadPx * unit_px, kLeadBars * path.longest_dash) : kLeadPx * unit_px;
  std::size_t cut = 0;
  double length = 0;
  std::size_t covered = 0;
  while (cut + 1 < n && (length < lead || at(cut).bridged)) {
    covered += At(cover, at(cut).at) > 0 ? 1 : 0;
    length += std::hypot(at(cut + 1).at.x - at(cut).at.x, at(cut + 1).at.y - at(cut).at.y);
    ++cut;
  }
  if (2 * cut > n || length > 4.0 * lead || 2 * covered < cut) return std::nullopt;
  Path inner;
  inner.longest_dash = path.longest_dash;
  inner.points.assign(path.points.begin() + static_cast<long>(front ? cut : 0), path.points.end() - static_cast<long>(front ? 0 : cut));
  FreedEnd freed{EndOfPath(inner, front), cut};
  const PathEnd& end = freed.end;
  const double dx = at(0).at.x - end.at.x, dy = at(0).at.y - end.at.y;
  const double along = dx * std::cos(end.out) + dy * std::sin(end.out), across = -dx * std::sin(end.out) + dy * std::cos(end.out);
  if (std::abs(across - 0.5 * end.curvature * along * along) < kAstray + end.sigma_out * std::abs(along)) return std::nullopt;
  return freed;
}

Path Shortened(const Path& path, std::size_t front, std::size_t back) {
  Path out = path;
  const auto first = path.points.begin() + static_cast<long>(front), last = path.points.end() - static_cast<long>(back);
  out.points.assign(first, last);
  if (front > 0) out.head.clear();
  if (back > 0) out.tail.clear();
  const auto seen = [](const PathPoint& p) { return !p.bridged; };
  const auto lost = static_cast<double>(std::count_if(path.points.begin(), first, seen) + std::count_if(last, path.points.end(), seen));
  out.inked_px = std::max(1.0, path.inked_px - lost);
  if (path.Dashed()) out.dash_px = std::min(out.dash_px, out.inked_px);
  return out;
}

}  // namespace islebook
