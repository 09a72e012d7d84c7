#include "digitizer/curves/marker_steps.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <tuple>

namespace islebook {
namespace {

constexpr double kInkedPart = 0.75;  // of the way between two rings
constexpr double kInkLevel = 0.45;   // of the darkest ink on that way
constexpr double kBesidePx = 3.0;    // a stroke this close to the way is the line itself
constexpr double kMostTurn = 0.9;    // rad at a marker

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

double InkAt(const Page& page, ImagePoint p) {
  return page.ink(std::clamp(cvRound(p.y), 0, page.ink.rows - 1), std::clamp(cvRound(p.x), 0, page.ink.cols - 1));
}

struct Step {
  std::size_t a, b;
  double length;
};

// Whether a line shows between the rings, or they touch.
bool LineBetween(const Page& page, const Marker& a, const Marker& b) {
  const double d = Distance(a.center, b.center), from = a.radius_px - 0.5, to = d - b.radius_px + 0.5;
  if (to - from < 1.0) {
    const double t = 0.5 * (from + to) / d;
    return InkAt(page, {a.center.x + (b.center.x - a.center.x) * t, a.center.y + (b.center.y - a.center.y) * t}) > 40;
  }
  double darkest = 0;
  std::vector<double> levels;
  for (double t = from; t <= to; t += 0.5) {
    const ImagePoint p{a.center.x + (b.center.x - a.center.x) * t / d, a.center.y + (b.center.y - a.center.y) * t / d};
    // The line may bow by a pixel between its markers.
    double level = 0;
    for (double across : {-1.0, 0.0, 1.0})
      level = std::max(level, InkAt(page, {p.x - across * (b.center.y - a.center.y) / d, p.y + across * (b.center.x - a.center.x) / d}));
    levels.push_back(level);
    darkest = std::max(darkest, level);
  }
  const auto inked = std::count_if(levels.begin(), levels.end(), [&](double v) { return v > std::max(40.0, kInkLevel * darkest); });
  return static_cast<double>(inked) >= kInkedPart * static_cast<double>(levels.size());
}

bool HasStroke(const std::vector<Stroke>& strokes, const Marker& a, const Marker& b) {
  const double d = Distance(a.center, b.center);
  const double ux = (b.center.x - a.center.x) / d, uy = (b.center.y - a.center.y) / d;
  return std::any_of(strokes.begin(), strokes.end(), [&](const Stroke& s) {
    return std::count_if(s.points.begin(), s.points.end(), [&](const ImagePoint& p) {
             const double along = (p.x - a.center.x) * ux + (p.y - a.center.y) * uy, across = -(p.x - a.center.x) * uy + (p.y - a.center.y) * ux;
             return along > 0 && along < d && std::abs(across) < kBesidePx;
           }) >= 3;
  });
}

// The look of the line is that of the strokes which end at the row's markers.
void TakeLook(const Page& page, const std::vector<Stroke>& strokes, const std::vector<const Marker*>& row, Stroke& step) {
  double weight = 0;
  for (const Stroke& s : strokes) {
    if (s.closed || s.length_px < 4) continue;
    const bool touches = std::any_of(row.begin(), row.end(), [&](const Marker* m) {
      return std::min(Distance(s.points.front(), m->center), Distance(s.points.back(), m->center)) < 2.0 * m->radius_px + 8;
    });
    if (!touches) continue;
    weight += s.length_px;
    const double k = s.length_px / weight;
    step.ink_mass += k * (s.ink_mass - step.ink_mass);
    step.level += k * (s.level - step.level);
    step.lab += static_cast<float>(k) * (s.lab - step.lab);
  }
  if (weight > 0) return;
  const ImagePoint mid{(row[0]->center.x + row[1]->center.x) / 2, (row[0]->center.y + row[1]->center.y) / 2};
  step.level = InkAt(page, mid);
  step.ink_mass = InkMassAcross(page.ink, mid, std::atan2(row[1]->center.y - row[0]->center.y, row[1]->center.x - row[0]->center.x), 10);
  if (!page.color.empty()) {
    // As dark ink without a hue of its own: lightness says little where lines are joined.
    step.lab = {static_cast<float>(100.0 * (1.0 - step.level / 255.0)), 0, 0};
  }
}

// A smooth line through the centers, a point a pixel (Catmull-Rom).
std::vector<ImagePoint> Through(const std::vector<const Marker*>& row) {
  std::vector<ImagePoint> points;
  const auto n = static_cast<int>(row.size());
  const auto at = [&](int i) {
    if (i < 0) return ImagePoint{2 * row[0]->center.x - row[1]->center.x, 2 * row[0]->center.y - row[1]->center.y};
    if (i >= n) {
      const ImagePoint p = row[static_cast<std::size_t>(n - 1)]->center, q = row[static_cast<std::size_t>(n - 2)]->center;
      return ImagePoint{2 * p.x - q.x, 2 * p.y - q.y};
    }
    return row[static_cast<std::size_t>(i)]->center;
  };
  for (int i = 0; i + 1 < n; ++i) {
    const ImagePoint p0 = at(i - 1), p1 = at(i), p2 = at(i + 1), p3 = at(i + 2);
    const int steps = std::max(2, cvRound(Distance(p1, p2)));
    for (int k = 0; k < steps + (i + 2 == n ? 1 : 0); ++k) {
      const double t = static_cast<double>(k) / steps, t2 = t * t, t3 = t2 * t;
      const auto blend = [&](double a, double b, double c, double d) {
        return 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t2 + (3 * b - a - 3 * c + d) * t3);
      };
      points.push_back({blend(p0.x, p1.x, p2.x, p3.x), blend(p0.y, p1.y, p2.y, p3.y)});
    }
  }
  return points;
}

}  // namespace

