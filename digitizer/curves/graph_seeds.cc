#include "digitizer/curves/graph_seeds.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

constexpr double kLongPart = 0.1;      // of the frame's width: a solid stroke of this length is surely of one line
constexpr double kShortStroke = 18.0;  // px, on a plot 1,200 px wide
constexpr double kSeedPx = 90.0;       // of a long stroke its middle stretch of this length is the seed
constexpr double kFollows = 7.0;       // the dearest link between two dashes, in squared standard deviations
constexpr double kRival = 5.0;         // a second choice must be dearer by this
constexpr double kReach = 22.0;        // px between dashes
constexpr double kLeastSeed = 28.0;    // px of ink in a dashed seed

Path PathOf(const Stroke& s) {
  Path p;
  for (const ImagePoint& q : s.points) p.points.push_back({q, false});
  p.inked_px = s.length_px;
  p.dash_px = s.is_dash ? s.length_px : 0;
  p.longest_dash = s.is_dash ? s.length_px : 0;
  p.ink_mass = s.ink_mass;
  p.level = s.level;
  p.lab = s.lab;
  return p;
}

Path Middle(const Stroke& s, double length) {
  Path p = PathOf(s);
  const auto n = static_cast<int>(p.points.size());
  const int keep = std::min(n, static_cast<int>(length)), from = (n - keep) / 2;
  p.points = {p.points.begin() + from, p.points.begin() + from + keep};
  p.inked_px = keep;
  return p;
}

void Turn(Path& p) { std::reverse(p.points.begin(), p.points.end()); }

// Links dashes that follow each other; what has a rival stays apart.
std::vector<Path> LinkDashes(std::vector<Path> paths, double reach, std::vector<double>& gaps) {
  const auto n = paths.size();
  std::vector<PathEnd> ends(2 * n);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t side : {0u, 1u}) ends[2 * i + side] = EndOfPath(paths[i], side == 0);
  std::vector<int> best(2 * n, -1);
  std::vector<double> best_cost(2 * n, kNoJoin), second(2 * n, kNoJoin), best_gap(2 * n, 0.0);
  const auto cost_of = [&](std::size_t a, std::size_t b, double gap) {
    const Path &pa = paths[a / 2], &pb = paths[b / 2];
    const double mass = std::log((pa.ink_mass + 0.1) / (pb.ink_mass + 0.1)) / 0.25;
    return BendCost(ends[a], ends[b]) + std::min(9.0, mass * mass) + 3.0 * gap / reach;
  };
  const auto gap_of = [&](std::size_t a, std::size_t b) { return std::hypot(ends[a].at.x - ends[b].at.x, ends[a].at.y - ends[b].at.y); };
  for (std::size_t a = 0; a < 2 * n; ++a) {
    std::vector<std::pair<std::size_t, double>> near;
    for (std::size_t b = 0; b < 2 * n; ++b) {
      if (a / 2 == b / 2) continue;
      const double gap = gap_of(a, b);
      if (gap > reach) continue;
      const double cost = cost_of(a, b, gap);
      if (cost > kNoJoin / 2) continue;
      near.emplace_back(b, cost);
      // The nearest of those that fit comes first: the one after it fits as well.
      if (cost < kFollows + kRival && (best[a] < 0 || gap < best_gap[a])) {
        best[a] = static_cast<int>(b);
        best_cost[a] = cost;
        best_gap[a] = gap;
      }
    }
    for (const auto& [b, cost] : near)
      if (static_cast<int>(b) != best[a] && gap_of(a, b) < 1.7 * best_gap[a] + 3) second[a] = std::min(second[a], cost);
  }
  const auto mate = [&](std::size_t a) {
    const int b = best[a];
    if (b < 0 || best[static_cast<std::size_t>(b)] != static_cast<int>(a)) return -1;
    const double cost = best_cost[a];
    if (cost > kFollows || second[a] < cost + kRival || second[static_cast<std::size_t>(b)] < cost + kRival) return -1;
    return b;
  };
  std::vector<Path> out;
  std::vector<char> done(n, 0);
  const auto walk = [&](std::size_t start) {
    Path path;
    std::size_t end = start;
    while (true) {
      const std::size_t i = end / 2;
      if (done[i]) break;
      done[i] = 1;
      Path piece = paths[i];
      if (end % 2 == 1) Turn(piece);
      const double total = path.inked_px + piece.inked_px, k = total > 0 ? piece.inked_px / total : 1;
      path.ink_mass += k * (piece.ink_mass - path.ink_mass);
      path.level += k * (piece.level - path.level);
      path.lab += static_cast<float>(k) * (piece.lab - path.lab);
      path.inked_px = total;
      path.dash_px += piece.dash_px;
      path.longest_dash = std::max(path.longest_dash, piece.longest_dash);
      path.points.insert(path.points.end(), piece.points.begin(), piece.points.end());
      const std::size_t leave = end ^ 1;
      const int next = mate(leave);
      if (next < 0 || done[static_cast<std::size_t>(next) / 2]) break;
      gaps.push_back(
          std::hypot(ends[leave].at.x - ends[static_cast<std::size_t>(next)].at.x, ends[leave].at.y - ends[static_cast<std::size_t>(next)].at.y));
      for (const ImagePoint& p : Bridge(ends[leave], ends[static_cast<std::size_t>(next)])) path.points.push_back({p, true});
      end = static_cast<std::size_t>(next);
    }
    out.push_back(std::move(path));
  };
  for (std::size_t i = 0; i < n; ++i) {
    if (done[i]) continue;
    if (mate(2 * i) < 0)
      walk(2 * i);
    else if (mate(2 * i + 1) < 0)
      walk(2 * i + 1);
  }
  for (std::size_t i = 0; i < n; ++i)
    if (!done[i]) walk(2 * i);
  return out;
}

}  // namespace

GraphSeeds FindGraphSeeds(const std::vector<Stroke>& strokes, const JoinField& field) {
  const double unit = std::clamp(field.frame_width_px / 1200.0, 0.6, 2.5);
  GraphSeeds seeds;
  std::vector<Path> dashes;
  std::vector<const Stroke*> longer;
  for (const Stroke& s : strokes) {
    if (s.closed) continue;
    if (s.is_dash)
      dashes.push_back(PathOf(s));
    else if (s.length_px > kLongPart * field.frame_width_px)
      longer.push_back(&s);
    else if (s.length_px > kShortStroke * unit)
      seeds.rest.push_back(PathOf(s));
  }
  std::stable_sort(longer.begin(), longer.end(), [](const Stroke* a, const Stroke* b) { return a->length_px > b->length_px; });
  for (const Stroke* s : longer) seeds.solid.push_back(Middle(*s, kSeedPx * unit));
  std::vector<double> gaps, again;
  dashes = LinkDashes(std::move(dashes), kReach * unit, gaps);
  dashes = LinkDashes(std::move(dashes), kReach * unit, again);
  if (!gaps.empty()) {
    std::nth_element(gaps.begin(), gaps.begin() + static_cast<long>(gaps.size() / 2), gaps.end());
    seeds.usual_gap = gaps[gaps.size() / 2];
  } else {
    seeds.usual_gap = 6.0 * unit;
  }
  for (Path& p : dashes) (p.inked_px > kLeastSeed * unit ? seeds.dashed : seeds.rest).push_back(std::move(p));
  const auto longest_first = [](std::vector<Path>& v) {
    std::stable_sort(v.begin(), v.end(), [](const Path& a, const Path& b) { return a.inked_px > b.inked_px; });
  };
  longest_first(seeds.dashed);
  longest_first(seeds.rest);
  return seeds;
}

}  // namespace islebook
