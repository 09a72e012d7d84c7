#include "digitizer/curves/marker_rows.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <tuple>

namespace islebook {
namespace {

constexpr double kInkedPart = 0.75;     // of the way between two markers
constexpr double kStraightPart = 0.93;  // and of a long way: markers that straight pieces of line join
constexpr double kInkLevel = 0.45;      // of the darkest ink on that way
constexpr double kNearStep = 4.0;       // radii: clear of each other by up to this, markers are a row whatever the line between them
constexpr double kFarStep = 16.0;       // radii between the centers of markers without a line
constexpr double kMostTurn = 1.15;      // rad at a marker
constexpr double kLoneTurn = 0.85;      // rad at a marker without a line
constexpr double kArmsPart = 0.4;       // of a shape's markers that stand on one line, and no other close by: its curves are drawn
constexpr double kRowPart = 0.75;       // of a shape's markers that stand in rows without lines: fewer are dust or print
constexpr double kColorApart = 22.0;    // CIE Lab a, b
constexpr double kUnevenStep = 3.6;     // times the row's usual step: too far for one without a line
constexpr double kDashedPart = 0.4;     // of a row's steps that hold ink although no line reaches its markers
constexpr double kRival = 1.35;         // a step that another one undercuts by less is unsure
constexpr double kHiddenStep = 2.6;     // radii clear between two row ends: room for a marker that its neighbors hide
constexpr double kHiddenTurn = 0.5;     // rad at either end
constexpr double kHiddenInk = 0.3;      // of the way between them: the hidden marker's rim and the line
constexpr double kOffWay = 3.0;         // px off the straight way between two markers that a stroke may run
constexpr double kStrokePart = 0.55;    // of the free way that a stroke must cover to lead there
constexpr std::size_t kFewestBare = 5;
constexpr std::size_t kNone = static_cast<std::size_t>(-1);

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }
double Direction(ImagePoint from, ImagePoint to) { return std::atan2(to.y - from.y, to.x - from.x); }
double Turn(ImagePoint a, ImagePoint b, ImagePoint c) { return std::abs(std::remainder(Direction(b, c) - Direction(a, b), 2 * M_PI)); }

double LevelAt(const cv::Mat1b& m, ImagePoint p) { return m(std::clamp(cvRound(p.y), 0, m.rows - 1), std::clamp(cvRound(p.x), 0, m.cols - 1)); }

// Part of the way between two markers on which ink shows; 1 where they touch. Ink on `furniture` does not count.
double InkedPart(const Page& page, const Marker& a, const Marker& b, const cv::Mat1b& furniture = {}) {
  const double d = Distance(a.center, b.center), from = a.radius_px - 0.5, to = d - b.radius_px + 0.5;
  if (to - from < 1.0) return 1.0;
  double darkest = 0;
  std::vector<double> levels;
  for (double t = from; t <= to; t += 0.5) {
    const ImagePoint p{a.center.x + (b.center.x - a.center.x) * t / d, a.center.y + (b.center.y - a.center.y) * t / d};
    // The line may bow by a pixel between its markers.
    double level = 0;
    for (double across : {-1.0, 0.0, 1.0})
      level = std::max(level, LevelAt(page.ink, {p.x - across * (b.center.y - a.center.y) / d, p.y + across * (b.center.x - a.center.x) / d}));
    if (!furniture.empty() && LevelAt(furniture, p) > 0) level = 0;
    levels.push_back(level);
    darkest = std::max(darkest, level);
  }
  const auto inked = std::count_if(levels.begin(), levels.end(), [&](double v) { return v > std::max(40.0, kInkLevel * darkest); });
  return static_cast<double>(inked) / static_cast<double>(levels.size());
}

bool Touches(const Marker& m, const std::vector<Marker>& markers) {
  return std::any_of(markers.begin(), markers.end(),
                     [&](const Marker& o) { return &o != &m && Distance(o.center, m.center) < o.radius_px + m.radius_px + 3.0; });
}

// How many lines reach the marker from outside, grid lines apart. Where two lines cross or close a cell, they are more than two.
int CountArms(const Page& page, const Marker& m, const std::vector<Marker>& markers, const cv::Mat1b& furniture) {
  constexpr int kRays = 48;
  std::array<bool, kRays> inked{};
  for (int k = 0; k < kRays; ++k) {
    const double a = 2 * M_PI * k / kRays;
    int on = 0;
    for (double r = m.radius_px + 1.5; r < m.radius_px + 5.0; r += 1.0) {
      const ImagePoint p{m.center.x + r * std::cos(a), m.center.y + r * std::sin(a)};
      const bool on_other = std::any_of(markers.begin(), markers.end(), [&](const Marker& o) {
        return &o != &m && std::abs(o.center.x - p.x) < o.radius_px + 1.5 && std::abs(o.center.y - p.y) < o.radius_px + 1.5;
      });
      on += !on_other && LevelAt(page.ink, p) > 60 && (furniture.empty() || LevelAt(furniture, p) == 0);
    }
    inked[static_cast<std::size_t>(k)] = on == 4;
  }
  int arms = 0;
  for (std::size_t k = 0; k < kRays; ++k) arms += inked[k] && !inked[(k + kRays - 1) % kRays];
  return arms;
}

struct Step {
  std::size_t a, b;
  double cost;
};

bool OneColor(const Marker& a, const Marker& b) { return std::hypot(a.lab[1] - b.lab[1], a.lab[2] - b.lab[2]) < kColorApart; }

// Whether a third marker lies on the way.
bool IsBetween(const std::vector<Marker>& markers, std::size_t i, std::size_t j) {
  const ImagePoint a = markers[i].center, b = markers[j].center;
  const double d = Distance(a, b);
  for (std::size_t k = 0; k < markers.size(); ++k) {
    if (k == i || k == j) continue;
    const ImagePoint c = markers[k].center;
    const double along = ((c.x - a.x) * (b.x - a.x) + (c.y - a.y) * (b.y - a.y)) / d;
    const double across = ((c.y - a.y) * (b.x - a.x) - (c.x - a.x) * (b.y - a.y)) / d;
    if (along > 0.1 * d && along < 0.9 * d && std::abs(across) < 0.7 * markers[k].radius_px) return true;
  }
  return false;
}

// Cheapest first; a marker has one neighbor on either side, and the way bends little.
class Linker {
 public:
  Linker(const std::vector<Marker>& markers, std::vector<Step> steps, double most_turn)
      : markers_(markers), steps_(std::move(steps)), most_turn_(most_turn), next_(markers.size(), {kNone, kNone}), row_(markers.size()) {
    for (std::size_t i = 0; i < row_.size(); ++i) row_[i] = i;
    std::sort(steps_.begin(), steps_.end(), [](const Step& l, const Step& r) { return std::tie(l.cost, l.a, l.b) < std::tie(r.cost, r.a, r.b); });
    for (const Step& s : steps_) {
      if (RowOf(s.a) == RowOf(s.b) || !CanTake(s.a, s.b) || !CanTake(s.b, s.a)) continue;
      Take(s.a, s.b);
      Take(s.b, s.a);
      row_[RowOf(s.a)] = RowOf(s.b);
    }
  }

