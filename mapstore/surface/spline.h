#pragma once
// One-dimensional interpolants and a smoother. Internal to mapstore/surface.

#include <span>
#include <vector>

namespace islebook {

class PackedReader;
class PackedWriter;

// Slopes at the knots of the twice continuously differentiable cubic whose third derivative is continuous at the second and the last knot but one ("not a knot").
// Two points: a straight line; three: a parabola. x strictly ascending.
std::vector<double> SplineSlopes(std::span<const double> x, std::span<const double> y);

// Slopes of the cubic that keeps the data's monotony (Fritsch and Butland 1984, as in common library codes).
std::vector<double> MonotoneSlopes(std::span<const double> x, std::span<const double> y);

// A piecewise cubic through knots with given slopes; straight beyond the ends.
class HermiteCurve {
 public:
  HermiteCurve() = default;
  HermiteCurve(std::vector<double> x, std::vector<double> y, std::vector<double> slopes);
  static HermiteCurve Spline(std::vector<double> x, std::vector<double> y);
  static HermiteCurve Monotone(std::vector<double> x, std::vector<double> y);

  bool empty() const { return x_.empty(); }
  double front() const { return x_.front(); }
  double back() const { return x_.back(); }
  double Value(double x) const;
  double Slope(double x) const;
  const std::vector<double>& knots() const { return x_; }

  void Pack(PackedWriter& to) const;
  static HermiteCurve Unpack(PackedReader& from);

 private:
  int Piece(double x) const;
  std::vector<double> x_, y_, slopes_;
};

// Values of a cubic B-spline smoother at `intervals` + 1 even places of [0, 1]. `x` within [0, 1], any order. Third differences are penalized (second
// where the points are few), as strongly as generalized cross validation finds best; `pinned` data are met exactly for practical purposes.
struct SmoothInput {
  double x = 0.0;
  double y = 0.0;
  double weight = 1.0;  // relative
  bool pinned = false;
};
struct SmoothResult {
  std::vector<double> values;
  double residual = 0.0;  // weighted rms of the data about the curve, in units of y at weight 1
  double freedom = 0.0;   // effective number of parameters
};
SmoothResult Smooth(std::span<const SmoothInput> data, int intervals);

// The four cubic B-spline weights on a uniform knot row at `t` (0..1 within its interval).
void BsplineWeights(double t, double weights[4]);
void BsplineSlopeWeights(double t, double weights[4]);  // by t

}  // namespace islebook
