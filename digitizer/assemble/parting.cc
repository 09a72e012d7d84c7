#include "digitizer/assemble/parting.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <vector>

#include <opencv2/core.hpp>

namespace islebook {
namespace {

constexpr double kFar = 14.0;      // px: farther apart two lines tell no more about where they met
constexpr double kReach = 160.0;   // px on either side
constexpr double kParted = 3.0;    // px: nearer lines may be one blot
constexpr std::size_t kLeast = 5;  // points on either side
constexpr double kNoise = 0.12;    // px: what a traced line strays
constexpr double kTells = 2.0;     // times: how much better the way taken must fit

double Length(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

// Distance of p from the line, positive on its left as it runs; nothing where p lies beyond one of its ends.
std::optional<double> SideOf(const TracedCurve& line, ImagePoint p) {
  double best = 1e9, side = 0;
  bool beyond = true;
  for (std::size_t k = 1; k < line.points.size(); ++k) {
    const ImagePoint a = line.points[k - 1], b = line.points[k];
    const double dx = b.x - a.x, dy = b.y - a.y, square = dx * dx + dy * dy;
    if (square < 1e-12) continue;
    const double t = ((p.x - a.x) * dx + (p.y - a.y) * dy) / square, u = std::clamp(t, 0.0, 1.0);
    const double d = std::hypot(p.x - a.x - u * dx, p.y - a.y - u * dy);
    if (d >= best) continue;
    best = d;
    side = dx * (p.y - a.y) - dy * (p.x - a.x) > 0 ? d : -d;
    beyond = (k == 1 && t < 0) || (k + 1 == line.points.size() && t > 1);
  }
  return beyond ? std::nullopt : std::optional(side);
}

struct Apart {
  double along = 0.0;  // of the line, from the middle of the stretch
  double side = 0.0;
};

// The places beside the stretch at which both lines are seen and are apart.
std::vector<Apart> SeeSide(const SharedStretch& s, bool before) {
  std::vector<Apart> apart;
  const std::vector<ImagePoint>& p = s.line->points;
  const auto last = static_cast<int>(p.size()) - 1;
  double way = 0;
  for (int k = static_cast<int>(before ? s.from : s.to); before ? k > 0 : k < last;) {
    const int next = before ? k - 1 : k + 1;
    way += Length(p[static_cast<std::size_t>(k)], p[static_cast<std::size_t>(next)]);
    k = next;
    if (way > kReach) break;
    if (s.line->bridged.size() == p.size() && s.line->bridged[static_cast<std::size_t>(k)] != 0) continue;
    const auto side = SideOf(*s.other, p[static_cast<std::size_t>(k)]);
    if (!side) break;
    if (std::abs(*side) < kParted) continue;
    apart.push_back({before ? -way : way, *side});
    if (std::abs(*side) > kFar && apart.size() > kLeast) break;
  }
  return apart;
}

// Root mean square of what a parabola leaves of both sides.
double Misfit(const std::vector<Apart>& before, const std::vector<Apart>& after, double sign) {
  cv::Matx33d a = cv::Matx33d::zeros();
  cv::Vec3d b(0, 0, 0);
  const auto each = [&](const auto& use) {
    for (const Apart& p : before) use(p.along / kReach, p.side, 1.0 / static_cast<double>(before.size()));
    for (const Apart& p : after) use(p.along / kReach, sign * p.side, 1.0 / static_cast<double>(after.size()));
  };
  each([&](double t, double y, double weight) {
    const cv::Vec3d row(1, t, t * t);
    a += weight * (row * row.t());
    b += weight * y * row;
  });
  for (int k = 0; k < 3; ++k) a(k, k) += 1e-9;
  const cv::Vec3d c = a.solve(b, cv::DECOMP_CHOLESKY);
  double sum = 0;
  each([&](double t, double y, double weight) {
    const double off = y - c[0] - t * (c[1] + t * c[2]);
    sum += weight * off * off;
  });
  return std::sqrt(0.5 * sum);
}

}  // namespace

bool AreDrawnAlike(const TracedCurve& a, const TracedCurve& b) {
  constexpr double kColor = 25.0, kMass = 1.5;  // CIE Lab; times
  const double mass = (a.ink_mass + 0.1) / (b.ink_mass + 0.1);
  return a.dashed == b.dashed && cv::norm(a.lab - b.lab) < kColor && mass < kMass && mass > 1.0 / kMass;
}

bool PartsOnItsOwnWay(const SharedStretch& stretch) {
  std::vector<Apart> before = SeeSide(stretch, true), after = SeeSide(stretch, false);
  if (before.size() < kLeast || after.size() < kLeast) return false;
  const double half = 0.5 * [&] {
    double length = 0;
    for (std::size_t k = stretch.from; k < stretch.to; ++k) length += Length(stretch.line->points[k], stretch.line->points[k + 1]);
    return length;
  }();
  for (Apart& p : before) p.along -= half;
  for (Apart& p : after) p.along += half;
  return Misfit(before, after, -1.0) > kTells * Misfit(before, after, 1.0) + kNoise;
}

}  // namespace islebook