  std::vector<std::vector<std::size_t>> Rows() const {
    std::vector<std::vector<std::size_t>> rows;
    std::vector<char> done(markers_.size(), 0);
    for (std::size_t i = 0; i < markers_.size(); ++i) {
      if (done[i] || next_[i][0] == kNone || next_[i][1] != kNone) continue;  // rows begin at a marker with one neighbor
      std::vector<std::size_t> row;
      for (std::size_t at = i, before = kNone; at != kNone && !done[at];) {
        done[at] = 1;
        row.push_back(at);
        const std::size_t onward = next_[at][0] == before ? next_[at][1] : next_[at][0];
        before = at;
        at = onward;
      }
      rows.push_back(std::move(row));
    }
    return rows;
  }

  // Whether a marker of another row could have come next nearly as well at one of the row's ends or between two of its markers.
  bool IsUnsure(const std::vector<std::size_t>& row) const {
    std::vector<char> own(markers_.size(), 0);
    for (std::size_t m : row) own[m] = 1;
    return std::any_of(steps_.begin(), steps_.end(), [&](const Step& s) {
      if (own[s.a] == own[s.b]) return false;
      const std::size_t at = own[s.a] ? s.a : s.b, to = own[s.a] ? s.b : s.a;
      double dearest = 0;
      for (std::size_t n : next_[at])
        if (n != kNone) dearest = std::max(dearest, Distance(markers_[at].center, markers_[n].center));
      if (s.cost > kRival * dearest) return false;
      // It would have to lead on where a step of the row leads.
      return std::any_of(next_[at].begin(), next_[at].end(), [&](std::size_t n) {
        return n != kNone && Distance(markers_[at].center, markers_[n].center) * kRival > s.cost &&
               std::abs(std::remainder(Direction(markers_[at].center, markers_[n].center) - Direction(markers_[at].center, markers_[to].center),
                                       2 * M_PI)) < 0.6;
      });
    });
  }

