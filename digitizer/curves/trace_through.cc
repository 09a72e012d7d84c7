// A person's curve: the cheapest way along the ink through the given points, then the ridge's own sub-pixel centers.

#include <algorithm>
#include <cmath>
#include <limits>
#include <queue>

#include <opencv2/core.hpp>

#include "digitizer/curves/curves.h"
#include "digitizer/curves/finishing.h"
#include "digitizer/ridges/ridge_points.h"

namespace islebook {
namespace {

constexpr double kSnapPx = 7.0;
constexpr double kSigmaPx = 1.6;
constexpr double kLowContrast = 4.0;

struct Terrain {
  cv::Rect where;         // of the sheet
  cv::Mat1f cost;         // per pixel of `where`
  RidgePointField field;  // in sheet pixels
};

Terrain Survey(const Page& page, const std::vector<ImagePoint>& through) {
  double x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;
  for (const ImagePoint& p : through) {
    x0 = std::min(x0, p.x);
    x1 = std::max(x1, p.x);
    y0 = std::min(y0, p.y);
    y1 = std::max(y1, p.y);
  }
  const double pad = 40 + 0.35 * std::hypot(x1 - x0, y1 - y0);
  Terrain t;
  t.where = cv::Rect(cvFloor(x0 - pad), cvFloor(y0 - pad), cvCeil(x1 - x0 + 2 * pad), cvCeil(y1 - y0 + 2 * pad)) &
            cv::Rect(0, 0, page.ink.cols, page.ink.rows);
  t.field = FindRidgePoints(page.ink, t.where, {}, kSigmaPx, kLowContrast);
  t.cost = cv::Mat1f(t.where.height, t.where.width);
  for (int y = 0; y < t.where.height; ++y)
    for (int x = 0; x < t.where.width; ++x) {
      const double dark = page.ink(y + t.where.y, x + t.where.x) / 255.0;
      const int ridge = t.field.index(y + t.where.y, x + t.where.x);
      t.cost(y, x) = static_cast<float>(ridge >= 0 ? 0.12 + 0.2 * (1 - std::min(1.0, t.field.points[static_cast<std::size_t>(ridge)].strength / 40.0))
                                                   : 1.0 + 1.5 * (1 - dark));
    }
  return t;
}

ImagePoint Snap(const Terrain& t, ImagePoint p) {
  double best = kSnapPx;
  ImagePoint at = p;
  for (int y = cvFloor(p.y - kSnapPx); y <= cvCeil(p.y + kSnapPx); ++y)
    for (int x = cvFloor(p.x - kSnapPx); x <= cvCeil(p.x + kSnapPx); ++x) {
      if (!t.where.contains(cv::Point(x, y))) continue;
      const int ridge = t.field.index(y, x);
      if (ridge < 0) continue;
      const RidgePoint& q = t.field.points[static_cast<std::size_t>(ridge)];
      // A strong line a little farther off beats a faint one.
      const double d = std::hypot(q.x - p.x, q.y - p.y) + 2.0 * std::max(0.0, 1.0 - q.strength / 25.0);
      if (d < best) {
        best = d;
        at = {q.x, q.y};
      }
    }
  return at;
}

// Cheapest pixels from a to b, dearer the farther they stray from the way expected (a smooth curve through the neighbors).
std::vector<cv::Point> CheapestWay(const Terrain& t, const std::vector<ImagePoint>& expected) {
  const auto local = [&](ImagePoint p) {
    return cv::Point(std::clamp(cvRound(p.x) - t.where.x, 0, t.where.width - 1), std::clamp(cvRound(p.y) - t.where.y, 0, t.where.height - 1));
  };
  const cv::Point from = local(expected.front()), to = local(expected.back());
  const double length = std::hypot(to.x - from.x, to.y - from.y);
  const double room = std::max(6.0, (expected.size() > 2 ? 0.10 : 0.16) * length);
  cv::Mat1f best(t.cost.rows, t.cost.cols, std::numeric_limits<float>::infinity());
  cv::Mat1i came(t.cost.rows, t.cost.cols, -1);
  const auto stray = [&](int x, int y) {
    double nearest = 1e18;
    for (const ImagePoint& e : expected) nearest = std::min(nearest, std::pow(e.x - t.where.x - x, 2) + std::pow(e.y - t.where.y - y, 2));
    return nearest / (room * room);
  };
  using Entry = std::pair<float, int>;
  std::priority_queue<Entry, std::vector<Entry>, std::greater<>> open;
  best(from) = 0;
  open.emplace(0.0f, from.y * t.cost.cols + from.x);
  while (!open.empty()) {
    const auto [cost, id] = open.top();
    open.pop();
    const cv::Point p(id % t.cost.cols, id / t.cost.cols);
    if (cost > best(p)) continue;
    if (p == to) break;
    for (int dy = -1; dy <= 1; ++dy)
      for (int dx = -1; dx <= 1; ++dx) {
        const cv::Point q(p.x + dx, p.y + dy);
        if ((dx == 0 && dy == 0) || q.x < 0 || q.y < 0 || q.x >= t.cost.cols || q.y >= t.cost.rows) continue;
        const double step = dx != 0 && dy != 0 ? M_SQRT2 : 1.0;
        const auto next = static_cast<float>(cost + step * (t.cost(q) + 0.25 * stray(q.x, q.y)));
        if (next < best(q)) {
          best(q) = next;
          came(q) = id;
          open.emplace(next, q.y * t.cost.cols + q.x);
        }
      }
  }
  std::vector<cv::Point> way;
  for (cv::Point p = to;;) {
    way.push_back(p + t.where.tl());
    const int id = came(p);
    if (id < 0) break;
    p = cv::Point(id % t.cost.cols, id / t.cost.cols);
  }
  std::reverse(way.begin(), way.end());
  return way;
}

// Catmull-Rom samples about 3 px apart between points i and i+1.
std::vector<ImagePoint> Expect(const std::vector<ImagePoint>& p, std::size_t i, bool closed) {
  const std::size_t n = p.size();
  const auto at = [&](long k) {
    return closed ? p[static_cast<std::size_t>((k % static_cast<long>(n) + static_cast<long>(n)) % static_cast<long>(n))]
                  : p[static_cast<std::size_t>(std::clamp(k, 0L, static_cast<long>(n) - 1))];
  };
  const auto k = static_cast<long>(i);
  const ImagePoint a = at(k - 1), b = at(k), c = at(k + 1), d = at(k + 2);
  const int steps = std::max(2, static_cast<int>(std::hypot(c.x - b.x, c.y - b.y) / 3));
  std::vector<ImagePoint> samples;
  for (int s = 0; s <= steps; ++s) {
    const double t = static_cast<double>(s) / steps, t2 = t * t, t3 = t2 * t;
    const auto mix = [&](double va, double vb, double vc, double vd) {
      return 0.5 * (2 * vb + (vc - va) * t + (2 * va - 5 * vb + 4 * vc - vd) * t2 + (3 * vb - va - 3 * vc + vd) * t3);
    };
    samples.push_back({mix(a.x, b.x, c.x, d.x), mix(a.y, b.y, c.y, d.y)});
  }
  return samples;
}

}  // namespace

Result<TracedCurve> TraceThrough(const Page& page, const std::vector<ImagePoint>& through, bool closed, const CurveOptions& options) {
  if (auto ok = options.Check(); !ok) return std::unexpected(ok.error());
  if (through.size() < 2 || (closed && through.size() < 3))
    return Fail(ErrorCode::kInvalidArgument,
                closed ? "A closed curve needs at least three points to follow." : "A curve needs at least two points to follow.");
  for (const ImagePoint& p : through)
    if (!(p.x >= 0 && p.y >= 0 && p.x < page.ink.cols && p.y < page.ink.rows))
      return Fail(ErrorCode::kInvalidArgument, "A point to follow lies outside the sheet.");
  const Terrain terrain = Survey(page, through);
  std::vector<ImagePoint> snapped;
  for (const ImagePoint& p : through) snapped.push_back(Snap(terrain, p));

  Path path;
  path.closed = closed;
  std::vector<double> masses;
  const std::size_t legs = closed ? snapped.size() : snapped.size() - 1;
  for (std::size_t i = 0; i < legs; ++i)
    for (const cv::Point& pixel : CheapestWay(terrain, Expect(snapped, i, closed))) {
      const int ridge = terrain.field.index(pixel);
      PathPoint point{{static_cast<double>(pixel.x), static_cast<double>(pixel.y)}, true};
      if (ridge >= 0) {
        const RidgePoint& q = terrain.field.points[static_cast<std::size_t>(ridge)];
        point = {{q.x, q.y}, false};
      }
      if (!path.points.empty() && std::hypot(path.points.back().at.x - point.at.x, path.points.back().at.y - point.at.y) < 0.4) continue;
      path.points.push_back(point);
    }
  // Pixels beside the ridge say less than the ridge: where one stands among ridge points, it goes.
  std::vector<PathPoint> kept;
  for (std::size_t i = 0; i < path.points.size(); ++i) {
    const bool lone = path.points[i].bridged && i > 0 && i + 1 < path.points.size() && !path.points[i - 1].bridged && !path.points[i + 1].bridged;
    if (!lone) kept.push_back(path.points[i]);
  }
  path.points = std::move(kept);
  for (const PathPoint& p : path.points) path.inked_px += p.bridged ? 0 : 1;
  if (path.points.size() < 2) return Fail(ErrorCode::kInvalidArgument, "The points to follow lie on top of each other.");
  TracedCurve curve = FinishCurve(path, page, {}, options.point_spacing_px);
  const double inked = path.inked_px / static_cast<double>(path.points.size());
  curve.confidence = std::clamp(0.3 + 0.7 * inked, 0.0, 1.0);
  if (inked < 0.5) curve.doubts.push_back("less than half of the traced curve lies on ink");
  return curve;
}

}  // namespace islebook
