#include "digitizer/curves/joining.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <unordered_map>

#include <opencv2/core.hpp>

#include "digitizer/curves/dash_crossings.h"
#include "digitizer/curves/freed_end.h"
#include "digitizer/curves/hooks.h"
#include "digitizer/curves/path_grid.h"
#include "digitizer/curves/untangle.h"
#include "digitizer/ridges/ridges.h"

namespace islebook {
namespace {

constexpr double kAcceptCost = 14.0;  // the dearest join that is made
// What follows was fitted on 4,000 pairs of ends of painted maps, each known to belong to one curve or to two.
constexpr double kSolidBlankPx = 6.0;  // blank gap that a solid line may show, as a standard deviation, on a frame 1,200 px wide
constexpr double kMassSpread = 0.15;   // of the log ink mass along one line
constexpr double kCrumbCost = 9.0;     // a stroke of a few pixels lies in line with many things by chance
constexpr double kRoundCost = 4.0;     // closing a path into one round whose tip is sharp
constexpr double kTipGap = 0.12;       // of its length: the widest tip that is closed so
constexpr double kTipTurn = 0.4;       // rad: bridges that turn more than this look for the ink
constexpr double kLeadCost = 3.0;      // what leaving it out costs
constexpr double kFitsWell = 2.0;      // bend of two ends that only one line can have
constexpr double kPadPx = 36.0;        // bare paper that such a line may cross, where print has worn away but its pad has not, times the unit
constexpr double kPadCost = 8.0;       // what that costs at most
constexpr double kWavy = 0.4;          // px: misfit of an end's parabola that is more than noise
constexpr double kCrumbPx = 25.0;      // from this length on that is no cost
constexpr double kColorSpread = 9.0;   // CIE Lab
constexpr double kSameLinePx = 2.2;    // ink this close to a line's center is that line's
constexpr double kCrossingPx = 10.0;   // for so long two lines that cross at a shallow angle are one
constexpr double kAlongRad = 0.4;      // lines that differ by less run along each other

constexpr double kDashCrossing = 7.0;  // what a bridge across another dashed line of the same make costs
constexpr double kLoneBar = 2.2;       // usual bars: shorter dashed paths are lone bars
constexpr double kDot = 1.3;           // of its width: a shorter bar is a dot

double Wrap(double a) { return std::remainder(a, 2 * M_PI); }

double InkAt(const cv::Mat1b& m, ImagePoint p) { return m(std::clamp(cvRound(p.y), 0, m.rows - 1), std::clamp(cvRound(p.x), 0, m.cols - 1)); }

// Across a tip a line may bulge more than the plain bridge: of several the one with most ink under it.
std::vector<ImagePoint> BridgeOnInk(const PathEnd& a, const PathEnd& b, const cv::Mat1b& ink) {
  std::vector<ImagePoint> best = Bridge(a, b);
  if (std::abs(Wrap(b.out + M_PI - a.out)) < kTipTurn) return best;
  const auto darkness = [&](const std::vector<ImagePoint>& points) {
    double sum = 0;
    for (const ImagePoint& p : points) sum += InkAt(ink, p);
    return points.empty() ? 0.0 : sum / static_cast<double>(points.size());
  };
  double most = darkness(best);
  for (double bulge : {0.75, 1.3, 1.6, 2.0}) {
    std::vector<ImagePoint> other = Bridge(a, b, bulge);
    const double dark = darkness(other);
    if (dark <= most) continue;
    most = dark;
    best = std::move(other);
  }
  return best;
}

struct Evidence {
  double gap = 0, covered = 0, blank = 0, borrowed = 0;  // px
};

// Whether the ink at p belongs to a line beside, drawn nearly along the bridge, and shows nothing of a second line on it.
bool IsAnothersInk(ImagePoint p, double direction, const Path& pa, const Path& pb, const std::vector<Path>& paths, const PathGrid& grid,
                   const cv::Mat1b& ink) {
  const Path* other = nullptr;
  double nearest = kSameLinePx;
  grid.Near(p, kSameLinePx, [&](const PathGrid::Entry& e) {
    const Path& path = paths[static_cast<std::size_t>(e.path)];
    const auto k = static_cast<std::size_t>(e.point);
    if (&path == &pa || &path == &pb || k < 3 || k + 3 >= path.points.size()) return;
    const double d = std::hypot(path.points[k].at.x - p.x, path.points[k].at.y - p.y);
    if (d >= nearest) return;
    const ImagePoint u = path.points[k - 3].at, v = path.points[k + 3].at;
    if (std::abs(std::remainder(std::atan2(v.y - u.y, v.x - u.x) - direction, M_PI)) > kAlongRad) return;
    nearest = d;
    other = &path;
  });
  return other != nullptr && InkMassAcross(ink, p, direction, 8.0) < other->ink_mass + 0.4 * std::min(pa.ink_mass, pb.ink_mass);
}

Evidence LookAlong(const std::vector<ImagePoint>& bridge, const Path& pa, const Path& pb, const std::vector<Path>& paths, const PathGrid& grid,
                   const JoinField& field) {
  Evidence e;
  const double level = std::min(pa.level, pb.level);
  for (std::size_t i = 1; i < bridge.size(); ++i) {
    const double dx = bridge[i].x - bridge[i - 1].x, dy = bridge[i].y - bridge[i - 1].y;
    const double step = std::hypot(dx, dy);
    e.gap += step;
    const ImagePoint mid{(bridge[i].x + bridge[i - 1].x) / 2, (bridge[i].y + bridge[i - 1].y) / 2};
    if (InkAt(field.cover, mid) > 0) {
      e.covered += step;
    } else if (InkAt(field.page->ink, mid) < 0.42 * level) {
      e.blank += step;
    } else if (IsAnothersInk(mid, std::atan2(dy, dx), pa, pb, paths, grid, field.page->ink)) {
      e.borrowed += step;
    }
  }
  return e;
}

// The whole turn of a path, walked from its front to its back, rad.
double TotalTurn(const Path& path) {
  constexpr std::size_t kStep = 6;  // points: long against the noise of a center line
  double total = 0, before = 0;
  for (std::size_t i = kStep, n = 0; i < path.points.size(); i += kStep, ++n) {
    const ImagePoint p = path.points[i - kStep].at, q = path.points[i].at;
    const double direction = std::atan2(q.y - p.y, q.x - p.x);
    if (n > 0) total += Wrap(direction - before);
    before = direction;
  }
  return total;
}

// Whether a path's own ends face each other so that joining them makes one round: where a tip is sharp the bend alone does not tell.
bool MakesARound(const Path& path, const PathEnd& front, const PathEnd& back) {
  const double dx = front.at.x - back.at.x, dy = front.at.y - back.at.y;
  const double gap = std::hypot(dx, dy), chord = std::atan2(dy, dx);
  if (gap > kTipGap * path.inked_px) return false;
  const double leave = Wrap(chord - back.out), arrive = Wrap(front.out + M_PI - chord);
  const double total = TotalTurn(path), closing = leave + arrive;
  return leave * arrive > -0.01 && total * closing > 0 && std::abs(closing) < 2.6 && std::abs(std::abs(total + closing) - 2 * M_PI) < 0.35;
}

double JoinCost(const Path& pa, const PathEnd& a, const Path& pb, const PathEnd& b, const std::vector<Path>& paths, const PathGrid& grid,
                const JoinField& field, double reach) {
  if (std::hypot(b.at.x - a.at.x, b.at.y - a.at.y) > reach) return kNoJoin;
  double cost = &pa == &pb && MakesARound(pa, a, b) ? kRoundCost : BendCost(a, b);
  if (cost > 3 * kAcceptCost) return kNoJoin;
  const double bend = cost;

  const double mass = std::log((pa.ink_mass + 0.1) / (pb.ink_mass + 0.1)) / kMassSpread;
  const double weight = std::min(1.0, std::min(pa.inked_px, pb.inked_px) / 20.0);  // short strokes say little about their mass
  cost += weight * std::min(9.0, mass * mass);
  // Lightness says less than hue: a thin line mixes with the paper.
  const double color =
      std::hypot(0.4 * (pa.lab[0] - pb.lab[0]), static_cast<double>(pa.lab[1] - pb.lab[1]), static_cast<double>(pa.lab[2] - pb.lab[2])) /
      kColorSpread;
  cost += weight * std::min(9.0, color * color);

  if (cost > kAcceptCost) return cost;
  const std::vector<ImagePoint> bridge = BridgeOnInk(a, b, field.page->ink);
  const Evidence seen = LookAlong(bridge, pa, pb, paths, grid, field);
  const bool dashed_a = pa.Dashed() || pa.inked_px < 14, dashed_b = pb.Dashed() || pb.inked_px < 14;
  if (dashed_a && dashed_b && (pa.Dashed() || pb.Dashed())) {
    const double usual = 0.9 * std::max(pa.longest_dash, pb.longest_dash) + 3;
    const double over = std::max(0.0, seen.blank - usual) / std::max(3.0, 0.4 * usual);
    cost += over * over + 0.3 * seen.blank / usual;
  } else {
    const double unit = std::max(1.0, field.frame_width_px / 1200.0);
    const double over = (seen.blank + std::max(0.0, seen.borrowed - kCrossingPx * unit)) / (kSolidBlankPx * unit);
    const bool plain = bend < kFitsWell && std::min(pa.inked_px, pb.inked_px) > kKnowsPx * unit && seen.borrowed <= 0.0 && seen.blank < kPadPx * unit;
    cost += (plain ? std::min(over * over, kPadCost) : over * over) + kCrumbCost * std::max(0.0, 1.0 - std::min(pa.inked_px, pb.inked_px) / kCrumbPx);
    // A dashed line does not turn into a solid one; a short solid piece may be two dashes that merged.
    if (pa.Dashed() != pb.Dashed()) {
      const Path& solid = pa.Dashed() ? pb : pa;
      const Path& dashed = pa.Dashed() ? pa : pb;
      cost += std::min(kAcceptCost, 5.0 * std::max(0.0, solid.inked_px / std::max(8.0, dashed.longest_dash) - 1.5));
    }
  }
  cost += 2.0 * seen.covered / std::max(20.0, 0.05 * field.frame_width_px);
  return cost;
}

struct Candidate {
  int a, b;  // end numbers: 2 * path + (0 front, 1 back)
  double cost;
  int freed = 0;  // ends that are joined without their last px: 1 a, 2 b
};

class Pass {
 public:
  // `free_ends`: ends may be joined without what print has led astray.
  Pass(std::vector<Path> paths, const JoinField& field, double reach, bool free_ends = false)
      : paths_(std::move(paths)), field_(field), reach_(reach), free_ends_(free_ends) {}

