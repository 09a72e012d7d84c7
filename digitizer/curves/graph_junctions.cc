#include "digitizer/curves/graph_junctions.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <unordered_map>

#include "digitizer/curves/line_follower.h"

namespace islebook {
namespace {

constexpr double kKink = 25.0;      // squared standard deviations
constexpr double kOpenKink = 40.0;  // the same away from other lines
constexpr double kNearPx = 6.0;     // of another line
constexpr int kClear = 8;           // nodes left out on both sides of a junction: lines pull at each other there
constexpr int kLeast = 40;          // nodes that a piece needs to be cut off
constexpr double kDearest = 30.0;   // misfit of a join
constexpr double kReach = 140.0;    // px
constexpr double kOldJoin = 45.0;   // a place that was not cut by a better choice is left as it was
constexpr double kCell = 8.0;

std::int64_t Key(double x, double y) {
  return (static_cast<std::int64_t>(std::floor(x / kCell)) << 32) ^ (static_cast<std::int64_t>(std::floor(y / kCell)) & 0xffffffff);
}

// Whether two lines are drawn alike.
bool Alike(const Path& a, const Path& b) {
  const double mass = std::abs(std::log((a.ink_mass + 0.1) / (b.ink_mass + 0.1)));
  const double hue = std::hypot(static_cast<double>(a.lab[1] - b.lab[1]), static_cast<double>(a.lab[2] - b.lab[2]));
  return a.Dashed() == b.Dashed() && mass < 0.35 && hue < 20;
}

Path Part(const Path& path, int from, int to) {
  Path part = path;
  part.points.assign(path.points.begin() + from, path.points.begin() + to);
  double inked = 0;
  for (const PathPoint& p : part.points) inked += !p.bridged;
  part.inked_px = inked;
  part.dash_px = path.Dashed() ? inked : 0;
  return part;
}

struct Piece {
  Path path;
  int before = -1, after = -1;  // the pieces that it was cut from
};

// An end, looked at from several places behind it: its last stretch may have been drawn aside.
constexpr std::array<int, 3> kClearances = {kClear, 3 * kClear, 6 * kClear};
constexpr double kPerClearance = 1.5;  // what looking from farther behind costs

struct View {
  int cut = 0;  // nodes left out
  FollowState state;
};

struct End {
  int piece;
  bool front;
  std::vector<View> views;
};

// Kinks; next to other lines of the same make smaller ones count.
std::vector<int> FindKinks(const Path& path, std::size_t self, const std::vector<Path>& paths,
                           const std::unordered_map<std::int64_t, std::vector<std::pair<int, ImagePoint>>>& grid, double unit) {
  std::vector<int> kinks;
  const auto n = static_cast<int>(path.points.size());
  double best = 0;
  int best_at = -1;
  for (int i = kLeast; i + kLeast < n; i += 2) {
    const ImagePoint p = path.points[static_cast<std::size_t>(i)].at;
    bool near = false;
    for (int dy = -1; dy <= 1 && !near; ++dy)
      for (int dx = -1; dx <= 1 && !near; ++dx) {
        const auto cell = grid.find(Key(p.x + dx * kCell, p.y + dy * kCell));
        if (cell == grid.end()) continue;
        for (const auto& [j, q] : cell->second)
          near |= static_cast<std::size_t>(j) != self && std::hypot(q.x - p.x, q.y - p.y) < kNearPx * unit &&
                  Alike(path, paths[static_cast<std::size_t>(j)]);
      }
    double misfit = 0;
    // Where little was seen a kink is no evidence.
    const auto seen = [&](int from, int to) {
      int count = 0;
      for (int k = from; k < to; ++k) count += !path.points[static_cast<std::size_t>(k)].bridged;
      return 2 * count > to - from;
    };
    if (seen(i - kLeast, i) && seen(i, i + kLeast)) {
      const Path left = Part(path, std::max(0, i - kClear - 200), i - kClear), right = Part(path, i + kClear, std::min(n, i + kClear + 200));
      if (left.points.size() > 25 && right.points.size() > 25) misfit = Misfit(FollowAlong(left, false), FollowAlong(right, true));
    }
    if (misfit > std::max(near ? kKink : kOpenKink, best)) {
      best = misfit;
      best_at = i;
    } else if (best_at >= 0 && i - best_at > 3 * kClear) {
      kinks.push_back(best_at);
      best = 0;
      best_at = -1;
    }
  }
  if (best_at >= 0) kinks.push_back(best_at);
  return kinks;
}

double BlankCost(const FollowState& a, const FollowState& b, const Path& pa, const JoinField& field) {
  PathEnd ea, eb;
  ea.at = a.at;
  ea.out = a.heading;
  eb.at = b.at;
  eb.out = b.heading;
  double blank = 0;
  for (const ImagePoint& p : Bridge(ea, eb)) {
    const int x = std::clamp(cvRound(p.x), 1, field.page->ink.cols - 2), y = std::clamp(cvRound(p.y), 1, field.page->ink.rows - 2);
    int ink = 0;
    for (int dy = -1; dy <= 1; ++dy)
      for (int dx = -1; dx <= 1; ++dx) ink = std::max<int>(ink, field.page->ink(y + dy, x + dx));
    blank += ink < 0.42 * pa.level && field.cover(y, x) == 0;
  }
  const double usual = pa.Dashed() ? 0.5 * std::hypot(a.at.x - b.at.x, a.at.y - b.at.y) + 6 : 4;
  return std::pow(std::max(0.0, blank - usual) / 3.0, 2);
}

}  // namespace

void ResolveJunctions(std::vector<Path>& paths, const JoinField& field) {
  const double unit = std::clamp(field.frame_width_px / 1200.0, 0.6, 2.5);
  std::unordered_map<std::int64_t, std::vector<std::pair<int, ImagePoint>>> grid;
  for (int j = 0; j < static_cast<int>(paths.size()); ++j)
    for (const PathPoint& p : paths[static_cast<std::size_t>(j)].points) grid[Key(p.at.x, p.at.y)].emplace_back(j, p.at);
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < paths.size(); ++i) {
    int from = 0;
    bool first = true;
    for (const int kink : FindKinks(paths[i], i, paths, grid, unit)) {
      Piece piece{Part(paths[i], from, kink)};
      if (!first) {
        piece.before = static_cast<int>(pieces.size()) - 1;
        pieces.back().after = static_cast<int>(pieces.size());
      }
      pieces.push_back(std::move(piece));
      from = kink;
      first = false;
    }
    Piece last{Part(paths[i], from, static_cast<int>(paths[i].points.size()))};
    if (!first) {
      last.before = static_cast<int>(pieces.size()) - 1;
      pieces.back().after = static_cast<int>(pieces.size());
    }
    pieces.push_back(std::move(last));
  }
  // Ends, looked at from clear of the junction.
  std::vector<End> ends;
  for (int k = 0; k < static_cast<int>(pieces.size()); ++k)
    for (bool front : {true, false}) {
      const Path& p = pieces[static_cast<std::size_t>(k)].path;
      const auto n = static_cast<int>(p.points.size());
      End end{k, front, {}};
      for (const int clear : kClearances) {
        const int cut = std::min(clear, n / 5);
        if (!end.views.empty() && end.views.back().cut == cut) break;
        end.views.push_back({cut, FollowAlong(front ? Part(p, cut, n) : Part(p, 0, n - cut), front)});
      }
      ends.push_back(std::move(end));
    }
  struct Choice {
    int a, b;
    double cost;
    std::size_t view_a, view_b;
  };
  std::vector<Choice> choices;
  for (int a = 0; a < static_cast<int>(ends.size()); ++a)
    for (int b = a + 1; b < static_cast<int>(ends.size()); ++b) {
      if (ends[static_cast<std::size_t>(a)].piece == ends[static_cast<std::size_t>(b)].piece) continue;
      const End &ea = ends[static_cast<std::size_t>(a)], &eb = ends[static_cast<std::size_t>(b)];
      const Piece &pa = pieces[static_cast<std::size_t>(ea.piece)], &pb = pieces[static_cast<std::size_t>(eb.piece)];
      const bool old = !ea.front && eb.front && pa.after == eb.piece;
      const ImagePoint qa = ea.views.front().state.at, qb = eb.views.front().state.at;
      if (!old && (std::hypot(qa.x - qb.x, qa.y - qb.y) > kReach * unit || !Alike(pa.path, pb.path))) continue;
      Choice best{a, b, old ? kOldJoin : kDearest, 0, 0};
      bool any = old;
      for (std::size_t i = 0; i < ea.views.size(); ++i)
        for (std::size_t j = 0; j < eb.views.size(); ++j) {
          const FollowState &sa = ea.views[i].state, &sb = eb.views[j].state;
          double cost = std::max(Misfit(sa, sb), Misfit(sb, sa)) + kPerClearance * static_cast<double>(i + j);
          if (cost >= best.cost) continue;
          if (!old) cost += BlankCost(sa, sb, pa.path, field);
          if (cost >= best.cost) continue;
          best = {a, b, cost, i, j};
          any = true;
        }
      if (any) choices.push_back(best);
    }
  std::sort(choices.begin(), choices.end(), [](const Choice& l, const Choice& r) { return std::tie(l.cost, l.a, l.b) < std::tie(r.cost, r.a, r.b); });
  std::vector<int> mate(ends.size(), -1);
  std::vector<std::size_t> view(ends.size(), 0);
  for (const Choice& c : choices)
    if (mate[static_cast<std::size_t>(c.a)] < 0 && mate[static_cast<std::size_t>(c.b)] < 0) {
      mate[static_cast<std::size_t>(c.a)] = c.b;
      mate[static_cast<std::size_t>(c.b)] = c.a;
      view[static_cast<std::size_t>(c.a)] = c.view_a;
      view[static_cast<std::size_t>(c.b)] = c.view_b;
    }
  // Walk the chains of pieces.
  std::vector<char> done(pieces.size(), 0);
  std::vector<Path> out;
  const auto walk = [&](int start_end) {
    Path line;
    int end = start_end;
    while (true) {
      const auto k = static_cast<std::size_t>(end / 2);
      if (done[k]) break;
      done[k] = 1;
      Path piece = pieces[k].path;
      if (end % 2 == 1) std::reverse(piece.points.begin(), piece.points.end());
      const int leave = end ^ 1;
      const int next = mate[static_cast<std::size_t>(leave)];
      if (line.points.empty()) {
        line = piece;
      } else {
        line.points.insert(line.points.end(), piece.points.begin(), piece.points.end());
        const double total = line.inked_px + piece.inked_px, part = total > 0 ? piece.inked_px / total : 0;
        line.ink_mass += part * (piece.ink_mass - line.ink_mass);
        line.level += part * (piece.level - line.level);
        line.inked_px = total;
        line.dash_px += piece.dash_px;
        line.longest_dash = std::max(line.longest_dash, piece.longest_dash);
        line.worst_join = std::max(line.worst_join, piece.worst_join);
      }
      if (next < 0 || done[static_cast<std::size_t>(next / 2)]) break;
      const bool old = pieces[k].after == next / 2 || pieces[k].before == next / 2;
      if (!old) {
        // The stretch next to the junction is laid anew.
        const View &here = ends[static_cast<std::size_t>(leave)].views[view[static_cast<std::size_t>(leave)]],
                   &there = ends[static_cast<std::size_t>(next)].views[view[static_cast<std::size_t>(next)]];
        line.points.resize(line.points.size() - std::min(static_cast<std::size_t>(here.cut), line.points.size() - 1));
        Path& other = pieces[static_cast<std::size_t>(next / 2)].path;
        const auto cut = static_cast<long>(std::min(static_cast<std::size_t>(there.cut), other.points.size() - 1));
        if (next % 2 == 0)
          other.points.erase(other.points.begin(), other.points.begin() + cut);
        else
          other.points.erase(other.points.end() - cut, other.points.end());
        PathEnd ea, eb;
        ea.at = line.points.back().at;
        ea.out = here.state.heading;
        eb.at = next % 2 == 0 ? other.points.front().at : other.points.back().at;
        eb.out = there.state.heading;
        for (const ImagePoint& p : Bridge(ea, eb)) line.points.push_back({p, true});
      }
      end = next;
    }
    out.push_back(std::move(line));
  };
  for (int e = 0; e < static_cast<int>(ends.size()); ++e)
    if (!done[static_cast<std::size_t>(e / 2)] && mate[static_cast<std::size_t>(e)] < 0) walk(e);
  for (int e = 0; e < static_cast<int>(ends.size()); ++e)
    if (!done[static_cast<std::size_t>(e / 2)]) walk(e);
  paths = std::move(out);
}

}  // namespace islebook
