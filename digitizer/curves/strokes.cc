#include "digitizer/curves/strokes.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

constexpr double kFrameSlack = 0.004;  // strokes may leave the frame by this part of it
constexpr double kTrimPx = 4.0;        // ends are dragged toward the line they run into, those of thick lines farther
constexpr double kTrimPerMass = 1.2;   // px more for each px of ink mass above kThinMass
constexpr double kThinMass = 2.5;
constexpr double kLighter = 0.62;       // of a piece's usual ink mass: another, lighter line
constexpr double kHeavyCounts = 2.5;    // light samples that one heavy sample among them outweighs
constexpr double kMergedMass = 1.4;     // of a chain's usual ink mass
constexpr double kMergedPx = 8.0;       // and over at least this length, more for thick lines
constexpr double kParallel = 0.05;      // rad: a stroke this close to an axis may be a grid line
constexpr double kFaint = 0.6;          // of the curves' own ink mass: a parallel stroke fainter than this is one
constexpr double kGridOnly = 3.0;       // times the length of all other strokes that parallel ones have
constexpr double kGridBow = 1.2;        // px that a grid line strays from straight
constexpr double kGridBowPart = 0.002;  // and more by its length
constexpr double kCornerTurn = 0.40;    // rad beyond what the sides' own curvature explains
constexpr double kFullWidthPx = 1100;   // of a frame: from here on kCornerGap holds as it is
constexpr int kCornerGap = 4;           // points
constexpr double kSharp = 0.72;         // of a drawn corner's turn at least this much happens within 4 px
constexpr double kRoundPx = 3.5;        // the radius to which a ridge rounds a drawn corner is less than this

struct SideFit {
  double direction = 0.0;  // rad, along the chain
  double curvature = 0.0;  // rad per px
  bool ok = false;
};

// Straight line and bend of points[from..to] (indices increasing along the chain).
SideFit FitSide(const std::vector<ImagePoint>& p, int from, int to) {
  SideFit fit;
  if (from < 0 || to >= static_cast<int>(p.size()) || to - from < 4) return fit;
  const int mid = (from + to) / 2;
  const double d1 = std::atan2(p[mid].y - p[from].y, p[mid].x - p[from].x);
  const double d2 = std::atan2(p[to].y - p[mid].y, p[to].x - p[mid].x);
  const double length = std::hypot(p[to].x - p[from].x, p[to].y - p[from].y);
  double bend = std::remainder(d2 - d1, 2 * M_PI);
  fit.curvature = length > 0 ? bend / (0.5 * length) : 0;
  fit.direction = std::atan2(p[to].y - p[from].y, p[to].x - p[from].x);
  fit.ok = true;
  return fit;
}

// A drawn corner comes to a point; the tip of a narrow island is round, stays clear of where its flanks would meet, and turns on and on.
bool IsRound(const std::vector<ImagePoint>& p, int i, int near, int far) {
  const auto at = [&](int k) { return p[static_cast<std::size_t>(k)]; };
  // By how much the chain turns between two chords of 4 points that lie `clear` points before and behind i.
  const auto turn_beyond = [&](int clear) {
    const ImagePoint a = at(i - clear - 4), b = at(i - clear), c = at(i + clear), d = at(i + clear + 4);
    return std::remainder(std::atan2(d.y - c.y, d.x - c.x) - std::atan2(b.y - a.y, b.x - a.x), 2 * M_PI);
  };
  const double most = std::max({std::abs(turn_beyond(4)), std::abs(turn_beyond(5)), std::abs(turn_beyond(6))});
  const double inner = turn_beyond(2), outer = turn_beyond(8);
  if (std::abs(inner) > kSharp * most || std::abs(outer) < most || inner * outer < 0) return false;

  const ImagePoint a1 = at(i - far), a2 = at(i - near), b1 = at(i + near), b2 = at(i + far);
  const double ax = a2.x - a1.x, ay = a2.y - a1.y, bx = b1.x - b2.x, by = b1.y - b2.y;
  const double det = ax * by - ay * bx;
  if (std::abs(det) < 1e-6) return false;
  const double t = ((b2.x - a1.x) * by - (b2.y - a1.y) * bx) / det;
  const ImagePoint apex{a1.x + t * ax, a1.y + t * ay};
  double nearest = 1e9;
  for (int k = i - far; k <= i + far; ++k) nearest = std::min(nearest, std::hypot(at(k).x - apex.x, at(k).y - apex.y));
  const double turn = std::remainder(std::atan2(b2.y - b1.y, b2.x - b1.x) - std::atan2(ay, ax), 2 * M_PI);
  const double secant = 1.0 / std::max(0.05, std::cos(0.5 * turn)) - 1.0;
  return nearest > kRoundPx * secant;
}