 private:
  bool CanTake(std::size_t at, std::size_t to) const {
    if (next_[at][0] == kNone) return true;
    if (next_[at][1] != kNone) return false;
    return Turn(markers_[next_[at][0]].center, markers_[at].center, markers_[to].center) < most_turn_;
  }
  void Take(std::size_t at, std::size_t to) { next_[at][next_[at][0] == kNone ? 0 : 1] = to; }
  std::size_t RowOf(std::size_t i) {
    while (row_[i] != i) i = row_[i] = row_[row_[i]];
    return i;
  }

  const std::vector<Marker>& markers_;
  std::vector<Step> steps_;
  double most_turn_;
  std::vector<std::array<std::size_t, 2>> next_;
  std::vector<std::size_t> row_;
};

// Parts a row where a step is far longer than its usual ones.
std::vector<std::vector<std::size_t>> PartAtLongSteps(const std::vector<Marker>& markers, const std::vector<std::size_t>& row) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < row.size(); ++i) steps.push_back(Distance(markers[row[i - 1]].center, markers[row[i]].center));
  std::vector<double> sorted = steps;
  std::nth_element(sorted.begin(), sorted.begin() + static_cast<long>(sorted.size() / 2), sorted.end());
  const double usual = sorted[sorted.size() / 2];
  std::vector<std::vector<std::size_t>> parts(1, {row.front()});
  for (std::size_t i = 1; i < row.size(); ++i) {
    if (steps[i - 1] > kUnevenStep * usual) parts.emplace_back();
    parts.back().push_back(row[i]);
  }
  return parts;
}

// Rows that end in front of each other, in one direction and with a marker's room and some ink between them, are one: a marker there is hidden.
void JoinAcrossHidden(const Page& page, const std::vector<Marker>& markers, const cv::Mat1b& furniture, std::vector<std::vector<std::size_t>>& rows) {
  struct Gap {
    std::size_t from, to;
    bool from_front, to_front;
    double px;
  };
  while (true) {
    std::optional<Gap> best;
    for (std::size_t i = 0; i < rows.size(); ++i)
      for (std::size_t j = i + 1; j < rows.size(); ++j) {
        if (rows[i].size() < 2 || rows[j].size() < 2) continue;
        for (const bool from_front : {false, true})
          for (const bool to_front : {false, true}) {
            const auto end = [&](const std::vector<std::size_t>& row, bool front, std::size_t k) -> const Marker& {
              return markers[front ? row[k] : row[row.size() - 1 - k]];
            };
            const Marker &a = end(rows[i], from_front, 0), &b = end(rows[j], to_front, 0);
            const double d = Distance(a.center, b.center), clear = d - a.radius_px - b.radius_px;
            if (a.shape != b.shape || !OneColor(a, b) || clear > kHiddenStep * a.radius_px || (best && d >= best->px)) continue;
            if (Turn(end(rows[i], from_front, 1).center, a.center, b.center) > kHiddenTurn ||
                Turn(a.center, b.center, end(rows[j], to_front, 1).center) > kHiddenTurn)
              continue;
            // Right between two that nearly touch, the inside of a hidden ring shows.
            if (clear < 3.0 || InkedPart(page, a, b, furniture) >= kHiddenInk) best = Gap{i, j, from_front, to_front, d};
          }
      }
    if (!best) return;
    std::vector<std::size_t>&from = rows[best->from], &to = rows[best->to];
    if (best->from_front) std::reverse(from.begin(), from.end());
    if (!best->to_front) std::reverse(to.begin(), to.end());
    from.insert(from.end(), to.begin(), to.end());
    rows.erase(rows.begin() + static_cast<long>(best->to));
  }
}

// Bars between the markers: dots of a dash-dotted line.
bool IsDashed(const Page& page, const std::vector<Marker>& markers, const std::vector<std::size_t>& row) {
  std::size_t apart = 0, inked = 0;
  for (std::size_t i = 1; i < row.size(); ++i) {
    const Marker &a = markers[row[i - 1]], &b = markers[row[i]];
    if (Distance(a.center, b.center) < a.radius_px + b.radius_px + 3.0) continue;
    ++apart;
    inked += InkedPart(page, a, b) > 0.4;
  }
  return apart == 0 || static_cast<double>(inked) > kDashedPart * static_cast<double>(apart);
}

