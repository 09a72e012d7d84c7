#include "digitizer/axes/bare_axes.h"

#include <algorithm>
#include <cmath>

#include "digitizer/axes/plot_frame.h"
#include "digitizer/axes/ticks.h"

namespace islebook {
namespace {

double InkAt(const Page& page, ImagePoint p) {
  const int x = static_cast<int>(std::lround(p.x)), y = static_cast<int>(std::lround(p.y));
  double best = 0.0;
  for (int dy = -1; dy <= 1; ++dy) {
    for (int dx = -1; dx <= 1; ++dx) {
      if (x + dx < 0 || y + dy < 0 || x + dx >= page.ink.cols || y + dy >= page.ink.rows) continue;
      best = std::max<double>(best, page.ink(y + dy, x + dx));
    }
  }
  return best;
}

// Where the ink of a line stops beyond `from`, going in the direction of `sign`.
double LastInk(const Page& page, const LongLines& lines, const LongLine& line, double from, double sign) {
  std::vector<double> inner;
  for (int i = 6; i < 66; ++i) inner.push_back(InkAt(page, lines.PointAt(line, from - sign * i)));
  std::nth_element(inner.begin(), inner.begin() + 30, inner.end());
  const double limit = 0.45 * inner[30];
  double last = from;
  for (double d = 0.0; d < 25.0 + 0.03 * line.Length(); d += 0.5) {
    if (InkAt(page, lines.PointAt(line, from + sign * d)) > limit)
      last = from + sign * d;
    else if (std::abs(from + sign * d - last) > 2.5)
      break;
  }
  return last;
}

// How far the ink reaches across a line at `along`, px.
double Breadth(const Page& page, const LongLines& lines, const LongLine& line, double along) {
  const ImagePoint p = lines.PointAt(line, along), q = lines.PointAt(line, along + 1.0);
  const double dx = q.x - p.x, dy = q.y - p.y;
  double breadth = 0.0;
  for (const double sign : {-1.0, 1.0}) {
    for (double d = 0.0; d < 30.0; d += 0.5) {
      const int x = static_cast<int>(std::lround(p.x - sign * d * dy)), y = static_cast<int>(std::lround(p.y + sign * d * dx));
      if (x < 0 || y < 0 || x >= page.ink.cols || y >= page.ink.rows || page.ink(y, x) < 90) break;
      breadth += 0.5;
    }
  }
  return breadth;
}

// The length of the arrowhead in which a line ends at `end`, 0 if it does not: ink that narrows toward the end from several times the line's breadth.
double ArrowHead(const Page& page, const LongLines& lines, const LongLine& line, double end, double sign) {
  std::vector<double> inner;
  for (int i = 70; i < 130; i += 4) inner.push_back(Breadth(page, lines, line, end - sign * i));
  std::nth_element(inner.begin(), inner.begin() + 7, inner.end());
  const double drawn = std::max(1.0, inner[7]);
  double past = 0.0;  // the ridge may end where the head begins
  while (past < 45.0 && Breadth(page, lines, line, end + sign * (past + 1.0)) > 0.5) past += 1.0;
  end += sign * past;
  double widest = 0.0, at = 0.0;
  for (double d = 1.0; d < 60.0; d += 1.0) {
    const double breadth = Breadth(page, lines, line, end - sign * d);
    if (breadth > widest) widest = breadth, at = d;
    if (breadth < 1.3 * drawn && d > at + 4.0 && widest > 2.5 * drawn) break;
  }
  if (widest < 2.5 * drawn || widest < drawn + 5.0) return 0.0;
  // A tick is as broad, but no broader in the middle of its length than at its ends.
  const double half = Breadth(page, lines, line, end - sign * 0.5 * at);
  return at > 5.0 && half > 1.4 * drawn && half < 0.85 * widest ? std::max(0.1, at - past) : 0.0;
}

}  // namespace

FrameCandidate RefineBareEnds(const Page& page, const LongLines& lines, FrameCandidate c) {
  if (c.lines[kTop] >= 0 || c.lines[kRight] >= 0 || c.lines[kBottom] < 0 || c.lines[kLeft] < 0) return c;
  const LongLine &row = lines.lines[c.lines[kBottom]], &column = lines.lines[c.lines[kLeft]];
  const auto place = [&](ImagePoint br, ImagePoint tl) {
    c.corners[1] = {tl.x + br.x - c.corners[3].x, tl.y + br.y - c.corners[3].y};
    c.corners[2] = br;
    c.corners[0] = tl;
  };
  // The reach of one pixel around each sample adds one to where the ink seems to stop.
  const double right = LastInk(page, lines, row, row.along_to - 2.0, 1.0) - 1.0,
               top = LastInk(page, lines, column, column.along_from + 2.0, -1.0) + 1.0;
  place(lines.PointAt(row, right), lines.PointAt(column, top));
  const FrameMapping frame = FrameMapping::FromCorners(c.corners);
  const MarksFound marks = FindMarks(page, frame, std::max(row.ink_mass, column.ink_mass));
  // A tick close by; or a long one a little further in: the stub of another axis may carry the line on.
  const auto at_end = [](const std::vector<Mark>& ticks, double length) {
    double longest = 0.0;
    for (const Mark& m : ticks) longest = std::max(longest, m.length_px);
    for (const double reach : {6.0, 16.0}) {
      double best = 1.0, off = reach / length;
      for (const Mark& m : ticks) {
        if (std::abs(m.t - 1.0) < off && (reach < 7.0 || m.length_px > 0.8 * longest)) off = std::abs(m.t - 1.0), best = m.t;
      }
      if (best != 1.0) return best;
    }
    return 1.0;
  };
  double u = at_end(marks.ticks[kBottom], frame.WidthPx()), v = at_end(marks.ticks[kLeft], frame.HeightPx());
  // An axis with an arrowhead runs on past its last tick for nothing but the arrow.
  const auto before_arrow = [](const std::vector<Mark>& ticks, double length, double head) {
    double longest = 0.0, last = 0.0;
    for (const Mark& m : ticks)
      if ((1.0 - m.t) * length > head + 2.0) longest = std::max(longest, m.length_px);
    for (const Mark& m : ticks)
      if ((1.0 - m.t) * length > head + 2.0 && m.length_px > 0.7 * longest) last = std::max(last, m.t);
    return last > 0.6 ? last : 1.0;
  };
  if (const double head = ArrowHead(page, lines, row, right, 1.0); head > 0.0) u = before_arrow(marks.ticks[kBottom], frame.WidthPx(), head);
  if (const double head = ArrowHead(page, lines, column, top, -1.0); head > 0.0) v = before_arrow(marks.ticks[kLeft], frame.HeightPx(), head);
  place(frame.ImageFromFrame({u, 0.0}), frame.ImageFromFrame({0.0, v}));
  return c;
}

}  // namespace islebook
