#include "digitizer/recipe/taken_ink.h"

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace islebook {
namespace {

constexpr double kSameInk = 3.0;     // px between two traces of one line
constexpr double kSameWay = 0.9;     // cosine between their directions
constexpr double kSharesMuch = 0.3;  // of a curve's length: lines that only meet share less
constexpr double kIsPiece = 0.5;     // a curve of which this much is shared is a piece of the line

ImagePoint DirectionAt(const TracedCurve& curve, std::size_t i) {
  const std::size_t n = curve.points.size();
  const std::size_t before = curve.closed ? (i + n - 1) % n : i == 0 ? 0 : i - 1, after = curve.closed ? (i + 1) % n : std::min(n - 1, i + 1);
  const double dx = curve.points[after].x - curve.points[before].x, dy = curve.points[after].y - curve.points[before].y;
  const double length = std::max(1e-9, std::hypot(dx, dy));
  return {dx / length, dy / length};
}

// Whether the line passes p in this direction or against it.
bool RunsAlong(const TracedCurve& line, ImagePoint p, ImagePoint way) {
  const std::size_t n = line.points.size();
  for (std::size_t i = 0; i + (line.closed ? 0 : 1) < n; ++i) {
    const ImagePoint a = line.points[i], b = line.points[(i + 1) % n];
    const double dx = b.x - a.x, dy = b.y - a.y, length = std::hypot(dx, dy);
    if (std::hypot(p.x - a.x, p.y - a.y) > length + kSameInk || length < 1e-9) continue;
    const double part = std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / (length * length), 0.0, 1.0);
    if (std::hypot(a.x + part * dx - p.x, a.y + part * dy - p.y) <= kSameInk && std::abs(way.x * dx + way.y * dy) >= kSameWay * length) return true;
  }
  return false;
}

}  // namespace

std::optional<TracedCurve> LeftBeside(const TracedCurve& drawn, const TracedCurve& found) {
  const std::size_t n = found.points.size();
  if (n < 2 || drawn.points.size() < 2) return found;
  std::vector<std::uint8_t> shared(n, 0);
  double length_shared = 0.0, whole = 0.0;
  for (std::size_t i = 0; i < n; ++i) {
    shared[i] = RunsAlong(drawn, found.points[i], DirectionAt(found, i)) ? 1 : 0;
    if (i == 0) continue;
    const double step = std::hypot(found.points[i].x - found.points[i - 1].x, found.points[i].y - found.points[i - 1].y);
    whole += step;
    if (shared[i] != 0 && shared[i - 1] != 0) length_shared += step;
  }
  if (length_shared < kSharesMuch * whole) return found;
  if (length_shared >= kIsPiece * whole) return std::nullopt;
  // The longest stretch that is not shared; a closed curve's may run over its seam.
  const std::size_t all = found.closed ? 2 * n : n;
  std::size_t from = 0, length = 0;
  for (std::size_t i = 0, run = 0; i < all; ++i) {
    run = shared[i % n] != 0 ? 0 : run + 1;
    if (run > length) length = run, from = i + 1 - run;
  }
  TracedCurve left = found;
  left.closed = false;
  left.points.clear();
  left.sigma_px.clear();
  left.bridged.clear();
  for (std::size_t k = 0; k < length; ++k) {
    left.points.push_back(found.points[(from + k) % n]);
    left.sigma_px.push_back(found.sigma_px[(from + k) % n]);
    left.bridged.push_back(found.bridged[(from + k) % n]);
  }
  if (left.points.size() < 2) return std::nullopt;
  return left;
}

}  // namespace islebook