// A smooth line from p1 to p2, a point a pixel: a cubic whose knots stand as far apart as the roots of the steps (centripetal Catmull-Rom), so that uneven steps make no loops.
void AddSmooth(ImagePoint p0, ImagePoint p1, ImagePoint p2, ImagePoint p3, std::vector<ImagePoint>& out) {
  const auto knot = [](double t, ImagePoint a, ImagePoint b) { return t + std::sqrt(std::max(1e-6, Distance(a, b))); };
  const double t0 = 0, t1 = knot(t0, p0, p1), t2 = knot(t1, p1, p2), t3 = knot(t2, p2, p3);
  const auto mix = [](ImagePoint a, ImagePoint b, double ta, double tb, double t) {
    const double k = (t - ta) / (tb - ta);
    return ImagePoint{a.x + k * (b.x - a.x), a.y + k * (b.y - a.y)};
  };
  const int steps = std::max(2, cvRound(Distance(p1, p2)));
  for (int k = 0; k < steps; ++k) {
    const double t = t1 + (t2 - t1) * k / steps;
    const ImagePoint a1 = mix(p0, p1, t0, t1, t), a2 = mix(p1, p2, t1, t2, t), a3 = mix(p2, p3, t2, t3, t);
    out.push_back(mix(mix(a1, a2, t0, t2, t), mix(a2, a3, t1, t3, t), t1, t2, t));
  }
}

void AddStraight(ImagePoint a, ImagePoint b, std::vector<ImagePoint>& out) {
  const int steps = std::max(1, cvRound(Distance(a, b)));
  for (int k = 0; k < steps; ++k) out.push_back({a.x + (b.x - a.x) * k / steps, a.y + (b.y - a.y) * k / steps});
}

double MeanInk(const Page& page, const std::vector<ImagePoint>& points) {
  double sum = 0;
  for (const ImagePoint& p : points) sum += LevelAt(page.ink, p);
  return points.empty() ? 0.0 : sum / static_cast<double>(points.size());
}

// Points of the stroke that leads from a to b, in order; empty where none does.
std::vector<ImagePoint> StrokeBetween(const std::vector<Stroke>& strokes, const Marker& a, const Marker& b) {
  const double d = Distance(a.center, b.center), clear = d - a.radius_px - b.radius_px;
  if (clear < 4) return {};
  const double ux = (b.center.x - a.center.x) / d, uy = (b.center.y - a.center.y) / d, off = std::max(kOffWay, 0.1 * d);
  std::vector<std::pair<double, ImagePoint>> best;
  for (const Stroke& s : strokes) {
    std::vector<std::pair<double, ImagePoint>> on;
    for (const ImagePoint& p : s.points) {
      const double along = (p.x - a.center.x) * ux + (p.y - a.center.y) * uy, across = -(p.x - a.center.x) * uy + (p.y - a.center.y) * ux;
      if (along > a.radius_px && along < d - b.radius_px && std::abs(across) < off) on.emplace_back(along, p);
    }
    if (on.size() > best.size()) best = std::move(on);
  }
  if (best.size() < 3) return {};
  std::sort(best.begin(), best.end(), [](const auto& l, const auto& r) { return l.first < r.first; });
  if (best.back().first - best.front().first < kStrokePart * clear) return {};
  std::vector<ImagePoint> points;
  for (const auto& [along, p] : best)
    if (points.empty() || Distance(points.back(), p) > 0.5) points.push_back(p);
  return points;
}

