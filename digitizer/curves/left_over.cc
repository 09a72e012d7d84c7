#include "digitizer/curves/left_over.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "digitizer/curves/path_grid.h"

namespace islebook {
namespace {

constexpr double kTaken = 2.6;    // px: a stroke this close to a path is the path's
constexpr double kAhead = 70.0;   // px, times the unit: how far ahead of an end is looked
constexpr double kLeast = 5.0;    // px: a shorter piece may be dust
constexpr double kCone = 0.35;    // rad about the direction of the end
constexpr double kAligned = 0.6;  // rad between the end's and the piece's direction

bool IsTaken(const Stroke& stroke, const PathGrid& grid, const std::vector<Path>& paths) {
  std::size_t taken = 0;
  for (const ImagePoint& p : stroke.points) {
    bool near = false;
    grid.Near(p, kTaken, [&](const PathGrid::Entry& e) {
      const ImagePoint q = paths[static_cast<std::size_t>(e.path)].points[static_cast<std::size_t>(e.point)].at;
      near = near || std::hypot(q.x - p.x, q.y - p.y) < kTaken;
    });
    taken += near ? 1 : 0;
  }
  return 2 * taken > stroke.points.size();
}

bool GoesOn(const PathEnd& end, double ink_mass, const Stroke& piece, double reach) {
  const ImagePoint a = piece.points.front(), b = piece.points.back();
  const ImagePoint near = std::hypot(a.x - end.at.x, a.y - end.at.y) < std::hypot(b.x - end.at.x, b.y - end.at.y) ? a : b;
  const double away = std::hypot(near.x - end.at.x, near.y - end.at.y);
  if (away > reach || away < 1.0) return false;
  // On along the end's own bend.
  const double expected = end.out + 0.5 * end.curvature * away;
  if (std::abs(std::remainder(std::atan2(near.y - end.at.y, near.x - end.at.x) - expected, 2 * M_PI)) > kCone) return false;
  const double direction = end.out + end.curvature * away;
  if (std::abs(std::remainder(std::atan2(b.y - a.y, b.x - a.x) - direction, M_PI)) > kAligned) return false;
  return piece.ink_mass > 0.5 * ink_mass && piece.ink_mass < 2.0 * ink_mass;
}

}  // namespace

void DoubtCutEnds(const std::vector<Path>& paths, const std::vector<Stroke>& strokes, double unit_px, std::vector<TracedCurve>& curves) {
  const PathGrid grid(paths);
  std::vector<const Stroke*> left;
  for (const Stroke& s : strokes)
    if (!s.closed && s.points.size() >= 2 && s.length_px >= kLeast && !IsTaken(s, grid, paths)) left.push_back(&s);
  if (left.empty()) return;
  for (std::size_t i = 0; i < paths.size(); ++i) {
    if (paths[i].closed || paths[i].Dashed()) continue;
    const bool goes_on = std::ranges::any_of(std::array{true, false}, [&](bool front) {
      const PathEnd end = EndOfPath(paths[i], front);
      return std::ranges::any_of(left, [&](const Stroke* s) { return GoesOn(end, paths[i].ink_mass, *s, kAhead * unit_px); });
    });
    if (goes_on) curves[i].doubts.push_back("it seems to go on beyond its end, where a piece of line was left over");
  }
}

}  // namespace islebook
