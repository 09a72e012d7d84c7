#include "digitizer/curves/graph_tails.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include <opencv2/core.hpp>

namespace islebook {
namespace {

constexpr double kEndsAlikePx = 5.0;       // along the x axis
constexpr double kGuideMisfitPx = 0.8;     // rms to which a neighbor's shape must fit
constexpr double kGuideStretchPx = 260.0;  // of the line over which it must
constexpr double kMostStretch = 2.5;       // of a neighbor's height
constexpr int kLeastGuided = 8;            // inked nodes
constexpr double kLeastInked = 0.45;       // of what a guided end adds
constexpr int kRiding = 60;                // nodes on another line's marks: more is that line itself

struct PlotNode {
  double x, y;  // frame coordinates times the frame's size, y upward
  bool seen;
};

// Beginning at the tip.
std::vector<PlotNode> InPlot(const LineTrack& line, int side, const FrameMapping& frame) {
  std::vector<PlotNode> out;
  const double w = frame.WidthPx(), h = frame.HeightPx();
  for (std::size_t k = 0; k < line.nodes.size(); ++k) {
    const FramePoint f = frame.FrameFromImage(line.FromTip(side, k).at);
    out.push_back({f.u * w, f.v * h, line.FromTip(side, k).seen});
  }
  return out;
}

// `other` raised and stretched to run along `own`: what of it lies beyond own's tip. Empty where it does not fit.
std::vector<PlotNode> FitNeighbor(const std::vector<PlotNode>& own, const std::vector<PlotNode>& other, double way, double unit, double& misfit) {
  struct Pair {
    double own, other, weight;
  };
  std::vector<Pair> pairs;
  double sw = 0, sy = 0, so = 0, soo = 0, syo = 0, along = 0;
  std::size_t k = other.size() - 1;
  for (std::size_t i = 0; i < own.size() && along < kGuideStretchPx * unit; ++i) {
    if (i > 0) along += std::hypot(own[i].x - own[i - 1].x, own[i].y - own[i - 1].y);
    while (k > 0 && way * (other[k].x - own[i].x) > 0) --k;
    if (!own[i].seen || k + 1 >= other.size() || way * (other[k].x - own[i].x) > 0) continue;
    const double step = other[k + 1].x - other[k].x;
    const double part = std::abs(step) > 1e-9 ? std::clamp((own[i].x - other[k].x) / step, 0.0, 1.0) : 0.0;
    const double y = other[k].y + part * (other[k + 1].y - other[k].y);
    const std::size_t i0 = i > 3 ? i - 3 : 0, i1 = std::min(own.size() - 1, i + 3);
    const double dx = own[i1].x - own[i0].x, dy = own[i1].y - own[i0].y;
    const double w = dx * dx / std::max(1e-9, dx * dx + dy * dy) + 1e-3;  // a misfit in y counts by what it is across the line
    pairs.push_back({own[i].y, y, w});
    sw += w;
    sy += w * own[i].y;
    so += w * y;
    soo += w * y * y;
    syo += w * own[i].y * y;
  }
  const double det = sw * soo - so * so;
  if (pairs.size() < 50 || det < 1e-6) return {};
  const double stretch = (sw * syo - so * sy) / det, raise = (sy - stretch * so) / sw;
  if (stretch < 1.0 / kMostStretch || stretch > kMostStretch) return {};
  double sum = 0;
  for (const Pair& p : pairs) sum += p.weight * std::pow(p.own - raise - stretch * p.other, 2);
  misfit = std::sqrt(sum / sw);
  std::vector<PlotNode> beyond;
  for (const PlotNode& p : other)
    if (way * (p.x - own.front().x) > 0) beyond.push_back({p.x, raise + stretch * p.y, p.seen});
  return beyond;
}

double LengthOf(const std::vector<PlotNode>& p) {
  double length = 0;
  for (std::size_t i = 1; i < p.size(); ++i) length += std::hypot(p[i].x - p[i - 1].x, p[i].y - p[i - 1].y);
  return length;
}

// Walks on along the predicted way, shifted by what the ink says.
std::vector<LineNode> WalkGuided(const LineTrack& line, int id, int side, const PlotNode& start, const std::vector<PlotNode>& guide,
                                 GraphField& field) {
  const double w = field.frame().WidthPx(), h = field.frame().HeightPx();
  std::vector<LineNode> added;
  double offset = 0, blank = 0;
  std::size_t last_good = 0;
  int inked = 0, riding = 0;
  PlotNode from = start;
  ImagePoint previous = line.FromTip(side, 0).at;
  bool stop = false;
  for (const PlotNode& to : guide) {
    const int steps = std::max(1, static_cast<int>(std::hypot(to.x - from.x, to.y - from.y) + 0.5));
    for (int k = 1; k <= steps && !stop; ++k) {
      const double part = static_cast<double>(k) / steps;
      const ImagePoint p = field.frame().ImageFromFrame({(from.x + part * (to.x - from.x)) / w, (from.y + part * (to.y - from.y)) / h});
      const double dx = p.x - previous.x, dy = p.y - previous.y, l = std::hypot(dx, dy);
      if (l < 0.3) continue;
      const double tx = dx / l, ty = dy / l;
      previous = p;
      const ImagePoint at{p.x - offset * ty, p.y + offset * tx};
      double z = 2.0 * field.full_unit();
      bool found = false, taken = false;
      field.MarksNear(at, z + 1, [&](const LineMark& m) {
        const double ex = m.at.x - at.x, ey = m.at.y - at.y, across = -ex * ty + ey * tx;
        if (std::abs(ex * tx + ey * ty) > 0.8 || std::abs(m.tx * tx + m.ty * ty) < 0.95) return;
        if (!field.Alike(line, field.StrokeOf(m))) return;
        if (m.owner >= 0 && m.owner != id) {
          taken |= std::abs(across) < kLineMarkPx * field.full_unit();
        } else if (std::abs(across) < std::abs(z)) {
          z = across;
          found = true;
        }
      });
      LineNode node{at, found, found || field.Inked(at, line.level)};
      if (found) {
        offset += 0.15 * z;
        node.at = {at.x - 0.5 * z * ty, at.y + 0.5 * z * tx};
      }
      riding = taken && !found ? riding + 1 : std::max(0, riding - (found ? riding : 0));
      blank = node.inked ? 0 : blank + 1;
      added.push_back(node);
      inked += node.inked;
      if (node.inked) last_good = added.size();
      if (riding > kRiding) {
        last_good = std::min(last_good, added.size() - static_cast<std::size_t>(riding));
        stop = true;
      }
      stop |= blank > 2.2 * line.gap + line.longest_dash;
    }
    if (stop) break;
    from = to;
  }
  added.resize(std::min(last_good, added.size()));
  if (inked < kLeastGuided || inked < kLeastInked * static_cast<double>(added.size())) added.clear();
  return added;
}

bool GuideTip(std::vector<LineTrack>& tracks, std::size_t id, int side, GraphField& field) {
  LineTrack& line = tracks[id];
  const std::vector<PlotNode> own = InPlot(line, side, field.frame());
  const double way = own.front().x < own.back().x ? -1.0 : 1.0;
  double best_score = 0;
  std::vector<PlotNode> best;
  for (std::size_t j = 0; j < tracks.size(); ++j) {
    if (j == id || tracks[j].gone || !tracks[j].dashed || tracks[j].nodes.size() < 80) continue;
    std::vector<PlotNode> other = InPlot(tracks[j], 0, field.frame());
    if (way * (other.back().x - other.front().x) < 0) std::reverse(other.begin(), other.end());
    double misfit = 0;
    std::vector<PlotNode> beyond = FitNeighbor(own, other, way, field.unit(), misfit);
    const double length = LengthOf(beyond);
    if (beyond.size() < 4 || length < kLeastGuided || misfit > kGuideMisfitPx * field.full_unit() || length / (0.3 + misfit) <= best_score) continue;
    best_score = length / (0.3 + misfit);
    best = std::move(beyond);
  }
  if (best.empty()) return false;
  const std::vector<LineNode> added = WalkGuided(line, static_cast<int>(id), side, own.front(), best, field);
  for (const LineNode& n : added) {
    line.Add(side, n);
    field.Claim(n.at, line, static_cast<int>(id), nullptr);
  }
  return !added.empty();
}

}  // namespace

void SettleTails(std::vector<LineTrack>& tracks, const GraphField& field) {
  const auto u_of = [&](const LineNode& n) { return field.frame().FrameFromImage(n.at).u; };
  const auto last_seen = [](const LineTrack& t, int side) {
    std::size_t k = 0;
    while (k < t.nodes.size() && !t.FromTip(side, k).seen) ++k;
    return k;
  };
  std::vector<double> ends_u;
  for (const LineTrack& t : tracks) {
    if (t.gone || t.dashed) continue;
    for (int side : {0, 1})
      if (const std::size_t k = last_seen(t, side); k < t.nodes.size()) ends_u.push_back(u_of(t.FromTip(side, k)));
  }
  const double near = kEndsAlikePx * field.full_unit() / field.frame().WidthPx();
  for (LineTrack& t : tracks) {
    if (t.gone) continue;
    for (int side : {0, 1}) {
      const std::size_t last = last_seen(t, side);
      if (last == t.nodes.size()) continue;
      std::size_t keep = last;
      if (t.dashed) {
        // Within the tail, as long as there is ink, a place where a solid line ends; or all of its ink, if that ends about there.
        const double from = u_of(t.FromTip(side, last));
        std::size_t inked = last, count = 0;
        bool crossed = false;
        double blank = 0;
        for (std::size_t k = last; k-- > 0 && !crossed;) {
          const LineNode& n = t.FromTip(side, k);
          blank = n.inked ? 0 : blank + 1;
          if (blank > 1.6 * t.gap + 2) break;
          count += n.inked;
          if (n.inked) inked = k;
          const double u = u_of(n);
          for (double e : ends_u)
            if ((from - e) * (u - e) <= 0) {
              keep = k;
              crossed = true;
            }
        }
        const double u = u_of(t.FromTip(side, inked));
        if (!crossed && 2 * count > last - inked)
          for (double e : ends_u)
            if (std::abs(u - e) < near) keep = inked;
      }
      for (std::size_t k = 0; k < keep; ++k) t.DropLast(side);
    }
  }
}

namespace {

constexpr double kCommonPx = 4.0;       // within which solid ends are at one place
constexpr double kShortPx = 45.0;       // along the x axis: how far before it a dashed end may have got lost
constexpr double kWalkPx = 380.0;       // along the line
constexpr double kMostTurn = 0.7;       // rad on that way
constexpr double kCrowdPx = 5.0;        // reach across the line to the ridges of the crowd
constexpr double kCrowdVariance = 6.0;  // px^2: in a crowd a ridge may be another line's

// The place where the solid lines end on one side, if it is one.
std::optional<double> CommonEnd(const std::vector<LineTrack>& tracks, const GraphField& field, double way) {
  std::vector<double> ends;
  for (const LineTrack& t : tracks) {
    if (t.gone || t.dashed || t.nodes.size() < 0.3 * field.width()) continue;
    const double a = field.frame().FrameFromImage(t.nodes.front().at).u, b = field.frame().FrameFromImage(t.nodes.back().at).u;
    ends.push_back(way < 0 ? std::min(a, b) : std::max(a, b));
  }
  if (ends.size() < 2) return std::nullopt;
  std::sort(ends.begin(), ends.end());
  const double middle = ends[ends.size() / 2];
  std::size_t near = 0;
  for (double e : ends) near += std::abs(e - middle) * field.frame().WidthPx() < kCommonPx * field.full_unit();
  // One line may have lost its end.
  if (near < 2 || near + 1 < ends.size()) return std::nullopt;
  return middle;
}

void ReachEnd(LineTrack& line, int side, double target, double way, GraphField& field) {
  const double width = field.frame().WidthPx();
  const auto to_go = [&](ImagePoint p) { return way * (target - field.frame().FrameFromImage(p).u) * width; };
  const double first = to_go(line.FromTip(side, 0).at);
  if (first < 1.0 || first > kShortPx * field.full_unit()) return;
  Path known;
  for (std::size_t k = std::min<std::size_t>(400, line.nodes.size()); k-- > 0;)
    known.points.push_back({line.FromTip(side, k).at, !line.FromTip(side, k).seen});
  FollowState state = FollowAlong(known, false);
  const double start = state.heading;
  std::vector<LineNode> added;
  int inked = 0;
  double blank = 0;
  for (double walked = 0; walked < kWalkPx * field.full_unit(); walked += 1.0) {
    Predict(state, 1.0);
    const double dx = std::cos(state.heading), dy = std::sin(state.heading);
    double nearest = kCrowdPx * field.full_unit(), z_nearest = 0;
    bool found = false;
    field.MarksNear(state.at, nearest + 1, [&](const LineMark& m) {
      const double ex = m.at.x - state.at.x, ey = m.at.y - state.at.y, z = -ex * dy + ey * dx;
      if (std::abs(ex * dx + ey * dy) > 0.8 || std::abs(z) > nearest || std::abs(m.tx * dx + m.ty * dy) < 0.97) return;
      nearest = std::abs(z);
      z_nearest = z;
      found = true;
    });
    if (!found)
      if (const std::optional<double> middle = field.InkMiddle(state.at, state.heading, kCrowdPx * field.full_unit())) {
        found = true;
        z_nearest = *middle;
      }
    if (found) Observe(state, z_nearest, kCrowdVariance);
    if (std::abs(std::remainder(state.heading - start, 2 * M_PI)) > kMostTurn) return;
    const LineNode node{state.at, false, field.Inked(state.at, line.level)};
    blank = node.inked ? 0 : blank + 1;
    inked += node.inked;
    added.push_back(node);
    const double left = to_go(state.at);
    if (left <= 0 || blank > 2.2 * line.gap + line.longest_dash) break;
  }
  while (!added.empty() && !added.back().inked) added.pop_back();
  if (added.empty() || 2 * inked < static_cast<int>(added.size()) || to_go(added.back().at) > 3.0 * field.full_unit()) return;
  for (const LineNode& n : added) line.Add(side, n);
}

}  // namespace

void ReachCommonEnds(std::vector<LineTrack>& tracks, GraphField& field) {
  for (double way : {-1.0, 1.0}) {
    const std::optional<double> target = CommonEnd(tracks, field, way);
    if (!target) continue;
    for (LineTrack& t : tracks) {
      if (t.gone || !t.dashed || t.nodes.size() < 0.3 * field.width()) continue;
      const double a = field.frame().FrameFromImage(t.nodes.front().at).u, b = field.frame().FrameFromImage(t.nodes.back().at).u;
      ReachEnd(t, (a < b) == (way < 0) ? 0 : 1, *target, way, field);
    }
  }
}

namespace {

constexpr double kIntoPx = 6.0;            // from another line: an end this close has run into it
constexpr double kSharedPx = 170.0;        // that the two may run on as one
constexpr double kSharedSide = 170.0;      // of the line before it that tells how it comes up to the other
constexpr double kSharedFar = 18.0;        // px apart: farther off that says little
constexpr std::size_t kSharedFew = 30;     // nodes of it
constexpr double kSharedMisfit = 0.7;      // px rms
constexpr double kSharedApart = 5.0;       // px: farther apart the two would be seen to be two
constexpr double kSharedInked = 0.9;       // of the way
constexpr double kSharedMerged = 0.5;      // of the way with more ink than one line has
constexpr double kSharedDirection = 0.95;  // cosine

// The other line's nodes from where the end has run into it to its own end, in order; empty where the other does not go on that way.
std::vector<ImagePoint> WayAlong(const LineTrack& line, int side, const LineTrack& other, double unit) {
  const ImagePoint tip = line.FromTip(side, 0).at, inner = line.FromTip(side, 12).at;
  const auto n = static_cast<long>(other.nodes.size());
  const auto at = [&](long k) -> const LineNode& { return other.nodes[static_cast<std::size_t>(k)]; };
  long near = -1;
  double nearest = kIntoPx * unit;
  for (long k = 6; k + 6 < n; ++k)
    if (const double d = std::hypot(at(k).at.x - tip.x, at(k).at.y - tip.y); d < nearest) {
      nearest = d;
      near = k;
    }
  if (near < 0) return {};
  const double ox = at(near + 6).at.x - at(near - 6).at.x, oy = at(near + 6).at.y - at(near - 6).at.y, x = tip.x - inner.x, y = tip.y - inner.y;
  const double with = (ox * x + oy * y) / std::max(1e-6, std::hypot(ox, oy) * std::hypot(x, y));
  if (std::abs(with) < kSharedDirection) return {};
  std::vector<ImagePoint> way;
  long inked = 0;
  for (long k = near; k >= 0 && k < n; k += with > 0 ? 1 : -1) {
    way.push_back(at(k).at);
    inked += at(k).seen || at(k).inked;
  }
  if (way.size() < 10 || static_cast<double>(way.size()) > kSharedPx * unit || 10 * inked < 9 * static_cast<long>(way.size())) return {};
  return way;
}

// How far the line lies beside the other before the end, by place along the other (below 0), as a parabola; nothing where it is no smooth course.
std::optional<cv::Vec3d> CourseBeside(const LineTrack& line, int side, const LineTrack& other, const std::vector<ImagePoint>& way, double unit) {
  std::vector<ImagePoint> back;  // the other line from the junction inward
  for (const LineNode& n : other.nodes) back.push_back(n.at);
  const auto is_first = [&](ImagePoint p) { return p.x == way.front().x && p.y == way.front().y; };
  const auto first = std::ranges::find_if(back, is_first);
  if (first == back.end()) return std::nullopt;
  const bool forward = first + 1 != back.end() && (first + 1)->x == way[1].x && (first + 1)->y == way[1].y;
  std::vector<ImagePoint> inward(forward ? std::vector<ImagePoint>(std::make_reverse_iterator(first + 1), back.rend())
                                         : std::vector<ImagePoint>(first, back.end()));
  cv::Matx33d a = cv::Matx33d::zeros();
  cv::Vec3d b(0, 0, 0);
  std::vector<std::array<double, 2>> beside;
  std::size_t k = 0;
  for (std::size_t i = 0; i < line.nodes.size() && static_cast<double>(i) < kSharedSide * unit; ++i) {
    const LineNode& node = line.FromTip(side, i);
    const auto away = [&](std::size_t j) { return std::hypot(inward[j].x - node.at.x, inward[j].y - node.at.y); };
    while (k + 1 < inward.size() && away(k + 1) <= away(k)) ++k;
    if (k + 4 >= inward.size()) break;
    if (!node.seen || k < 3) continue;
    const double dx = inward[k - 3].x - inward[k + 3].x, dy = inward[k - 3].y - inward[k + 3].y, length = std::max(1e-6, std::hypot(dx, dy));
    const double off = ((node.at.y - inward[k].y) * dx - (node.at.x - inward[k].x) * dy) / length;
    if (std::abs(off) > kSharedFar * unit && beside.size() >= kSharedFew) break;
    const double t = -static_cast<double>(k) / 100.0;
    const cv::Vec3d row(1, t, t * t);
    a += row * row.t();
    b += off * row;
    beside.push_back({t, off});
  }
  if (beside.size() < kSharedFew) return std::nullopt;
  for (int d = 0; d < 3; ++d) a(d, d) += 1e-9;
  const cv::Vec3d c = a.solve(b, cv::DECOMP_CHOLESKY);
  double sum = 0;
  for (const auto& [t, off] : beside) sum += std::pow(off - c[0] - t * (c[1] + t * c[2]), 2);
  if (std::sqrt(sum / static_cast<double>(beside.size())) > kSharedMisfit * unit) return std::nullopt;
  return c;
}

}  // namespace

void ReachSharedEnds(std::vector<LineTrack>& tracks, const GraphField& field) {
  const double unit = field.full_unit();
  for (std::size_t t = 0; t < tracks.size(); ++t) {
    LineTrack& line = tracks[t];
    if (line.gone || line.dashed || line.nodes.size() < 80) continue;
    for (const int side : {0, 1})
      for (std::size_t o = 0; o < tracks.size(); ++o) {
        const LineTrack& other = tracks[o];
        if (o == t || other.gone || other.dashed || other.nodes.size() < 80) continue;
        const std::vector<ImagePoint> way = WayAlong(line, side, other, unit);
        if (way.empty()) continue;
        const auto course = CourseBeside(line, side, other, way, unit);
        if (!course) continue;
        std::vector<LineNode> added;
        std::size_t inked = 0, merged = 0;
        for (std::size_t k = 1; k + 1 < way.size(); ++k) {
          const double s = static_cast<double>(k) / 100.0, off = (*course)[0] + s * ((*course)[1] + s * (*course)[2]);
          if (std::abs(off) > 2.0 * kSharedApart * unit) break;
          const ImagePoint a = way[k > 3 ? k - 3 : 0], b = way[std::min(way.size() - 1, k + 3)];
          const double dx = b.x - a.x, dy = b.y - a.y, length = std::max(1e-6, std::hypot(dx, dy));
          const double held = std::clamp(off, -kSharedApart * unit, kSharedApart * unit);
          const ImagePoint p{way[k].x - held * dy / length, way[k].y + held * dx / length};
          const bool dark = field.Inked(p, line.level);
          inked += dark;
          merged += field.Merged(way[k], std::atan2(dy, dx), line);
          added.push_back({p, false, dark});
        }
        if (added.size() + 3 < way.size() || static_cast<double>(inked) < kSharedInked * static_cast<double>(added.size())) continue;
        if (static_cast<double>(merged) < kSharedMerged * static_cast<double>(added.size())) continue;  // it ends before
        for (const LineNode& n : added) line.Add(side, n);
        break;
      }
  }
}

bool GuideByNeighbors(std::vector<LineTrack>& tracks, GraphField& field) {
  bool changed = false;
  for (std::size_t t = 0; t < tracks.size(); ++t)
    for (int side : {0, 1})
      if (!tracks[t].gone && tracks[t].dashed && tracks[t].nodes.size() > 60) changed |= GuideTip(tracks, t, side, field);
  return changed;
}

namespace {

constexpr int kLeastShared = 14;  // nodes on which two pieces run together
constexpr int kLeastOwn = 25;     // nodes that each has for itself

int NearestNode(const Path& path, ImagePoint p, double within) {
  int near = -1;
  for (int i = 0; i < static_cast<int>(path.points.size()); ++i) {
    const double d = std::hypot(path.points[static_cast<std::size_t>(i)].at.x - p.x, path.points[static_cast<std::size_t>(i)].at.y - p.y);
    if (d < within) {
      within = d;
      near = i;
    }
  }
  return near;
}

void TurnAbout(Path& path) { std::reverse(path.points.begin(), path.points.end()); }

constexpr int kAstray = 45;  // nodes at an end that may have left their line

// b goes on where a ends: a's back lies on b, b's front lies on a, and between them they run together. Ends that have gone astray are left out.
bool MergePair(Path& a, const Path& b, double within) {
  const auto all_a = static_cast<int>(a.points.size()), nb = static_cast<int>(b.points.size());
  int na = all_a, on_b = -1, on_a = -1;
  for (; all_a - na <= kAstray && na > kLeastOwn; --na)
    if (on_b = NearestNode(b, a.points[static_cast<std::size_t>(na - 1)].at, within); on_b >= 0) break;
  for (int first = 0; first <= std::min(kAstray, nb - 1); ++first)
    if (on_a = NearestNode(a, b.points[static_cast<std::size_t>(first)].at, within); on_a >= 0) break;
  if (on_b < kLeastShared || on_a < 0 || na - on_a < kLeastShared || on_a < kLeastOwn || nb - on_b < kLeastOwn) return false;
  // Both must run the same way there.
  const int begins = NearestNode(b, a.points[static_cast<std::size_t>(on_a)].at, within);
  if (begins < 0 || on_b - begins < (na - on_a) / 2) return false;
  int apart = 0;
  for (int i = on_a; i < na; ++i) apart += NearestNode(b, a.points[static_cast<std::size_t>(i)].at, within) < 0;
  if (5 * apart > na - on_a) return false;
  // From the middle of what they share on, b's nodes.
  const int middle_a = (on_a + na) / 2, middle_b = NearestNode(b, a.points[static_cast<std::size_t>(middle_a)].at, within);
  if (middle_b < 0) return false;
  const double total = a.inked_px + b.inked_px, part = total > 0 ? b.inked_px / total : 0;
  a.points.resize(static_cast<std::size_t>(middle_a));
  a.points.insert(a.points.end(), b.points.begin() + std::min(nb - 1, middle_b + 1), b.points.end());
  a.ink_mass += part * (b.ink_mass - a.ink_mass);
  a.level += part * (b.level - a.level);
  const bool dashed = a.Dashed();
  a.inked_px = 0;
  for (const PathPoint& p : a.points) a.inked_px += !p.bridged;
  a.dash_px = dashed ? a.inked_px : 0;
  a.longest_dash = std::max(a.longest_dash, b.longest_dash);
  a.worst_join = std::max(a.worst_join, b.worst_join);
  return true;
}

}  // namespace

void MergeOverlaps(std::vector<Path>& paths, double within_px) {
  for (std::size_t i = 0; i < paths.size(); ++i)
    for (std::size_t j = 0; j < paths.size(); ++j) {
      if (i == j || paths[i].Dashed() != paths[j].Dashed() || paths[i].points.size() < 2 * kLeastOwn || paths[j].points.size() < 2 * kLeastOwn)
        continue;
      bool merged = false;
      for (int turn = 0; turn < 4 && !merged; ++turn) {
        if (turn == 2) TurnAbout(paths[i]);
        if (turn > 0) TurnAbout(paths[j]);
        merged = MergePair(paths[i], paths[j], within_px);
      }
      if (!merged) continue;
      paths.erase(paths.begin() + static_cast<long>(j));
      if (j < i) --i;
      j = static_cast<std::size_t>(-1);  // the longer line is compared with all others again
    }
}

void DropBacktracks(Path& path) {
  constexpr std::size_t kBehind = 8;  // nodes that tell the way
  constexpr double kFarPx = 60.0;     // a return from farther away is none of these
  std::vector<PathPoint> kept;
  for (const PathPoint& p : path.points) {
    if (kept.size() > kBehind) {
      const ImagePoint last = kept.back().at, before = kept[kept.size() - 1 - kBehind].at;
      const double along = (p.at.x - last.x) * (last.x - before.x) + (p.at.y - last.y) * (last.y - before.y);
      if (along <= 0 && std::hypot(p.at.x - last.x, p.at.y - last.y) < kFarPx) continue;
    }
    kept.push_back(p);
  }
  if (2 * kept.size() > path.points.size()) path.points = std::move(kept);
}

void DropCoveredLines(std::vector<Path>& paths, double within_px) {
  std::vector<std::size_t> order(paths.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return paths[a].inked_px > paths[b].inked_px; });
  std::unordered_map<std::int64_t, std::vector<ImagePoint>> taken;
  std::vector<char> drop(paths.size(), 0);
  const int reach = static_cast<int>(std::ceil(within_px / GraphField::kCellPx));
  for (const std::size_t i : order) {
    std::size_t covered = 0, seen = 0;
    for (const PathPoint& p : paths[i].points) {
      if (p.bridged) continue;
      ++seen;
      bool near = false;
      for (int dy = -reach; dy <= reach && !near; ++dy)
        for (int dx = -reach; dx <= reach && !near; ++dx) {
          const auto cell = taken.find(GraphField::Key({p.at.x + dx * GraphField::kCellPx, p.at.y + dy * GraphField::kCellPx}));
          if (cell == taken.end()) continue;
          for (const ImagePoint& q : cell->second) near |= std::hypot(q.x - p.at.x, q.y - p.at.y) < within_px;
        }
      covered += near;
    }
    drop[i] = 10 * covered > 6 * seen;
    if (drop[i] == 0)
      for (const PathPoint& p : paths[i].points) taken[GraphField::Key(p.at)].push_back(p.at);
  }
  std::vector<Path> kept;
  for (std::size_t i = 0; i < paths.size(); ++i)
    if (drop[i] == 0) kept.push_back(std::move(paths[i]));
  paths = std::move(kept);
}

}  // namespace islebook