  std::vector<Path> Run() {
    ends_.resize(paths_.size() * 2);
    for (std::size_t i = 0; i < paths_.size(); ++i)
      for (int side : {0, 1}) ends_[2 * i + static_cast<std::size_t>(side)] = EndOfPath(paths_[i], side == 0);
    freed_.resize(ends_.size());
    if (free_ends_)
      for (std::size_t e = 0; e < ends_.size(); ++e)
        freed_[e] = FreeEnd(paths_[e / 2], e % 2 == 0, field_.cover, std::max(1.0, field_.frame_width_px / 1200.0));
    Gather();
    Match();
    LeaveOut();
    return Merge();
  }

 private:
  void Gather() {
    const PathGrid lines(paths_);
    const double cell = std::max(8.0, reach_);
    const DashCrossings crossings(paths_);
    std::unordered_map<std::int64_t, std::vector<int>> grid;
    const auto key = [](std::int64_t x, std::int64_t y) { return (x << 32) ^ (y & 0xffffffff); };
    const auto place = [&](ImagePoint p) {
      return std::pair{static_cast<std::int64_t>(std::floor(p.x / cell)), static_cast<std::int64_t>(std::floor(p.y / cell))};
    };
    for (int e = 0; e < static_cast<int>(ends_.size()); ++e) {
      if (paths_[static_cast<std::size_t>(e / 2)].closed) continue;
      const auto [x, y] = place(ends_[static_cast<std::size_t>(e)].at);
      grid[key(x, y)].push_back(e);
    }
    for (int e = 0; e < static_cast<int>(ends_.size()); ++e) {
      const Path& pa = paths_[static_cast<std::size_t>(e / 2)];
      if (pa.closed) continue;
      const auto [x, y] = place(ends_[static_cast<std::size_t>(e)].at);
      for (std::int64_t gy = y - 1; gy <= y + 1; ++gy)
        for (std::int64_t gx = x - 1; gx <= x + 1; ++gx) {
          const auto found = grid.find(key(gx, gy));
          if (found == grid.end()) continue;
          for (int f : found->second) {
            if (f <= e) continue;
            const Path& pb = paths_[static_cast<std::size_t>(f / 2)];
            if (e / 2 == f / 2) {  // a path that closes on itself
              const double gap = std::hypot(ends_[static_cast<std::size_t>(e)].at.x - ends_[static_cast<std::size_t>(f)].at.x,
                                            ends_[static_cast<std::size_t>(e)].at.y - ends_[static_cast<std::size_t>(f)].at.y);
              if (pa.inked_px < 40 || pa.inked_px < 3 * gap) continue;
            }
            double cost = JoinCost(pa, ends_[static_cast<std::size_t>(e)], pb, ends_[static_cast<std::size_t>(f)], paths_, lines, field_, reach_);
            if (cost < kAcceptCost && pa.Dashed() && pb.Dashed() &&
                crossings.Crosses(Bridge(ends_[static_cast<std::size_t>(e)], ends_[static_cast<std::size_t>(f)]), static_cast<std::size_t>(e / 2),
                                  static_cast<std::size_t>(f / 2), pa.ink_mass))
              cost += kDashCrossing;
            int freed = 0;
            for (int which = 1; which <= 3 && cost >= kAcceptCost; ++which) {
              const auto &free_e = freed_[static_cast<std::size_t>(e)], &free_f = freed_[static_cast<std::size_t>(f)];
              if (((which & 1) != 0 && !free_e) || ((which & 2) != 0 && !free_f)) continue;
              const double other = (which == 3 ? 2 : 1) * kLeadCost +
                                   JoinCost(pa, (which & 1) != 0 ? free_e->end : ends_[static_cast<std::size_t>(e)], pb,
                                            (which & 2) != 0 ? free_f->end : ends_[static_cast<std::size_t>(f)], paths_, lines, field_, reach_);
              if (other >= kAcceptCost) continue;
              cost = other;
              freed = which;
            }
            if (cost < kAcceptCost) candidates_.push_back({e, f, cost, freed});
          }
        }
    }
    std::sort(candidates_.begin(), candidates_.end(),
              [](const Candidate& l, const Candidate& r) { return std::tie(l.cost, l.a, l.b) < std::tie(r.cost, r.a, r.b); });
  }

