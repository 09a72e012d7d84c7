#include "digitizer/axes/frame_find.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <numeric>

namespace islebook {
namespace {

constexpr double kLeastGap = 7.0;      // px: between the sides of two plots in one line
constexpr std::size_t kOutermost = 6;  // lines tried for each side of a group of lines that touch each other

struct Extent {
  double from = 0.0, to = 0.0;
};

class Finder {
 public:
  Finder(const LongLines& lines, const std::vector<Word>& words, const FrameFindOptions& options) : lines_(lines), words_(words), options_(options) {}

  FramesFound Find() {
    for (std::size_t i = 0; i < lines_.lines.size(); ++i) {
      if (lines_.lines[i].Length() < 0.5 * options_.min_side_px) continue;
      (lines_.lines[i].horizontal ? rows_ : columns_).push_back(static_cast<int>(i));
    }
    Group();
    std::vector<FrameCandidate> all;
    for (const auto& [rows, columns] : groups_) Quads(rows, columns, &all);
    BareAxes(&all);
    RowsAlone(&all);
    Split(&all);
    for (const FrameCandidate& c : all)
      if (!c.split) largest_ = std::max(largest_, QuadArea(c.corners));
    for (FrameCandidate& c : all) Judge(&c);
    std::sort(all.begin(), all.end(), [](const FrameCandidate& a, const FrameCandidate& b) { return a.score > b.score; });
    FramesFound found;
    for (const FrameCandidate& c : all) {
      if (found.frames.size() >= 6) break;
      const bool large = Large(c);
      if (large && (found.frames.empty() || c.numbers[kBottom] + c.numbers[kTop] >= 2 || c.numbers[kLeft] + c.numbers[kRight] >= 2)) {
        const bool overlaps = std::any_of(found.frames.begin(), found.frames.end(), [&](const FrameCandidate& f) { return Overlap(f, c) > 0.08; });
        if (!overlaps) found.frames.push_back(c);
      }
    }
    for (const FrameCandidate& c : all) {
      if (c.coverage[0] < 0.8 || c.coverage[1] < 0.8 || c.coverage[2] < 0.8 || c.coverage[3] < 0.8 || !Closed(c)) continue;
      const bool nested = std::any_of(found.frames.begin(), found.frames.end(), [&](const FrameCandidate& f) {
        if (c.area > 0.35 * f.area) return false;
        int inside = 0, shared = 0;
        for (int i = 0; i < 4; ++i) {
          if (InsideQuad(f.corners, c.corners[i], 4.0)) ++inside;
          if (c.lines[i] >= 0 && std::find(f.lines.begin(), f.lines.end(), c.lines[i]) != f.lines.end()) ++shared;
        }
        return inside == 4 && shared == 0;
      });
      if (nested) found.boxes.push_back(c);
    }
    return found;
  }

 private:
  const LongLine& Line(int i) const { return lines_.lines[i]; }

  // Pieces of a line that turns a corner are cut off short of it, the more so the larger the sheet.
  double Tolerance() const { return std::max({8.0, 0.8 * options_.digit_height_px, 0.06 * options_.min_side_px}); }

  bool Touch(int row, int column, ImagePoint* at) const {
    const LongLine &r = Line(row), &c = Line(column);
    *at = lines_.Meet(r, c);
    const double s = lines_.rows.Along(*at), t = lines_.columns.Along(*at), reach = Tolerance();
    return s > r.along_from - reach && s < r.along_to + reach && t > c.along_from - reach && t < c.along_to + reach;
  }

  // Lines that touch each other, directly or through others.
  void Group() {
    const std::size_t n = lines_.lines.size();
    std::vector<int> parent(n);
    std::iota(parent.begin(), parent.end(), 0);
    const auto root = [&](int i) {
      while (parent[i] != i) i = parent[i] = parent[parent[i]];
      return i;
    };
    for (int r : rows_) {
      for (int c : columns_) {
        ImagePoint at;
        if (Touch(r, c, &at)) parent[root(r)] = root(c);
      }
    }
    std::vector<std::pair<std::vector<int>, std::vector<int>>> groups(n);
    for (int r : rows_) groups[root(r)].first.push_back(r);
    for (int c : columns_) groups[root(c)].second.push_back(c);
    for (auto& g : groups) {
      if (!g.first.empty() && !g.second.empty()) groups_.push_back(std::move(g));
    }
  }

