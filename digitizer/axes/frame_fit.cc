#include "digitizer/axes/frame_fit.h"

#include <algorithm>
#include <cmath>
#include <memory>

#include <ceres/autodiff_cost_function.h>
#include <ceres/loss_function.h>
#include <ceres/manifold.h>
#include <ceres/problem.h>
#include <ceres/solver.h>

#include "digitizer/axes/frame_model.h"

namespace islebook {
namespace {

namespace fp = frame_parameter;

struct Observation {
  double x = 0.0, y = 0.0;
  bool of_v = true;  // the coordinate that is known
  double value = 0.0;
  int line = -1;  // index of its line, -1 for a place
  double px_per_unit = 1.0;
  double sigma = 0.1;
};

struct Geometry {
  double center_x, center_y, half_diagonal;
};

// Residual: how far the point lies from its line, in standard deviations.
struct CoordinateCost {
  Observation o;
  Geometry g;
  template <typename T>
  bool operator()(const T* p, T* residual) const {
    T u, v;
    EvaluateFrameModel<T>(p, g.center_x, g.center_y, g.half_diagonal, T(o.x), T(o.y), &u, &v);
    residual[0] = ((o.of_v ? v : u) - T(o.value)) * (o.px_per_unit / o.sigma);
    return true;
  }
};

struct FreeLineCost {
  Observation o;
  Geometry g;
  template <typename T>
  bool operator()(const T* p, const T* at, T* residual) const {
    T u, v;
    EvaluateFrameModel<T>(p, g.center_x, g.center_y, g.half_diagonal, T(o.x), T(o.y), &u, &v);
    residual[0] = ((o.of_v ? v : u) - at[0]) * (o.px_per_unit / o.sigma);
    return true;
  }
};

// Keeps terms that the evidence says little about near zero.
struct PriorCost {
  std::array<double, fp::kFree> weight{};
  template <typename T>
  bool operator()(const T* p, T* residual) const {
    for (int i = 8; i < fp::kFree; ++i) residual[i - 8] = p[i] * weight[i];
    return true;
  }
};

std::array<double, fp::kFree> PriorWeights() {
  std::array<double, fp::kFree> weight{};
  weight[fp::kLens] = 1.0 / 0.1;
  for (const int from : {fp::kBowV, fp::kBowU}) {
    weight[from] = 1.0 / 0.04;
    weight[from + 1] = 1.0 / 0.03;
    weight[from + 2] = 1.0 / 0.015;
    weight[from + 3] = 1.0 / 0.008;
  }
  for (const int from : {fp::kSpacingU, fp::kSpacingV}) weight[from] = 1.0 / 0.01, weight[from + 1] = 1.0 / 0.005;
  weight[fp::kSpreadV] = weight[fp::kSpreadU] = 1.0 / 0.003;
  return weight;
}

class Fitting {
 public:
  Fitting(std::vector<Observation> observations, std::vector<double> line_at, std::vector<bool> line_free, const FrameFitOptions& options)
      : observations_(std::move(observations)), line_at_(std::move(line_at)), line_free_(std::move(line_free)), options_(options) {}

  void Start(const FrameMapping& mapping, const Geometry& geometry) {
    geometry_ = geometry;
    // The homography of `mapping` stands about another center and radius; carry it over.
    const std::vector<double>& m = mapping.parameters();
    const double scale = geometry.half_diagonal / m[fp::kHalfDiagonal];
    const double ox = (geometry.center_x - m[fp::kCenterX]) / m[fp::kHalfDiagonal], oy = (geometry.center_y - m[fp::kCenterY]) / m[fp::kHalfDiagonal];
    double h[9] = {m[0], m[1], m[2], m[3], m[4], m[5], m[6], m[7], 1.0};
    for (int r = 0; r < 3; ++r) {
      h[3 * r + 2] += h[3 * r] * ox + h[3 * r + 1] * oy;
      h[3 * r] *= scale;
      h[3 * r + 1] *= scale;
    }
    parameters_.assign(fp::kFree, 0.0);
    for (int i = 0; i < 8; ++i) parameters_[i] = h[i] / h[8];
    PlaceFreeLines();
  }