void AddMarkerSteps(const Page& page, const std::vector<Marker>& markers, double free_px, std::vector<Stroke>& strokes) {
  std::vector<Step> steps;
  for (std::size_t i = 0; i < markers.size(); ++i)
    for (std::size_t j = i + 1; j < markers.size(); ++j) {
      const double d = Distance(markers[i].center, markers[j].center), between = d - markers[i].radius_px - markers[j].radius_px;
      if (between > free_px || d < 0.5 * (markers[i].radius_px + markers[j].radius_px)) continue;
      if (!LineBetween(page, markers[i], markers[j]) || HasStroke(strokes, markers[i], markers[j])) continue;
      steps.push_back({i, j, d});
    }
  std::sort(steps.begin(), steps.end(), [](const Step& l, const Step& r) { return std::tie(l.length, l.a, l.b) < std::tie(r.length, r.a, r.b); });
  // Nearest neighbors first; a marker has one step on either side.
  constexpr std::size_t kNone = static_cast<std::size_t>(-1);
  std::vector<std::array<std::size_t, 2>> next(markers.size(), {kNone, kNone});
  const auto can_take = [&](std::size_t at, std::size_t to) {
    if (next[at][0] == kNone) return true;
    if (next[at][1] != kNone) return false;
    const ImagePoint a = markers[next[at][0]].center, b = markers[at].center, c = markers[to].center;
    return std::abs(std::remainder(std::atan2(c.y - b.y, c.x - b.x) - std::atan2(b.y - a.y, b.x - a.x), 2 * M_PI)) < kMostTurn;
  };
  const auto take = [&](std::size_t at, std::size_t to) { next[at][next[at][0] == kNone ? 0 : 1] = to; };
  for (const Step& s : steps) {
    if (!can_take(s.a, s.b) || !can_take(s.b, s.a)) continue;
    take(s.a, s.b);
    take(s.b, s.a);
  }
  std::vector<Stroke> added;
  std::vector<char> done(markers.size(), 0);
  for (std::size_t i = 0; i < markers.size(); ++i) {
    if (done[i] || next[i][0] == kNone || next[i][1] != kNone) continue;  // rows begin at a marker with one neighbor
    std::vector<const Marker*> row;
    for (std::size_t at = i, before = kNone; at != kNone && !done[at];) {
      done[at] = 1;
      row.push_back(&markers[at]);
      const std::size_t onward = next[at][0] == before ? next[at][1] : next[at][0];
      before = at;
      at = onward;
    }
    Stroke step;
    step.points = Through(row);
    step.length_px = PathLength(step.points);
    TakeLook(page, strokes, row, step);
    added.push_back(std::move(step));
  }
  strokes.insert(strokes.end(), std::make_move_iterator(added.begin()), std::make_move_iterator(added.end()));
}

}  // namespace islebook