  double Place(int i) const {  // across its family, at its middle
    const LongLine& l = Line(i);
    return lines_.AcrossAt(l, (l.along_from + l.along_to) / 2);
  }

  double Coverage(int i, double from, double to) const {
    const LongLine& l = Line(i);
    const LongLineFamily& family = lines_.FamilyOf(l);
    const int bins = std::max(1, static_cast<int>((to - from) / 3.0));
    std::vector<bool> seen(bins, false);
    for (const ImagePoint& p : l.points) {
      const double s = (family.Along(p) - from) / (to - from) * bins;
      if (s >= 0 && s < bins) seen[static_cast<int>(s)] = true;
    }
    // Single empty bins are the points' own spacing.
    int covered = 0;
    for (int k = 0; k < bins; ++k) {
      if (seen[k] || (k > 0 && k + 1 < bins && seen[k - 1] && seen[k + 1])) ++covered;
    }
    return static_cast<double>(covered) / bins;
  }

  void Quads(std::vector<int> rows, std::vector<int> columns, std::vector<FrameCandidate>* out) const {
    if (rows.size() < 2 || columns.size() < 2) return;
    const auto by_place = [this](int a, int b) { return Place(a) < Place(b); };
    const auto outermost = [&](std::vector<int> v) {
      // The longest lines first: short ones (a legend, a label's stroke) need not be outermost.
      std::sort(v.begin(), v.end(), [this](int a, int b) { return Line(a).Length() > Line(b).Length(); });
      if (v.size() > 60) v.resize(60);
      std::sort(v.begin(), v.end(), by_place);
      std::pair<std::vector<int>, std::vector<int>> ends;
      for (std::size_t i = 0; i < v.size() && i < kOutermost; ++i) ends.first.push_back(v[i]);
      for (std::size_t i = 0; i < v.size() && i < kOutermost; ++i) ends.second.push_back(v[v.size() - 1 - i]);
      return ends;
    };
    const auto [tops, bottoms] = outermost(rows);
    const auto columns_sorted = outermost(columns);
    // Across a column family grows to the left when `along` points down.
    const double sign = std::cos(lines_.columns.angle_rad - lines_.rows.angle_rad - std::numbers::pi / 2) > 0 ? 1.0 : -1.0;
    const std::vector<int>& lefts = sign > 0 ? columns_sorted.second : columns_sorted.first;
    const std::vector<int>& rights = sign > 0 ? columns_sorted.first : columns_sorted.second;
    for (int top : tops) {
      for (int bottom : bottoms) {
        if (Place(bottom) - Place(top) < 0.5 * options_.min_side_px) continue;
        for (int left : lefts) {
          ImagePoint tl, bl;
          if (left == -1 || !Touch(top, left, &tl) || !Touch(bottom, left, &bl)) continue;
          for (int right : rights) {
            if (right == left) continue;
            ImagePoint tr, br;
            if (!Touch(top, right, &tr) || !Touch(bottom, right, &br)) continue;
            if (lines_.rows.Along(tr) - lines_.rows.Along(tl) < 0.5 * options_.min_side_px ||
                lines_.rows.Along(br) - lines_.rows.Along(bl) < 0.5 * options_.min_side_px)
              continue;
            FrameCandidate c;
            c.corners = {tl, tr, br, bl};
            c.lines = {top, right, bottom, left};
            c.coverage = SideCoverage(c);
            if (*std::min_element(c.coverage.begin(), c.coverage.end()) < 0.45) continue;
            out->push_back(c);
          }
        }
      }
    }
  }

