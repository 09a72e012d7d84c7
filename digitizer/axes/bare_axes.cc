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
  const double u = at_end(marks.ticks[kBottom], frame.WidthPx()), v = at_end(marks.ticks[kLeft], frame.HeightPx());
  place(frame.ImageFromFrame({u, 0.0}), frame.ImageFromFrame({0.0, v}));
  return c;
}

}  // namespace islebook