// Indices where the chain turns more sharply than its sides bend.
std::vector<int> FindCorners(const std::vector<ImagePoint>& p) {
  std::vector<int> corners;
  constexpr int kNear = 3, kFar = 13;
  double best = 0;
  int best_at = -1;
  for (int i = kFar; i + kFar < static_cast<int>(p.size()); ++i) {
    const SideFit a = FitSide(p, i - kFar, i - kNear), b = FitSide(p, i + kNear, i + kFar);
    if (!a.ok || !b.ok) continue;
    const double turn = std::remainder(b.direction - a.direction, 2 * M_PI);
    // Between the middles of the two sides an arc of their own curvature would turn by this.
    const double span =
        std::hypot(p[i + (kNear + kFar) / 2].x - p[i - (kNear + kFar) / 2].x, p[i + (kNear + kFar) / 2].y - p[i - (kNear + kFar) / 2].y);
    const double bent = 0.5 * (a.curvature + b.curvature) * span;
    const double excess = std::abs(turn) - std::max(0.0, turn > 0 ? bent : -bent);
    if (excess > kCornerTurn) {
      if (best_at >= 0 && i - best_at > kFar) {
        corners.push_back(best_at);
        best = 0;
        best_at = -1;
      }
      if (excess > best) {
        best = excess;
        best_at = i;
      }
    } else if (best_at >= 0 && i - best_at > kNear) {
      corners.push_back(best_at);
      best = 0;
      best_at = -1;
    }
  }
  if (best_at >= 0) corners.push_back(best_at);
  std::erase_if(corners, [&](int i) { return IsRound(p, i, kNear, kFar); });
  return corners;
}

constexpr int kMassStep = 2;  // points

std::vector<double> MassAlong(const Page& page, const std::vector<ImagePoint>& p) {
  const auto n = static_cast<int>(p.size());
  const double floor_level = std::max(6.0, 2.0 * page.noise);
  std::vector<double> mass;
  for (int i = 0; i < n; i += kMassStep) {
    const ImagePoint a = p[static_cast<std::size_t>(std::max(0, i - 3))], b = p[static_cast<std::size_t>(std::min(n - 1, i + 3))];
    mass.push_back(InkMassAcross(page.ink, p[static_cast<std::size_t>(i)], std::atan2(b.y - a.y, b.x - a.x), floor_level));
  }
  return mass;
}

// Where a long part of a piece, at one of its ends, is much lighter than the rest: index into mass of the change, or -1.
int FindLighterPart(const std::vector<double>& mass, double usual) {
  const auto n = static_cast<int>(mass.size());
  constexpr int kLeast = 8;  // samples on either side
  if (n < 3 * kLeast) return -1;
  // How far from one end light samples prevail: crossings and ticks are heavy in between.
  const auto run = [&](int from, int step) {
    double sum = 0, best = 0;
    int length = 0;
    for (int k = from, count = 1; k >= 0 && k < n; k += step, ++count) {
      sum += mass[static_cast<std::size_t>(k)] < kLighter * usual ? 1.0 : -kHeavyCounts;
      if (sum <= best) continue;
      best = sum;
      length = count;
    }
    return best >= kLeast ? length : 0;
  };
  const int front = run(0, 1), back = run(n - 1, -1);
  if (front >= kLeast && front <= n - kLeast) return front;
  if (back >= kLeast && back <= n - kLeast) return n - back;
  return -1;
}