std::vector<ImagePoint> LayThrough(const Page& page, const MarkerRow& row, const std::vector<Stroke>& strokes) {
  const auto n = static_cast<int>(row.markers.size());
  const auto center = [&](int i) {
    const auto at = [&](int k) { return row.markers[static_cast<std::size_t>(k)].center; };
    if (i < 0) return ImagePoint{2 * at(0).x - at(1).x, 2 * at(0).y - at(1).y};
    if (i >= n) return ImagePoint{2 * at(n - 1).x - at(n - 2).x, 2 * at(n - 1).y - at(n - 2).y};
    return at(i);
  };
  std::vector<ImagePoint> points;
  ImagePoint from = center(0);
  bool from_stroke = false;
  for (int i = 0; i + 1 < n; ++i) {
    const std::vector<ImagePoint> lead =
        row.inked ? StrokeBetween(strokes, row.markers[static_cast<std::size_t>(i)], row.markers[static_cast<std::size_t>(i + 1)])
                  : std::vector<ImagePoint>{};
    if (!lead.empty()) {
      // Between two pieces of line the marker's own center adds nothing.
      if (from_stroke)
        AddStraight(points.back(), lead.front(), points);
      else
        AddStraight(from, lead.front(), points);
      points.insert(points.end(), lead.begin(), lead.end());
      from = lead.back();
      from_stroke = true;
      continue;
    }
    if (from_stroke) AddStraight(from, center(i), points);
    std::vector<ImagePoint> smooth, straight;
    AddSmooth(center(i - 1), center(i), center(i + 1), center(i + 2), smooth);
    AddStraight(center(i), center(i + 1), straight);
    const bool bends = !row.inked || MeanInk(page, smooth) > MeanInk(page, straight) + 4;
    points.insert(points.end(), bends ? smooth.begin() : straight.begin(), bends ? smooth.end() : straight.end());
    from = center(i + 1);
    from_stroke = false;
  }
  if (from_stroke) AddStraight(from, center(n - 1), points);
  points.push_back(center(n - 1));
  return points;
}

bool IsOf(const MarkerRow& row, const std::vector<ImagePoint>& line, const Stroke& stroke) {
  std::size_t on = 0;
  for (const ImagePoint& p : stroke.points) {
    const bool at_marker =
        std::any_of(row.markers.begin(), row.markers.end(), [&](const Marker& m) { return Distance(m.center, p) < m.radius_px + 3.5; });
    on += at_marker || std::any_of(line.begin(), line.end(), [&](ImagePoint q) { return Distance(p, q) < kOffWay; });
  }
  return 10 * on >= 8 * stroke.points.size();
}

// The look of the line is that of the pieces it takes the place of.
void TakeLook(const Page& page, const std::vector<Stroke>& strokes, const std::vector<char>& taken, const MarkerRow& row, Stroke& line) {
  double weight = 0;
  for (std::size_t i = 0; i < strokes.size(); ++i) {
    const Stroke& s = strokes[i];
    if (!taken[i] || s.length_px < 4) continue;
    weight += s.length_px;
    const double k = s.length_px / weight;
    line.ink_mass += k * (s.ink_mass - line.ink_mass);
    line.level += k * (s.level - line.level);
    line.lab += static_cast<float>(k) * (s.lab - line.lab);
  }
  if (weight > 0) return;
  line.lab = row.markers[0].lab;
  line.level = 255.0 * std::clamp(1.0 - line.lab[0] / 100.0, 0.2, 1.0);
  line.ink_mass = 0.2 * row.markers[0].radius_px * line.level / 255.0;
  if (!row.inked) return;
  const ImagePoint a = row.markers[0].center, b = row.markers[1].center, mid{(a.x + b.x) / 2, (a.y + b.y) / 2};
  if (Distance(a, b) > row.markers[0].radius_px + row.markers[1].radius_px + 2) line.ink_mass = InkMassAcross(page.ink, mid, Direction(a, b), 10);
}

// Whether the layer holds the better part of the markers' ink.
bool IsInkOf(const Page& layer, const MarkerRow& row) {
  double mine = 0, all = 0;
  for (const Marker& m : row.markers) {
    const int r = cvCeil(m.radius_px);
    for (int y = -r; y <= r; ++y)
      for (int x = -r; x <= r; ++x) {
        const cv::Point p(cvRound(m.center.x) + x, cvRound(m.center.y) + y);
        if (x * x + y * y > r * r || p.x < 0 || p.y < 0 || p.x >= layer.ink.cols || p.y >= layer.ink.rows) continue;
        mine += layer.ink(p);
        if (!layer.color.empty()) {
          const cv::Vec3b c = layer.color(p);
          all += 255 - std::min({c[0], c[1], c[2]});
        }
      }
  }
  return layer.color.empty() || mine > 0.4 * all;
}

}  // namespace

