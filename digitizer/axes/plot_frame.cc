#include "digitizer/axes/plot_frame.h"

#include <algorithm>
#include <cmath>

#include <Eigen/LU>

#include "digitizer/axes/frame_model.h"

namespace islebook {
namespace {

namespace fp = frame_parameter;

// A number with its derivatives by x and y.
struct Dual {
  double value = 0.0, dx = 0.0, dy = 0.0;
  Dual() = default;
  explicit Dual(double constant) : value(constant) {}
  Dual(double v, double x, double y) : value(v), dx(x), dy(y) {}
};
Dual operator+(const Dual& a, const Dual& b) { return {a.value + b.value, a.dx + b.dx, a.dy + b.dy}; }
Dual operator-(const Dual& a, const Dual& b) { return {a.value - b.value, a.dx - b.dx, a.dy - b.dy}; }
Dual operator-(const Dual& a, double b) { return {a.value - b, a.dx, a.dy}; }
Dual operator*(const Dual& a, const Dual& b) { return {a.value * b.value, a.dx * b.value + a.value * b.dx, a.dy * b.value + a.value * b.dy}; }
Dual operator/(const Dual& a, double b) { return {a.value / b, a.dx / b, a.dy / b}; }
Dual operator/(const Dual& a, const Dual& b) {
  const double inverse = 1.0 / b.value;
  const double value = a.value * inverse;
  return {value, (a.dx - value * b.dx) * inverse, (a.dy - value * b.dy) * inverse};
}

// Frame coordinates and their Jacobian at an image point.
void Evaluate(const std::vector<double>& p, ImagePoint at, Dual* u, Dual* v) {
  std::array<Dual, fp::kFree> free;
  for (int i = 0; i < fp::kFree; ++i) free[i] = Dual(p[i]);
  EvaluateFrameModel<Dual>(free.data(), p[fp::kCenterX], p[fp::kCenterY], p[fp::kHalfDiagonal], Dual(at.x, 1.0, 0.0), Dual(at.y, 0.0, 1.0), u, v);
}

double Distance(ImagePoint a, ImagePoint b) { return std::hypot(a.x - b.x, a.y - b.y); }

}  // namespace

FrameMapping FrameMapping::FromCorners(const std::array<ImagePoint, 4>& corners) {
  double cx = 0.0, cy = 0.0, radius = 1e-9;
  for (const ImagePoint& c : corners) cx += c.x / 4, cy += c.y / 4;
  for (const ImagePoint& c : corners) radius = std::max(radius, std::hypot(c.x - cx, c.y - cy));
  const std::array<FramePoint, 4> square{{{0, 1}, {1, 1}, {1, 0}, {0, 0}}};
  Eigen::Matrix<double, 8, 8> m;
  Eigen::Matrix<double, 8, 1> rhs;
  for (int i = 0; i < 4; ++i) {
    const double x = (corners[i].x - cx) / radius, y = (corners[i].y - cy) / radius, u = square[i].u, v = square[i].v;
    m.row(2 * i) << x, y, 1, 0, 0, 0, -u * x, -u * y;
    m.row(2 * i + 1) << 0, 0, 0, x, y, 1, -v * x, -v * y;
    rhs(2 * i) = u;
    rhs(2 * i + 1) = v;
  }
  const Eigen::Matrix<double, 8, 1> h = m.partialPivLu().solve(rhs);
  FrameMapping mapping;
  mapping.parameters_.assign(fp::kCount, 0.0);
  for (int i = 0; i < 8; ++i) mapping.parameters_[i] = h(i);
  mapping.parameters_[fp::kCenterX] = cx;
  mapping.parameters_[fp::kCenterY] = cy;
  mapping.parameters_[fp::kHalfDiagonal] = radius;
  return mapping;
}

FrameMapping FrameMapping::FromParameters(std::vector<double> parameters, double residual_px) {
  FrameMapping mapping;
  if (parameters.size() == static_cast<std::size_t>(fp::kCount) && parameters[fp::kHalfDiagonal] > 0.0) mapping.parameters_ = std::move(parameters);
  mapping.residual_px_ = residual_px;
  return mapping;
}

FramePoint FrameMapping::FrameFromImage(ImagePoint p) const {
  if (parameters_.empty()) return {};
  FramePoint out;
  EvaluateFrameModel<double>(parameters_.data(), parameters_[fp::kCenterX], parameters_[fp::kCenterY], parameters_[fp::kHalfDiagonal], p.x, p.y,
                             &out.u, &out.v);
  return out;
}

ImagePoint FrameMapping::ImageFromFrame(FramePoint target) const {
  if (parameters_.empty()) return {};
  const std::vector<double>& p = parameters_;
  // Start: the homography inverted, lens and bow left out.
  Eigen::Matrix3d h;
  h << p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], 1.0;
  const Eigen::Vector3d q = h.partialPivLu().solve(Eigen::Vector3d(target.u, target.v, 1.0));
  ImagePoint at{p[fp::kCenterX], p[fp::kCenterY]};
  if (std::abs(q.z()) > 1e-12) {
    const double half = p[fp::kHalfDiagonal];
    double dx = q.x() / q.z(), dy = q.y() / q.z();
    const double lens = 1.0 + p[fp::kLens] * (dx * dx + dy * dy);
    if (lens > 0.3) dx /= lens, dy /= lens;
    at = {p[fp::kCenterX] + dx * half, p[fp::kCenterY] + dy * half};
  }
  for (int i = 0; i < 30; ++i) {
    Dual u, v;
    Evaluate(p, at, &u, &v);
    const double eu = u.value - target.u, ev = v.value - target.v;
    const double determinant = u.dx * v.dy - u.dy * v.dx;
    if (std::abs(determinant) < 1e-30) break;
    const double step_x = (eu * v.dy - ev * u.dy) / determinant;
    const double step_y = (ev * u.dx - eu * v.dx) / determinant;
    at.x -= step_x;
    at.y -= step_y;
    if (std::abs(step_x) < 1e-10 && std::abs(step_y) < 1e-10) break;
  }
  return at;
}

