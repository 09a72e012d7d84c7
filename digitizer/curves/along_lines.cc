#include "digitizer/curves/along_lines.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <opencv2/core.hpp>

#include "digitizer/curves/path_grid.h"

namespace islebook {
namespace {

constexpr double kOnLinePx = 2.5;      // an end this close to a line's center has run into it
constexpr double kShallow = 0.5;       // rad
constexpr double kHeavier = 1.1;       // times the ink mass
constexpr double kLeastInked = 50.0;   // px of a path that is worth joining
constexpr double kSideReach = 170.0;   // px of either side that are looked at
constexpr double kFarPx = 18.0;        // from the line: farther off they say little about the touch
constexpr std::size_t kLeastSide = 8;  // points
constexpr double kMassRatio = 1.45;
constexpr double kColorPx = 25.0;   // CIE Lab
constexpr double kMisfitPx = 0.7;   // rms of what the common course leaves
constexpr double kCrossesPx = 0.8;  // beyond the line's center: the curve has gone through it
constexpr double kInkedWay = 0.85;  // of the touch
constexpr double kTouchCost = 8.0;  // as the cost of a join
constexpr double kScale = 100.0;    // px, to keep the fit's numbers small

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

double WidthOf(const Path& path) { return path.level > 0.0 ? std::clamp(255.0 * path.ink_mass / path.level, 1.0, 12.0) : 3.0; }

// A path's arc length at each of its points.
std::vector<double> ArcOf(const Path& path) {
  std::vector<double> arc(path.points.size(), 0.0);
  for (std::size_t k = 1; k < arc.size(); ++k) arc[k] = arc[k - 1] + Distance(path.points[k].at, path.points[k - 1].at);
  return arc;
}

struct Beside {
  double along = 0.0;  // of the line's arc
  double off = 0.0;    // from the line, to the right of its way on the picture
  std::size_t point = 0;
};

// An open end that has run into a line.
struct Touch {
  std::size_t path = 0, line = 0;
  bool front = false;
  std::size_t on_line = 0;  // the line's point at the end
  bool onward = false;      // the end points the way the line runs
};

std::optional<Touch> FindTouch(const std::vector<Path>& paths, const PathGrid& grid, std::size_t i, bool front) {
  const Path& path = paths[i];
  const ImagePoint tip = (front ? path.points.front() : path.points.back()).at;
  double nearest = kOnLinePx;
  Touch touch{i, paths.size(), front, 0, false};
  grid.Near(tip, kOnLinePx, [&](const PathGrid::Entry& e) {
    const auto j = static_cast<std::size_t>(e.path);
    const auto k = static_cast<std::size_t>(e.point);
    if (j == i || paths[j].Dashed() || paths[j].ink_mass < kHeavier * path.ink_mass || k < 6 || k + 6 >= paths[j].points.size()) return;
    const double d = Distance(paths[j].points[k].at, tip);
    if (d >= nearest) return;
    nearest = d;
    touch.line = j;
    touch.on_line = k;
  });
  if (touch.line == paths.size()) return std::nullopt;
  const std::vector<PathPoint>& line = paths[touch.line].points;
  const ImagePoint a = line[touch.on_line - 6].at, b = line[touch.on_line + 6].at;
  const double turned = std::remainder(EndOfPath(path, front).out - std::atan2(b.y - a.y, b.x - a.x), 2 * M_PI);
  touch.onward = std::abs(turned) < M_PI / 2;
  if (std::abs(std::remainder(turned, M_PI)) > kShallow) return std::nullopt;
  return touch;
}

// The path's places beside the line, from its end inward, where its ink and the line's are apart.
std::vector<Beside> SeeBeside(const Path& path, const Touch& touch, const Path& line, const std::vector<double>& arc) {
  const double apart = 0.5 * (WidthOf(path) + WidthOf(line)) + 1.0;
  const auto n = static_cast<long>(path.points.size()), m = static_cast<long>(line.points.size());
  std::vector<Beside> beside;
  long at = static_cast<long>(touch.on_line);
  double walked = 0;
  for (long k = 0; k < n && walked < kSideReach; ++k) {
    const auto index = static_cast<std::size_t>(touch.front ? k : n - 1 - k);
    const ImagePoint p = path.points[index].at;
    if (k > 0) walked += Distance(p, path.points[static_cast<std::size_t>(touch.front ? k - 1 : n - k)].at);
    const auto away = [&](long j) { return Distance(line.points[static_cast<std::size_t>(j)].at, p); };
    while (at + 1 < m && away(at + 1) <= away(at)) ++at;
    while (at > 0 && away(at - 1) < away(at)) --at;
    if (at == 0 || at + 1 == m) break;  // beyond the line's own end
    const ImagePoint a = line.points[static_cast<std::size_t>(at - 1)].at, b = line.points[static_cast<std::size_t>(at + 1)].at;
    const double dx = b.x - a.x, dy = b.y - a.y, length = std::max(1e-6, std::hypot(dx, dy));
    const ImagePoint q = line.points[static_cast<std::size_t>(at)].at;
    const double along = ((p.x - q.x) * dx + (p.y - q.y) * dy) / length, off = ((p.y - q.y) * dx - (p.x - q.x) * dy) / length;
    if (std::abs(off) > kFarPx && beside.size() >= kLeastSide) break;
    if (std::abs(off) < apart || path.points[index].bridged) continue;
    beside.push_back({arc[static_cast<std::size_t>(at)] + along, off, index});
  }
  return beside;
}

struct Course {
  cv::Vec4d c;
  double middle = 0.0, misfit = 0.0;
  double At(double along) const {
    const double t = (along - middle) / kScale;
    return c[0] + t * (c[1] + t * (c[2] + t * c[3]));
  }
};

Course FitCourse(const std::vector<Beside>& a, const std::vector<Beside>& b) {
  Course course;
  course.middle = 0.5 * (a.front().along + b.front().along);
  cv::Matx44d m = cv::Matx44d::zeros();
  cv::Vec4d r(0, 0, 0, 0);
  const auto each = [&](const auto& use) {
    for (const std::vector<Beside>* side : {&a, &b})
      for (const Beside& p : *side) use(p, 1.0 / static_cast<double>(side->size()));
  };
  each([&](const Beside& p, double weight) {
    const double t = (p.along - course.middle) / kScale;
    const cv::Vec4d row(1, t, t * t, t * t * t);
    m += weight * (row * row.t());
    r += weight * p.off * row;
  });
  for (int k = 0; k < 4; ++k) m(k, k) += 1e-9;
  course.c = m.solve(r, cv::DECOMP_CHOLESKY);
  double sum = 0;
  each([&](const Beside& p, double weight) { sum += weight * std::pow(p.off - course.At(p.along), 2); });
  course.misfit = std::sqrt(0.5 * sum);
  return course;
}

ImagePoint PlaceAt(const Path& line, const std::vector<double>& arc, double along, double off) {
  const auto above = std::upper_bound(arc.begin(), arc.end(), along);
  const auto k = static_cast<std::size_t>(std::clamp<long>(above - arc.begin(), 1, static_cast<long>(arc.size()) - 1));
  const ImagePoint a = line.points[k - 1].at, b = line.points[k].at;
  const double length = std::max(1e-6, arc[k] - arc[k - 1]), t = (along - arc[k - 1]) / length;
  const std::size_t lo = k >= 4 ? k - 4 : 0, hi = std::min(arc.size() - 1, k + 3);  // the direction of a few px
  const double dx = line.points[hi].at.x - line.points[lo].at.x, dy = line.points[hi].at.y - line.points[lo].at.y;
  const double l = std::max(1e-6, std::hypot(dx, dy));
  return {a.x + t * (b.x - a.x) - off * dy / l, a.y + t * (b.y - a.y) + off * dx / l};
}

struct Link {
  Touch from, to;  // the way runs onward along the line from one to the other
  std::size_t last = 0, first = 0;
  std::vector<PathPoint> way;
  double misfit = 0.0;
};

std::optional<Link> FindLink(const std::vector<Path>& paths, const Touch& from, const Touch& to, const cv::Mat1b& ink, double reach_px) {
  const Path &pa = paths[from.path], &pb = paths[to.path], &line = paths[from.line];
  const double mass = pa.ink_mass / std::max(0.01, pb.ink_mass);
  if (mass > kMassRatio || mass < 1.0 / kMassRatio || cv::norm(pa.lab - pb.lab) > kColorPx) return std::nullopt;
  const std::vector<double> arc = ArcOf(line);
  if (arc[to.on_line] - arc[from.on_line] > reach_px || arc[to.on_line] - arc[from.on_line] < -0.25 * reach_px) return std::nullopt;
  const std::vector<Beside> a = SeeBeside(pa, from, line, arc), b = SeeBeside(pb, to, line, arc);
  if (a.size() < kLeastSide || b.size() < kLeastSide || a.front().along >= b.front().along) return std::nullopt;
  if (b.front().along - a.front().along > 2.0 * reach_px) return std::nullopt;
  const double sign = a.front().off > 0 ? 1.0 : -1.0;
  const auto on_side = [&](const Beside& p) { return sign * p.off > 0; };
  if (!std::ranges::all_of(a, on_side) || !std::ranges::all_of(b, on_side)) return std::nullopt;
  const Course course = FitCourse(a, b);
  if (course.misfit > kMisfitPx) return std::nullopt;
  Link link{from, to, a.front().point, b.front().point, {}, course.misfit};
  const double start = a.front().along, length = b.front().along - start;
  const double lead = a.front().off - course.At(start), lag = b.front().off - course.At(start + length);
  std::size_t inked = 0;
  for (double s = 1.0; s < length; s += 1.0) {
    const double off = course.At(start + s) + lead + (lag - lead) * s / length;
    if (sign * off < -kCrossesPx) return std::nullopt;
    const ImagePoint p = PlaceAt(line, arc, start + s, off);
    inked += ink(std::clamp(cvRound(p.y), 0, ink.rows - 1), std::clamp(cvRound(p.x), 0, ink.cols - 1)) > 0.5 * std::min(pa.level, pb.level);
    link.way.push_back({p, true});
  }
  if (static_cast<double>(inked) < kInkedWay * static_cast<double>(link.way.size())) return std::nullopt;
  return link;
}

void Make(const Link& link, std::vector<Path>& paths) {
  Path& a = paths[link.from.path];
  std::vector<PathPoint> before = a.points, after = paths[link.to.path].points;
  if (link.from.path == link.to.path) {  // one path, whose ends meet
    const std::size_t lo = std::min(link.last, link.first), hi = std::max(link.last, link.first);
    std::vector<PathPoint> way = link.way;
    if (link.from.front) std::ranges::reverse(way);
    a.points.assign(before.begin() + static_cast<long>(lo), before.begin() + static_cast<long>(hi) + 1);
    a.points.insert(a.points.end(), way.begin(), way.end());
    a.closed = true;
    a.worst_join = std::max(a.worst_join, kTouchCost);
    return;
  }
  const Path& b = paths[link.to.path];
  if (link.from.front) {
    before.erase(before.begin(), before.begin() + static_cast<long>(link.last));
    std::ranges::reverse(before);
  } else {
    before.erase(before.begin() + static_cast<long>(link.last) + 1, before.end());
  }
  if (link.to.front) {
    after.erase(after.begin(), after.begin() + static_cast<long>(link.first));
  } else {
    after.erase(after.begin() + static_cast<long>(link.first) + 1, after.end());
    std::ranges::reverse(after);
  }
  before.insert(before.end(), link.way.begin(), link.way.end());
  before.insert(before.end(), after.begin(), after.end());
  a.points = std::move(before);
  const double part = b.inked_px / std::max(1.0, a.inked_px + b.inked_px);
  a.ink_mass += part * (b.ink_mass - a.ink_mass);
  a.level += part * (b.level - a.level);
  a.lab += static_cast<float>(part) * (b.lab - a.lab);
  a.inked_px += b.inked_px;
  a.dash_px += b.dash_px;
  a.longest_dash = std::max(a.longest_dash, b.longest_dash);
  a.worst_join = std::max({a.worst_join, b.worst_join, kTouchCost});
  paths.erase(paths.begin() + static_cast<long>(link.to.path));
}

}  // namespace

void JoinAlongLines(std::vector<Path>& paths, const cv::Mat1b& ink, double reach_px) {
  while (true) {
    const PathGrid grid(paths);
    std::vector<Touch> touches;
    for (std::size_t i = 0; i < paths.size(); ++i) {
      if (paths[i].closed || paths[i].Dashed() || paths[i].inked_px < kLeastInked) continue;
      for (const bool front : {true, false})
        if (const auto touch = FindTouch(paths, grid, i, front)) touches.push_back(*touch);
    }
    std::optional<Link> best;
    for (const Touch& from : touches)
      for (const Touch& to : touches) {
        if (from.line != to.line || !from.onward || to.onward || (from.path == to.path && from.front == to.front)) continue;
        auto link = FindLink(paths, from, to, ink, reach_px);
        if (link && (!best || link->misfit < best->misfit)) best = std::move(link);
      }
    if (!best) return;
    Make(*best, paths);
  }
}

}  // namespace islebook
