#include "digitizer/print/line_geometry.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace islebook {
namespace {

constexpr double kDegree = std::numbers::pi / 180.0;

}  // namespace

cv::Point2f Direction(double angle_deg) {
  return {static_cast<float>(std::cos(angle_deg * kDegree)), static_cast<float>(std::sin(angle_deg * kDegree))};
}

cv::Point2f Below(cv::Point2f d) { return {-d.y, d.x}; }

double Wrap180(double a) {
  while (a > 90.0) a -= 180.0;
  while (a <= -90.0) a += 180.0;
  return a;
}

double Median(std::vector<double> v) {
  if (v.empty()) return 0.0;
  std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
  return v[v.size() / 2];
}

Placed Place(const Glyph& g, cv::Point2f d) { return {ExtentAlong(g.hull, d), ExtentAlong(g.hull, Below(d))}; }

double Misfit(const std::vector<Glyph>& glyphs, const std::vector<int>& members, double angle) {
  const cv::Point2f d = Direction(angle);
  std::vector<double> tops, bases;
  double tallest = 0.0;
  std::vector<Extent> e;
  for (const int m : members) {
    e.push_back(ExtentAlong(glyphs[static_cast<std::size_t>(m)].hull, Below(d)));
    tallest = std::max(tallest, static_cast<double>(e.back().Size()));
  }
  for (const Extent& x : e) {
    if (x.Size() > 0.85 * tallest) tops.push_back(x.low);
    bases.push_back(x.high);
  }
  const auto spread = [](std::vector<double>& v) {
    const double mid = Median(v);
    double sum = 0.0;
    for (const double x : v) sum += std::min(std::abs(x - mid), 6.0);  // a descender counts once, not by its length
    return sum;
  };
  return spread(tops) + spread(bases) + 0.15 * tallest;
}

double RefineAngle(const std::vector<Glyph>& glyphs, const std::vector<int>& members, double angle, double range) {
  double best = angle, best_cost = Misfit(glyphs, members, angle);
  for (double step = range / 4.0; step > 0.2; step /= 2.0) {
    const double center = best;
    for (int k = -3; k <= 3; ++k) {
      const double a = center + k * step;
      if (std::abs(a - angle) > range) continue;
      const double cost = Misfit(glyphs, members, a);
      if (cost < best_cost - 1e-6) {
        best_cost = cost;
        best = a;
      }
    }
  }
  return best;
}

double TangentAngle(const Glyph& i, const Glyph& j, cv::Point2f d, bool below) {
  for (int pass = 0; pass < 3; ++pass) {
    const cv::Point2f n = below ? Below(d) : -Below(d);
    const auto touch = [&](const Glyph& g) {
      return *std::max_element(g.hull.begin(), g.hull.end(), [&](cv::Point2f p, cv::Point2f q) { return p.dot(n) < q.dot(n); });
    };
    cv::Point2f e = touch(j) - touch(i);
    const float size = std::hypot(e.x, e.y);
    if (size < 1.0F) break;
    e *= 1.0F / size;
    if (e.dot(d) < 0.5F) break;
    d = e;
  }
  return std::atan2(d.y, d.x) / kDegree;
}
}  // namespace islebook
