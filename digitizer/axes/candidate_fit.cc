#include "digitizer/axes/candidate_fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include <Eigen/Cholesky>
#include <Eigen/Core>

namespace islebook {
namespace {

// Points of a side between its corners, a little off either end.
FrameLine SideLine(const LongLines& lines, const FrameCandidate& candidate, Side side) {
  static constexpr int kFrom[] = {0, 1, 3, 0}, kTo[] = {1, 2, 2, 3};
  FrameLine out;
  out.horizontal = side == kTop || side == kBottom;
  out.at = side == kTop || side == kRight ? 1.0 : 0.0;
  out.sigma_px = 0.1;
  const LongLine& line = lines.lines[candidate.lines[side]];
  const LongLineFamily& family = lines.FamilyOf(line);
  const double from = family.Along(candidate.corners[kFrom[side]]) + 5.0, to = family.Along(candidate.corners[kTo[side]]) - 5.0;
  for (const ImagePoint& p : line.points) {
    const double s = family.Along(p);
    if (s > from && s < to) out.points.push_back(p);
  }
  return out;
}

// Grid lines inside the frame, of places to be found.
std::vector<FrameLine> GridOf(const LongLines& lines, const FrameCandidate& candidate, bool rows) {
  constexpr std::size_t kMost = 10;
  std::vector<FrameLine> out;
  const double side = rows ? std::hypot(candidate.corners[2].x - candidate.corners[3].x, candidate.corners[2].y - candidate.corners[3].y)
                           : std::hypot(candidate.corners[0].x - candidate.corners[3].x, candidate.corners[0].y - candidate.corners[3].y);
  for (std::size_t i = 0; i < lines.lines.size() && out.size() < kMost; ++i) {
    const LongLine& line = lines.lines[i];
    if (line.horizontal != rows || line.Length() < 0.7 * side || line.ink_px < 0.4 * line.Length()) continue;
    if (std::find(candidate.lines.begin(), candidate.lines.end(), static_cast<int>(i)) != candidate.lines.end()) continue;
    if (!InsideQuad(candidate.corners, lines.PointAt(line, (line.along_from + line.along_to) / 2), 0.1 * side)) continue;
    FrameLine grid;
    grid.horizontal = rows;
    grid.points = line.points;
    grid.sigma_px = 0.15;
    out.push_back(std::move(grid));
  }
  return out;
}

// How far the two drawn sides are from square, degrees.
double OffSquare(const LongLines& lines) {
  const double between = std::abs(lines.columns.angle_rad - lines.rows.angle_rad) * 180.0 / std::numbers::pi;
  return std::abs(std::remainder(between - 90.0, 180.0));
}

}  // namespace

std::optional<EvenMarks> FitEvenMarks(const std::vector<Mark>& marks, double length_px) {
  std::vector<double> t;
  for (const Mark& m : marks) t.push_back(m.t);
  std::sort(t.begin(), t.end());
  const auto n = t.size();
  if (n < 5) return std::nullopt;
  std::optional<EvenMarks> best;
  // From every pair of neighbors outward: the next gap is nearly the last one.
  for (std::size_t seed = 0; seed + 1 < n; ++seed) {
    std::vector<std::pair<double, double>> chain{{0.0, t[seed]}, {1.0, t[seed + 1]}};  // index, place
    if (t[seed + 1] - t[seed] < 4.0 / length_px) continue;
    for (const bool up : {true, false}) {
      double gap = t[seed + 1] - t[seed], grow = 1.0, index = up ? 1.0 : 0.0, at = up ? t[seed + 1] : t[seed];
      std::size_t k = up ? seed + 2 : seed;
      while (up ? k < n : k > 0) {
        const double next = up ? t[k] : t[k - 1], step = std::abs(next - at);
        double steps = 0.0, want = gap, sum = 0.0;
        for (int s = 1; s <= 3; ++s) {  // one or two may be missing
          want *= grow;
          sum += want;
          if (std::abs(step - sum) < 0.12 * gap) {
            steps = s;
            break;
          }
        }
        if (steps > 0.0) {
          index += up ? steps : -steps;
          chain.push_back({index, next});
          const double last = step / steps;
          grow = std::clamp(last / gap, 0.9, 1.1);
          gap = last;
          at = next;
        } else if (step > sum) {
          break;
        }
        up ? ++k : --k;
      }
    }
    if (chain.size() < 5 || (best && chain.size() <= static_cast<std::size_t>(best->count))) continue;
    Eigen::Matrix3d m = Eigen::Matrix3d::Zero();
    Eigen::Vector3d rhs = Eigen::Vector3d::Zero();
    for (const auto& [i, place] : chain) {
      const Eigen::Vector3d row(1.0, i, -i * place);
      m += row * row.transpose();
      rhs += row * place;
    }
    const Eigen::Vector3d fit = m.ldlt().solve(rhs);
    EvenMarks even;
    even.a = fit(0), even.b = fit(1), even.c = fit(2);
    double sum = 0.0;
    for (const auto& [i, place] : chain) sum += std::pow((even.a + even.b * i) / (1.0 + even.c * i) - place, 2);
    even.count = static_cast<int>(chain.size());
    even.residual = std::sqrt(sum / even.count);
    if (even.residual * length_px > 0.8) continue;
    best = even;
  }
  if (!best || best->count < 5 || 4 * best->count < 3 * static_cast<int>(n)) return std::nullopt;
  return best;
}

Result<CandidateFit> FitCandidate(const LongLines& lines, const FrameCandidate& candidate, const Page& page) {
  std::vector<FrameLine> sides;
  std::vector<double> masses;
  for (const Side side : {kTop, kRight, kBottom, kLeft}) {
    if (candidate.lines[side] < 0) continue;
    sides.push_back(SideLine(lines, candidate, side));
    masses.push_back(lines.lines[candidate.lines[side]].ink_mass);
  }
  FrameFitOptions options;
  options.picture_width = page.ink.cols;
  options.picture_height = page.ink.rows;
  options.points_per_line = 72;
  if (sides.size() == 4) {
    auto fit = FrameFitter::Fit(candidate.corners, sides, {}, options);
    if (!fit) return std::unexpected(fit.error());
    return CandidateFit{std::move(*fit), false};
  }
  static constexpr double kU[] = {0, 1, 1, 0}, kV[] = {1, 1, 0, 0};
  std::vector<FramePlace> corners;
  for (int i = 0; i < 4; ++i) corners.push_back({candidate.corners[i], kU[i], kV[i], i == 1 ? 0.6 : 0.1});
  options.allow_curl = false;
  options.allow_lens = false;
  auto first = FrameFitter::Fit(candidate.corners, sides, corners, options);
  if (!first) return std::unexpected(first.error());
  const bool bare_l = candidate.lines[kTop] < 0 && candidate.lines[kRight] < 0;
  if (!bare_l) return CandidateFit{std::move(*first), false};

  // A sheet that lies flat and square needs no more: its lines are straight and at right angles.
  const bool leans = OffSquare(lines) > 0.25 || first->worst_px > 0.5 || !page.paper.empty();
  if (!leans) return CandidateFit{std::move(*first), false};
  options.allow_lens = true;
  if (auto bowed = FrameFitter::Fit(candidate.corners, sides, corners, options); bowed && bowed->residual_px < first->residual_px)
    first = std::move(bowed);

  const FrameMapping& start = first->mapping;
  const MarksFound marks = FindMarks(page, start, *std::max_element(masses.begin(), masses.end()));
  std::vector<FramePlace> places;
  for (int i : {0, 2, 3}) places.push_back(corners[static_cast<std::size_t>(i)]);
  int even_axes = 0;
  double lean[2] = {0.0, 0.0};  // along u, along v: t = u (1 + lean) / (1 + lean u)
  for (const Side side : {kBottom, kLeft}) {
    const double length = side == kBottom ? start.WidthPx() : start.HeightPx();
    const auto even = FitEvenMarks(marks.ticks[side], length);
    if (!even) continue;
    const double from = even->IndexAt(0.0), to = even->IndexAt(1.0);
    if (!(std::abs(to - from) > 2.0) || !std::isfinite(to - from)) continue;
    ++even_axes;
    const double middle = 0.5 * (from + to), t_middle = (even->a + even->b * middle) / (1.0 + even->c * middle);
    lean[side == kBottom ? 0 : 1] = (t_middle - 0.5) / (0.5 * std::max(0.1, 1.0 - t_middle));
    for (const Mark& m : marks.ticks[side]) {
      const double index = even->IndexAt(m.t), off = std::abs(index - std::round(index)) * length / std::abs(to - from);
      if (off > 1.5) continue;
      const double part = (std::round(index) - from) / (to - from);
      const ImagePoint at = start.ImageFromFrame(side == kBottom ? FramePoint{m.t, 0.0} : FramePoint{0.0, m.t});
      // Along its axis alone: the side itself says where it lies across.
      FramePlace place{at, std::nullopt, std::nullopt, std::max(0.15, m.sigma_t * length)};
      (side == kBottom ? place.u : place.v) = part;
      places.push_back(place);
    }
  }
  const std::vector<FrameLine> rows = GridOf(lines, candidate, true), columns = GridOf(lines, candidate, false);
  const bool grid = rows.size() >= 2 && columns.size() >= 2;
  if (even_axes < 2 && !grid) return CandidateFit{std::move(*first), true};
  std::vector<FrameLine> all = sides;
  if (grid) {
    all.insert(all.end(), rows.begin(), rows.end());
    all.insert(all.end(), columns.begin(), columns.end());
  }
  options.allow_curl = grid;
  std::array<ImagePoint, 4> from = candidate.corners;
  if (even_axes == 2) {
    // Where the fourth corner stands by the ticks' spacing.
    const ImagePoint &top = from[0], &end = from[2], &origin = from[3];
    const double w = 1.0 + lean[0] + lean[1];
    const auto fourth = [&](double o, double x, double y) {
      return (o + lean[0] * o + (1.0 + lean[0]) * (x - o) + lean[1] * o + (1.0 + lean[1]) * (y - o)) / w;
    };
    from[1] = {fourth(origin.x, end.x, top.x), fourth(origin.y, end.y, top.y)};
  }
  auto fit = FrameFitter::Fit(from, all, places, options);
  if (!fit || fit->residual_px > 1.5) return CandidateFit{std::move(*first), true};
  return CandidateFit{std::move(*fit), false};
}

}  // namespace islebook