  void Solve(const std::vector<int>& active) {
    ceres::Problem problem;
    for (const Observation& o : observations_) {
      auto* loss = new ceres::SoftLOneLoss(options_.loss_px / o.sigma);
      if (o.line >= 0 && line_free_[o.line]) {
        problem.AddResidualBlock(new ceres::AutoDiffCostFunction<FreeLineCost, 1, fp::kFree, 1>(new FreeLineCost{o, geometry_}), loss,
                                 parameters_.data(), &line_at_[o.line]);
      } else {
        problem.AddResidualBlock(new ceres::AutoDiffCostFunction<CoordinateCost, 1, fp::kFree>(new CoordinateCost{o, geometry_}), loss,
                                 parameters_.data());
      }
    }
    problem.AddResidualBlock(new ceres::AutoDiffCostFunction<PriorCost, fp::kFree - 8, fp::kFree>(new PriorCost{PriorWeights()}), nullptr,
                             parameters_.data());
    std::vector<int> constant;
    for (int i = 8; i < fp::kFree; ++i) {
      if (std::find(active.begin(), active.end(), i) == active.end()) constant.push_back(i), parameters_[i] = 0.0;
    }
    if (!constant.empty()) problem.SetManifold(parameters_.data(), new ceres::SubsetManifold(fp::kFree, constant));
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_SCHUR;
    if (std::none_of(line_free_.begin(), line_free_.end(), [](bool f) { return f; })) options.linear_solver_type = ceres::DENSE_NORMAL_CHOLESKY;
    options.max_num_iterations = 60;
    options.function_tolerance = 1e-10;
    options.parameter_tolerance = 1e-12;
    options.gradient_tolerance = 1e-14;
    options.logging_type = ceres::SILENT;
    options.num_threads = 1;
    ceres::Solver::Summary summary;
    ceres::Solve(options, &problem, &summary);
  }

  // Residuals in pixels, in the order of the observations.
  std::vector<double> Residuals() const {
    std::vector<double> out;
    out.reserve(observations_.size());
    for (const Observation& o : observations_) {
      double u, v;
      EvaluateFrameModel<double>(parameters_.data(), geometry_.center_x, geometry_.center_y, geometry_.half_diagonal, o.x, o.y, &u, &v);
      const double target = o.line >= 0 ? line_at_[o.line] : o.value;
      out.push_back(((o.of_v ? v : u) - target) * o.px_per_unit);
    }
    return out;
  }

  // Largest median residual over a twelfth of a line: bow that the model does not follow.
  double WorstMean() const {
    const std::vector<double> r = Residuals();
    double worst = 0.0;
    std::size_t begin = 0;
    while (begin < observations_.size()) {
      std::size_t end = begin;
      while (end < observations_.size() && observations_[end].line == observations_[begin].line) ++end;
      if (observations_[begin].line >= 0) {
        const std::size_t n = end - begin;
        const std::size_t bins = std::min<std::size_t>(12, n / 4);
        for (std::size_t k = 0; k < bins; ++k) {
          std::vector<double> part(r.begin() + begin + k * n / bins, r.begin() + begin + (k + 1) * n / bins);
          std::nth_element(part.begin(), part.begin() + part.size() / 2, part.end());
          worst = std::max(worst, std::abs(part[part.size() / 2]));
        }
      }
      begin = end;
    }
    return worst;
  }

  FrameMapping Mapping(double residual) const {
    std::vector<double> all = parameters_;
    all.push_back(geometry_.center_x);
    all.push_back(geometry_.center_y);
    all.push_back(geometry_.half_diagonal);
    return FrameMapping::FromParameters(std::move(all), residual);
  }

  const std::vector<double>& parameters() const { return parameters_; }
  void set_parameters(std::vector<double> p) { parameters_ = std::move(p); }
  const std::vector<double>& line_at() const { return line_at_; }
  void set_line_at(std::vector<double> at) { line_at_ = std::move(at); }

