#include "digitizer/curves/hidden_ways.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include <opencv2/core.hpp>

#include "digitizer/curves/path_grid.h"

namespace islebook {
namespace {

constexpr double kLeastHidden = 8.0;  // px: a shorter bridge cannot go far astray
constexpr double kBarsHidden = 1.7;   // longest dashes: a shorter bridge of a dashed line lies between its bars
constexpr double kLeastSide = 26.0;   // px of line to go by on either side
constexpr double kMostSide = 90.0;
constexpr double kSideBars = 3.5;   // longest dashes
constexpr int kLeastOn = 7;         // points on either side that the smooth line must hold
constexpr double kLeaning = 14.0;   // px beside print that may lean
constexpr double kSteep = 1.1;      // against the chord: a steeper line is no function of it
constexpr double kOffWay = 1.0;     // px off the smooth line: such points lean
constexpr double kWorth = 0.7;      // px: a bridge closer to the smooth line stays
constexpr double kHeavier = 1.15;   // times the ink mass
constexpr double kDashedInk = 0.4;  // of a dashed way

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

unsigned char At(const cv::Mat1b& m, ImagePoint p) { return m(std::clamp(cvRound(p.y), 0, m.rows - 1), std::clamp(cvRound(p.x), 0, m.cols - 1)); }

struct SidePoint {
  double t = 0, y = 0;  // along and across the chord, in lengths of the bridge and px
  double near = 0;      // px from the bridge
  bool before = false;
};

using Cubic = cv::Vec4d;
double ValueOf(const Cubic& c, double t) { return c[0] + t * (c[1] + t * (c[2] + t * c[3])); }
double SlopeOf(const Cubic& c, double t) { return c[1] + t * (2 * c[2] + t * 3 * c[3]); }

// Weighted again and again by the distance from the last fit, so that leaning points lose their say.
std::optional<Cubic> FitSmooth(const std::vector<SidePoint>& side) {
  std::vector<double> weight;
  for (const SidePoint& p : side) weight.push_back(p.near < kLeaning ? 0.15 : 1.0);
  Cubic c;
  for (int round = 0; round < 8; ++round) {
    cv::Matx44d a = cv::Matx44d::zeros();
    cv::Vec4d b(0, 0, 0, 0);
    for (std::size_t i = 0; i < side.size(); ++i) {
      const double t = side[i].t;
      const cv::Vec4d row(1, t, t * t, t * t * t);
      a += weight[i] * (row * row.t());
      b += weight[i] * side[i].y * row;
    }
    for (int k = 0; k < 4; ++k) a(k, k) += 1e-9;
    c = a.solve(b, cv::DECOMP_CHOLESKY);
    std::vector<double> off;
    for (const SidePoint& p : side) off.push_back(std::abs(p.y - ValueOf(c, p.t)));
    std::vector<double> sorted = off;
    std::nth_element(sorted.begin(), sorted.begin() + static_cast<long>(sorted.size() / 2), sorted.end());
    const double limit = 4.7 * std::max(0.15, 1.48 * sorted[sorted.size() / 2]);
    for (std::size_t i = 0; i < side.size(); ++i) {
      const double r = off[i] / limit;
      weight[i] = r < 1 ? (1 - r * r) * (1 - r * r) : 0.0;
    }
  }
  // Both sides must lie on it for the most part.
  for (const bool before : {true, false}) {
    int on = 0, all = 0;
    for (const SidePoint& p : side) {
      if (p.before != before) continue;
      ++all;
      on += std::abs(p.y - ValueOf(c, p.t)) < kOffWay;
    }
    if (on < kLeastOn || 10 * on < 6 * all) return std::nullopt;
  }
  return c;
}

// The bridge between points `from` and `to` (both inked; indices may run past the end of a closed path).
bool SmoothWay(Path& path, int from, int to, std::vector<PathPoint>& way, int& keep_from, int& keep_to) {
  const auto n = static_cast<int>(path.points.size());
  const auto at = [&](int k) -> const PathPoint& { return path.points[static_cast<std::size_t>(((k % n) + n) % n)]; };
  const ImagePoint a = at(from).at, b = at(to).at;
  const double gap = Distance(a, b);
  if (gap < kLeastHidden) return false;
  const double ux = (b.x - a.x) / gap, uy = (b.y - a.y) / gap;
  const auto local = [&](ImagePoint p) { return std::array{((p.x - a.x) * ux + (p.y - a.y) * uy) / gap, (p.y - a.y) * ux - (p.x - a.x) * uy}; };
  const double reach = std::max(std::clamp(gap, kLeastSide, kMostSide), path.Dashed() ? kSideBars * path.longest_dash : 0.0);
  std::vector<SidePoint> side;
  for (const bool before : {true, false}) {
    const int step = before ? -1 : 1, start = before ? from : to;
    double away = 0;
    for (int k = start, count = 0; away < reach && count < n / 2; k += step, ++count) {
      if (!path.closed && (k < 0 || k >= n)) break;
      if (k != start) away += Distance(at(k).at, at(k - step).at);
      if (at(k).bridged) continue;
      const auto [t, y] = local(at(k).at);
      // A line that turns back against the chord is no function of it.
      if (before ? t > 0.05 : t < 0.95) break;
      side.push_back({t, y, away, before});
    }
  }
  if (side.size() < 20) return false;
  auto fit = FitSmooth(side);
  if (!fit) {  // what stands next to the print may lead all the rest astray
    std::erase_if(side, [](const SidePoint& p) { return p.near < kLeaning; });
    if (side.size() >= 20) fit = FitSmooth(side);
  }
  if (!fit) return false;
  for (double t = -0.2; t <= 1.2; t += 0.1)
    if (std::abs(SlopeOf(*fit, t)) > kSteep * gap) return false;
  // Points next to the bridge that lean off go with it.
  const auto off = [&](int k) {
    const auto [t, y] = local(at(k).at);
    return std::abs(y - ValueOf(*fit, t));
  };
  keep_from = from;
  keep_to = to;
  for (int step : {-1, 1}) {
    int& keep = step < 0 ? keep_from : keep_to;
    double away = 0;
    int last = keep;
    for (int k = keep, count = 0; away < 1.5 * kLeaning && count < n / 4; k += step, ++count) {
      if (!path.closed && (k < 0 || k >= n)) break;
      away = Distance(at(k).at, at(keep).at);
      if (off(k) > kOffWay || at(k).bridged) last = k + step;
    }
    if (!path.closed && (last < 0 || last >= n)) return false;
    keep = last;
  }
  double worst = 0;
  for (int k = keep_from + 1; k < keep_to; ++k) worst = std::max(worst, off(k));
  if (worst < kWorth) return false;
  const auto [t0, y0] = local(at(keep_from).at);
  const auto [t1, y1] = local(at(keep_to).at);
  const double d0 = y0 - ValueOf(*fit, t0), d1 = y1 - ValueOf(*fit, t1);
  const int count = std::max(2, static_cast<int>((t1 - t0) * gap));
  for (int i = 1; i < count; ++i) {
    const double k = static_cast<double>(i) / count, t = t0 + (t1 - t0) * k;
    const double y = ValueOf(*fit, t) + (1 - k) * d0 + k * d1;
    way.push_back({{a.x + ux * t * gap - uy * y, a.y + uy * t * gap + ux * y}, true});
  }
  return true;
}

}  // namespace

void SmoothHiddenWays(std::vector<Path>& paths, const cv::Mat1b& ink, const cv::Mat1b& cover) {
  for (Path& path : paths) {
    const double least = path.Dashed() ? std::max(kLeastHidden, kBarsHidden * path.longest_dash) : kLeastHidden;
    for (int from = 0; from < static_cast<int>(path.points.size()); ++from) {
      const auto n = static_cast<int>(path.points.size());
      const auto at = [&](int k) -> const PathPoint& { return path.points[static_cast<std::size_t>(k)]; };
      if (at(from).bridged || from + 1 >= n || !at(from + 1).bridged) continue;
      int to = from + 1, covered = 0, inked = 0;
      while (to < n && at(to).bridged) {
        const bool hidden = At(cover, at(to).at) > 0;
        covered += hidden;
        inked += !hidden && At(ink, at(to).at) > 0.5 * path.level;
        ++to;
      }
      if (to >= n) break;
      const int count = to - from - 1;
      if (Distance(at(from).at, at(to).at) < least || 2 * covered < count || 2 * inked > count) {
        from = to - 1;
        continue;
      }
      std::vector<PathPoint> way;
      int keep_from = from, keep_to = to;
      if (SmoothWay(path, from, to, way, keep_from, keep_to) && keep_from >= 0 && keep_to < n) {
        path.points.erase(path.points.begin() + keep_from + 1, path.points.begin() + keep_to);
        path.points.insert(path.points.begin() + keep_from + 1, way.begin(), way.end());
        from = keep_from + static_cast<int>(way.size());
      } else {
        from = to - 1;
      }
    }
  }
}

void FollowInkToLine(std::vector<Path>& paths, const cv::Mat1b& ink, const cv::Mat1b& cover, double reach_px) {
  struct Extension {
    std::size_t path;
    bool front;
    std::vector<PathPoint> points;
  };
  constexpr double kMet = 0.8, kLeastWay = 3.0;
  std::vector<Extension> extensions;
  const PathGrid grid(paths);
  for (std::size_t i = 0; i < paths.size(); ++i) {
    const Path& path = paths[i];
    if (path.closed || path.inked_px < 2 * kLeastSide) continue;
    const double blank_allowed = path.Dashed() ? path.longest_dash + 4.0 : 2.0;
    for (const bool front : {true, false}) {
      const PathEnd end = EndOfPath(path, front);
      std::vector<PathPoint> walked;
      double blank = 0, inked = 0, nearest_before = 1e9;
      bool met = false;
      for (double t = 1; t < reach_px && !met; t += 1.0) {
        const double across = 0.5 * end.curvature * t * t;
        const ImagePoint at{end.at.x + t * std::cos(end.out) - across * std::sin(end.out),
                            end.at.y + t * std::sin(end.out) + across * std::cos(end.out)};
        if (at.x < 0 || at.y < 0 || at.x >= ink.cols || at.y >= ink.rows) break;
        const bool dark = At(ink, at) > 0.5 * path.level, hidden = At(cover, at) > 0;
        blank = dark || hidden ? 0 : blank + 1;
        inked += dark && !hidden;
        if (blank > blank_allowed) break;
        walked.push_back({at, true});
        double nearest = 1e9;
        grid.Near(at, 4, [&](const PathGrid::Entry& e) {
          const auto j = static_cast<std::size_t>(e.path);
          if (j == i || paths[j].ink_mass < kHeavier * path.ink_mass) return;
          nearest = std::min(nearest, Distance(paths[j].points[static_cast<std::size_t>(e.point)].at, at));
        });
        met = nearest < kMet || (nearest > nearest_before + 0.2 && nearest_before < 2.0);
        nearest_before = nearest;
      }
      const double least_ink = path.Dashed() ? kDashedInk : 0.7;
      if (!met || walked.size() < kLeastWay || inked < least_ink * static_cast<double>(walked.size())) continue;
      extensions.push_back({i, front, std::move(walked)});
    }
  }
  for (Extension& e : extensions) {
    auto& p = paths[e.path].points;
    if (e.front) {
      std::reverse(e.points.begin(), e.points.end());
      p.insert(p.begin(), e.points.begin(), e.points.end());
    } else {
      p.insert(p.end(), e.points.begin(), e.points.end());
    }
  }
}

}  // namespace islebook