std::vector<MarkerRow> FindMarkerRows(const Page& page, std::vector<Marker>& markers, double free_px, const cv::Mat1b& furniture) {
  std::vector<MarkerRow> rows;
  if (markers.size() < 2) return rows;
  const auto shapes =
      static_cast<std::size_t>(
          std::max_element(markers.begin(), markers.end(), [](const Marker& a, const Marker& b) { return a.shape < b.shape; })->shape) +
      1;
  std::vector<std::size_t> total(shapes, 0), free(shapes, 0), on_line(shapes, 0);
  for (const Marker& m : markers) {
    const auto s = static_cast<std::size_t>(m.shape);
    const int arms = CountArms(page, m, markers, furniture);
    ++total[s];
    free[s] += arms > 0 || !Touches(m, markers);
    on_line[s] += arms == 1 || arms == 2;
  }
  const auto drawn = [&](const Marker& m) {
    const auto s = static_cast<std::size_t>(m.shape);
    return static_cast<double>(on_line[s]) >= kArmsPart * static_cast<double>(free[s]);
  };
  std::vector<Step> inked, bare;
  for (std::size_t i = 0; i < markers.size(); ++i)
    for (std::size_t j = i + 1; j < markers.size(); ++j) {
      const Marker &a = markers[i], &b = markers[j];
      const double d = Distance(a.center, b.center), clear = d - a.radius_px - b.radius_px, r = std::max(a.radius_px, b.radius_px);
      if (d > kFarStep * r || !OneColor(a, b)) continue;
      const bool both_drawn = drawn(a) && drawn(b);
      if (both_drawn) {
        const bool near = clear < std::max(free_px, kNearStep * r);
        if (IsBetween(markers, i, j) || InkedPart(page, a, b) < (near ? kInkedPart : kStraightPart)) continue;
        inked.push_back({i, j, (a.shape == b.shape ? 1.0 : 1.5) * (near ? 1.0 : 1.3) * d});
      } else if (!drawn(a) && a.shape == b.shape && !IsBetween(markers, i, j)) {
        bare.push_back({i, j, d});
      }
    }
  const auto as_row = [&](const std::vector<std::size_t>& of, bool is_inked, bool unsure) {
    MarkerRow row;
    for (std::size_t m : of) row.markers.push_back(markers[m]);
    row.inked = is_inked;
    row.unsure = unsure;
    rows.push_back(std::move(row));
  };
  std::vector<std::vector<std::size_t>> on_lines = Linker(markers, std::move(inked), kMostTurn).Rows();
  JoinAcrossHidden(page, markers, furniture, on_lines);
  for (const auto& row : on_lines) as_row(row, true, false);
  const Linker lone(markers, std::move(bare), kLoneTurn);
  std::vector<std::size_t> in_rows(shapes, 0);
  for (const auto& row : lone.Rows())
    for (const auto& part : PartAtLongSteps(markers, row)) {
      if (part.size() < kFewestBare || IsDashed(page, markers, part)) continue;
      as_row(part, false, lone.IsUnsure(part));
      in_rows[static_cast<std::size_t>(markers[part.front()].shape)] += part.size();
    }
  const auto stray = [&](const Marker& m) {
    const auto s = static_cast<std::size_t>(m.shape);
    return !drawn(m) && static_cast<double>(in_rows[s]) < kRowPart * static_cast<double>(total[s]);
  };
  std::erase_if(rows, [&](const MarkerRow& row) { return std::ranges::any_of(row.markers, stray); });
  std::erase_if(markers, stray);
  return rows;
}

std::vector<char> LayMarkerRows(const Page& page, const std::vector<MarkerRow>& rows, std::vector<Stroke>& strokes) {
  std::vector<char> laid(rows.size(), 0), taken(strokes.size(), 0);
  std::vector<Stroke> added;
  for (std::size_t k = 0; k < rows.size(); ++k) {
    const MarkerRow& row = rows[k];
    if (row.markers.size() < 2 || !IsInkOf(page, row)) continue;
    // A piece of line between two lone markers is a stroke already.
    if (row.markers.size() == 2 && !StrokeBetween(strokes, row.markers[0], row.markers[1]).empty()) continue;
    Stroke line;
    line.points = LayThrough(page, row, strokes);
    line.length_px = PathLength(line.points);
    std::vector<char> own(strokes.size(), 0);
    for (std::size_t i = 0; i < strokes.size(); ++i) {
      if (taken[i] || strokes[i].closed || !IsOf(row, line.points, strokes[i])) continue;
      own[i] = 1;
      taken[i] = 1;
    }
    TakeLook(page, strokes, own, row, line);
    added.push_back(std::move(line));
    laid[k] = 1;
  }
  std::size_t at = 0;
  std::erase_if(strokes, [&](const Stroke&) { return taken[at++] != 0; });
  strokes.insert(strokes.end(), std::make_move_iterator(added.begin()), std::make_move_iterator(added.end()));
  return laid;
}

}  // namespace islebook
