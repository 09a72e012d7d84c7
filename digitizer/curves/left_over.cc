#include "digitizer/curves/left_over.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <tuple>
#include <vector>

#include <opencv2/core.hpp>

#include "digitizer/curves/path_grid.h"

namespace islebook {
namespace {

constexpr double kTaken = 2.6;        // px: a stroke this close to a path is the path's
constexpr double kAhead = 70.0;       // px, times the unit: how far ahead of an end is looked
constexpr double kLeast = 5.0;        // px: a shorter piece may be dust
constexpr double kCone = 0.35;        // rad about the direction of the end
constexpr double kTailReach = 90.0;   // px, times the unit
constexpr double kTailPath = 60.0;    // px, times the unit: shorter paths do not know their way well enough
constexpr double kTailPiece = 80.0;   // px, times the unit: longest path of its own that may be another's last piece
constexpr double kPieceMass = 1.3;    // times: the ink of such a path is well known
constexpr double kTailSteeper = 0.2;  // rad: by how much more a speed line may turn at its end than it did before
constexpr double kTailTurn = 0.7;     // rad from the end to the piece, and again along the piece
constexpr double kTailUneven = 0.22;  // rad: by how much the two turns may differ, more where the line bends ever more
constexpr double kTailHidden = 0.75;  // of the way: under print or on ink
constexpr double kTailMass = 1.5;     // times
constexpr double kAligned = 0.6;      // rad between the end's and the piece's direction

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

double Wrap(double a) { return std::remainder(a, 2 * M_PI); }

// A piece that may carry on a path: a stroke that was left over, or a short path.
struct Piece {
  std::vector<PathPoint> points;
  std::vector<ImagePoint> head, tail;
  double length_px = 0.0, ink_mass = 0.0;
  std::optional<std::size_t> path;
};

Piece AsPiece(const Stroke& stroke) {
  Piece piece{{}, stroke.head, stroke.tail, stroke.length_px, stroke.ink_mass, std::nullopt};
  for (const ImagePoint& p : stroke.points) piece.points.push_back({p, false});
  return piece;
}

// A piece seen as what comes after an end of a path.
struct Tail {
  std::size_t path = 0, piece = 0;
  bool front = false;     // of the path
  bool reversed = false;  // of the piece
  double cost = 0.0;
  std::vector<ImagePoint> way;
};

std::optional<Tail> SeeTail(const PathEnd& end, const Path& path, const Piece& piece, const cv::Mat1b& ink, const cv::Mat1b& cover, double unit) {
  const double ratio = piece.ink_mass / std::max(0.1, path.ink_mass);
  const double most = piece.path ? kPieceMass : kTailMass;
  if (ratio > most || ratio < 1.0 / most) return std::nullopt;
  Tail tail;
  const ImagePoint a = piece.points.front().at, b = piece.points.back().at;
  tail.reversed = std::hypot(b.x - end.at.x, b.y - end.at.y) < std::hypot(a.x - end.at.x, a.y - end.at.y);
  const ImagePoint near = tail.reversed ? b : a, far = tail.reversed ? a : b;
  const double away = std::hypot(near.x - end.at.x, near.y - end.at.y);
  if (away > kTailReach * unit || away < 1.0) return std::nullopt;
  const double chord = std::atan2(near.y - end.at.y, near.x - end.at.x), along = std::atan2(far.y - near.y, far.x - near.x);
  // An even bend turns as much up to the chord as from there on; the piece's own direction is that of its middle.
  const double first = Wrap(chord - end.out), second = Wrap(along - chord) - 0.5 * end.curvature * piece.length_px;
  if (std::abs(first) > kTailTurn || std::abs(second) > kTailTurn + 0.2) return std::nullopt;
  // Toward choke a speed line bends ever more.
  const double more = (first * second > 0 ? 0.5 * std::abs(first) : 0.0) + (end.curvature * second > 0 ? kTailSteeper : 0.0);
  const double off = std::max(0.0, std::abs(second - first) - more) / (kTailUneven + end.sigma_out + 1.0 / std::max(4.0, piece.length_px));
  const double bent = std::abs(first - 0.5 * end.curvature * away) / (kTailUneven + end.sigma_out + 0.5 * end.sigma_curvature * away);
  if (off > 1.0 || bent > 1.6) return std::nullopt;
  PathEnd start;
  start.at = near;
  start.out = along + M_PI;
  tail.way = Bridge(end, start);
  double hidden = 0;
  for (const ImagePoint& p : tail.way) {
    const int x = std::clamp(cvRound(p.x), 0, ink.cols - 1), y = std::clamp(cvRound(p.y), 0, ink.rows - 1);
    hidden += cover(y, x) > 0 || ink(y, x) > 0.5 * path.level;
  }
  if (hidden < kTailHidden * static_cast<double>(tail.way.size())) return std::nullopt;
  tail.cost = off + bent + away / (kTailReach * unit);
  return tail;
}

}  // namespace

void AttachTails(const std::vector<Stroke>& strokes, const cv::Mat1b& ink, const cv::Mat1b& cover, double unit_px, std::vector<Path>& paths) {
  std::vector<Piece> pieces;
  std::vector<std::array<PathEnd, 2>> ends;
  {
    const PathGrid grid(paths);
    for (const Stroke& s : strokes)
      if (!s.closed && !s.is_dash && s.points.size() >= 3 && s.length_px >= kLeast && s.length_px <= kTailPath * unit_px && !IsTaken(s, grid, paths))
        pieces.push_back(AsPiece(s));
  }
  for (std::size_t i = 0; i < paths.size(); ++i) {
    const Path& p = paths[i];
    ends.push_back({EndOfPath(p, true), EndOfPath(p, false)});
    if (!p.closed && !p.Dashed() && p.points.size() >= 3 && p.inked_px <= kTailPiece * unit_px)
      pieces.push_back({p.points, p.head, p.tail, p.inked_px, p.ink_mass, i});
  }
  std::vector<Tail> tails;
  for (std::size_t s = 0; s < pieces.size(); ++s) {
    const Piece& piece = pieces[s];
    for (std::size_t i = 0; i < paths.size(); ++i) {
      if (piece.path == i || paths[i].closed || paths[i].Dashed() || paths[i].inked_px < std::max(kTailPath * unit_px, 2.0 * piece.length_px))
        continue;
      for (const bool front : {true, false}) {
        auto tail = SeeTail(ends[i][front ? 0 : 1], paths[i], piece, ink, cover, unit_px);
        if (!tail) continue;
        tail->path = i;
        tail->piece = s;
        tail->front = front;
        tails.push_back(std::move(*tail));
      }
    }
  }
  std::ranges::sort(tails, [](const Tail& a, const Tail& b) { return std::tie(a.cost, a.path, a.piece) < std::tie(b.cost, b.path, b.piece); });
  std::vector<char> used(pieces.size(), 0), gone(paths.size(), 0);
  std::vector<std::array<char, 2>> grown(paths.size(), {0, 0});
  for (Tail& t : tails) {
    char& here = grown[t.path][t.front ? 0 : 1];
    if (used[t.piece] != 0 || here != 0 || gone[t.path] != 0) continue;
    const Piece& piece = pieces[t.piece];
    if (piece.path && (grown[*piece.path][0] != 0 || grown[*piece.path][1] != 0)) continue;
    used[t.piece] = here = 1;
    if (piece.path) gone[*piece.path] = 1;
    Path& path = paths[t.path];
    std::vector<PathPoint> more;
    for (const ImagePoint& p : t.way) more.push_back({p, true});
    std::vector<PathPoint> points = piece.points;
    std::vector<ImagePoint> last = piece.tail;
    if (t.reversed) {
      std::ranges::reverse(points);
      last = piece.head;
      std::ranges::reverse(last);
    }
    more.insert(more.end(), points.begin(), points.end());
    if (t.front) {
      std::ranges::reverse(more);
      std::ranges::reverse(last);
      path.points.insert(path.points.begin(), more.begin(), more.end());
      path.head = last;
    } else {
      path.points.insert(path.points.end(), more.begin(), more.end());
      path.tail = last;
    }
    path.inked_px += piece.length_px;
  }
  for (std::size_t i = paths.size(); i-- > 0;)
    if (gone[i] != 0) paths.erase(paths.begin() + static_cast<long>(i));
}

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