// Where two lines run into one the ink doubles and the chain belongs to neither: such points are left out, and both lines are joined across them.
std::vector<char> FindMerged(const std::vector<double>& mass, double usual, std::size_t points) {
  std::vector<char> merged(points, 0);
  // A crossing doubles the ink for a moment only; what counts is a stretch of it.
  const int fewest = static_cast<int>((kMergedPx + 2 * usual) / kMassStep);
  int start = -1;
  for (int k = 0; k <= static_cast<int>(mass.size()); ++k) {
    const bool heavy = k < static_cast<int>(mass.size()) && mass[static_cast<std::size_t>(k)] > kMergedMass * usual + 0.3;
    if (heavy && start < 0) start = k;
    if (heavy || start < 0) continue;
    if (k - start >= fewest)
      for (int i = std::max(0, kMassStep * (start - 2)); i <= std::min(static_cast<int>(points) - 1, kMassStep * (k + 1)); ++i)
        merged[static_cast<std::size_t>(i)] = 1;
    start = -1;
  }
  return merged;
}

// Where the end of a line has run into print and turned along a glyph: those points are taken off.
void TakeOffPrint(const cv::Mat1b& print, std::vector<ImagePoint>& p, bool front) {
  constexpr int kFewest = 4, kInner = 24;
  constexpr double kOff = 1.5;  // px from where the line would have gone
  const auto n = static_cast<int>(p.size());
  const auto at = [&](int k) { return p[static_cast<std::size_t>(front ? k : n - 1 - k)]; };
  int in_print = 0;
  for (int k = 0, outside = 0; k < n && outside < 3; ++k) {
    const ImagePoint q = at(k);
    const bool inside = print(std::clamp(cvRound(q.y), 0, print.rows - 1), std::clamp(cvRound(q.x), 0, print.cols - 1)) > 0;
    outside = inside ? 0 : outside + 1;
    if (inside) in_print = k + 1;
  }
  if (in_print < kFewest || in_print + kInner >= n) return;
  const ImagePoint a = at(in_print + kInner), b = at(in_print + kInner / 2), c = at(in_print);
  const double first = std::atan2(b.y - a.y, b.x - a.x), second = std::atan2(c.y - b.y, c.x - b.x);
  const double turn = std::remainder(second - first, 2 * M_PI);
  // On from c along the circle through a, b and c.
  const double reach = std::hypot(at(0).x - c.x, at(0).y - c.y);
  const double direction = second + 0.5 * turn + 0.5 * turn * reach / (0.5 * kInner);
  const double off = std::hypot(c.x + reach * std::cos(direction) - at(0).x, c.y + reach * std::sin(direction) - at(0).y);
  if (off < kOff + 0.1 * reach) return;
  if (front)
    p.erase(p.begin(), p.begin() + in_print);
  else
    p.erase(p.end() - in_print, p.end());
}

void Finish(Stroke stroke, double trim, std::vector<Stroke>& out) {
  stroke.length_px = PathLength(stroke.points);
  if (!stroke.closed && !stroke.is_dash) {
    const auto n = static_cast<std::size_t>(std::min(trim, stroke.length_px / 3.5));
    auto& p = stroke.points;
    if (n > 0 && p.size() > 3 * n) {
      stroke.head.assign(p.begin(), p.begin() + static_cast<long>(n));
      stroke.tail.assign(p.end() - static_cast<long>(n), p.end());
      p.erase(p.end() - static_cast<long>(n), p.end());
      p.erase(p.begin(), p.begin() + static_cast<long>(n));
    }
    stroke.length_px = PathLength(stroke.points);
  }
  if (stroke.points.size() >= 3 || (stroke.is_dash && stroke.points.size() >= 2)) out.push_back(std::move(stroke));
}