  // Pixels per unit of the known coordinate at each observation, from the present mapping.
  void UpdateScales() {
    const FrameMapping mapping = Mapping(0.0);
    for (Observation& o : observations_) {
      const std::array<double, 4> j = mapping.Jacobian({o.x, o.y});
      const double gradient = o.of_v ? std::hypot(j[2], j[3]) : std::hypot(j[0], j[1]);
      o.px_per_unit = gradient > 1e-12 ? 1.0 / gradient : 1.0;
    }
  }

 private:
  void PlaceFreeLines() {
    std::vector<double> sum(line_at_.size(), 0.0);
    std::vector<int> count(line_at_.size(), 0);
    for (const Observation& o : observations_) {
      if (o.line < 0 || !line_free_[o.line]) continue;
      double u, v;
      EvaluateFrameModel<double>(parameters_.data(), geometry_.center_x, geometry_.center_y, geometry_.half_diagonal, o.x, o.y, &u, &v);
      sum[o.line] += o.of_v ? v : u;
      ++count[o.line];
    }
    for (std::size_t i = 0; i < sum.size(); ++i) {
      if (count[i] > 0) line_at_[i] = sum[i] / count[i];
    }
  }

  std::vector<Observation> observations_;
  std::vector<double> line_at_;
  std::vector<bool> line_free_;
  FrameFitOptions options_;
  Geometry geometry_{};
  std::vector<double> parameters_;
};

bool Convex(const std::array<ImagePoint, 4>& c) {
  int sign = 0;
  for (int i = 0; i < 4; ++i) {
    const ImagePoint &a = c[i], &b = c[(i + 1) % 4], &d = c[(i + 2) % 4];
    const double cross = (b.x - a.x) * (d.y - b.y) - (b.y - a.y) * (d.x - b.x);
    if (std::abs(cross) < 1e-6) return false;
    const int here = cross > 0 ? 1 : -1;
    if (sign != 0 && here != sign) return false;
    sign = here;
  }
  return true;
}

}  // namespace

Result<void> FrameFitOptions::Check() const {
  if (picture_width < 0.0 || picture_height < 0.0)
    return Fail(ErrorCode::kInvalidArgument, "The picture's size must not be negative.", "picture_width");
  if (!(loss_px > 0.0) || !(straight_px > 0.0))
    return Fail(ErrorCode::kInvalidArgument, "loss_px and straight_px must be greater than zero.", "loss_px");
  if (points_per_line < 8) return Fail(ErrorCode::kInvalidArgument, "points_per_line must be at least 8.", "points_per_line");
  return {};
}

Result<FrameFit> FrameFitter::Fit(const std::array<ImagePoint, 4>& corners, const std::vector<FrameLine>& lines,
                                  const std::vector<FramePlace>& places, const FrameFitOptions& options) {
  if (auto checked = options.Check(); !checked) return std::unexpected(checked.error());
  if (!Convex(corners))
    return Fail(ErrorCode::kInvalidArgument,
                "The four plot corners do not form a four-sided figure; give them as top left, top right, bottom right, bottom left.");
  const FrameMapping start = FrameMapping::FromCorners(corners);

  std::vector<Observation> observations;
  std::vector<double> line_at;
  std::vector<bool> line_free;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const FrameLine& line = lines[i];
    line_at.push_back(line.at.value_or(0.5));
    line_free.push_back(!line.at.has_value());
    const std::size_t n = std::min<std::size_t>(line.points.size(), static_cast<std::size_t>(options.points_per_line));
    for (std::size_t k = 0; k < n; ++k) {
      const ImagePoint& p = line.points[n < 2 ? 0 : k * (line.points.size() - 1) / (n - 1)];
      observations.push_back({p.x, p.y, line.horizontal, line.at.value_or(0.5), static_cast<int>(i), 1.0, std::max(line.sigma_px, 0.01)});
    }
  }
  const std::size_t on_lines = observations.size();
  for (const FramePlace& place : places) {
    if (place.u) observations.push_back({place.image.x, place.image.y, false, *place.u, -1, 1.0, std::max(place.sigma_px, 0.01)});
    if (place.v) observations.push_back({place.image.x, place.image.y, true, *place.v, -1, 1.0, std::max(place.sigma_px, 0.01)});
  }
  if (observations.size() < 8) return Fail(ErrorCode::kInvalidArgument, "Too few points on the plot's sides to fit its geometry.");
  for (const Observation& o : observations) {
    if (!std::isfinite(o.x) || !std::isfinite(o.y)) return Fail(ErrorCode::kInvalidArgument, "A point on the plot's sides is not a number.");
  }

