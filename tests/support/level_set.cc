#include "tests/support/level_set.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace islebook::paint {
namespace {

// Root between two places of opposite sign: bisection narrowed by the chord (Illinois).
Point2 RootBetween(const std::function<double(Point2)>& g, Point2 a, Point2 b) {
  double fa = g(a), fb = g(b);
  int stuck = 0;
  for (int i = 0; i < 60; ++i) {
    const double t = fa / (fa - fb);
    const Point2 m{a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
    const double fm = g(m);
    if (std::abs(fm) < 1e-13 || std::hypot(b.x - a.x, b.y - a.y) < 1e-13) return m;
    if ((fm > 0) == (fa > 0)) {
      a = m, fa = fm;
      if (stuck == -1) fb *= 0.5;
      stuck = -1;
    } else {
      b = m, fb = fm;
      if (stuck == 1) fa *= 0.5;
      stuck = 1;
    }
  }
  return {(a.x + b.x) / 2, (a.y + b.y) / 2};
}

// A chord's middle moved along the gradient onto the level.
Point2 OntoLevel(const std::function<double(Point2)>& g, Point2 p) {
  for (int i = 0; i < 8; ++i) {
    const double value = g(p), d = 1e-6;
    const double gx = (g({p.x + d, p.y}) - g({p.x - d, p.y})) / (2 * d), gy = (g({p.x, p.y + d}) - g({p.x, p.y - d})) / (2 * d);
    const double square = gx * gx + gy * gy;
    if (square < 1e-18) break;
    const Point2 step{-value * gx / square, -value * gy / square};
    p.x += step.x, p.y += step.y;
    if (std::hypot(step.x, step.y) < 1e-14) break;
  }
  return p;
}

}  // namespace

std::vector<LevelLine> LevelLines(const std::function<double(double, double)>& f, double level, int cells, int halvings) {
  const auto g = [&](Point2 p) {
    const double value = f(p.x, p.y) - level;
    return value == 0.0 ? 1e-300 : value;
  };
  const double step = 1.0 / cells;
  const int side = cells + 1;
  std::vector<double> value(static_cast<std::size_t>(side) * side);
  for (int j = 0; j < side; ++j)
    for (int i = 0; i < side; ++i) value[static_cast<std::size_t>(j) * side + i] = g({i * step, j * step});
  const auto at = [&](int i, int j) { return value[static_cast<std::size_t>(j) * side + i]; };

  // Edge key: even for edges along u, odd along v.
  std::map<long, Point2> vertex;
  std::map<long, std::vector<long>> neighbors;
  const auto key = [&](int i, int j, bool along_v) { return (static_cast<long>(j) * side + i) * 2 + along_v; };
  const auto crossing = [&](int i, int j, bool along_v) {
    const long k = key(i, j, along_v);
    if (!vertex.contains(k))
      vertex[k] = RootBetween(g, {i * step, j * step}, along_v ? Point2{i * step, (j + 1) * step} : Point2{(i + 1) * step, j * step});
    return k;
  };
  for (int j = 0; j < cells; ++j) {
    for (int i = 0; i < cells; ++i) {
      std::vector<long> cuts;
      if ((at(i, j) > 0) != (at(i + 1, j) > 0)) cuts.push_back(crossing(i, j, false));
      if ((at(i + 1, j) > 0) != (at(i + 1, j + 1) > 0)) cuts.push_back(crossing(i + 1, j, true));
      if ((at(i, j + 1) > 0) != (at(i + 1, j + 1) > 0)) cuts.push_back(crossing(i, j + 1, false));
      if ((at(i, j) > 0) != (at(i, j + 1) > 0)) cuts.push_back(crossing(i, j, true));
      const auto join = [&](long a, long b) { neighbors[a].push_back(b), neighbors[b].push_back(a); };
      if (cuts.size() == 2) {
        join(cuts[0], cuts[1]);
      } else if (cuts.size() == 4) {  // a saddle: the middle decides
        const bool middle = g({(i + 0.5) * step, (j + 0.5) * step}) > 0;
        if (middle == (at(i, j) > 0))
          join(cuts[0], cuts[1]), join(cuts[2], cuts[3]);
        else
          join(cuts[0], cuts[3]), join(cuts[1], cuts[2]);
      }
    }
  }

  std::vector<LevelLine> lines;
  std::map<long, bool> used;
  const auto walk = [&](long start) {
    LevelLine line;
    long before = -1, here = start;
    for (;;) {
      used[here] = true;
      line.points.push_back(vertex[here]);
      long next = -1;
      for (long k : neighbors[here])
        if (k != before && (!used[k])) next = k;
      if (next < 0) {
        line.closed = line.points.size() > 3 && std::ranges::find(neighbors[here], start) != neighbors[here].end() && before != start;
        break;
      }
      before = here, here = next;
    }
    lines.push_back(std::move(line));
  };
  for (const auto& [k, next] : neighbors)
    if (next.size() == 1 && !used[k]) walk(k);
  for (const auto& [k, next] : neighbors)
    if (!used[k]) walk(k);

  for (LevelLine& line : lines) {
    for (int h = 0; h < halvings; ++h) {
      std::vector<Point2> finer;
      const std::size_t count = line.points.size();
      for (std::size_t i = 0; i < count; ++i) {
        finer.push_back(line.points[i]);
        if (i + 1 == count && !line.closed) break;
        const Point2 next = line.points[(i + 1) % count];
        finer.push_back(OntoLevel(g, {(line.points[i].x + next.x) / 2, (line.points[i].y + next.y) / 2}));
      }
      line.points = std::move(finer);
    }
  }
  std::erase_if(lines, [](const LevelLine& line) { return line.points.size() < 3; });
  return lines;
}

}  // namespace islebook::paint
