#include "digitizer/assemble/island_checks.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/core.h>

#include "digitizer/assemble/map_edge.h"

namespace islebook {
namespace {

// Lengths are parts of the frame's height.
constexpr double kFacing = 0.15;  // two ends this close that point at each other are one line's
constexpr double kFacingRad = 0.3;
constexpr double kEndRun = 0.03;      // of a curve, to tell which way its end points
constexpr double kOnEdge = 0.004;     // an end this close to a drawn edge is on it
constexpr double kAtEdge = 0.012;     // and this far from it, one that still runs into it
constexpr double kLeastShort = 0.03;  // what an end that stops short of its edge must lack
constexpr double kShortPart = 0.05;   // and of the island's length
constexpr double kInside = 0.0015;    // nearer to the lines of the edge an island can hardly pass
constexpr double kTouching = 0.006;   // a tangent touches the edge for longer than this
constexpr double kBeyond = 0.04;      // and hardly for so long
constexpr double kPastEnd = 0.005;    // how close to the right end of a speed line a bridge may pass
constexpr double kInner = 0.05;       // from an island's own ends

struct End {
  std::size_t curve = 0;
  bool left = false;
  PlotPoint at;
  double out = 0.0;   // direction, rad
  double bend = 0.0;  // rad per unit of length, walking outward
};

const char* Side(const End& end) { return end.left ? "left" : "right"; }

End SeeEnd(const PlotCurve& c, std::size_t index, bool left) {
  const auto n = static_cast<int>(c.points.size());
  const auto at = [&](int k) { return c.points[static_cast<std::size_t>(left ? k : n - 1 - k)]; };
  End end{index, left, at(0)};
  int half = 0, far = 0;
  double length = 0;
  while (far + 1 < n && length < 2 * kEndRun) {
    length += std::hypot(at(far + 1).x - at(far).x, at(far + 1).y - at(far).y);
    ++far;
    if (length < kEndRun) half = far;
  }
  half = std::max(half, far / 2);
  const auto direction = [&](int from, int to) { return std::atan2(at(to).y - at(from).y, at(to).x - at(from).x); };
  if (half == 0) return end;
  const double near = direction(half, 0);
  end.out = near;
  if (far > half) {
    end.bend = std::clamp(std::remainder(near - direction(far, half), 2 * M_PI) / std::max(1e-6, 0.5 * length), -8.0, 8.0);
    end.out += 0.25 * end.bend * length;
  }
  return end;
}

// How far an end has still to go, on its bend, until it meets the line; nothing where it does not meet it within `reach`.
std::optional<double> WayTo(const End& end, const PlotCurve& line, double reach) {
  constexpr double kStep = 0.002;
  PlotPoint p = end.at;
  double heading = end.out, before = DistanceTo(line, p);
  for (double way = 0; way < reach; way += kStep) {
    if (before < kStep) return way;
    heading += end.bend * kStep;
    p = {p.x + kStep * std::cos(heading), p.y + kStep * std::sin(heading)};
    const double d = DistanceTo(line, p);
    if (d > before && before < 2 * kStep) return way;
    if (d > before + 0.5 * kStep) return std::nullopt;
    before = d;
  }
  return std::nullopt;
}

void Suspect(const CheckedPanel& panel, std::size_t i, std::string reason, double weight) {
  (*panel.hints)[i].push_back({std::move(reason), weight});
}

// Whether the right end of a speed line is where its ink ends, on bare paper.
bool IsSeenEnd(const CheckedPanel& panel, std::size_t i) {
  const JudgedCurve& c = (*panel.judged)[i];
  const InkEvidence& ink = (*panel.ink)[i];
  return !c.trace.bridged.empty() && c.trace.bridged.back() == 0 && !ink.into_print_back && ink.beyond_back < 0.3;
}

// Islands are clipped where the map ends: what was joined beyond that is two islands.
void CheckJoinedOutside(const CheckedPanel& panel, const MapEdge& edge) {
  const std::vector<PlotCurve>& seen = *panel.seen;
  for (std::size_t i = 0; i < panel.judged->size(); ++i) {
    const JudgedCurve& c = (*panel.judged)[i];
    if (c.role != CurveRole::kEfficiencyIsland || c.trace.exact) continue;
    const std::size_t n = seen[i].points.size();
    double outside = 0;
    bool past_end = false;
    double along = 0;
    for (std::size_t k = 1; k < n; ++k) {
      const PlotPoint p = seen[i].points[k];
      const double step = std::hypot(p.x - seen[i].points[k - 1].x, p.y - seen[i].points[k - 1].y);
      along += step;
      if (!seen[i].closed && (along < kInner || along > seen[i].length - kInner)) continue;
      if ((edge.bottom && InsideOf(seen[*edge.bottom], p, true).value_or(1.0) < kInside) ||
          (edge.top && InsideOf(seen[*edge.top], p, false).value_or(1.0) < kInside) || (edge.surge && DistanceTo(seen[*edge.surge], p) < kInside))
        outside += step;
      const bool bridged = k < c.trace.bridged.size() && c.trace.bridged[k] != 0;
      if (!bridged) continue;
      for (const std::size_t s : edge.by_speed)
        past_end |= IsSeenEnd(panel, s) && std::hypot(seen[s].Right().x - p.x, seen[s].Right().y - p.y) < kPastEnd;
    }
    if (outside > kTouching)
      Suspect(panel, i, "it runs on or beyond the map's edge, where islands are cut off; two islands may have been joined there",
              outside > kBeyond ? 0.55 : 0.3);
    else if (past_end)
      Suspect(panel, i, "it was joined where a speed line ends, at the map's edge; it may be two islands", 0.5);
  }
}

}  // namespace

void CheckIslands(const CheckedPanel& panel) {
  const std::vector<JudgedCurve>& judged = *panel.judged;
  const std::vector<PlotCurve>& seen = *panel.seen;
  std::vector<CurveRole> roles;
  for (const JudgedCurve& c : judged) roles.push_back(c.role);
  const MapEdge edge = FindMapEdge(roles, seen);
  std::vector<End> ends;
  for (std::size_t i = 0; i < judged.size(); ++i) {
    if (judged[i].role != CurveRole::kEfficiencyIsland || judged[i].trace.closed || judged[i].trace.exact || seen[i].points.size() < 4) continue;
    for (const bool left : {true, false}) ends.push_back(SeeEnd(seen[i], i, left));
  }
  // Whether an end is on a drawn edge or runs into one at once.
  const auto on_drawn_edge = [&](const End& end) {
    return std::ranges::any_of(edge.drawn, [&](std::size_t e) {
      if (DistanceTo(seen[e], end.at) < kOnEdge) return true;
      const auto way = WayTo(end, seen[e], kAtEdge);
      return way && *way <= kAtEdge;
    });
  };
  for (const End& end : ends) {
    const JudgedCurve& c = judged[end.curve];
    const InkEvidence& ink = (*panel.ink)[end.curve];
    for (const End& other : ends) {
      if (other.curve == end.curve) continue;
      const JudgedCurve& d = judged[other.curve];
      if (c.value && d.value && *c.value == *d.value) continue;  // clipped pieces of one island, each with its own label
      const double dx = other.at.x - end.at.x, dy = other.at.y - end.at.y, away = std::hypot(dx, dy);
      if (away > kFacing) continue;
      const double between = std::atan2(dy, dx);
      if (std::abs(std::remainder(end.out + M_PI - other.out, 2 * M_PI)) > 2 * kFacingRad) continue;
      if (away > 0.01 && (std::abs(std::remainder(between - end.out, 2 * M_PI)) > kFacingRad ||
                          std::abs(std::remainder(between + M_PI - other.out, 2 * M_PI)) > kFacingRad))
        continue;
      Suspect(panel, end.curve, fmt::format("another line goes straight on from its {} end", Side(end)), 0.55);
      break;
    }
    if ((end.left ? ink.into_print_front : ink.into_print_back) && !on_drawn_edge(end))
      Suspect(panel, end.curve, fmt::format("its {} end is at print, which may hide more of it", Side(end)), 0.5);
    const double allowed = std::max(kLeastShort, kShortPart * seen[end.curve].length);
    for (const std::size_t e : edge.drawn) {
      const double away = DistanceTo(seen[e], end.at);
      if (away > 2 * kAtEdge || away < kOnEdge) continue;
      const auto way = WayTo(end, seen[e], kFacing);
      if (way ? *way > allowed : away > kAtEdge)
        Suspect(panel, end.curve, fmt::format("its {} end stops short of the line that it runs into", Side(end)), 0.4);
    }
  }
  CheckJoinedOutside(panel, edge);
}

}  // namespace islebook
