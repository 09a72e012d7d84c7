#include "mapstore/surface/spline.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "mapstore/surface/banded_spd.h"

namespace islebook {

std::vector<double> SplineSlopes(std::span<const double> x, std::span<const double> y) {
  const int n = static_cast<int>(x.size());
  std::vector<double> slopes(n, 0.0);
  if (n < 2) return slopes;
  std::vector<double> step(n - 1), rise(n - 1);
  for (int i = 0; i + 1 < n; ++i) {
    step[i] = x[i + 1] - x[i];
    rise[i] = (y[i + 1] - y[i]) / step[i];
  }
  if (n == 2) {
    slopes[0] = slopes[1] = rise[0];
    return slopes;
  }
  if (n == 3) {
    const double second = (rise[1] - rise[0]) / (x[2] - x[0]);
    for (int i = 0; i < 3; ++i) slopes[i] = rise[0] + second * ((x[i] - x[0]) + (x[i] - x[1]));
    return slopes;
  }
  std::vector<double> low(n), diagonal(n), up(n), right(n);
  double d = x[2] - x[0];
  diagonal[0] = step[1];
  up[0] = d;
  right[0] = ((step[0] + 2.0 * d) * step[1] * rise[0] + step[0] * step[0] * rise[1]) / d;
  for (int i = 1; i + 1 < n; ++i) {
    low[i] = step[i];
    diagonal[i] = 2.0 * (step[i - 1] + step[i]);
    up[i] = step[i - 1];
    right[i] = 3.0 * (step[i] * rise[i - 1] + step[i - 1] * rise[i]);
  }
  d = x[n - 1] - x[n - 3];
  low[n - 1] = d;
  diagonal[n - 1] = step[n - 3];
  right[n - 1] = (step[n - 2] * step[n - 2] * rise[n - 3] + (2.0 * d + step[n - 2]) * step[n - 3] * rise[n - 2]) / d;
  for (int i = 1; i < n; ++i) {
    const double factor = low[i] / diagonal[i - 1];
    diagonal[i] -= factor * up[i - 1];
    right[i] -= factor * right[i - 1];
  }
  slopes[n - 1] = right[n - 1] / diagonal[n - 1];
  for (int i = n - 2; i >= 0; --i) slopes[i] = (right[i] - up[i] * slopes[i + 1]) / diagonal[i];
  return slopes;
}

std::vector<double> MonotoneSlopes(std::span<const double> x, std::span<const double> y) {
  const int n = static_cast<int>(x.size());
  std::vector<double> slopes(n, 0.0);
  if (n < 2) return slopes;
  std::vector<double> step(n - 1), rise(n - 1);
  for (int i = 0; i + 1 < n; ++i) {
    step[i] = x[i + 1] - x[i];
    rise[i] = (y[i + 1] - y[i]) / step[i];
  }
  if (n == 2) {
    slopes[0] = slopes[1] = rise[0];
    return slopes;
  }
  for (int i = 1; i + 1 < n; ++i) {
    if (rise[i - 1] * rise[i] <= 0.0) continue;
    const double a = 2.0 * step[i] + step[i - 1], b = step[i] + 2.0 * step[i - 1];
    slopes[i] = (a + b) / (a / rise[i - 1] + b / rise[i]);
  }
  const auto end = [](double h0, double h1, double r0, double r1) {
    double slope = ((2.0 * h0 + h1) * r0 - h0 * r1) / (h0 + h1);
    if (slope * r0 <= 0.0) return 0.0;
    if (r0 * r1 <= 0.0 && std::abs(slope) > 3.0 * std::abs(r0)) slope = 3.0 * r0;
    return slope;
  };
  slopes[0] = end(step[0], step[1], rise[0], rise[1]);
  slopes[n - 1] = end(step[n - 2], step[n - 3], rise[n - 2], rise[n - 3]);
  return slopes;
}

HermiteCurve::HermiteCurve(std::vector<double> x, std::vector<double> y, std::vector<double> slopes)
    : x_(std::move(x)), y_(std::move(y)), slopes_(std::move(slopes)) {}

HermiteCurve HermiteCurve::Spline(std::vector<double> x, std::vector<double> y) {
  std::vector<double> slopes = SplineSlopes(x, y);
  return {std::move(x), std::move(y), std::move(slopes)};
}

HermiteCurve HermiteCurve::Monotone(std::vector<double> x, std::vector<double> y) {
  std::vector<double> slopes = MonotoneSlopes(x, y);
  return {std::move(x), std::move(y), std::move(slopes)};
}

int HermiteCurve::Piece(double x) const {
  const auto after = std::upper_bound(x_.begin(), x_.end(), x);
  return std::clamp(static_cast<int>(after - x_.begin()) - 1, 0, static_cast<int>(x_.size()) - 2);
}

double HermiteCurve::Value(double x) const {
  if (x_.size() == 1) return y_.front();
  if (x <= x_.front()) return y_.front() + slopes_.front() * (x - x_.front());
  if (x >= x_.back()) return y_.back() + slopes_.back() * (x - x_.back());
  const int i = Piece(x);
  const double h = x_[i + 1] - x_[i], t = (x - x_[i]) / h, u = 1.0 - t;
  return u * u * ((1.0 + 2.0 * t) * y_[i] + t * h * slopes_[i]) + t * t * ((1.0 + 2.0 * u) * y_[i + 1] - u * h * slopes_[i + 1]);
}

double HermiteCurve::Slope(double x) const {
  if (x_.size() == 1) return 0.0;
  if (x <= x_.front()) return slopes_.front();
  if (x >= x_.back()) return slopes_.back();
  const int i = Piece(x);
  const double h = x_[i + 1] - x_[i], t = (x - x_[i]) / h;
  return 6.0 * t * (1.0 - t) * (y_[i + 1] - y_[i]) / h + (1.0 - t) * (1.0 - 3.0 * t) * slopes_[i] + t * (3.0 * t - 2.0) * slopes_[i + 1];
}

void BsplineWeights(double t, double weights[4]) {
  const double u = 1.0 - t;
  weights[0] = u * u * u / 6.0;
  weights[1] = (3.0 * t * t * t - 6.0 * t * t + 4.0) / 6.0;
  weights[2] = (3.0 * u * u * u - 6.0 * u * u + 4.0) / 6.0;
  weights[3] = t * t * t / 6.0;
}

void BsplineSlopeWeights(double t, double weights[4]) {
  const double u = 1.0 - t;
  weights[0] = -u * u / 2.0;
  weights[1] = (3.0 * t * t - 4.0 * t) / 2.0;
  weights[2] = (-3.0 * u * u + 4.0 * u) / 2.0;
  weights[3] = t * t / 2.0;
}

SmoothResult Smooth(std::span<const SmoothInput> data, int intervals) {
  const int size = intervals + 3;
  BandedSpd normal(size, 3), penalty(size, 3);
  std::vector<double> right(size, 0.0);
  double weight_sum = 0.0;
  int free_points = 0;
  for (const SmoothInput& point : data) {
    if (point.pinned) continue;
    weight_sum += point.weight;
    ++free_points;
  }
  const double mean_weight = free_points > 0 ? weight_sum / free_points : 1.0;
  struct Row {
    int first;
    double weights[4];
    double y, weight;
    bool pinned;
  };
  std::vector<Row> rows;
  rows.reserve(data.size());
  for (const SmoothInput& point : data) {
    const double place = std::clamp(point.x, 0.0, 1.0) * intervals;
    Row row{};
    row.first = std::min(static_cast<int>(place), intervals - 1);
    BsplineWeights(place - row.first, row.weights);
    row.y = point.y;
    row.weight = point.pinned ? 1e3 * std::max(1, free_points) : point.weight / mean_weight;
    row.pinned = point.pinned;
    for (int i = 0; i < 4; ++i) {
      right[row.first + i] += row.weight * row.weights[i] * row.y;
      for (int j = 0; j <= i; ++j) normal.Lower(row.first + i, row.first + j) += row.weight * row.weights[i] * row.weights[j];
    }
    rows.push_back(row);
  }
  // Few points leave the third derivative too much freedom between them.
  const bool few = free_points < 40;
  const double second[4] = {1.0, -2.0, 1.0, 0.0}, third[4] = {-1.0, 3.0, -3.0, 1.0};
  const double* const stencil = few ? second : third;
  const int reach = few ? 3 : 4;
  for (int k = 0; k + reach <= size; ++k)
    for (int i = 0; i < reach; ++i)
      for (int j = 0; j <= i; ++j) penalty.Lower(k + i, k + j) += stencil[i] * stencil[j];

  SmoothResult best;
  double best_score = std::numeric_limits<double>::infinity();
  std::vector<double> best_coefficients(size, 0.0);
  // Below the first strength the few-point system would lose its digits; it is interpolation already.
  for (int step = few ? -12 : -18; step <= 8; step += 2) {
    const double strength = std::pow(10.0, 0.5 * step) * std::max(1.0, free_points / static_cast<double>(intervals));
    BandedSpd system(size, 3);
    for (int i = 0; i < size; ++i)
      for (int j = std::max(0, i - 3); j <= i; ++j) system.Lower(i, j) = normal.Lower(i, j) + strength * penalty.Lower(i, j) + (i == j ? 1e-15 : 0.0);
    if (!system.Factor()) continue;
    std::vector<double> coefficients = right;
    system.Solve(coefficients);
    const std::vector<double> inverse = system.InverseBand();
    double freedom = 0.0, squares = 0.0;
    for (const Row& row : rows) {
      if (row.pinned) continue;
      double value = 0.0, leverage = 0.0;
      for (int i = 0; i < 4; ++i) {
        value += row.weights[i] * coefficients[row.first + i];
        for (int j = 0; j < 4; ++j) leverage += row.weights[i] * row.weights[j] * inverse[(row.first + i) * 7 + (j - i + 3)];
      }
      freedom += row.weight * leverage;
      squares += row.weight * (row.y - value) * (row.y - value);
    }
    const double left = free_points - 1.2 * freedom;
    // With hardly any points cross validation has nothing to go by: through all of them.
    if (free_points >= 5 && left < 0.1 * free_points && best_score < std::numeric_limits<double>::infinity()) continue;
    const double room = std::max(left, 0.1 * std::max(free_points, 1));
    const double score = free_points < 5 ? strength : squares / (room * room);
    if (score < best_score) {
      best_score = score;
      best_coefficients = coefficients;
      best.residual = free_points > 0 ? std::sqrt(squares / free_points) : 0.0;
      best.freedom = freedom;
    }
  }
  best.values.resize(intervals + 1);
  for (int k = 0; k <= intervals; ++k) best.values[k] = (best_coefficients[k] + 4.0 * best_coefficients[k + 1] + best_coefficients[k + 2]) / 6.0;
  return best;
}

}  // namespace islebook