  // A bare L, or a frame with one side missing: the drawn axes and their extents.
  void BareAxes(std::vector<FrameCandidate>* out) const {
    for (int row : rows_) {
      if (Line(row).Length() < options_.min_side_px) continue;
      for (int column : columns_) {
        if (Line(column).Length() < options_.min_side_px) continue;
        ImagePoint corner;
        if (!Touch(row, column, &corner)) continue;
        const LongLine &r = Line(row), &c = Line(column);
        const double s = lines_.rows.Along(corner), t = lines_.columns.Along(corner), reach = 2.0 * Tolerance();
        // The corner stands at the row's left end and at the column's lower end.
        if (std::abs(s - r.along_from) > reach + 0.03 * r.Length() || std::abs(t - c.along_to) > reach + 0.03 * c.Length()) continue;
        FrameCandidate f;
        const ImagePoint br = lines_.PointAt(r, r.along_to), tl = lines_.PointAt(c, c.along_from);
        f.corners = {tl, {tl.x + br.x - corner.x, tl.y + br.y - corner.y}, br, corner};
        f.lines = {-1, -1, row, column};
        f.coverage = {0.0, 0.0, Coverage(row, s, r.along_to), Coverage(column, c.along_from, t)};
        if (f.coverage[kBottom] < 0.6 || f.coverage[kLeft] < 0.6) continue;
        out->push_back(f);
      }
    }
  }

  // A grid of level lines alone, all from one side to the other: its first and last close the plot, their ends are its sides.
  void RowsAlone(std::vector<FrameCandidate>* out) const {
    std::vector<bool> taken(rows_.size(), false);
    for (std::size_t i = 0; i < rows_.size(); ++i) {
      if (taken[i] || Line(rows_[i]).Length() < options_.min_side_px) continue;
      const LongLine& first = Line(rows_[i]);
      const double reach = 4.0 + 0.006 * first.Length();
      std::vector<int> alike;  // those that reach one end at least: curves and print may hide a part of one
      std::vector<double> from, to;
      for (std::size_t k = 0; k < rows_.size(); ++k) {
        const LongLine& l = Line(rows_[k]);
        const bool starts = std::abs(l.along_from - first.along_from) < reach, ends = std::abs(l.along_to - first.along_to) < reach;
        if (starts) from.push_back(l.along_from);
        if (ends) to.push_back(l.along_to);
        if (starts || ends) alike.push_back(rows_[k]);
        taken[k] = taken[k] || (starts && ends);
      }
      std::sort(alike.begin(), alike.end(), [this](int a, int b) { return Place(a) < Place(b); });
      int levels = alike.empty() ? 0 : 1;
      for (std::size_t k = 1; k < alike.size(); ++k) levels += Place(alike[k]) - Place(alike[k - 1]) > 5.0 ? 1 : 0;
      if (from.size() < 3 || to.size() < 3 || levels < 4) continue;
      const auto middle = [](std::vector<double> v) {
        std::sort(v.begin(), v.end());
        return v[v.size() / 2];
      };
      const double left = middle(from), right = middle(to);
      // The longest line of the first and of the last level.
      const auto longest = [&](int at) {
        for (const int line : alike)
          if (std::abs(Place(line) - Place(at)) < 5.0 && Line(line).Length() > Line(at).Length()) at = line;
        return at;
      };
      const int top = longest(alike.front()), bottom = longest(alike.back());
      FrameCandidate c;
      c.corners = {lines_.PointAt(Line(top), left), lines_.PointAt(Line(top), right), lines_.PointAt(Line(bottom), right),
                   lines_.PointAt(Line(bottom), left)};
      c.lines = {top, -1, bottom, -1};
      c.coverage = {Coverage(top, left, right), 0.0, Coverage(bottom, left, right), 0.0};
      if (std::max(c.coverage[kTop], c.coverage[kBottom]) < 0.6 || std::min(c.coverage[kTop], c.coverage[kBottom]) < 0.3) continue;
      out->push_back(c);
    }
  }

  struct Gap {
    double from = 0.0, to = 0.0;
  };

  // Stretches of a line without ink, along it.
  std::vector<Gap> GapsOf(int i) const {
    std::vector<double> places;
    const LongLine& l = Line(i);
    for (const ImagePoint& p : l.points) places.push_back(lines_.FamilyOf(l).Along(p));
    std::sort(places.begin(), places.end());
    std::vector<Gap> gaps;
    for (std::size_t k = 1; k < places.size(); ++k)
      if (places[k] - places[k - 1] > kLeastGap) gaps.push_back({places[k - 1], places[k]});
    return gaps;
  }