  Geometry geometry{};
  const bool lens = options.allow_lens && options.picture_width > 0.0 && options.picture_height > 0.0;
  if (lens) {
    geometry = {0.5 * (options.picture_width - 1.0), 0.5 * (options.picture_height - 1.0),
                0.5 * std::hypot(options.picture_width, options.picture_height)};
  } else {
    geometry = {start.parameters()[fp::kCenterX], start.parameters()[fp::kCenterY], start.parameters()[fp::kHalfDiagonal]};
  }

  Fitting fitting(std::move(observations), std::move(line_at), std::move(line_free), options);
  fitting.Start(start, geometry);
  fitting.UpdateScales();
  std::vector<int> active;
  const std::vector<int> spacing{fp::kSpacingU, fp::kSpacingU + 1, fp::kSpacingV, fp::kSpacingV + 1};
  if (options.fit_spacing) active = spacing;
  fitting.Solve(active);
  fitting.UpdateScales();
  double worst = fitting.WorstMean();

  // Each further term must halve what is left, or bring it under the limit; else it is noise that would be followed.
  struct Step {
    bool allowed;
    std::vector<int> terms;
  };
  const std::vector<int> bow_v{fp::kBowV, fp::kBowV + 1, fp::kBowV + 2, fp::kBowV + 3};
  const std::vector<int> bow_u{fp::kBowU, fp::kBowU + 1, fp::kBowU + 2, fp::kBowU + 3};
  std::vector<int> curl = bow_v;
  curl.push_back(fp::kLens);
  std::vector<int> curl_both = curl;
  curl_both.insert(curl_both.end(), bow_u.begin(), bow_u.end());
  std::vector<int> everything = curl_both;
  everything.push_back(fp::kSpreadV);
  everything.push_back(fp::kSpreadU);
  std::vector<int> only_bows = bow_v;
  only_bows.insert(only_bows.end(), bow_u.begin(), bow_u.end());
  const Step steps[] = {{lens, {fp::kLens}},
                        {lens && options.allow_curl, curl},
                        {!lens && options.allow_curl, only_bows},
                        {lens && options.allow_curl, curl_both},
                        {lens && options.allow_curl, everything}};
  for (const Step& step : steps) {
    if (worst <= options.straight_px) break;
    if (!step.allowed) continue;
    const std::vector<double> kept = fitting.parameters();
    const std::vector<double> kept_at = fitting.line_at();
    std::vector<int> terms = step.terms;
    if (options.fit_spacing) terms.insert(terms.end(), spacing.begin(), spacing.end());
    fitting.Solve(terms);
    fitting.UpdateScales();
    const double now = fitting.WorstMean();
    if (now < 0.7 * worst || now <= options.straight_px) {
      worst = now;
    } else {
      fitting.set_parameters(kept);
      fitting.set_line_at(kept_at);
      fitting.UpdateScales();
    }
  }

  FrameFit fit;
  const std::vector<double> residuals = fitting.Residuals();
  double sum = 0.0;
  for (std::size_t i = 0; i < residuals.size(); ++i) {
    if (std::abs(residuals[i]) < 3.0 * options.loss_px) {
      if (i < on_lines) sum += residuals[i] * residuals[i];
      fit.inliers += 1;
    }
  }
  fit.observations = static_cast<int>(residuals.size());
  if (fit.inliers < 4) return Fail(ErrorCode::kInvalidArgument, "The plot's sides do not agree with any flat or gently bent page.");
  fit.residual_px = std::sqrt(sum / fit.inliers);
  fit.worst_px = worst;
  fit.mapping = fitting.Mapping(fit.residual_px);
  return fit;
}

}  // namespace islebook
