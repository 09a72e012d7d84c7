#include "digitizer/curves/finishing.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <unordered_map>

#include <opencv2/core.hpp>

#include "digitizer/curves/path_grid.h"

namespace islebook {
namespace {

constexpr double kLongReach = 5.0;  // times the usual reach, along ink

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

// Where the ray from p along `direction` (bent by `curvature`) meets segment a-b: distance along the ray.
std::optional<double> MeetSegment(ImagePoint p, double direction, ImagePoint a, ImagePoint b) {
  const double dx = std::cos(direction), dy = std::sin(direction), ex = b.x - a.x, ey = b.y - a.y;
  const double det = dx * -ey + dy * ex;
  if (std::abs(det) < 1e-9) return std::nullopt;
  const double qx = a.x - p.x, qy = a.y - p.y;
  const double t = (qx * -ey + qy * ex) / det;
  const double s = (dx * qy - dy * qx) / det;
  if (s < -0.05 || s > 1.05 || t < -2.0) return std::nullopt;
  return t;
}

}  // namespace

void RestoreEnds(Path& path) {
  if (path.closed) return;
  for (bool front : {true, false}) {
    std::vector<ImagePoint>& cut = front ? path.head : path.tail;
    if (cut.empty()) continue;
    const PathEnd end = EndOfPath(path, front);
    std::vector<ImagePoint> back = cut;
    if (front) std::reverse(back.begin(), back.end());
    std::vector<PathPoint> added;
    for (const ImagePoint& p : back) {
      const double along = (p.x - end.at.x) * std::cos(end.out) + (p.y - end.at.y) * std::sin(end.out);
      const double across = -(p.x - end.at.x) * std::sin(end.out) + (p.y - end.at.y) * std::cos(end.out);
      if (std::abs(across - 0.5 * end.curvature * along * along) > 0.45 || along < 0) break;
      added.push_back({p, false});
    }
    if (front) {
      std::reverse(added.begin(), added.end());
      path.points.insert(path.points.begin(), added.begin(), added.end());
    } else {
      path.points.insert(path.points.end(), added.begin(), added.end());
    }
    cut.clear();
  }
}

void CutRiders(std::vector<Path>& paths, double within_px) {
  constexpr int kLeast = 10;     // points
  constexpr double kMost = 0.5;  // of a path: more than that is no end stretch
  const PathGrid grid(paths);
  for (std::size_t i = 0; i < paths.size(); ++i) {
    if (paths[i].closed) continue;
    for (bool front : {true, false}) {
      const auto n = static_cast<int>(paths[i].points.size());
      int ride = 0;
      for (; ride < n; ++ride) {
        const ImagePoint p = paths[i].points[static_cast<std::size_t>(front ? ride : n - 1 - ride)].at;
        bool near = false;
        grid.Near(p, within_px, [&](const PathGrid::Entry& e) {
          const auto j = static_cast<std::size_t>(e.path);
          // Of two that run together the one with more ink and more length keeps the stretch.
          if (near || j == i || paths[j].ink_mass * paths[j].inked_px <= paths[i].ink_mass * paths[i].inked_px) return;
          near = Distance(paths[j].points[static_cast<std::size_t>(e.point)].at, p) <= within_px;
        });
        if (!near) break;
      }
      if (ride < kLeast || ride > kMost * n) continue;
      auto& p = paths[i].points;
      if (front)
        p.erase(p.begin(), p.begin() + ride);
      else
        p.erase(p.end() - ride, p.end());
    }
  }
}

void MeetAtShallowAngle(std::vector<Path>& paths, double reach_px) {
  constexpr int kDragged = 12;       // points next to the end that lean toward the other line
  constexpr double kNear = 9.0;      // px
  constexpr double kShallow = 0.42;  // rad
  const PathGrid grid(paths);
  for (std::size_t i = 0; i < paths.size(); ++i) {
    if (paths[i].closed || paths[i].Dashed() || paths[i].points.size() < 5 * kDragged) continue;
    for (bool front : {true, false}) {
      auto& p = paths[i].points;
      Path inner;
      if (front)
        inner.points.assign(p.begin() + kDragged, p.end());
      else
        inner.points.assign(p.begin(), p.end() - kDragged);
      const PathEnd end = EndOfPath(inner, front);
      const ImagePoint tip = front ? p.front().at : p.back().at;
      // The heavier line beside the tip, and its direction there.
      double nearest = kNear, direction = 0;
      std::size_t other = paths.size();
      grid.Near(tip, kNear, [&](const PathGrid::Entry& e) {
        const auto j = static_cast<std::size_t>(e.path);
        const auto k = static_cast<std::size_t>(e.point);
        const auto& q = paths[j].points;
        if (j == i || paths[j].ink_mass < 1.15 * paths[i].ink_mass || k + 6 >= q.size() || k < 6) return;
        const double d = Distance(q[k].at, tip);
        if (d >= nearest) return;
        nearest = d;
        other = j;
        direction = std::atan2(q[k + 6].at.y - q[k - 6].at.y, q[k + 6].at.x - q[k - 6].at.x);
      });
      if (other == paths.size() || std::abs(std::remainder(end.out - direction, M_PI)) > kShallow) continue;
      // Walk on from the part that is free of drag until the two center lines meet.
      std::vector<PathPoint> walked;
      bool met = false;
      double before = 1e9;
      for (double t = 1; t < kDragged + kLongReach * reach_px && !met; t += 1.0) {
        const double across = 0.5 * end.curvature * t * t;
        const ImagePoint at{end.at.x + t * std::cos(end.out) - across * std::sin(end.out),
                            end.at.y + t * std::sin(end.out) + across * std::cos(end.out)};
        walked.push_back({at, true});
        double d = 1e9;
        grid.Near(at, 6, [&](const PathGrid::Entry& e) {
          if (static_cast<std::size_t>(e.path) == other) d = std::min(d, Distance(paths[other].points[static_cast<std::size_t>(e.point)].at, at));
        });
        met = d < 0.8 || (d > before + 0.3 && before < 2.0);
        before = d;
      }
      if (!met) continue;
      p = inner.points;
      if (front) {
        std::reverse(walked.begin(), walked.end());
        p.insert(p.begin(), walked.begin(), walked.end());
      } else {
        p.insert(p.end(), walked.begin(), walked.end());
      }
    }
  }
}

void ExtendToJunctions(std::vector<Path>& paths, const cv::Mat1b& ink, const cv::Mat1b& cover, double reach_px) {
  const PathGrid grid(paths);
  // On ink or under print the line may well go on: there the reach is longer.
  const auto reach_on_ink = [&](const PathEnd& end, double level) {
    double t = 0;
    for (; t < kLongReach * reach_px; t += 1.0) {
      const double across = 0.5 * end.curvature * t * t;
      const int x = cvRound(end.at.x + t * std::cos(end.out) - across * std::sin(end.out)),
                y = cvRound(end.at.y + t * std::sin(end.out) + across * std::cos(end.out));
      if (x < 0 || y < 0 || x >= ink.cols || y >= ink.rows || (ink(y, x) < 0.6 * level && cover(y, x) == 0)) break;
    }
    return std::max(reach_px, t);
  };
  struct Extension {
    std::size_t path;
    bool front;
    std::vector<PathPoint> points;
  };
  std::vector<Extension> extensions;
  for (std::size_t i = 0; i < paths.size(); ++i) {
    if (paths[i].closed) continue;
    for (bool front : {true, false}) {
      const PathEnd end = EndOfPath(paths[i], front);
      const double reach = paths[i].Dashed() ? 1.5 * reach_px : reach_on_ink(end, paths[i].level);
      double best = reach + 1;
      grid.Near(end.at, reach, [&](const PathGrid::Entry& e) {
        const auto j = static_cast<std::size_t>(e.path);
        const auto& q = paths[j].points;
        const auto k = static_cast<std::size_t>(e.point);
        if (j == i || k + 1 >= q.size() || Distance(q[k].at, end.at) > reach + 3 || paths[j].inked_px < 0.5 * reach_px) return;
        const auto t = MeetSegment(end.at, end.out, q[k].at, q[k + 1].at);
        if (t && *t <= reach && *t < best) best = *t;
      });
      if (best > reach || best < 0.5) continue;
      Extension extension{i, front, {}};
      for (double t = 1; t < best + 0.5; t += 1.0) {
        const double s = std::min(t, best);
        const double across = 0.5 * end.curvature * s * s;
        extension.points.push_back(
            {{end.at.x + s * std::cos(end.out) - across * std::sin(end.out), end.at.y + s * std::sin(end.out) + across * std::cos(end.out)}, true});
      }
      extensions.push_back(std::move(extension));
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

void DropDoubles(std::vector<Path>& paths, double within_px) {
  const PathGrid grid(paths);
  std::vector<char> drop(paths.size(), 0);
  for (std::size_t i = 0; i < paths.size(); ++i) {
    std::unordered_map<int, int> close_to;
    int sampled = 0;
    for (std::size_t k = 0; k < paths[i].points.size(); k += 4) {
      ++sampled;
      std::vector<int> seen;
      grid.Near(paths[i].points[k].at, within_px, [&](const PathGrid::Entry& e) {
        const auto j = static_cast<std::size_t>(e.path);
        if (j == i || std::find(seen.begin(), seen.end(), e.path) != seen.end()) return;
        if (paths[j].inked_px < paths[i].inked_px || (paths[j].inked_px == paths[i].inked_px && j > i)) return;
        if (Distance(paths[j].points[static_cast<std::size_t>(e.point)].at, paths[i].points[k].at) <= within_px) seen.push_back(e.path);
      });
      for (int j : seen) ++close_to[j];
    }
    for (const auto& [j, count] : close_to)
      if (count >= 0.9 * sampled) drop[i] = 1;
  }
  std::vector<Path> kept;
  for (std::size_t i = 0; i < paths.size(); ++i)
    if (!drop[i]) kept.push_back(std::move(paths[i]));
  paths = std::move(kept);
}

TracedCurve FinishCurve(const Path& path, const Page& page, const cv::Mat1b& print, double spacing_px) {
  TracedCurve curve;
  curve.closed = path.closed;
  curve.ink_mass = path.ink_mass;
  curve.lab = path.lab;
  curve.dashed = path.Dashed();
  const auto n = static_cast<int>(path.points.size());
  // Local quadratic over a few pixels on either side; bridged points weigh little.
  constexpr int kHalf = 6;
  std::vector<ImagePoint> smooth(static_cast<std::size_t>(n));
  for (int i = 0; i < n; ++i) {
    const ImagePoint center = path.points[static_cast<std::size_t>(i)].at;
    double s0 = 0, s1 = 0, s2 = 0, s3 = 0, s4 = 0, x0 = 0, x1 = 0, x2 = 0, y0 = 0, y1 = 0, y2 = 0;
    const int half = path.closed ? kHalf : std::min({kHalf, i, n - 1 - i});
    if (half < 2) {
      smooth[static_cast<std::size_t>(i)] = center;
      continue;
    }
    for (int d = -half; d <= half; ++d) {
      const PathPoint& q = path.points[static_cast<std::size_t>(((i + d) % n + n) % n)];
      const double t = d, w = q.bridged ? 0.25 : 1.0;
      s0 += w;
      s1 += w * t;
      s2 += w * t * t;
      s3 += w * t * t * t;
      s4 += w * t * t * t * t;
      const double dx = q.at.x - center.x, dy = q.at.y - center.y;
      x0 += w * dx;
      x1 += w * t * dx;
      x2 += w * t * t * dx;
      y0 += w * dy;
      y1 += w * t * dy;
      y2 += w * t * t * dy;
    }
    const double det = s0 * (s2 * s4 - s3 * s3) - s1 * (s1 * s4 - s2 * s3) + s2 * (s1 * s3 - s2 * s2);
    if (std::abs(det) < 1e-9) {
      smooth[static_cast<std::size_t>(i)] = center;
      continue;
    }
    const double c0 = s2 * s4 - s3 * s3, c1 = s2 * s3 - s1 * s4, c2 = s1 * s3 - s2 * s2;
    smooth[static_cast<std::size_t>(i)] = {center.x + (c0 * x0 + c1 * x1 + c2 * x2) / det, center.y + (c0 * y0 + c1 * y1 + c2 * y2) / det};
  }
  // Even steps; sigma grows with the distance to the nearest ink.
  std::vector<double> to_ink(static_cast<std::size_t>(n), 0);
  for (int pass = 0; pass < (path.closed ? 2 : 1); ++pass) {
    double d = path.closed || (n > 0 && !path.points.front().bridged) ? 0 : 1e3;
    if (pass == 1) d = to_ink.back();
    for (int i = 0; i < n; ++i) {
      d = path.points[static_cast<std::size_t>(i)].bridged ? d + 1 : 0;
      to_ink[static_cast<std::size_t>(i)] = d;
    }
  }
  for (int pass = 0; pass < (path.closed ? 2 : 1); ++pass) {
    double d = pass == 1 ? to_ink.front() : (path.closed ? 0 : 1e3);
    for (int i = n - 1; i >= 0; --i) {
      d = path.points[static_cast<std::size_t>(i)].bridged ? d + 1 : 0;
      to_ink[static_cast<std::size_t>(i)] = std::min(to_ink[static_cast<std::size_t>(i)], d);
    }
  }
  const double base = 0.06 + 0.012 * std::min(page.noise, 20.0) / 4;
  double since = spacing_px;
  for (int i = 0; i < n; ++i) {
    if (i > 0) since += Distance(smooth[static_cast<std::size_t>(i)], smooth[static_cast<std::size_t>(i - 1)]);
    if (since < spacing_px && i + 1 < n) continue;
    since = 0;
    curve.points.push_back(smooth[static_cast<std::size_t>(i)]);
    const double away = std::min(to_ink[static_cast<std::size_t>(i)], 60.0);
    curve.sigma_px.push_back(static_cast<float>(base + 0.02 * away));
    // A bridge over ink (a crossing) hides nothing; one over paper or print does.
    const ImagePoint q = curve.points.back();
    const int x = std::clamp(cvRound(q.x), 0, page.ink.cols - 1), y = std::clamp(cvRound(q.y), 0, page.ink.rows - 1);
    const bool seen = page.ink(y, x) > 0.4 * path.level && (print.empty() || print(y, x) == 0);
    curve.bridged.push_back(path.points[static_cast<std::size_t>(i)].bridged && !seen ? 1 : 0);
  }
  if (!curve.closed && n > 0) {
    // Ink ends up to half the line's width beyond or short of where the line was drawn to end (caps of any form, blur); an end that was carried on is less sure.
    const double width = path.level > 0.0 ? std::clamp(255.0 * path.ink_mass / path.level, 1.0, 12.0) : 3.0;
    for (const bool front : {true, false}) {
      int carried = 0;
      while (carried < n && path.points[static_cast<std::size_t>(front ? carried : n - 1 - carried)].bridged) ++carried;
      curve.end_sigma_px[front ? 0 : 1] = 0.5 * width + 0.1 * std::min(carried, 60);
    }
  }
  curve.confidence = std::clamp(1.0 - path.worst_join / 40.0, 0.4, 1.0);
  return curve;
}

}  // namespace islebook