  double CostOf(int a, int b) const {
    const auto found = lookup_.find((static_cast<std::int64_t>(std::min(a, b)) << 32) | std::max(a, b));
    return found == lookup_.end() ? kNoJoin : found->second;
  }

  // Cheapest first, then exchanged while that lowers the sum; a free end costs kAcceptCost / 2.
  void Match() {
    for (const Candidate& c : candidates_) lookup_[(static_cast<std::int64_t>(c.a) << 32) | c.b] = c.cost;
    mate_.assign(ends_.size(), -1);
    for (const Candidate& c : candidates_)
      if (Mate(c.a) < 0 && Mate(c.b) < 0) Pair(c.a, c.b);
    constexpr double kFree = 0.5 * kAcceptCost;
    for (int round = 0; round < 20; ++round) {
      bool changed = false;
      for (const Candidate& c : candidates_) {
        const int x = Mate(c.a), y = Mate(c.b);
        if (x == c.b) continue;
        const double before = (x >= 0 ? CostOf(c.a, x) : kFree) + (y >= 0 ? CostOf(c.b, y) : kFree);
        double after = c.cost;
        int rest_a = -1, rest_b = -1;
        if (x >= 0 && y >= 0) {
          const double other = CostOf(x, y);
          if (other < 2 * kFree) {
            after += other;
            rest_a = x;
            rest_b = y;
          } else {
            after += 2 * kFree;
          }
        } else {
          after += (x >= 0 ? kFree : 0) + (y >= 0 ? kFree : 0);
        }
        if (after + 1e-9 >= before) continue;
        if (x >= 0) mate_[static_cast<std::size_t>(x)] = -1;
        if (y >= 0) mate_[static_cast<std::size_t>(y)] = -1;
        Pair(c.a, c.b);
        if (rest_a >= 0) Pair(rest_a, rest_b);
        changed = true;
      }
      if (!changed) break;
    }
  }

