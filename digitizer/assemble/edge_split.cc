#include "digitizer/assemble/edge_split.h"

#include <algorithm>
#include <cmath>

#include "digitizer/assemble/map_edge.h"

namespace islebook {
namespace {

// Parts of the frame's height.
constexpr double kTouches = -0.0004;  // an island that has reached the center of the edge's line is beyond it: one that stays inside may be whole
constexpr double kNear = 0.002;       // a touch is the whole stretch within this
constexpr double kInner = 0.05;       // from an island's own ends
constexpr double kLeastPart = 0.08;   // a shorter part is not worth having

// Stretches of points [from, to) where the island has reached the edge, away from its ends.
std::vector<std::pair<std::size_t, std::size_t>> FindTouches(const PlotCurve& island, const MapEdge& edge, const std::vector<PlotCurve>& seen) {
  std::vector<std::pair<std::size_t, std::size_t>> touches;
  const std::size_t n = island.points.size();
  std::vector<double> inside(n, 1.0);
  double along = 0;
  for (std::size_t k = 0; k < n; ++k) {
    const PlotPoint p = island.points[k];
    if (k > 0) along += std::hypot(p.x - island.points[k - 1].x, p.y - island.points[k - 1].y);
    if (!island.closed && (along < kInner || along > island.length - kInner)) continue;
    for (const bool below : {true, false}) {
      const std::size_t line = below ? *edge.bottom : *edge.top;
      inside[k] = std::min(inside[k], InsideOf(seen[line], p, below).value_or(1.0));
    }
  }
  for (std::size_t k = 0; k < n; ++k) {
    if (inside[k] >= kNear) continue;
    std::size_t to = k;
    double least = 1.0;
    while (to < n && inside[to] < kNear) least = std::min(least, inside[to++]);
    if (least < kTouches) {
      std::size_t from = k;
      while (inside[from] >= kTouches) ++from;
      std::size_t last = to - 1;
      while (inside[last] >= kTouches) --last;
      touches.emplace_back(from, last + 1);
    }
    k = to;
  }
  return touches;
}

TracedCurve PartOf(const TracedCurve& whole, std::size_t from, std::size_t to) {
  TracedCurve part = whole;
  part.closed = false;
  const auto cut = [&](auto& v) {
    if (v.size() != whole.points.size()) return;
    v = {v.begin() + static_cast<std::ptrdiff_t>(from), v.begin() + static_cast<std::ptrdiff_t>(to)};
  };
  cut(part.sigma_px);
  cut(part.bridged);
  part.points = {whole.points.begin() + static_cast<std::ptrdiff_t>(from), whole.points.begin() + static_cast<std::ptrdiff_t>(to)};
  return part;
}

double DistanceTo(const TracedCurve& curve, ImagePoint p) {
  double best = 1e9;
  for (const ImagePoint& q : curve.points) best = std::min(best, std::hypot(q.x - p.x, q.y - p.y));
  return best;
}

}  // namespace

void SplitAtMapEdge(const EdgeSplitInput& input) {
  std::vector<TracedCurve>& traces = *input.traces;
  std::vector<CurveRole> roles;
  for (const RoleGuess& g : *input.guesses) roles.push_back(g.drop ? CurveRole::kOther : g.role);
  const MapEdge edge = FindMapEdge(roles, *input.seen);
  if (!edge.bottom || !edge.top) return;
  const std::size_t count = traces.size();
  for (std::size_t i = 0; i < count; ++i) {
    if (roles[i] != CurveRole::kEfficiencyIsland || traces[i].exact) continue;
    const std::vector<PlotCurve>& seen = *input.seen;
    auto touches = FindTouches(seen[i], edge, seen);
    if (touches.empty()) continue;
    TracedCurve whole = traces[i];
    const std::size_t n = whole.points.size();
    // Along the trace, which an open curve may run against.
    if (seen[i].turned) {
      for (auto& [from, to] : touches) {
        const std::size_t a = n - to, b = n - from;
        from = a;
        to = b;
      }
      std::ranges::reverse(touches);
    }
    if (whole.closed) {  // the first touch becomes the seam
      const std::size_t seam = touches.front().second;
      const auto turn = [&](auto& v) {
        if (v.size() == n) std::rotate(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(seam % n), v.end());
      };
      turn(whole.sigma_px);
      turn(whole.bridged);
      turn(whole.points);
      for (auto& [from, to] : touches) {
        from = (from + n - seam) % n;
        to = (to + n - seam - 1) % n + 1;
      }
      std::ranges::sort(touches);
    }
    std::vector<TracedCurve> parts;
    std::size_t start = 0;
    const auto add = [&](std::size_t from, std::size_t to) {
      if (to < from + 8) return;
      TracedCurve part = PartOf(whole, from, to);
      if (SeeInFrame(part, *input.frame).length > kLeastPart) parts.push_back(std::move(part));
    };
    for (const auto& [from, to] : touches) {
      add(start, from);
      start = to;
    }
    add(start, n);
    if (parts.empty() || (parts.size() == 1 && !whole.closed)) continue;
    std::vector<std::size_t> at;
    for (std::size_t k = 0; k < parts.size(); ++k) {
      at.push_back(k == 0 ? i : traces.size());
      if (k == 0) {
        traces[i] = parts[0];
        (*input.seen)[i] = SeeInFrame(parts[0], *input.frame);
      } else {
        input.guesses->push_back((*input.guesses)[i]);
        input.seen->push_back(SeeInFrame(parts[k], *input.frame));
        traces.push_back(parts[k]);
      }
    }
    for (CurveLabel& label : *input.labels)
      for (LabelCandidate& candidate : label.candidates) {
        if (candidate.curve != i) continue;
        std::size_t best = 0;
        for (std::size_t k = 1; k < parts.size(); ++k)
          if (DistanceTo(parts[k], label.center) < DistanceTo(parts[best], label.center)) best = k;
        candidate.curve = at[best];
      }
  }
}

}  // namespace islebook