  // Plots of one size above or beside each other have sides in one line, which were joined across the space between them. Both sides stop there, and a
  // line closes either plot: then there are two frames and no large one.
  void Split(std::vector<FrameCandidate>* all) {
    std::vector<FrameCandidate> parts;
    std::map<int, std::vector<Gap>> gaps_of;
    for (FrameCandidate& c : *all) {
      if (*std::min_element(c.lines.begin(), c.lines.end()) < 0) continue;
      for (const bool stacked : {true, false}) {
        const int a = stacked ? c.lines[kLeft] : c.lines[kTop], b = stacked ? c.lines[kRight] : c.lines[kBottom];
        for (const int line : {a, b})
          if (!gaps_of.contains(line)) gaps_of.emplace(line, GapsOf(line));
        const LongLineFamily& along = stacked ? lines_.columns : lines_.rows;
        const double from = std::max(along.Along(c.corners[0]), along.Along(stacked ? c.corners[1] : c.corners[3])),
                     to = std::min(along.Along(c.corners[2]), along.Along(stacked ? c.corners[3] : c.corners[1]));
        for (const Gap& g : gaps_of[a]) {
          if (g.from < from + 0.1 * (to - from) || g.to > to - 0.1 * (to - from) || g.to - g.from > 0.3 * (to - from)) continue;
          const bool both = std::any_of(gaps_of[b].begin(), gaps_of[b].end(), [&](const Gap& h) {
            return std::abs(h.from - g.from) < Tolerance() + 0.02 * (to - from) && std::abs(h.to - g.to) < Tolerance() + 0.02 * (to - from);
          });
          if (!both) continue;
          const int first = Closing(c, stacked, a, b, g.from), second = Closing(c, stacked, a, b, g.to);
          if (first < 0 || second < 0 || first == second) continue;
          FrameCandidate before = c, after = c;
          ImagePoint p, q, r, s;
          if (!Touch(stacked ? first : a, stacked ? a : first, &p) || !Touch(stacked ? first : b, stacked ? b : first, &q) ||
              !Touch(stacked ? second : a, stacked ? a : second, &r) || !Touch(stacked ? second : b, stacked ? b : second, &s))
            continue;
          if (stacked) {
            before.corners = {c.corners[0], c.corners[1], q, p};
            before.lines[kBottom] = first;
            after.corners = {r, s, c.corners[2], c.corners[3]};
            after.lines[kTop] = second;
          } else {
            before.corners = {c.corners[0], p, q, c.corners[3]};
            before.lines[kRight] = first;
            after.corners = {r, c.corners[1], c.corners[2], s};
            after.lines[kLeft] = second;
          }
          c.split = true;
          for (FrameCandidate* part : {&before, &after}) {
            part->part = true;
            part->coverage = SideCoverage(*part);
            if (*std::min_element(part->coverage.begin(), part->coverage.end()) < 0.45) continue;
            const bool known =
                std::any_of(parts.begin(), parts.end(), [&](const FrameCandidate& f) { return f.lines == part->lines && Overlap(f, *part) > 0.9; });
            if (!known) parts.push_back(*part);
          }
        }
      }
    }
    all->insert(all->end(), parts.begin(), parts.end());
  }

  // The line across the frame that closes a plot where its sides `a` and `b` end at `at`.
  int Closing(const FrameCandidate& c, bool stacked, int a, int b, double at) const {
    int best = -1;
    double best_off = Tolerance() + 4.0;
    for (const int line : stacked ? rows_ : columns_) {
      if (std::find(c.lines.begin(), c.lines.end(), line) != c.lines.end()) continue;
      ImagePoint p, q;
      if (!Touch(stacked ? line : a, stacked ? a : line, &p) || !Touch(stacked ? line : b, stacked ? b : line, &q)) continue;
      const LongLineFamily& along = stacked ? lines_.columns : lines_.rows;
      const double off = std::max(std::abs(along.Along(p) - at), std::abs(along.Along(q) - at));
      if (off < best_off) best_off = off, best = line;
    }
    return best;
  }