  // Takes off what the joins that were made leave out.
  void LeaveOut() {
    if (!free_ends_) return;
    std::vector<std::size_t> cut(ends_.size(), 0);
    for (const Candidate& c : candidates_) {
      if (c.freed == 0 || Mate(c.a) != c.b) continue;
      for (const int which : {1, 2}) {
        if ((c.freed & which) == 0) continue;
        const auto e = static_cast<std::size_t>(which == 1 ? c.a : c.b);
        cut[e] = freed_[e]->points;
        ends_[e] = freed_[e]->end;
      }
    }
    for (std::size_t i = 0; i < paths_.size(); ++i)
      if (cut[2 * i] + cut[2 * i + 1] > 0 && cut[2 * i] + cut[2 * i + 1] + 8 < paths_[i].points.size())
        paths_[i] = Shortened(paths_[i], cut[2 * i], cut[2 * i + 1]);
  }

  int Mate(int e) const { return mate_[static_cast<std::size_t>(e)]; }
  void Pair(int a, int b) {
    mate_[static_cast<std::size_t>(a)] = b;
    mate_[static_cast<std::size_t>(b)] = a;
  }

  std::vector<Path> Merge() {
    std::vector<Path> out;
    std::vector<char> done(paths_.size(), 0);
    const auto start_at = [&](int first_end, bool ring) {
      // Walk from the path that holds first_end as its free (or seam) end.
      Path path;
      int end = first_end;
      while (true) {
        const auto i = static_cast<std::size_t>(end / 2);
        done[i] = 1;
        Append(path, paths_[i], end % 2 == 1);
        const int leave = end ^ 1;
        const int next = Mate(leave);
        if (next < 0) break;
        const double cost = CostOf(leave, next);
        path.worst_join = std::max(path.worst_join, cost);
        if (ring && next == first_end) {
          for (const ImagePoint& p : BridgeOnInk(ends_[static_cast<std::size_t>(leave)], ends_[static_cast<std::size_t>(next)], field_.page->ink))
            path.points.push_back({p, true});
          path.closed = true;
          path.head.clear();
          path.tail.clear();
          break;
        }
        for (const ImagePoint& p : BridgeOnInk(ends_[static_cast<std::size_t>(leave)], ends_[static_cast<std::size_t>(next)], field_.page->ink))
          path.points.push_back({p, true});
        end = next;
      }
      out.push_back(std::move(path));
    };
    for (std::size_t i = 0; i < paths_.size(); ++i) {
      if (done[i]) continue;
      if (paths_[i].closed) {
        done[i] = 1;
        out.push_back(paths_[i]);
      } else if (Mate(static_cast<int>(2 * i)) < 0) {
        start_at(static_cast<int>(2 * i), false);
      } else if (Mate(static_cast<int>(2 * i + 1)) < 0) {
        start_at(static_cast<int>(2 * i + 1), false);
      }
    }
    for (std::size_t i = 0; i < paths_.size(); ++i)
      if (!done[i]) start_at(static_cast<int>(2 * i), true);
    return out;
  }