// One smooth piece of a chain, less the stretches where it is two lines at once.
void AddPiece(const Page& page, Stroke piece, std::vector<Stroke>& out) {
  const auto trim = [](const Stroke& s) { return kTrimPx + kTrimPerMass * std::max(0.0, s.ink_mass - kThinMass); };
  if (piece.is_dash || piece.points.size() < 12) {
    const double by = trim(piece);
    Finish(std::move(piece), by, out);
    return;
  }
  const std::vector<double> mass = MassAlong(page, piece.points);
  std::vector<double> sorted = mass;
  std::nth_element(sorted.begin(), sorted.begin() + static_cast<long>(sorted.size() / 2), sorted.end());
  piece.ink_mass = sorted[sorted.size() / 2];
  // A lighter line that carries on where this one ends (a grid line along its tangent) is a stroke of its own.
  const int light = FindLighterPart(mass, piece.ink_mass);
  if (light >= 0) {
    const auto at = std::min(piece.points.size(), static_cast<std::size_t>(light * kMassStep));
    Stroke first = piece, second = piece;
    first.points.assign(piece.points.begin(), piece.points.begin() + static_cast<long>(at));
    second.points.assign(piece.points.begin() + static_cast<long>(at), piece.points.end());
    for (Stroke* half : {&first, &second})
      if (half->points.size() >= 2) AddPiece(page, std::move(*half), out);
    return;
  }
  const std::vector<char> merged = FindMerged(mass, piece.ink_mass, piece.points.size());
  Stroke part = piece;
  part.points.clear();
  for (std::size_t i = 0; i <= piece.points.size(); ++i) {
    if (i < piece.points.size() && !merged[i]) {
      part.points.push_back(piece.points[i]);
    } else if (!part.points.empty()) {
      const double by = trim(part);
      if (part.points.size() >= 2) Finish(part, by, out);
      part.points.clear();
    }
  }
}

bool IsAlongAxis(const FrameMapping& frame, const Stroke& s) {
  const FramePoint a = frame.FrameFromImage(s.points.front()), b = frame.FrameFromImage(s.points.back());
  const double dx = std::abs(b.u - a.u) * frame.WidthPx(), dy = std::abs(b.v - a.v) * frame.HeightPx();
  // Of a few pixels the direction is known only so well.
  return std::min(dx, dy) < kParallel * std::max(dx, dy) + 0.5;
}

// What is left of a faint grid: straight, along an axis, and lighter than the curves.
void DropGridResidue(const FrameMapping& frame, std::vector<Stroke>& strokes) {
  std::vector<std::pair<double, double>> masses;  // of strokes that are surely no grid lines: mass and length
  double total = 0;
  for (const Stroke& s : strokes)
    if (s.length_px > 12 && !IsAlongAxis(frame, s)) {
      masses.emplace_back(s.ink_mass, s.length_px);
      total += s.length_px;
    }
  if (masses.empty()) return;
  std::sort(masses.begin(), masses.end());
  double sum = 0, typical = masses.back().first;
  for (const auto& [mass, length] : masses) {
    sum += length;
    if (sum > 0.2 * total) {
      typical = mass;
      break;
    }
  }
  std::erase_if(strokes, [&](const Stroke& s) { return !s.closed && s.ink_mass < kFaint * typical && IsAlongAxis(frame, s); });
}

}  // namespace

void DropGridInk(const FrameMapping& frame, std::vector<Stroke>& strokes) {
  // A curve may be level from end to end, but it bows.
  const auto straight = [&](const Stroke& s) {
    const FramePoint a = frame.FrameFromImage(s.points.front()), b = frame.FrameFromImage(s.points.back());
    const double width = frame.WidthPx(), height = frame.HeightPx();
    const double dx = (b.u - a.u) * width, dy = (b.v - a.v) * height, length = std::max(1.0, std::hypot(dx, dy));
    return std::all_of(s.points.begin(), s.points.end(), [&](const ImagePoint& p) {
      const FramePoint f = frame.FrameFromImage(p);
      return std::abs((f.u - a.u) * width * dy - (f.v - a.v) * height * dx) / length < kGridBow + kGridBowPart * length;
    });
  };
  const auto grid_like = [&](const Stroke& s) { return IsAlongAxis(frame, s) && straight(s); };
  double along = 0, other = 0;
  for (const Stroke& s : strokes)
    if (s.length_px > 12) (grid_like(s) ? along : other) += s.length_px;
  if (along > kGridOnly * other) std::erase_if(strokes, [&](const Stroke& s) { return !s.closed && grid_like(s); });
}

double PathLength(const std::vector<ImagePoint>& points) {
  double length = 0;
  for (std::size_t i = 1; i < points.size(); ++i) length += std::hypot(points[i].x - points[i - 1].x, points[i].y - points[i - 1].y);
  return length;
}

