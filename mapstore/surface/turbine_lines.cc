#include "mapstore/surface/turbine_lines.h"

#include <algorithm>
#include <cmath>

namespace islebook {
namespace {

// Shape constants of the flow function and of the ideal jet velocity. They set curves that the data then correct, so exhaust gas and cold air both serve.
constexpr double kGamma = 1.34;
constexpr double kJetExponent = (kGamma - 1.0) / kGamma;
constexpr int kIntervals = 24;

double Median(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

}  // namespace

double FlowFunction(double expansion) {
  static const double critical = std::pow((kGamma + 1.0) / 2.0, kGamma / (kGamma - 1.0));
  const auto raw = [](double e) { return std::sqrt(std::max(std::pow(e, -2.0 / kGamma) - std::pow(e, -(kGamma + 1.0) / kGamma), 0.0)); };
  static const double most = raw(critical);
  if (expansion >= critical) return 1.0;
  if (expansion <= 1.0) return 0.0;
  return raw(expansion) / most;
}

double JetShare(double expansion_ratio) { return std::sqrt(std::max(1.0 - std::pow(std::max(expansion_ratio, 1.0), -kJetExponent), 1e-12)); }

std::vector<TurbineSample> SamplesOf(const Curve& curve, double y_scale, double least) {
  std::vector<TurbineSample> samples;
  for (std::size_t i = 0; i < curve.points.size(); ++i) {
    const Point2& point = curve.points[i];
    if (!std::isfinite(point.x) || !std::isfinite(point.y) || !(point.x > least)) continue;
    TurbineSample sample{point.x, point.y * y_scale, 0.0};
    if (i < curve.sigma.size() && std::isfinite(curve.sigma[i].y)) sample.sigma = std::abs(curve.sigma[i].y) * y_scale;
    samples.push_back(sample);
  }
  std::stable_sort(samples.begin(), samples.end(), [](const TurbineSample& a, const TurbineSample& b) { return a.x < b.x; });
  // Several readings at one place count as their mean.
  std::vector<TurbineSample> merged;
  for (const TurbineSample& sample : samples) {
    if (!merged.empty() && sample.x - merged.back().x < 1e-9) {
      merged.back().y = 0.5 * (merged.back().y + sample.y);
    } else {
      merged.push_back(sample);
    }
  }
  return merged;
}

HermiteCurve SmoothAlong(const std::vector<TurbineSample>& samples, const std::vector<double>& values, double low_end, double high_end,
                         double (*along)(double)) {
  const double low = along(low_end), high = along(high_end);
  if (samples.size() < 2 || !(high > low)) return HermiteCurve({low, std::max(high, low + 1e-6)}, {values.front(), values.front()}, {0.0, 0.0});
  std::vector<SmoothInput> data(samples.size());
  for (std::size_t i = 0; i < samples.size(); ++i)
    data[i] = {(along(samples[i].x) - low) / (high - low), values[i], 1.0, i == 0 || i + 1 == samples.size()};
  const SmoothResult smooth = Smooth(data, kIntervals);
  std::vector<double> x(kIntervals + 1);
  for (int k = 0; k <= kIntervals; ++k) x[k] = low + (high - low) * k / kIntervals;
  return HermiteCurve::Spline(std::move(x), smooth.values);
}

void FitFlow(FittedTurbineLine& line, const std::vector<TurbineSample>& samples) {
  // Area is linear for a given share; the share is found by golden section, held loosely at its usual value where a choked line does not tell.
  const auto solve = [&](double share, double& area) {
    double top = 0.0, bottom = 0.0;
    for (const TurbineSample& sample : samples) {
      const double f = FlowFunction(std::pow(sample.x, share));
      top += f * sample.y;
      bottom += f * f;
    }
    area = bottom > 0.0 ? top / bottom : 0.0;
    double misfit = 0.0, size = 0.0;
    for (const TurbineSample& sample : samples) {
      misfit += std::pow(sample.y - area * FlowFunction(std::pow(sample.x, share)), 2);
      size += sample.y * sample.y;
    }
    return misfit / std::max(size, 1e-300) + 1e-8 * (share - 0.6) * (share - 0.6);
  };
  double low = 0.15, high = 1.6, area = 0.0;
  constexpr double kGolden = 0.6180339887498949;
  double a = high - kGolden * (high - low), b = low + kGolden * (high - low);
  double fa = solve(a, area), fb = solve(b, area);
  for (int i = 0; i < 60; ++i) {
    if (fa < fb) {
      high = b, b = a, fb = fa;
      a = high - kGolden * (high - low);
      fa = solve(a, area);
    } else {
      low = a, a = b, fa = fb;
      b = low + kGolden * (high - low);
      fb = solve(b, area);
    }
  }
  line.share = 0.5 * (low + high);
  solve(line.share, line.area);
  std::vector<double> ratios;
  for (const TurbineSample& sample : samples) ratios.push_back(sample.y / std::max(line.area * FlowFunction(std::pow(sample.x, line.share)), 1e-300));
  line.correction = SmoothAlong(samples, ratios, line.low, line.high, JetShare);
}

double FittedTurbineLine::CorrectionAt(double jet_share) const {
  return correction.Value(std::clamp(jet_share, correction.front(), correction.back()));
}

FittedTurbineLine StartLine(double value, std::vector<TurbineSample>& samples) {
  std::stable_sort(samples.begin(), samples.end(), [](const TurbineSample& a, const TurbineSample& b) { return a.x < b.x; });
  FittedTurbineLine line;
  line.value = value;
  line.low = samples.front().x;
  line.high = samples.back().x;
  std::vector<double> sigmas;
  for (const TurbineSample& sample : samples) sigmas.push_back(sample.sigma);
  line.sigma = Median(sigmas);
  return line;
}

AcrossLines::AcrossLines(const std::vector<FittedTurbineLine>& lines, int left_out) : count_(std::min(lines.size(), kMost)) {
  for (std::size_t i = 0; i < count_; ++i) {
    if (static_cast<int>(i) == left_out) continue;
    x_.push_back(lines[i].value);
    index_.push_back(i);
  }
  // Slopes are linear in the numbers: one column for each.
  const std::size_t knots = x_.size();
  slopes_.resize(knots * knots);
  std::vector<double> unit(knots, 0.0);
  for (std::size_t j = 0; j < knots; ++j) {
    unit[j] = 1.0;
    const std::vector<double> column = SplineSlopes(x_, unit);
    unit[j] = 0.0;
    for (std::size_t i = 0; i < knots; ++i) slopes_[i * knots + j] = column[i];
  }
}

void AcrossLines::At(double value, Weights& weights) const {
  weights.count = count_;
  std::fill_n(weights.value.begin(), count_, 0.0);
  std::fill_n(weights.slope.begin(), count_, 0.0);
  const std::size_t knots = x_.size();
  if (knots == 0) return;
  if (knots == 1) {
    weights.value[index_[0]] = 1.0;
    return;
  }
  const std::size_t i = static_cast<std::size_t>(
      std::clamp<std::ptrdiff_t>(std::upper_bound(x_.begin(), x_.end(), value) - x_.begin() - 1, 0, static_cast<std::ptrdiff_t>(knots) - 2));
  const double step = x_[i + 1] - x_[i], t = (value - x_[i]) / step, u = 1.0 - t, six = 6.0 * t * u / step;
  const double b = u * u * t * step, d = -t * t * u * step, db = u * (1.0 - 3.0 * t), dd = t * (3.0 * t - 2.0);
  for (std::size_t j = 0; j < knots; ++j) {
    weights.value[index_[j]] = b * slopes_[i * knots + j] + d * slopes_[(i + 1) * knots + j];
    weights.slope[index_[j]] = db * slopes_[i * knots + j] + dd * slopes_[(i + 1) * knots + j];
  }
  weights.value[index_[i]] += u * u * (1.0 + 2.0 * t);
  weights.value[index_[i + 1]] += t * t * (1.0 + 2.0 * u);
  weights.slope[index_[i]] -= six;
  weights.slope[index_[i + 1]] += six;
}

double StraightAcross(const std::vector<FittedTurbineLine>& lines, double value, double FittedTurbineLine::* number) {
  if (lines.size() == 1) return lines.front().*number;
  std::size_t i = 0;
  while (i + 2 < lines.size() && value > lines[i + 1].value) ++i;
  const double t = std::clamp((value - lines[i].value) / (lines[i + 1].value - lines[i].value), 0.0, 1.0);
  return lines[i].*number + t * (lines[i + 1].*number - lines[i].*number);
}

double BetweenLines(const std::vector<FittedTurbineLine>& lines, double value) {
  if (lines.size() < 2) return 0.0;
  std::size_t i = 0;
  while (i + 2 < lines.size() && value > lines[i + 1].value) ++i;
  const double t = std::clamp((value - lines[i].value) / (lines[i + 1].value - lines[i].value), 0.0, 1.0);
  return 4.0 * t * (1.0 - t);
}

}  // namespace islebook
