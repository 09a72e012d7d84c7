#include "mapstore/parcel/sheet_places.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace islebook {
namespace {

constexpr std::size_t kNeighbors = 24;
constexpr std::size_t kMostKnown = 4000;  // evenly thinned beyond: a page bends slowly

double Fraction(const Axis& axis, double value) {
  if (axis.scale == AxisScale::kLog && value > 0 && axis.min > 0 && axis.max > 0) return std::log(value / axis.min) / std::log(axis.max / axis.min);
  return (value - axis.min) / (axis.max - axis.min);
}

// Solves the symmetric 3 by 3 system; false where it is as good as singular.
bool Solve(std::array<std::array<double, 3>, 3> a, std::array<double, 3> b, std::array<double, 3>& solution) {
  for (int column = 0; column < 3; ++column) {
    int pivot = column;
    for (int row = column + 1; row < 3; ++row)
      if (std::fabs(a[row][column]) > std::fabs(a[pivot][column])) pivot = row;
    if (std::fabs(a[pivot][column]) < 1e-12) return false;
    std::swap(a[pivot], a[column]);
    std::swap(b[pivot], b[column]);
    for (int row = column + 1; row < 3; ++row) {
      const double factor = a[row][column] / a[column][column];
      for (int k = column; k < 3; ++k) a[row][k] -= factor * a[column][k];
      b[row] -= factor * b[column];
    }
  }
  for (int row = 2; row >= 0; --row) {
    double sum = b[row];
    for (int k = row + 1; k < 3; ++k) sum -= a[row][k] * solution[k];
    solution[row] = sum / a[row][row];
  }
  return true;
}

}  // namespace

SheetPlaces::SheetPlaces(const PerformanceMap& map) : x_(map.x), y_(map.y), efficiency_(map.efficiency) {
  if (!x_) return;
  for (const Curve& curve : map.curves) {
    if (curve.points_px.size() != curve.points.size()) continue;
    const bool on_panel = curve.role == CurveRole::kEfficiencyLine && efficiency_;
    const std::optional<Axis>& up = on_panel ? efficiency_ : y_;
    if (!up) continue;
    for (std::size_t i = 0; i < curve.points.size(); ++i)
      (on_panel ? panel_ : main_).push_back({{Fraction(*x_, curve.points[i].x), Fraction(*up, curve.points[i].y)}, curve.points_px[i]});
  }
  for (std::vector<Known>* known : {&main_, &panel_}) {
    const std::size_t step = 1 + known->size() / kMostKnown;
    std::size_t kept = 0;
    for (std::size_t i = 0; i < known->size(); i += step) (*known)[kept++] = (*known)[i];
    known->resize(kept);
  }
}

// An affine map through the nearest known points, nearer ones weighing more: a page's bend is slight over such a patch.
std::optional<Point2> SheetPlaces::PlaceOf(const Point2& point, bool on_efficiency) const {
  const std::vector<Known>& known = on_efficiency ? panel_ : main_;
  const std::optional<Axis>& up = on_efficiency ? efficiency_ : y_;
  if (!x_ || !up || known.size() < 3) return std::nullopt;
  const Point2 at{Fraction(*x_, point.x), Fraction(*up, point.y)};
  const auto distance = [&](const Known& one) { return std::hypot(one.frame.x - at.x, one.frame.y - at.y); };
  std::vector<std::pair<double, const Known*>> order;
  order.reserve(known.size());
  for (const Known& one : known) order.emplace_back(distance(one), &one);
  std::sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  // More of them, until they do not lie on one line.
  for (std::size_t count = std::min(kNeighbors, order.size());; count = std::min(2 * count, order.size())) {
    const double reach = std::max(order[count - 1].first, 1e-6);
    std::array<std::array<double, 3>, 3> normal{};
    std::array<double, 3> right_x{}, right_y{}, solved_x{}, solved_y{};
    for (std::size_t i = 0; i < count; ++i) {
      const Known& one = *order[i].second;
      const double weight = 1.0 / (0.01 + order[i].first / reach);
      const std::array<double, 3> basis = {1.0, (one.frame.x - at.x) / reach, (one.frame.y - at.y) / reach};
      for (int r = 0; r < 3; ++r) {
        for (int c = 0; c < 3; ++c) normal[r][c] += weight * basis[r] * basis[c];
        right_x[r] += weight * basis[r] * one.px.x;
        right_y[r] += weight * basis[r] * one.px.y;
      }
    }
    // The spread across the narrow direction, against that along the wide one.
    const double xx = normal[1][1], yy = normal[2][2], xy = normal[1][2];
    const double mean = 0.5 * (xx + yy), root = std::sqrt(0.25 * (xx - yy) * (xx - yy) + xy * xy);
    const bool spread = mean - root > 1e-3 * (mean + root);
    if (spread && Solve(normal, right_x, solved_x) && Solve(normal, right_y, solved_y)) return Point2{solved_x[0], solved_y[0]};
    if (count == order.size()) return std::nullopt;
  }
}

}  // namespace islebook