  std::array<double, 4> SideCoverage(const FrameCandidate& c) const {
    return {Coverage(c.lines[kTop], lines_.rows.Along(c.corners[0]), lines_.rows.Along(c.corners[1])),
            Coverage(c.lines[kRight], lines_.columns.Along(c.corners[1]), lines_.columns.Along(c.corners[2])),
            Coverage(c.lines[kBottom], lines_.rows.Along(c.corners[3]), lines_.rows.Along(c.corners[2])),
            Coverage(c.lines[kLeft], lines_.columns.Along(c.corners[0]), lines_.columns.Along(c.corners[3]))};
  }

  // Four lines that end at the corners: a box of its own, not a part of a grid.
  bool Closed(const FrameCandidate& c) const {
    static constexpr int kFrom[] = {0, 1, 3, 0}, kTo[] = {1, 2, 2, 3};
    for (int i = 0; i < 4; ++i) {
      if (c.lines[i] < 0) return false;
      const LongLine& l = Line(c.lines[i]);
      const LongLineFamily& family = lines_.FamilyOf(l);
      const double from = family.Along(c.corners[kFrom[i]]), to = family.Along(c.corners[kTo[i]]), reach = Tolerance() + 0.03 * (to - from);
      if (l.along_from < from - reach || l.along_to > to + reach) return false;
    }
    return true;
  }

  bool Large(const FrameCandidate& c) const {
    const auto length = [](ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); };
    return std::min(length(c.corners[0], c.corners[1]), length(c.corners[3], c.corners[2])) >= options_.min_side_px &&
           std::min(length(c.corners[0], c.corners[3]), length(c.corners[1], c.corners[2])) >= 0.7 * options_.min_side_px;
  }

  // Words in a row outside a side: the largest number whose near edges stand at one distance from it.
  int RowOfWords(const FrameCandidate& c, Side side) const {
    static constexpr int kFrom[] = {0, 1, 3, 0}, kTo[] = {1, 2, 2, 3};
    const ImagePoint a = c.corners[kFrom[side]], b = c.corners[kTo[side]];
    const ImagePoint middle{(c.corners[0].x + c.corners[1].x + c.corners[2].x + c.corners[3].x) / 4,
                            (c.corners[0].y + c.corners[1].y + c.corners[2].y + c.corners[3].y) / 4};
    const double dx = b.x - a.x, dy = b.y - a.y, length = std::hypot(dx, dy);
    if (length < 1.0) return 0;
    double nx = -dy / length, ny = dx / length;
    if ((middle.x - a.x) * nx + (middle.y - a.y) * ny > 0) nx = -nx, ny = -ny;  // outward
    const double h = options_.digit_height_px;
    std::vector<std::pair<double, double>> near;  // distance of the near edge, place along
    for (const Word& w : words_) {
      if (w.height_px < 0.45 * h || w.height_px > 2.2 * h || w.width_px > 9.0 * w.height_px) continue;
      const double s = ((w.center.x - a.x) * dx + (w.center.y - a.y) * dy) / (length * length);
      if (s < -0.06 || s > 1.06) continue;
      const double angle = w.angle_deg * std::numbers::pi / 180.0;
      const double half = 0.5 * (std::abs(std::cos(angle) * nx + std::sin(angle) * ny) * w.width_px +
                                 std::abs(-std::sin(angle) * nx + std::cos(angle) * ny) * w.height_px);
      const double d = (w.center.x - a.x) * nx + (w.center.y - a.y) * ny - half;
      if (d < -0.3 * h || d > 5.0 * h) continue;
      near.push_back({d, s});
    }
    std::sort(near.begin(), near.end());
    int best = 0;
    // A bowed side takes the words with it: the band is as wide as the bow may be.
    const double band = 0.7 * h + 0.012 * length;
    for (std::size_t i = 0; i < near.size(); ++i) {
      std::vector<double> places;
      for (std::size_t j = i; j < near.size() && near[j].first - near[i].first < band; ++j) places.push_back(near[j].second);
      std::sort(places.begin(), places.end());
      int n = 0;
      double last = -1.0;
      for (double p : places) {
        if (n == 0 || (p - last) * length > 1.1 * h) ++n, last = p;
      }
      best = std::max(best, n);
    }
    return best;
  }

