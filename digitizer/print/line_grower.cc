#include "digitizer/print/line_grower.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

float CellSize(const std::vector<Glyph>& glyphs) {
  std::vector<double> sizes;
  for (const Glyph& g : glyphs)
    if (g.shape == GlyphShape::kLetter) sizes.push_back(g.length);
  return sizes.empty() ? 20.0F : static_cast<float>(2.0 * Median(sizes));
}

// Letters fill their boxes; a bend of a curve does not.
bool Filled(const Glyph& g, const Placed& p, double h) {
  const double fill = g.area / std::max(1.0, static_cast<double>(p.a.Size()) * p.b.Size());
  return g.shape == GlyphShape::kStroke || fill > (p.a.Size() > 1.3 * h ? 0.22 : 0.15);
}

// 1, l, I, a slash or a bracket, but not a piece of a line that runs along the word.
bool Upright(const Glyph& g, cv::Point2f d, double h, double size) {
  const double lean = std::abs(g.axis.dot(d));
  return size > 0.62 * h && lean < (g.breadth > 0.25 * h ? 0.6 : 0.45);
}

// May the glyph, placed at p, stand next in a line whose digits reach from top to base?
bool Fits(const Glyph& g, cv::Point2f d, const Placed& p, double top, double base, double slack) {
  const double h = base - top, size = p.b.Size();
  if (size < 0.4 * h || size > 1.5 * h) return false;
  if (g.shape == GlyphShape::kStroke && !Upright(g, d, h, size)) return false;
  if (!Filled(g, p, h)) return false;
  const double up = p.b.low - top, down = p.b.high - base;
  if (g.cut) {
    // A scrap of a line must look like a digit in all ways to be one.
    const double fill = g.area / std::max(1.0, static_cast<double>(p.a.Size()) * size);
    return std::abs(down) <= 0.14 * h + slack && std::abs(up) <= 0.16 * h + slack && fill > 0.25 &&
           (g.shape == GlyphShape::kLetter || std::abs(g.axis.dot(d)) < 0.25F);
  }
  if (std::abs(down) <= kMisfit * h + slack) return up > -0.42 * h - slack;  // on the base line
  if (down > 0 && down < 0.42 * h) return up > -0.2 * h && size > 0.6 * h;   // hangs below it: p, g, brackets
  return false;
}

}  // namespace

LineGrower::LineGrower(const std::vector<Glyph>& glyphs) : glyphs_(glyphs), taken_(glyphs.size(), 0), near_(glyphs, CellSize(glyphs)) {}

GrownLine LineGrower::Grow(int i, int j, double angle) const {
  GrownLine line;
  cv::Point2f d = Direction(angle);
  Placed pi = Place(At(i), d), pj = Place(At(j), d);
  if (pi.a.low > pj.a.low) {
    std::swap(i, j);
    std::swap(pi, pj);
  }
  const double taller = std::max(pi.b.Size(), pj.b.Size());
  if (!PairFits(i, j, d, pi, pj, taller)) return line;
  line.members = {i, j};
  line.angle = angle;
  Extend(line);
  if (line.members.size() >= 3) {
    line.angle = RefineAngle(glyphs_, line.members, line.angle, 8.0);
    Extend(line);
  } else {
    line.angle = RefineAngle(glyphs_, line.members, line.angle, 5.0);
  }
  return line;
}

// Is there a point or comma on the base line between a = from and a = to?
bool LineGrower::DotBetween(int near_glyph, cv::Point2f d, double from, double to, double base, double h) const {
  for (const int k : near_.Around(At(near_glyph).box, static_cast<float>(0.6 * h))) {
    const Glyph& g = At(k);
    if (!Free(k) || g.length > 0.5 * h) continue;
    const Placed p = Place(g, d);
    if (p.a.low > from - 0.15 * h && p.a.high < to + 0.15 * h && p.b.low > base - 0.45 * h && p.b.high > base - 0.2 * h && p.b.high < base + 0.34 * h)
      return true;
  }
  return false;
}

