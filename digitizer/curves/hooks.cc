#include "digitizer/curves/hooks.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace islebook {
namespace {

constexpr double kHookPx = 20.0;      // longer end pieces know their own way
constexpr double kLongerBy = 2.5;     // the rest must be this much longer than the piece
constexpr double kStray = 2.0;        // px that a piece may lie off the course of the rest
constexpr double kStrayPerPx = 0.15;  // and more the farther it is
constexpr double kTurned = 0.6;       // rad off that course
constexpr double kOnPath = 2.6;       // px: a bar this close to a path is on it
constexpr std::size_t kLeastPoints = 16;

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

// One end piece that turns away is taken off; false where there is none.
bool TrimHook(Path& path, bool front, double unit) {
  const auto n = path.points.size();
  const auto at = [&](std::size_t k) -> const PathPoint& { return path.points[front ? k : n - 1 - k]; };
  std::size_t piece = 0;
  while (piece < n && !at(piece).bridged) ++piece;
  std::size_t rest = piece;
  while (rest < n && at(rest).bridged) ++rest;
  if (piece == 0 || rest == n || n - rest < kLeastPoints) return false;
  double length = 0;
  for (std::size_t k = 1; k < piece; ++k) length += Distance(at(k).at, at(k - 1).at);
  if (length > kHookPx * unit || path.inked_px - length < kLongerBy * length) return false;
  Path inner;
  if (front)
    inner.points.assign(path.points.begin() + static_cast<long>(rest), path.points.end());
  else
    inner.points.assign(path.points.begin(), path.points.end() - static_cast<long>(rest));
  const PathEnd end = EndOfPath(inner, front);
  std::vector<double> strays;
  for (std::size_t k = 0; k < piece; ++k) {
    const double dx = at(k).at.x - end.at.x, dy = at(k).at.y - end.at.y;
    const double along = dx * std::cos(end.out) + dy * std::sin(end.out), across = -dx * std::sin(end.out) + dy * std::cos(end.out);
    const double ahead = std::max(0.0, along);
    const double allowed = kStray * unit + kStrayPerPx * ahead + (end.sigma_out + 0.5 * end.sigma_curvature * ahead) * ahead;
    strays.push_back(std::abs(across - 0.5 * end.curvature * along * along) / allowed + (along < 0 ? 2.0 : 0.0));
  }
  std::nth_element(strays.begin(), strays.begin() + static_cast<long>(strays.size() / 2), strays.end());
  bool hook = strays[strays.size() / 2] > 1.0;
  if (!hook && length > 6 * unit) {
    const ImagePoint near = at(piece - 1).at, far = at(0).at, mid{(near.x + far.x) / 2, (near.y + far.y) / 2};
    const double along = Distance(mid, end.at);
    const double turn = std::remainder(std::atan2(far.y - near.y, far.x - near.x) - end.out - end.curvature * along, 2 * M_PI);
    hook = std::abs(turn) > kTurned + end.sigma_curvature * along;
  }
  if (!hook) return false;
  if (front) {
    path.points.erase(path.points.begin(), path.points.begin() + static_cast<long>(rest));
    path.head.clear();
  } else {
    path.points.erase(path.points.end() - static_cast<long>(rest), path.points.end());
    path.tail.clear();
  }
  if (path.Dashed()) path.dash_px = std::max(0.0, path.dash_px - length);
  path.inked_px -= length;
  return true;
}

struct OnBridge {
  std::size_t first, last;  // points of the path that the bar takes the place of
  bool reversed;
};

// Where the bar lies on the path: on a bridge, or along ink (`on_ink`).
std::optional<OnBridge> FindOnPath(const Path& path, const Path& bar, bool& on_ink) {
  const auto nearest = [&](ImagePoint p) {
    std::size_t best = 0;
    double d = 1e9;
    for (std::size_t k = 0; k < path.points.size(); ++k)
      if (const double here = Distance(path.points[k].at, p); here < d) {
        d = here;
        best = k;
      }
    return std::pair{best, d};
  };
  const auto [a, da] = nearest(bar.points.front().at);
  const auto [b, db] = nearest(bar.points.back().at);
  const auto [m, dm] = nearest(bar.points[bar.points.size() / 2].at);
  on_ink = false;
  if (std::max({da, db, dm}) > kOnPath) return std::nullopt;
  const std::size_t first = std::min(a, b), last = std::max(a, b);
  if (m < first || m > last || last - first > 2 * bar.points.size() + 4) return std::nullopt;
  for (std::size_t k = first; k <= last; ++k)
    if (!path.points[k].bridged) {
      on_ink = true;
      return std::nullopt;
    }
  return OnBridge{first, last, a > b};
}

void Insert(Path& path, const Path& bar, const OnBridge& place) {
  std::vector<PathPoint> points = bar.points;
  if (place.reversed) std::reverse(points.begin(), points.end());
  std::vector<PathPoint>& p = path.points;
  // The rest of the bridge is drawn to the bar, less and less toward its own ends.
  const auto draw = [&](std::size_t from, int step, ImagePoint to) {
    const double dx = to.x - p[from].at.x, dy = to.y - p[from].at.y;
    int count = 0;
    for (auto k = static_cast<long>(from); k >= 0 && k < static_cast<long>(p.size()) && p[static_cast<std::size_t>(k)].bridged; k += step) ++count;
    for (int i = 0; i < count; ++i) {
      PathPoint& q = p[static_cast<std::size_t>(static_cast<long>(from) + i * step)];
      const double k = 1.0 - static_cast<double>(i) / count;
      q.at.x += k * dx;
      q.at.y += k * dy;
    }
  };
  draw(place.first, -1, points.front().at);
  draw(place.last, 1, points.back().at);
  p.erase(p.begin() + static_cast<long>(place.first), p.begin() + static_cast<long>(place.last) + 1);
  p.insert(p.begin() + static_cast<long>(place.first), points.begin(), points.end());
  path.inked_px += bar.inked_px;
  path.dash_px += bar.dash_px;
}

}  // namespace

void TrimHooks(std::vector<Path>& paths, double unit) {
  for (Path& path : paths) {
    if (path.closed) continue;
    for (bool front : {true, false})
      for (int round = 0; round < 3 && TrimHook(path, front, unit); ++round) {
      }
  }
}

void AbsorbLoneBars(std::vector<Path>& paths, std::vector<Path>& bars) {
  std::erase_if(bars, [&](const Path& bar) {
    for (Path& path : paths) {
      bool on_ink = false;
      const auto place = FindOnPath(path, bar, on_ink);
      if (place) Insert(path, bar, *place);
      if (place || on_ink) return true;
    }
    return false;
  });
}

}  // namespace islebook