  void Judge(FrameCandidate* c) const {
    c->area = QuadArea(c->corners);
    double drawn = 0.0, weakest = 1.0;
    int sides = 0;
    for (int i = 0; i < 4; ++i) {
      c->numbers[i] = RowOfWords(*c, static_cast<Side>(i));
      if (c->lines[i] < 0) continue;
      ++sides;
      // A side that is drawn for the most part is drawn: dust and crossings break it.
      const double part = std::min(1.0, c->coverage[i] / 0.8);
      drawn += part;
      weakest = std::min(weakest, part);
    }
    const auto count = [](int n) { return n < 2 ? 0.0 : n < 3 ? 0.5 : std::min(1.0, 0.7 + 0.06 * n); };
    const double across = std::max(count(c->numbers[kBottom]), 0.8 * count(c->numbers[kTop]));
    const double up = std::max(count(c->numbers[kLeft]), 0.8 * count(c->numbers[kRight]));
    c->score = 0.35 * drawn + 1.2 * (sides == 4 ? weakest : 0.4 * weakest) + 1.5 * across + 1.5 * up + (across > 0.0 && up > 0.0 ? 1.0 : 0.0) +
               0.05 * std::log(std::max(1.0, c->area));
    // A side that runs on past its corners belongs to something larger.
    static constexpr int kFrom[] = {0, 1, 3, 0}, kTo[] = {1, 2, 2, 3};
    for (int i = 0; i < 4; ++i) {
      if (c->lines[i] < 0 || c->part) continue;
      const LongLine& l = Line(c->lines[i]);
      const LongLineFamily& family = lines_.FamilyOf(l);
      const double from = family.Along(c->corners[kFrom[i]]), to = family.Along(c->corners[kTo[i]]);
      const double past = std::max(from - l.along_from, l.along_to - to) / std::max(1.0, to - from) - 0.03;
      if (past > 0.0) c->score -= std::min(0.8, 6.0 * past);
    }
    // Two plots, and the space between them.
    if (c->split) c->score -= 3.0;
    // Among rectangles of one grid the largest is the frame.
    c->score += 1.0 * std::sqrt(c->area / std::max(1.0, largest_));
  }

  static double Overlap(const FrameCandidate& a, const FrameCandidate& b) {
    int inside = 0;
    const FrameCandidate& small = a.area < b.area ? a : b;
    const FrameCandidate& big = a.area < b.area ? b : a;
    constexpr int kGrid = 10;
    for (int i = 0; i < kGrid; ++i) {
      for (int j = 0; j < kGrid; ++j) {
        const double u = (i + 0.5) / kGrid, v = (j + 0.5) / kGrid;
        const auto mix = [&](ImagePoint p, ImagePoint q, double t) { return ImagePoint{p.x + (q.x - p.x) * t, p.y + (q.y - p.y) * t}; };
        if (InsideQuad(big.corners, mix(mix(small.corners[0], small.corners[1], u), mix(small.corners[3], small.corners[2], u), v))) ++inside;
      }
    }
    return static_cast<double>(inside) / (kGrid * kGrid);
  }

  const LongLines& lines_;
  const std::vector<Word>& words_;
  FrameFindOptions options_;
  std::vector<int> rows_, columns_;
  std::vector<std::pair<std::vector<int>, std::vector<int>>> groups_;
  double largest_ = 0.0;
};

}  // namespace

double QuadArea(const std::array<ImagePoint, 4>& c) {
  double sum = 0.0;
  for (int i = 0; i < 4; ++i) sum += c[i].x * c[(i + 1) % 4].y - c[(i + 1) % 4].x * c[i].y;
  return std::abs(sum) / 2;
}

bool InsideQuad(const std::array<ImagePoint, 4>& c, ImagePoint p, double margin_px) {
  // Corners run clockwise on the picture (y down).
  for (int i = 0; i < 4; ++i) {
    const ImagePoint &a = c[i], &b = c[(i + 1) % 4];
    const double length = std::max(1e-9, std::hypot(b.x - a.x, b.y - a.y));
    if (((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)) / length < -margin_px) return false;
  }
  return true;
}

FramesFound FindFrames(const LongLines& lines, const std::vector<Word>& words, const FrameFindOptions& options) {
  return Finder(lines, words, options).Find();
}

}  // namespace islebook