  // Adds `piece` at the end of `path`, turned around when it is entered by its back.
  static void Append(Path& path, const Path& piece, bool reversed) {
    const double before = path.inked_px, total = before + piece.inked_px;
    const double k = total > 0 ? piece.inked_px / total : 1.0;
    path.ink_mass += k * (piece.ink_mass - path.ink_mass);
    path.level += k * (piece.level - path.level);
    path.lab += static_cast<float>(k) * (piece.lab - path.lab);
    path.inked_px = total;
    path.dash_px += piece.dash_px;
    path.longest_dash = std::max(path.longest_dash, piece.longest_dash);
    path.worst_join = std::max(path.worst_join, piece.worst_join);
    if (path.points.empty()) path.head = reversed ? Reversed(piece.tail) : piece.head;
    path.tail = reversed ? Reversed(piece.head) : piece.tail;
    if (reversed)
      path.points.insert(path.points.end(), piece.points.rbegin(), piece.points.rend());
    else
      path.points.insert(path.points.end(), piece.points.begin(), piece.points.end());
  }

  static std::vector<ImagePoint> Reversed(std::vector<ImagePoint> v) {
    std::reverse(v.begin(), v.end());
    return v;
  }

  std::vector<Path> paths_;
  const JoinField& field_;
  double reach_;
  bool free_ends_;
  std::vector<PathEnd> ends_;
  std::vector<std::optional<FreedEnd>> freed_;  // runs along them
  std::vector<Candidate> candidates_;
  std::unordered_map<std::int64_t, double> lookup_;
  std::vector<int> mate_;
};

Path AsPath(const Stroke& s) {
  Path p;
  for (const ImagePoint& q : s.points) p.points.push_back({q, false});
  p.head = s.head;
  p.tail = s.tail;
  p.closed = s.closed;
  p.inked_px = s.length_px;
  p.dash_px = s.is_dash ? s.length_px : 0;
  p.longest_dash = s.is_dash ? s.length_px : 0;
  p.ink_mass = s.ink_mass;
  p.level = s.level;
  p.lab = s.lab;
  return p;
}

}  // namespace

double BendCost(const PathEnd& a, const PathEnd& b) {
  const double dx = b.at.x - a.at.x, dy = b.at.y - a.at.y;
  const double gap = std::hypot(dx, dy);
  const double chord = gap > 0.7 ? std::atan2(dy, dx) : a.out;
  const double alpha = Wrap(chord - a.out);
  const double beta = Wrap(b.out + M_PI - chord);
  if (std::abs(alpha) > 1.2 || std::abs(beta) > 1.2) return kNoJoin;
  // Walking on from A the line turns by alpha and then by beta; b.curvature is counted walking out of B, so it changes sign here.
  const double bend = 0.5 * (a.curvature - b.curvature);
  const double sharp = 0.5 * (std::abs(a.curvature) + std::abs(b.curvature));
  const double lag = a.lag + b.lag;
  const double sigma_asymmetry = std::hypot(a.sigma_out, b.sigma_out, 0.01 + 0.8 / std::max(gap, 2.0) + 0.06 * sharp * gap);
  const double sigma_turn = std::hypot(std::hypot(a.sigma_out, b.sigma_out, 0.02 + 0.35 / std::max(gap, 2.0) + 0.75 * sharp * gap),
                                       (gap + lag) * 0.5 * std::hypot(a.sigma_curvature, b.sigma_curvature));
  // Real curves stray from an arc now and then: large misfits count less than their square.
  const auto misfit = [](double x) { return 9.0 * std::log1p(x * x / 9.0); };
  return misfit((alpha - beta) / sigma_asymmetry) + misfit((alpha + beta - bend * gap) / sigma_turn);
}

namespace {

// Quadratic x(t), y(t) over the last `stretch` px, t = arc length backward from the end; bridged points count little.
PathEnd FitEnd(const Path& path, bool front, double stretch) {
  const auto n = static_cast<int>(path.points.size());
  const auto at = [&](int k) -> const PathPoint& { return path.points[static_cast<std::size_t>(front ? k : n - 1 - k)]; };
  const ImagePoint tip = at(0).at;
  PathEnd end;
  end.at = tip;
  cv::Matx33d A = cv::Matx33d::zeros();
  cv::Vec3d bx(0, 0, 0), by(0, 0, 0);
  double t = 0, used = 0;
  int last = 0;
  std::vector<double> along(1, 0.0);
  for (int k = 0; k < n; ++k) {
    if (k > 0) t += std::hypot(at(k).at.x - at(k - 1).at.x, at(k).at.y - at(k - 1).at.y);
    if (t > stretch) break;
    const double w = at(k).bridged ? 0.02 : 1.0;
    const cv::Vec3d row(1, t, t * t);
    A += w * (row * row.t());
    bx += w * (at(k).at.x - tip.x) * row;
    by += w * (at(k).at.y - tip.y) * row;
    if (k > 0) along.push_back(t);
    used = t;
    last = k;
  }
  const double length = std::max(used, 1.0);
  if (used < 9 || last < 5) {
    const ImagePoint far = at(last).at;
    end.out = std::atan2(tip.y - far.y, tip.x - far.x);
    end.sigma_out = 0.8 / length + 0.02;
    end.sigma_curvature = 0.03;
    end.lag = 0.5 * length;
    return end;
  }
  const cv::Vec3d cx = A.solve(bx, cv::DECOMP_CHOLESKY), cy = A.solve(by, cv::DECOMP_CHOLESKY);
  double misfit = 0, weight = 0;
  for (int k = 0; k <= last; ++k) {
    if (at(k).bridged) continue;
    const double s = along[static_cast<std::size_t>(k)];
    misfit += std::pow(tip.x + cx[0] + s * (cx[1] + s * cx[2]) - at(k).at.x, 2) + std::pow(tip.y + cy[0] + s * (cy[1] + s * cy[2]) - at(k).at.y, 2);
    weight += 1;
  }
  const double rms = weight > 0 ? std::sqrt(misfit / weight) : 1.0;
  const double vx = -cx[1], vy = -cy[1];  // outward
  const double speed = std::max(1e-6, std::hypot(vx, vy));
  end.out = std::atan2(vy, vx);
  end.curvature = (vx * 2 * cy[2] - vy * 2 * cx[2]) / (speed * speed * speed);
  end.at.x += cx[0];
  end.at.y += cy[0];
  // A short stroke's own fit flatters it, and a parabola that misses by much misses most at its end.
  const double noise = std::max(used < 30 ? 0.3 : 0.12, rms > kWavy ? 1.5 * rms : rms);
  end.sigma_out = 3.2 * noise / length + 0.008;
  end.sigma_curvature = 16.0 * noise / (length * length) + 0.0008;
  return end;
}

}  // namespace

PathEnd EndOfPath(const Path& path, bool front, double longest_px) {
  // A long stretch tells the direction best, unless the line bends as no parabola does.
  PathEnd best;
  best.sigma_out = 1e9;
  for (double stretch : {longest_px, 0.56 * longest_px, 20.0, 12.0}) {
    const PathEnd end = FitEnd(path, front, stretch);
    if (end.sigma_out < best.sigma_out) best = end;
  }
  return best;
}

std::vector<ImagePoint> Bridge(const PathEnd& a, const PathEnd& b, double bulge) {
  const double gap = std::hypot(b.at.x - a.at.x, b.at.y - a.at.y);
  const int n = std::max(1, static_cast<int>(gap));
  std::vector<ImagePoint> points;
  const double pull = bulge * gap;
  const double ax = pull * std::cos(a.out), ay = pull * std::sin(a.out), bx = -pull * std::cos(b.out), by = -pull * std::sin(b.out);
  for (int i = 1; i < n; ++i) {
    const double s = static_cast<double>(i) / n, s2 = s * s, s3 = s2 * s;
    const double h00 = 2 * s3 - 3 * s2 + 1, h10 = s3 - 2 * s2 + s, h01 = -2 * s3 + 3 * s2, h11 = s3 - s2;
    points.push_back({h00 * a.at.x + h10 * ax + h01 * b.at.x + h11 * bx, h00 * a.at.y + h10 * ay + h01 * b.at.y + h11 * by});
  }
  return points;
}

namespace {

// Crumbs that lie along a path, bridges included, add nothing to it.
void DropCovered(const std::vector<Path>& paths, std::vector<Path>& crumbs) {
  constexpr double kWithin = 2.6;
  std::unordered_map<std::int64_t, std::vector<ImagePoint>> grid;
  const auto key = [](double x, double y) {
    return (static_cast<std::int64_t>(std::floor(x / 4)) << 32) ^ (static_cast<std::int64_t>(std::floor(y / 4)) & 0xffffffff);
  };
  for (const Path& p : paths)
    for (const PathPoint& q : p.points) grid[key(q.at.x, q.at.y)].push_back(q.at);
  std::erase_if(crumbs, [&](const Path& crumb) {
    std::size_t covered = 0;
    for (const PathPoint& q : crumb.points) {
      bool near = false;
      for (int dy = -1; dy <= 1 && !near; ++dy)
        for (int dx = -1; dx <= 1 && !near; ++dx) {
          const auto cell = grid.find(key(q.at.x + 4 * dx, q.at.y + 4 * dy));
          if (cell == grid.end()) continue;
          for (const ImagePoint& r : cell->second) near |= std::hypot(r.x - q.at.x, r.y - q.at.y) < kWithin;
        }
      covered += near;
    }
    return 10 * covered >= 7 * crumb.points.size();
  });
}

// A dot of a dash-dotted line is as wide as it is long: its direction says nothing.
bool IsDot(const Stroke& s) { return s.length_px < kDot * s.ink_mass * 255.0 / std::max(40.0, s.level); }

// Dashed lines of several bars are joined first, over the lone bars between two labels: one bar, cut by a pad, knows little of its direction.
void JoinOverLoneBars(std::vector<Path>& paths, const JoinField& field, double unit) {
  std::vector<double> bars;
  for (const Path& p : paths)
    if (p.Dashed()) bars.push_back(p.longest_dash);
  if (bars.size() < 2) return;
  std::nth_element(bars.begin(), bars.begin() + static_cast<long>(bars.size() / 2), bars.end());
  const double usual = bars[bars.size() / 2];
  std::vector<Path> dashed, lone, rest;
  for (Path& p : paths) (!p.Dashed() ? rest : p.closed || p.inked_px > kLoneBar * usual ? dashed : lone).push_back(std::move(p));
  for (double reach : {55.0 * unit, 110.0 * unit}) dashed = Pass(std::move(dashed), field, reach).Run();
  AbsorbLoneBars(dashed, lone);
  paths = std::move(rest);
  for (std::vector<Path>* group : {&dashed, &lone})
    paths.insert(paths.end(), std::make_move_iterator(group->begin()), std::make_move_iterator(group->end()));
}

}  // namespace

std::vector<Path> JoinStrokes(const std::vector<Stroke>& strokes, const JoinField& field) {
  // Strokes long enough to know their own direction are joined first, over the crumbs that crossings leave between them.
  const double unit = std::max(1.0, field.frame_width_px / 1200.0);
  std::vector<Path> paths, crumbs;
  for (const Stroke& s : strokes) (s.closed || (s.is_dash && !IsDot(s)) || s.length_px > 16 * unit ? paths : crumbs).push_back(AsPath(s));
  for (double reach : {13.0 * unit, 26.0 * unit}) paths = Pass(std::move(paths), field, reach).Run();
  DropCovered(paths, crumbs);
  JoinOverLoneBars(paths, field, unit);
  paths.insert(paths.end(), crumbs.begin(), crumbs.end());
  for (double reach : {13.0 * unit, 28.0 * unit}) paths = Pass(std::move(paths), field, reach).Run();
  TrimHooks(paths, unit);
  for (double reach : {55.0 * unit, 110.0 * unit, 110.0 * unit}) paths = Pass(std::move(paths), field, reach, true).Run();
  TrimHooks(paths, unit);
  Untangle(paths);
  if (SetWrongTurnsRight(paths, field)) paths = Pass(std::move(paths), field, 110.0 * unit, true).Run();
  return paths;
}

}  // namespace islebook
