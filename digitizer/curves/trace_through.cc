// A person's curve: the cheapest walk along the ink that passes all the places that were pointed at, then the ridge's own sub-pixel centers.

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/curves/curves.h"
#include "digitizer/curves/finishing.h"
#include "digitizer/curves/ridge_walk.h"

namespace islebook {
namespace {

constexpr double kPointReach = 3.3;  // in standard deviations of a hand that points
constexpr double kEndReach = 3.0;    // in the same: an end of the ink this close to the first or last place is the curve's end

cv::Rect Around(const std::vector<ImagePoint>& through) {
  double x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;
  for (const ImagePoint& p : through) {
    x0 = std::min(x0, p.x);
    x1 = std::max(x1, p.x);
    y0 = std::min(y0, p.y);
    y1 = std::max(y1, p.y);
  }
  const double pad = 40 + 0.35 * std::hypot(x1 - x0, y1 - y0);
  return {cvFloor(x0 - pad), cvFloor(y0 - pad), cvCeil(x1 - x0 + 2 * pad), cvCeil(y1 - y0 + 2 * pad)};
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

// Print, and the grid lines of every plot.
cv::Mat1b Cover(const Page& page, const PrintFound& print, const AxesFound& axes) {
  constexpr int kGridWidth = 3;
  cv::Mat1b cover(page.ink.rows, page.ink.cols, static_cast<unsigned char>(0));
  const auto draw = [&](const FrameMapping& frame, FramePoint from, FramePoint to) {
    constexpr int kPieces = 32;  // a bent page bends its grid
    std::vector<cv::Point> line;
    for (int i = 0; i <= kPieces; ++i) {
      const double t = static_cast<double>(i) / kPieces;
      const ImagePoint p = frame.ImageFromFrame({from.u + t * (to.u - from.u), from.v + t * (to.v - from.v)});
      line.emplace_back(cvRound(p.x), cvRound(p.y));
    }
    cv::polylines(cover, line, false, kGridThere, kGridWidth);
  };
  for (const Panel& panel : axes.panels) {
    for (double u : panel.grid_u) draw(panel.frame, {u, 0}, {u, 1});
    for (double v : panel.grid_v) draw(panel.frame, {0, v}, {1, v});
  }
  if (!print.mask.empty()) cover.setTo(kPrintThere, print.mask);
  return cover;
}

// The states passed from the first place to the last, over all `stops` (indices into `through`) at once; empty: there is no way.
std::vector<WalkState> WalkThrough(RidgeWalk& walk, const std::vector<ImagePoint>& through, const std::vector<std::size_t>& stops, bool closed,
                                   const std::vector<std::vector<WalkState>>& near, const std::vector<WalkState>& start) {
  const std::size_t legs = closed ? stops.size() : stops.size() - 1;
  std::vector<std::vector<std::vector<WalkState>>> ways;
  std::vector<std::vector<WalkState>> ends;
  std::vector<WalkState> from = start;
  for (std::size_t i = 0; i < legs; ++i) {
    const std::size_t here = stops[i], next = i + 1 < stops.size() ? stops[i + 1] : through.size();
    std::vector<WalkState> to = i + 1 < stops.size() ? near[next] : start;
    std::vector<ImagePoint> expected;
    for (std::size_t k = here; k < next; ++k) {
      const std::vector<ImagePoint> part = Expect(through, k, closed);
      expected.insert(expected.end(), part.begin(), part.end());
    }
    const ImagePoint a = through[here], b = through[next % through.size()];
    const double room = std::max(14.0, 0.25 * std::hypot(b.x - a.x, b.y - a.y));
    ways.push_back(walk.Walk(from, to, expected, room));
    ends.push_back(to);
    from.clear();
    for (const WalkState& s : to)
      if (std::isfinite(s.cost)) from.push_back(s);
    if (from.empty()) return {};
  }
  // Back from the cheapest end: each leg ends in the state where the next one begins.
  const auto cheapest =
      std::min_element(ends.back().begin(), ends.back().end(), [](const WalkState& a, const WalkState& b) { return a.cost < b.cost; });
  std::size_t at = static_cast<std::size_t>(cheapest - ends.back().begin());
  std::vector<WalkState> passed;
  for (std::size_t leg = legs; leg-- > 0;) {
    const std::vector<WalkState>& way = ways[leg][at];
    passed.insert(passed.begin(), way.begin(), way.end() - (passed.empty() ? 0 : 1));
    if (leg == 0) break;
    const WalkState& first = way.front();
    const auto before =
        std::find_if(ends[leg - 1].begin(), ends[leg - 1].end(), [&](const WalkState& s) { return s.node == first.node && s.along == first.along; });
    at = static_cast<std::size_t>(before - ends[leg - 1].begin());
  }
  return passed;
}

// The states as a path a pixel or so apart; where there was no ink it swings from one direction into the other.
Path ToPath(const RidgeWalk& walk, const std::vector<WalkState>& passed, bool closed) {
  Path path;
  path.closed = closed;
  double level = 0;
  for (std::size_t i = 0; i < passed.size(); ++i) {
    const ImagePoint p = walk.At(passed[i].node);
    if (i > 0) {
      const ImagePoint a = walk.At(passed[i - 1].node), u = walk.Direction(passed[i - 1]), v = walk.Direction(passed[i]);
      const double d = std::hypot(p.x - a.x, p.y - a.y);
      const int steps = static_cast<int>(d / 1.5);
      for (int s = 1; s < steps && d > 2.6; ++s) {
        const double t = static_cast<double>(s) / steps, t2 = t * t, t3 = t2 * t;
        const double h0 = 2 * t3 - 3 * t2 + 1, h1 = (t3 - 2 * t2 + t) * d, h2 = 3 * t2 - 2 * t3, h3 = (t3 - t2) * d;
        path.points.push_back({{h0 * a.x + h1 * u.x + h2 * p.x + h3 * v.x, h0 * a.y + h1 * u.y + h2 * p.y + h3 * v.y}, true});
      }
      if (d < 0.4) continue;
    }
    const bool inked = walk.OnInk(passed[i].node);
    path.points.push_back({p, !inked});
    if (inked) {
      path.inked_px += 1;
      level += walk.Level(passed[i].node);
    }
  }
  if (closed && path.points.size() > 2) path.points.pop_back();
  path.level = path.inked_px > 0 ? level / path.inked_px : 0.0;
  path.ink_mass = 3.0 * path.level / 255.0;  // as if of a line 3 px wide
  return path;
}

// Straight from place to place, for a sheet that shows nothing there.
Path WithoutInk(const std::vector<ImagePoint>& through, bool closed) {
  Path path;
  path.closed = closed;
  for (std::size_t i = 0; i < (closed ? through.size() : through.size() - 1); ++i)
    for (const ImagePoint& p : Expect(through, i, closed))
      if (path.points.empty() || std::hypot(path.points.back().at.x - p.x, path.points.back().at.y - p.y) > 0.4) path.points.push_back({p, true});
  return path;
}

}  // namespace

Result<TracedCurve> TraceThrough(const Page& page, const PrintFound& print, const AxesFound& axes, const std::vector<ImagePoint>& through,
                                 bool closed, const CurveOptions& options) {
  if (auto ok = options.Check(); !ok) return std::unexpected(ok.error());
  if (through.size() < 2 || (closed && through.size() < 3))
    return Fail(ErrorCode::kInvalidArgument,
                closed ? "A closed curve needs at least three points to follow." : "A curve needs at least two points to follow.");
  for (const ImagePoint& p : through)
    if (!(p.x >= 0 && p.y >= 0 && p.x < page.ink.cols && p.y < page.ink.rows))
      return Fail(ErrorCode::kInvalidArgument, "A point to follow lies outside the sheet.");
  const cv::Mat1b cover = Cover(page, print, axes);
  RidgeWalk walk(page, cover, Around(through), through, options.hand_px);
  std::vector<std::vector<WalkState>> near;
  for (const ImagePoint& p : through) near.push_back(walk.Near(p, kPointReach * options.hand_px));
  const auto pass = [&](const std::vector<std::size_t>& stops) {
    std::vector<WalkState> passed = WalkThrough(walk, through, stops, closed, near, near.front());
    // A closed curve ends where it began: once round to find the place, once more from there.
    if (closed && !passed.empty() && (passed.front().node != passed.back().node || passed.front().along != passed.back().along)) {
      WalkState meeting = passed.back();
      meeting.cost = 0;
      passed = WalkThrough(walk, through, stops, closed, near, {meeting});
    }
    return passed;
  };
  // Under print no ink tells better than the hand, but the ink before and behind does: such places are passed only if there is no other way.
  std::vector<std::size_t> all, inked;
  for (std::size_t i = 0; i < through.size(); ++i) {
    all.push_back(i);
    const bool end = i == 0 || (!closed && i + 1 == through.size());
    if (end || cover(static_cast<int>(through[i].y), static_cast<int>(through[i].x)) != kPrintThere) inked.push_back(i);
  }
  std::vector<WalkState> passed;
  if (inked.size() >= 2 && inked.size() < all.size()) passed = pass(inked);
  if (passed.empty()) passed = pass(all);
  if (!closed && !passed.empty()) {
    const std::vector<WalkState> on = walk.ToEndOfInk(passed.back(), kEndReach * options.hand_px);
    passed.insert(passed.end(), on.begin(), on.end());
    WalkState back = passed.front();
    back.along = !back.along;
    for (WalkState s : walk.ToEndOfInk(back, kEndReach * options.hand_px)) {
      s.along = !s.along;
      passed.insert(passed.begin(), s);
    }
  }
  const Path path = passed.empty() ? WithoutInk(through, closed) : ToPath(walk, passed, closed);
  if (path.points.size() < 2) return Fail(ErrorCode::kInvalidArgument, "The points to follow lie on top of each other.");
  TracedCurve curve = FinishCurve(path, page, {}, options.point_spacing_px);
  const double on_ink = path.inked_px / static_cast<double>(path.points.size());
  curve.confidence = std::clamp(0.3 + 0.7 * on_ink, 0.0, 1.0);
  if (on_ink < 0.4) curve.doubts.push_back("less than half of the traced curve lies on ink");
  return curve;
}

}  // namespace islebook