bool LineGrower::PairFits(int i, int j, cv::Point2f d, const Placed& p, const Placed& q, double taller) const {
  if (std::min(p.b.Size(), q.b.Size()) < 0.5 * taller) return false;
  for (const auto& [g, at] : {std::pair{&At(i), &p}, std::pair{&At(j), &q}})
    if ((g->shape == GlyphShape::kStroke && !Upright(*g, d, taller, at->b.Size())) || !Filled(*g, *at, taller)) return false;
  const double base = std::abs(p.b.high - q.b.high), top = std::abs(p.b.low - q.b.low);
  if (base > kMisfit * taller && top > 0.12 * taller) return false;
  const double gap = q.a.low - p.a.high;
  if (gap < -0.35 * std::min(p.a.Size(), q.a.Size()) || gap > kDotGap * taller) return false;
  return gap < kLetterGap * taller || (top < kMisfit * taller && DotBetween(i, d, p.a.high, q.a.low, p.b.high, taller));
}

void LineGrower::Extend(GrownLine& line) const {
  std::vector<char> in(0);
  for (int pass = 0; pass < 60; ++pass) {
    const cv::Point2f d = Direction(line.angle);
    std::vector<double> heights, bases, tops;
    double start = 1e9, end = -1e9;
    for (const int m : line.members) {
      const Placed p = Place(At(m), d);
      heights.push_back(p.b.Size());
      bases.push_back(p.b.high);
      tops.push_back(p.b.low);
      start = std::min(start, static_cast<double>(p.a.low));
      end = std::max(end, static_cast<double>(p.a.high));
    }
    const double base = Median(bases);
    // Height of the tall letters.
    std::vector<double> tall;
    const double tallest = *std::max_element(heights.begin(), heights.end());
    for (std::size_t k = 0; k < heights.size(); ++k)
      if (heights[k] > 0.8 * tallest) tall.push_back(base - tops[k]);
    const double h = std::max(2.0, Median(tall)), top = base - h;
    int next = -1;
    double next_gap = 1e9;
    bool at_end = true;
    for (const bool right : {true, false}) {
      const int edge = right ? line.members.back() : line.members.front();
      for (const int k : near_.Around(At(edge).box, static_cast<float>(kDotGap * h) + 1.0F)) {
        if (!Free(k) || At(k).shape == GlyphShape::kDot || std::find(line.members.begin(), line.members.end(), k) != line.members.end()) continue;
        const Placed p = Place(At(k), d);
        const double gap = right ? p.a.low - end : start - p.a.high;
        if (gap > kDotGap * h || gap < -0.35 * p.a.Size() || gap >= next_gap) continue;
        // Two letters give the direction only roughly.
        const double slack = line.members.size() < 4 ? 0.05 * ((end - start) / 2.0 + std::max(0.0, gap)) : 0.0;
        if (!Fits(At(k), d, p, top, base, slack) || !AlikeInk(At(k), At(edge))) continue;
        if (gap > kLetterGap * h && (p.b.Size() < 0.8 * h || !DotBetween(k, d, right ? end : p.a.high, right ? p.a.low : start, base, h))) continue;
        next = k;
        next_gap = gap;
        at_end = right;
      }
    }
    if (next < 0) return;
    if (at_end)
      line.members.push_back(next);
    else
      line.members.insert(line.members.begin(), next);
    if (const auto n = line.members.size(); n == 3 || n == 4 || n == 6 || n == 9) line.angle = RefineAngle(glyphs_, line.members, line.angle, 5.0);
  }
}

bool LineGrower::AlikeInk(const Glyph& p, const Glyph& q) {
  const float s = p.stroke / q.stroke;
  return s > 0.4F && s < 2.5F && std::abs(p.peak - q.peak) < 0.6F * static_cast<float>(std::max(p.peak, q.peak));
}
}  // namespace islebook