std::vector<Stroke> CutStrokes(const Page& page, const RidgesFound& ridges, const std::vector<bool>& chain_is_furniture, const Panel& panel,
                               const cv::Mat1b& print, double digit_height_px, const cv::Mat1b& not_lines) {
  std::vector<Stroke> strokes;
  // In a small picture lines stand closer: what is left out at corners shrinks with it.
  const double scale = std::clamp(panel.frame.WidthPx() / kFullWidthPx, 0.6, 1.0);
  const auto inside = [&](ImagePoint q) {
    const FramePoint f = panel.frame.FrameFromImage(q);
    return f.u > -kFrameSlack && f.u < 1 + kFrameSlack && f.v > -kFrameSlack && f.v < 1 + kFrameSlack;
  };
  const auto free_of = [](const cv::Mat1b& mask, ImagePoint q) {
    return mask(std::clamp(cvRound(q.y), 0, mask.rows - 1), std::clamp(cvRound(q.x), 0, mask.cols - 1)) == 0;
  };
  for (std::size_t c = 0; c < ridges.chains.size(); ++c) {
    if (c < chain_is_furniture.size() && chain_is_furniture[c]) continue;
    const RidgeChain& chain = ridges.chains[c];
    if (!inside(chain.points.front()) && !inside(chain.points.back()) && !inside(chain.points[chain.points.size() / 2])) continue;
    Stroke base;
    base.is_dash = chain.is_dash;
    base.ink_mass = chain.ink_mass;
    base.lab = chain.lab;
    std::vector<int> levels;
    for (const ImagePoint& q : chain.points)
      levels.push_back(page.ink(std::clamp(cvRound(q.y), 0, page.ink.rows - 1), std::clamp(cvRound(q.x), 0, page.ink.cols - 1)));
    std::nth_element(levels.begin(), levels.begin() + static_cast<long>(levels.size() / 2), levels.end());
    base.level = levels[levels.size() / 2];

    // A chain that reaches farther than any glyph's stroke is a line, even where it runs through print.
    const ImagePoint first = chain.points.front(), last = chain.points.back();
    const bool line = chain.is_dash || std::hypot(first.x - last.x, first.y - last.y) > 2.0 * std::max(8.0, digit_height_px);

    // Runs of points that are inside the frame and not print.
    const auto usable = [&](ImagePoint q) { return inside(q) && (line || free_of(print, q)) && free_of(not_lines, q); };
    std::vector<std::vector<ImagePoint>> runs(1);
    bool whole = true;
    for (const ImagePoint& q : chain.points) {
      if (usable(q)) {
        runs.back().push_back(q);
      } else {
        whole = false;
        if (!runs.back().empty()) runs.emplace_back();
      }
    }
    if (chain.closed && !whole && runs.size() > 1 && usable(chain.points.front()) && !runs.back().empty()) {
      runs.back().insert(runs.back().end(), runs.front().begin(), runs.front().end());  // the run that crosses the seam
      runs.erase(runs.begin());
    }
    for (std::vector<ImagePoint>& run : runs) {
      if (run.size() < 2) continue;
      if (line && !chain.is_dash && !(chain.closed && whole))
        for (bool front : {true, false}) TakeOffPrint(print, run, front);
      if (chain.closed && whole) {
        Stroke closed = base;
        closed.closed = true;
        closed.points = run;
        Finish(std::move(closed), 0, strokes);
        continue;
      }
      std::vector<int> corners = FindCorners(run);
      corners.push_back(static_cast<int>(run.size()));
      int from = 0;
      for (int corner : corners) {
        Stroke piece = base;
        // Next to a corner the ridge is rounded: those points belong to neither side.
        const int gap = cvRound(scale * kCornerGap);
        const int to = corner < static_cast<int>(run.size()) ? corner - gap : static_cast<int>(run.size());
        if (to > from) piece.points.assign(run.begin() + from, run.begin() + to);
        from = corner + gap;
        if (piece.points.size() >= 2) AddPiece(page, std::move(piece), strokes);
      }
    }
  }
  DropGridResidue(panel.frame, strokes);
  return strokes;
}

}  // namespace islebook
