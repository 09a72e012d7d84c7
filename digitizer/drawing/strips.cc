#include "digitizer/drawing/strips.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

constexpr double kWidestPx = 9.0;
constexpr double kSlender = 5.0;  // length over width, at least
constexpr double kStepPx = 1.0;

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

double Area(const std::vector<ImagePoint>& p) {
  double twice = 0.0;
  for (std::size_t i = 0, j = p.size() - 1; i < p.size(); j = i++) twice += p[j].x * p[i].y - p[i].x * p[j].y;
  return 0.5 * std::abs(twice);
}

double Around(const std::vector<ImagePoint>& p) {
  double length = 0.0;
  for (std::size_t i = 0, j = p.size() - 1; i < p.size(); j = i++) length += Distance(p[j], p[i]);
  return length;
}

// Evenly spaced, `count` points, from the first vertex round.
std::vector<ImagePoint> Resample(const std::vector<ImagePoint>& p, std::size_t count) {
  const double step = Around(p) / static_cast<double>(count);
  std::vector<ImagePoint> out;
  double next = 0.0, before = 0.0;
  for (std::size_t i = 0; i < p.size() && out.size() < count; ++i) {
    const ImagePoint &a = p[i], &b = p[(i + 1) % p.size()];
    const double length = Distance(a, b);
    for (; out.size() < count && next <= before + length && length > 0.0; next += step) {
      const double t = (next - before) / length;
      out.push_back({a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)});
    }
    before += length;
  }
  return out;
}

ImagePoint NearestOn(const std::vector<ImagePoint>& ring, ImagePoint p) {
  double best = 1e18;
  ImagePoint at = p;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const ImagePoint &a = ring[i], &b = ring[(i + 1) % ring.size()];
    const double dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
    const double t = length2 > 0.0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / length2, 0.0, 1.0) : 0.0;
    const ImagePoint q{a.x + t * dx, a.y + t * dy};
    if (const double d = Distance(p, q); d < best) best = d, at = q;
  }
  return at;
}

// Walks both sides from a tip to the other tip at the same pace.
std::vector<Strip> LongThin(const std::vector<ImagePoint>& outline) {
  const double around = Around(outline), width = 2.0 * Area(outline) / around;
  if (!(width > 0.0) || width > kWidestPx || 0.5 * around < kSlender * width + 2.0 || around > 60'000.0) return {};
  const auto half = static_cast<std::size_t>(std::max(4.0, 0.5 * around / kStepPx));
  const std::size_t n = 2 * half;
  const std::vector<ImagePoint> p = Resample(outline, n);
  if (p.size() != n) return {};
  // The tip: from where the two ways round stay closest to each other.
  const auto apart = [&](std::size_t tip, std::size_t stride) {
    double sum = 0.0;
    std::size_t looked = 0;
    for (std::size_t k = 1; k < half; k += stride, ++looked) sum += Distance(p[(tip + k) % n], p[(tip + n - k) % n]);
    return sum / static_cast<double>(std::max<std::size_t>(1, looked));
  };
  const std::size_t stride = std::max<std::size_t>(1, half / 60);
  std::size_t tip = 0;
  double best = 1e18;
  for (std::size_t i = 0; i < half; ++i)
    if (const double d = apart(i, stride); d < best) best = d, tip = i;
  if (best > 1.6 * width + 0.5) return {};
  Strip strip;
  strip.width_px = width;
  double widest = 0.0;
  for (std::size_t k = 0; k <= half; ++k) {
    const ImagePoint &a = p[(tip + k) % n], &b = p[(tip + n - k) % n];
    widest = std::max(widest, Distance(a, b));
    strip.middle.points.push_back({(a.x + b.x) / 2, (a.y + b.y) / 2});
  }
  if (widest > 3.0 * width + 2.0) return {};
  return {strip};
}

std::vector<Strip> Ring(const std::vector<ImagePoint>& a, const std::vector<ImagePoint>& b) {
  const std::vector<ImagePoint>&outer = Area(a) > Area(b) ? a : b, &inner = Area(a) > Area(b) ? b : a;
  const double around = Around(outer), width = 2.0 * (Area(outer) - Area(inner)) / (around + Around(inner));
  if (!(width > 0.0) || width > kWidestPx || around < 40.0 || around < 3.0 * kSlender * width || outer.size() * inner.size() > 4'000'000) return {};
  Strip strip;
  strip.width_px = width;
  strip.middle.closed = true;
  double widest = 0.0;
  for (const ImagePoint& p : Resample(outer, static_cast<std::size_t>(std::clamp(around / 2.0, 16.0, 4000.0)))) {
    const ImagePoint q = NearestOn(inner, p);
    widest = std::max(widest, Distance(p, q));
    strip.middle.points.push_back({(p.x + q.x) / 2, (p.y + q.y) / 2});
  }
  if (widest > 2.0 * width + 1.0) return {};
  return {strip};
}

}  // namespace

std::vector<Strip> FindStrips(const std::vector<Polyline>& lines) {
  if (lines.size() == 2 && lines[0].points.size() >= 8 && lines[1].points.size() >= 8) return Ring(lines[0].points, lines[1].points);
  std::vector<Strip> all;
  for (const Polyline& line : lines) {
    if (line.points.size() < 3) return {};
    const std::vector<Strip> one = LongThin(line.points);
    if (one.empty()) return {};
    all.insert(all.end(), one.begin(), one.end());
  }
  return all;
}

}  // namespace islebook