std::array<double, 4> FrameMapping::Jacobian(ImagePoint at) const {
  if (parameters_.empty()) return {};
  Dual u, v;
  Evaluate(parameters_, at, &u, &v);
  return {u.dx, u.dy, v.dx, v.dy};
}

std::array<ImagePoint, 4> FrameMapping::Corners() const {
  return {ImageFromFrame({0, 1}), ImageFromFrame({1, 1}), ImageFromFrame({1, 0}), ImageFromFrame({0, 0})};
}

double FrameMapping::WidthPx() const {
  const std::array<ImagePoint, 4> c = Corners();
  return 0.5 * (Distance(c[0], c[1]) + Distance(c[3], c[2]));
}

double FrameMapping::HeightPx() const {
  const std::array<ImagePoint, 4> c = Corners();
  return 0.5 * (Distance(c[0], c[3]) + Distance(c[1], c[2]));
}

const char* FrameMapping::model() const {
  const auto any = [this](int from, int to) {
    return std::any_of(parameters_.begin() + from, parameters_.begin() + to, [](double value) { return value != 0.0; });
  };
  if (parameters_.empty()) return "none";
  const bool lens = parameters_[fp::kLens] != 0.0;
  const bool curl = any(fp::kBowV, fp::kSpacingU) || any(fp::kSpreadV, fp::kFree);
  const bool spacing = any(fp::kSpacingU, fp::kSpreadV);
  static constexpr const char* kNames[] = {
      "homography",         "homography+lens",         "homography+curl",         "homography+lens+curl",
      "homography+spacing", "homography+lens+spacing", "homography+curl+spacing", "homography+lens+curl+spacing"};
  return kNames[(lens ? 1 : 0) + (curl ? 2 : 0) + (spacing ? 4 : 0)];
}

}  // namespace islebook
