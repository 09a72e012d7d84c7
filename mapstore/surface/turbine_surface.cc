#include "mapstore/surface/turbine_surface.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "mapstore/surface/spline.h"

namespace islebook {
namespace {

// Shape constants of the flow function and of the ideal jet velocity. They set curves that the data then correct, so exhaust gas and cold air both serve.
constexpr double kGamma = 1.34;
constexpr double kJetExponent = (kGamma - 1.0) / kGamma;
constexpr int kIntervals = 24;
constexpr double kFarOutside = 0.35;  // of the lines' range of expansion ratio

// Isentropic flow function over total-to-throat expansion, 1 when choked.
double FlowFunction(double expansion) {
  static const double critical = std::pow((kGamma + 1.0) / 2.0, kGamma / (kGamma - 1.0));
  const auto raw = [](double e) { return std::sqrt(std::max(std::pow(e, -2.0 / kGamma) - std::pow(e, -(kGamma + 1.0) / kGamma), 0.0)); };
  static const double most = raw(critical);
  if (expansion >= critical) return 1.0;
  if (expansion <= 1.0) return 0.0;
  return raw(expansion) / most;
}

double JetShare(double expansion_ratio) { return std::sqrt(std::max(1.0 - std::pow(std::max(expansion_ratio, 1.0), -kJetExponent), 1e-12)); }

struct Sample {
  double x = 0.0, y = 0.0, sigma = 0.0;
};

// One line: a form with few constants, and a smooth correction along the line that is held beyond its ends.
struct Line {
  double value = 0.0;
  double low = 0.0, high = 0.0;    // expansion ratio
  double area = 0.0, share = 0.6;  // flow lines
  double scale = 1.0;              // efficiency lines: of the common parabola
  double sigma = 0.0;              // of its points, typical, in y
  double missed = 0.0;             // what leaving the line out shows: relative for flow, absolute for efficiency
  HermiteCurve correction;  // factor on flow, term on efficiency, over the share of the ideal jet velocity: lines bend most where that is small
  double CorrectionAt(double expansion_ratio) const { return correction.Value(JetShare(std::clamp(expansion_ratio, low, high))); }
};

struct Parabola {
  double c0 = 0.0, c1 = 0.0, c2 = 0.0;
  double At(double x) const { return c0 + x * (c1 + x * c2); }
};

std::vector<Sample> SamplesOf(const Curve& curve, double y_scale) {
  std::vector<Sample> samples;
  for (std::size_t i = 0; i < curve.points.size(); ++i) {
    const Point2& point = curve.points[i];
    if (!std::isfinite(point.x) || !std::isfinite(point.y) || !(point.x > 1.0)) continue;
    Sample sample{point.x, point.y * y_scale, 0.0};
    if (i < curve.sigma.size() && std::isfinite(curve.sigma[i].y)) sample.sigma = std::abs(curve.sigma[i].y) * y_scale;
    samples.push_back(sample);
  }
  std::stable_sort(samples.begin(), samples.end(), [](const Sample& a, const Sample& b) { return a.x < b.x; });
  // Several readings at one place count as their mean.
  std::vector<Sample> merged;
  for (const Sample& sample : samples) {
    if (!merged.empty() && sample.x - merged.back().x < 1e-9) {
      merged.back().y = 0.5 * (merged.back().y + sample.y);
    } else {
      merged.push_back(sample);
    }
  }
  return merged;
}

// The smooth correction along a line from its values at the samples.
HermiteCurve Correction(const std::vector<Sample>& samples, const std::vector<double>& values, double low_ratio, double high_ratio) {
  const double low = JetShare(low_ratio), high = JetShare(high_ratio);
  if (samples.size() < 2 || !(high > low)) return HermiteCurve({low, std::max(high, low + 1e-6)}, {values.front(), values.front()}, {0.0, 0.0});
  std::vector<SmoothInput> data(samples.size());
  for (std::size_t i = 0; i < samples.size(); ++i)
    data[i] = {(JetShare(samples[i].x) - low) / (high - low), values[i], 1.0, i == 0 || i + 1 == samples.size()};
  const SmoothResult smooth = Smooth(data, kIntervals);
  std::vector<double> x(kIntervals + 1);
  for (int k = 0; k <= kIntervals; ++k) x[k] = low + (high - low) * k / kIntervals;
  return HermiteCurve::Spline(std::move(x), smooth.values);
}

void FitFlow(Line& line, const std::vector<Sample>& samples) {
  // Area is linear for a given share; the share is found by golden section, held loosely at its usual value where a choked line does not tell.
  const auto solve = [&](double share, double& area) {
    double top = 0.0, bottom = 0.0;
    for (const Sample& sample : samples) {
      const double f = FlowFunction(std::pow(sample.x, share));
      top += f * sample.y;
      bottom += f * f;
    }
    area = bottom > 0.0 ? top / bottom : 0.0;
    double misfit = 0.0, size = 0.0;
    for (const Sample& sample : samples) {
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
  for (const Sample& sample : samples) ratios.push_back(sample.y / std::max(line.area * FlowFunction(std::pow(sample.x, line.share)), 1e-300));
  line.correction = Correction(samples, ratios, line.low, line.high);
}

double Median(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// Interpolates over the lines' values; `pick` gives a line's number. `left_out`: a line not to use.
template <typename Pick>
double Across(const std::vector<Line>& lines, double parameter, const Pick& pick, int left_out = -1) {
  std::vector<double> x, y;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (static_cast<int>(i) == left_out) continue;
    x.push_back(lines[i].value);
    y.push_back(pick(lines[i]));
  }
  if (x.size() == 1) return y.front();
  const std::vector<double> slopes = SplineSlopes(x, y);
  const int i = std::clamp(static_cast<int>(std::upper_bound(x.begin(), x.end(), parameter) - x.begin()) - 1, 0, static_cast<int>(x.size()) - 2);
  const double step = x[i + 1] - x[i], t = (parameter - x[i]) / step, u = 1.0 - t;
  return u * u * ((1.0 + 2.0 * t) * y[i] + t * step * slopes[i]) + t * t * ((1.0 + 2.0 * u) * y[i + 1] - u * step * slopes[i + 1]);
}

double Straight(const std::vector<Line>& lines, double parameter, double Line::* number) {
  if (lines.size() == 1) return lines.front().*number;
  std::size_t i = 0;
  while (i + 2 < lines.size() && parameter > lines[i + 1].value) ++i;
  const double t = std::clamp((parameter - lines[i].value) / (lines[i + 1].value - lines[i].value), 0.0, 1.0);
  return lines[i].*number + t * (lines[i + 1].*number - lines[i].*number);
}

// 0 on a line, 1 midway between two.
double BetweenLines(const std::vector<Line>& lines, double parameter) {
  if (lines.size() < 2) return 0.0;
  std::size_t i = 0;
  while (i + 2 < lines.size() && parameter > lines[i + 1].value) ++i;
  const double t = std::clamp((parameter - lines[i].value) / (lines[i + 1].value - lines[i].value), 0.0, 1.0);
  return 4.0 * t * (1.0 - t);
}

bool IsSpeedUnit(const std::string& unit) { return unit == "rpm" || unit == "krpm" || unit == "m/s"; }

}  // namespace

struct TurbineSurface::Impl {
  TurbineParameter parameter = TurbineParameter::kNone;
  std::string unit;
  std::vector<std::string> notes;
  std::vector<Line> flow, efficiency;  // ascending values
  std::vector<double> values;
  Parabola parabola;  // efficiency over relative blade-jet speed ratio
  double top_value = 1.0;
  bool by_speed = false;

  double JetRatio(double value, double expansion_ratio) const { return (by_speed ? value / top_value : 1.0) / JetShare(expansion_ratio); }

  double RawFlow(double value, double expansion_ratio, int left_out = -1) const {
    const double area = Across(flow, value, [](const Line& line) { return line.area; }, left_out);
    const double share = Across(flow, value, [](const Line& line) { return line.share; }, left_out);
    const double factor = Across(flow, value, [&](const Line& line) { return line.CorrectionAt(expansion_ratio); }, left_out);
    return area * FlowFunction(std::pow(expansion_ratio, share)) * factor;
  }
  double RawEfficiency(double value, double expansion_ratio, int left_out = -1) const {
    const double scale = Across(efficiency, value, [](const Line& line) { return line.scale; }, left_out);
    const double term = Across(efficiency, value, [&](const Line& line) { return line.CorrectionAt(expansion_ratio); }, left_out);
    return scale * parabola.At(JetRatio(value, expansion_ratio)) + term;
  }
  void FitEfficiency(const std::vector<std::vector<Sample>>& samples);
  void LeaveLinesOut();
  double Low(double value) const {
    return std::min(flow.empty() ? 1e300 : Straight(flow, value, &Line::low), efficiency.empty() ? 1e300 : Straight(efficiency, value, &Line::low));
  }
  double High(double value) const {
    return std::max(flow.empty() ? 0.0 : Straight(flow, value, &Line::high), efficiency.empty() ? 0.0 : Straight(efficiency, value, &Line::high));
  }
  bool Covers(const std::vector<Line>& lines, double value) const {
    if (lines.empty() || !std::isfinite(value)) return false;
    if (parameter == TurbineParameter::kNone) return true;
    const double slack = 1e-9 * std::abs(top_value);
    return value >= lines.front().value - slack && value <= lines.back().value + slack;
  }
};

void TurbineSurface::Impl::FitEfficiency(const std::vector<std::vector<Sample>>& samples) {
  // One parabola over the blade-jet speed ratio through all lines, each line weighing the same.
  double m[3][4] = {};
  for (std::size_t i = 0; i < efficiency.size(); ++i) {
    for (const Sample& sample : samples[i]) {
      const double x = JetRatio(efficiency[i].value, sample.x), weight = 1.0 / static_cast<double>(samples[i].size());
      const double powers[3] = {1.0, x, x * x};
      for (int a = 0; a < 3; ++a) {
        for (int b = 0; b < 3; ++b) m[a][b] += weight * powers[a] * powers[b];
        m[a][3] += weight * powers[a] * sample.y;
      }
    }
  }
  for (int a = 0; a < 3; ++a) m[a][a] += 1e-9;
  for (int a = 0; a < 3; ++a) {
    int pivot = a;
    for (int b = a + 1; b < 3; ++b)
      if (std::abs(m[b][a]) > std::abs(m[pivot][a])) pivot = b;
    std::swap_ranges(m[a], m[a] + 4, m[pivot]);
    for (int b = 0; b < 3; ++b) {
      if (b == a) continue;
      const double factor = m[b][a] / m[a][a];
      for (int c = a; c < 4; ++c) m[b][c] -= factor * m[a][c];
    }
  }
  parabola = {m[0][3] / m[0][0], m[1][3] / m[1][1], m[2][3] / m[2][2]};
  for (std::size_t i = 0; i < efficiency.size(); ++i) {
    Line& line = efficiency[i];
    double top = 0.0, bottom = 0.0;
    for (const Sample& sample : samples[i]) {
      const double base = parabola.At(JetRatio(line.value, sample.x));
      top += base * sample.y;
      bottom += base * base;
    }
    line.scale = bottom > 0.0 ? top / bottom : 1.0;
    std::vector<double> terms;
    for (const Sample& sample : samples[i]) terms.push_back(sample.y - line.scale * parabola.At(JetRatio(line.value, sample.x)));
    line.correction = Correction(samples[i], terms, line.low, line.high);
  }
}

void TurbineSurface::Impl::LeaveLinesOut() {
  const auto shown = [](std::vector<Line>& lines, const auto& predict, const auto& actual, bool relative) {
    const int count = static_cast<int>(lines.size());
    for (int i = 1; i + 1 < count && count >= 4; ++i) {
      double squares = 0.0;
      constexpr int kPlaces = 9;
      for (int k = 0; k < kPlaces; ++k) {
        const double er = lines[i].low + (lines[i].high - lines[i].low) * k / (kPlaces - 1);
        const double right = actual(lines[i].value, er), wrong = predict(lines[i].value, er, i) - right;
        squares += std::pow(relative ? wrong / std::max(std::abs(right), 1e-12) : wrong, 2);
      }
      lines[i].missed = std::sqrt(squares / kPlaces);
    }
    if (count >= 4) {
      lines.front().missed = 1.5 * lines[1].missed;
      lines.back().missed = 1.5 * lines[count - 2].missed;
    } else if (count > 1) {
      for (Line& line : lines) line.missed = 0.02;
    }
  };
  shown(flow, [this](double v, double er, int i) { return RawFlow(v, er, i); }, [this](double v, double er) { return RawFlow(v, er); }, true);
  shown(
      efficiency, [this](double v, double er, int i) { return RawEfficiency(v, er, i); },
      [this](double v, double er) { return RawEfficiency(v, er); }, false);
}

Result<TurbineSurface> TurbineSurface::Build(const PerformanceMap& map) {
  if (map.kind == MapKind::kCompressor) return Fail(ErrorCode::kWrongKind, "this is a compressor map; a turbine map is needed here.");
  if (!map.kind) return Fail(ErrorCode::kWrongKind, "this document holds no turbine map.");
  if (!map.x || !map.y)
    return Fail(ErrorCode::kMalformedDocument, "the map lacks an axis, so its curves mean nothing; give both axes in the recipe.");
  const auto is_expansion = [](const Axis& axis) {
    return axis.quantity == Quantity::kExpansionRatioTotalToStatic || axis.quantity == Quantity::kExpansionRatioTotalToTotal;
  };
  if (is_expansion(*map.y) && !is_expansion(*map.x)) {
    // A sheet with flow along x, turned round; efficiency lines then stand over flow and say nothing about expansion ratio.
    PerformanceMap turned = map;
    std::swap(turned.x, turned.y);
    turned.efficiency.reset();
    std::erase_if(turned.curves, [](const Curve& curve) { return curve.role == CurveRole::kEfficiencyLine; });
    for (Curve& curve : turned.curves) {
      for (Point2& point : curve.points) std::swap(point.x, point.y);
      for (Point2& sigma : curve.sigma) std::swap(sigma.x, sigma.y);
    }
    return Build(turned);
  }
  if (map.x->quantity != Quantity::kExpansionRatioTotalToStatic && map.x->quantity != Quantity::kExpansionRatioTotalToTotal)
    return Fail(ErrorCode::kMalformedDocument, "one axis of a turbine map must be an expansion ratio.", "axes.x");
  auto impl = std::make_shared<Impl>();
  const bool y_is_efficiency = map.y->quantity == Quantity::kEfficiencyTotalToStatic || map.y->quantity == Quantity::kEfficiencyTotalToTotal;
  const std::string efficiency_unit = map.efficiency ? map.efficiency->unit : y_is_efficiency ? map.y->unit : "1";

  std::map<std::string, int> units;
  int unlabeled = 0;
  for (const Curve& curve : map.curves)
    if ((curve.role == CurveRole::kFlowLine || curve.role == CurveRole::kEfficiencyLine) && curve.value) ++units[curve.unit];
  for (const auto& [unit, count] : units)
    if (impl->unit.empty() || count > units[impl->unit]) impl->unit = unit;
  struct Gathered {
    std::map<double, std::vector<Sample>> lines;
  } flow, efficiency;
  std::vector<const Curve*> nameless;
  for (const Curve& curve : map.curves) {
    if (curve.role != CurveRole::kFlowLine && curve.role != CurveRole::kEfficiencyLine) continue;
    const bool is_flow = curve.role == CurveRole::kFlowLine;
    const std::vector<Sample> samples = SamplesOf(curve, !is_flow && efficiency_unit == "%" ? 0.01 : 1.0);
    if (samples.size() < 2) {
      impl->notes.push_back("A line with fewer than two usable points is left out.");
      continue;
    }
    if (!curve.value || !std::isfinite(*curve.value)) {
      nameless.push_back(&curve);
      continue;
    }
    if (curve.unit != impl->unit) {
      impl->notes.push_back(fmt::format("The line labeled {:g} {} is in another unit than the other labels ({}) and is left out.", *curve.value,
                                        curve.unit, impl->unit));
      continue;
    }
    if (curve.needs_review)
      impl->notes.push_back(
          fmt::format("The {} line labeled {:g} {} is flagged for review.", is_flow ? "flow" : "efficiency", *curve.value, curve.unit));
    std::vector<Sample>& all = (is_flow ? flow : efficiency).lines[*curve.value];
    all.insert(all.end(), samples.begin(), samples.end());
  }
  if (units.empty()) {
    // A chart of a single flow line and perhaps its efficiency needs no label.
    for (const Curve* curve : nameless) {
      Gathered& kind = curve->role == CurveRole::kFlowLine ? flow : efficiency;
      if (!kind.lines.empty()) {
        ++unlabeled;
        continue;
      }
      kind.lines[0.0] = SamplesOf(*curve, curve->role == CurveRole::kEfficiencyLine && efficiency_unit == "%" ? 0.01 : 1.0);
    }
  } else {
    unlabeled = static_cast<int>(nameless.size());
    impl->parameter = IsSpeedUnit(impl->unit) ? TurbineParameter::kSpeed : TurbineParameter::kVaneOpening;
  }
  if (unlabeled > 0) impl->notes.push_back(fmt::format("{} line(s) without a value are left out.", unlabeled));
  if (flow.lines.empty() && efficiency.lines.empty())
    return Fail(ErrorCode::kNotEnoughCurves, "the map has no turbine line that can be used; label the lines in the recipe.");
  impl->by_speed = impl->parameter == TurbineParameter::kSpeed;
  for (const Gathered* kind : {&flow, &efficiency})
    for (const auto& [value, samples] : kind->lines) impl->values.push_back(value);
  std::sort(impl->values.begin(), impl->values.end());
  impl->values.erase(std::unique(impl->values.begin(), impl->values.end()), impl->values.end());
  impl->top_value = impl->values.back() > 0.0 ? impl->values.back() : 1.0;

  const auto start_line = [](double value, std::vector<Sample>& samples) {
    std::stable_sort(samples.begin(), samples.end(), [](const Sample& a, const Sample& b) { return a.x < b.x; });
    Line line;
    line.value = value;
    line.low = samples.front().x;
    line.high = samples.back().x;
    std::vector<double> sigmas;
    for (const Sample& sample : samples) sigmas.push_back(sample.sigma);
    line.sigma = Median(sigmas);
    return line;
  };
  for (auto& [value, samples] : flow.lines) {
    Line line = start_line(value, samples);
    FitFlow(line, samples);
    if (line.area > 0.0) impl->flow.push_back(std::move(line));
  }
  std::vector<std::vector<Sample>> efficiency_samples;
  for (auto& [value, samples] : efficiency.lines) {
    impl->efficiency.push_back(start_line(value, samples));
    efficiency_samples.push_back(samples);
  }
  if (!impl->efficiency.empty()) impl->FitEfficiency(efficiency_samples);
  if (impl->flow.empty() && impl->efficiency.empty()) return Fail(ErrorCode::kNotEnoughCurves, "the map has no turbine line that can be used.");
  impl->LeaveLinesOut();
  return TurbineSurface(std::move(impl));
}

TurbineParameter TurbineSurface::Parameter() const { return impl_->parameter; }
const std::string& TurbineSurface::ParameterUnit() const { return impl_->unit; }
const std::vector<double>& TurbineSurface::LineValues() const { return impl_->values; }
bool TurbineSurface::HasFlow() const { return !impl_->flow.empty(); }
bool TurbineSurface::HasEfficiency() const { return !impl_->efficiency.empty(); }
const std::vector<std::string>& TurbineSurface::Notes() const { return impl_->notes; }
double TurbineSurface::MinExpansionRatio(double parameter) const { return impl_->Low(parameter); }
double TurbineSurface::MaxExpansionRatio(double parameter) const { return impl_->High(parameter); }

namespace {

// How far outside the lines' range, as a share of it; 0 inside.
double Outside(double expansion_ratio, double low, double high) {
  const double span = std::max(high - low, 0.05);
  return std::max({0.0, (low - expansion_ratio) / span, (expansion_ratio - high) / span});
}

}  // namespace

std::optional<TurbineValue> TurbineSurface::Flow(double parameter, double expansion_ratio) const {
  if (!impl_->Covers(impl_->flow, parameter) || !(expansion_ratio > 1.0)) return std::nullopt;
  const double low = Straight(impl_->flow, parameter, &Line::low), high = Straight(impl_->flow, parameter, &Line::high);
  const double outside = Outside(expansion_ratio, low, high);
  // Below the range a nozzle's flow goes to zero by itself; above, only so far.
  if (outside > kFarOutside && expansion_ratio > high) return std::nullopt;
  TurbineValue value;
  value.value = impl_->RawFlow(parameter, expansion_ratio);
  value.extrapolated = outside > 1e-9;
  const double step = 1e-5 * expansion_ratio;
  value.by_expansion_ratio = (impl_->RawFlow(parameter, expansion_ratio + step) - impl_->RawFlow(parameter, std::max(expansion_ratio - step, 1.0))) /
                             (expansion_ratio + step - std::max(expansion_ratio - step, 1.0));
  const double between = 0.4 * Straight(impl_->flow, parameter, &Line::missed) * BetweenLines(impl_->flow, parameter);
  value.sigma = std::sqrt(std::pow(Straight(impl_->flow, parameter, &Line::sigma), 2) +
                          std::pow(value.value, 2) * (between * between + 1e-8 + std::pow(0.1 * outside, 2)));
  if (!std::isfinite(value.value) || !std::isfinite(value.by_expansion_ratio) || !std::isfinite(value.sigma)) return std::nullopt;
  return value;
}

std::optional<TurbineValue> TurbineSurface::Efficiency(double parameter, double expansion_ratio) const {
  if (!impl_->Covers(impl_->efficiency, parameter) || !(expansion_ratio > 1.0)) return std::nullopt;
  const double low = Straight(impl_->efficiency, parameter, &Line::low), high = Straight(impl_->efficiency, parameter, &Line::high);
  const double outside = Outside(expansion_ratio, low, high);
  if (outside > kFarOutside) return std::nullopt;
  TurbineValue value;
  value.value = impl_->RawEfficiency(parameter, expansion_ratio);
  value.extrapolated = outside > 1e-9;
  const double step = 1e-5 * expansion_ratio, left = std::max(expansion_ratio - step, 1.0);
  value.by_expansion_ratio =
      (impl_->RawEfficiency(parameter, expansion_ratio + step) - impl_->RawEfficiency(parameter, left)) / (expansion_ratio + step - left);
  const double between = 0.4 * Straight(impl_->efficiency, parameter, &Line::missed) * BetweenLines(impl_->efficiency, parameter);
  value.sigma = std::sqrt(std::pow(Straight(impl_->efficiency, parameter, &Line::sigma), 2) + between * between + 1e-8 + std::pow(0.15 * outside, 2));
  if (!std::isfinite(value.value) || !std::isfinite(value.by_expansion_ratio) || !std::isfinite(value.sigma)) return std::nullopt;
  if (value.value < 0.0 || value.value > 1.0) return std::nullopt;
  return value;
}

std::vector<double> TurbineSurface::ParametersAt(double expansion_ratio, double flow) const {
  std::vector<double> found;
  if (impl_->parameter == TurbineParameter::kNone || impl_->flow.size() < 2 || !(flow > 0.0) || !(expansion_ratio > 1.0) || !std::isfinite(flow))
    return found;
  const double low = impl_->flow.front().value, high = impl_->flow.back().value;
  const auto miss = [&](double value) { return impl_->RawFlow(value, expansion_ratio) - flow; };
  constexpr int kPieces = 64;
  double before = miss(low);
  if (before == 0.0) found.push_back(low);
  for (int k = 1; k <= kPieces; ++k) {
    const double left = low + (high - low) * (k - 1) / kPieces, right = low + (high - low) * k / kPieces;
    const double after = miss(right);
    if (after == 0.0) {
      found.push_back(right);
    } else if (before != 0.0 && (before < 0.0) != (after < 0.0)) {
      double a = left, b = right;
      for (int i = 0; i < 60; ++i) {
        const double middle = 0.5 * (a + b);
        ((miss(middle) < 0.0) == (before < 0.0) ? a : b) = middle;
      }
      found.push_back(0.5 * (a + b));
    }
    before = after;
  }
  std::erase_if(found, [&](double value) {
    return Outside(expansion_ratio, Straight(impl_->flow, value, &Line::low), Straight(impl_->flow, value, &Line::high)) > kFarOutside;
  });
  return found;
}

std::optional<double> TurbineSurface::ExpansionRatioAt(double parameter, double flow) const {
  if (!impl_->Covers(impl_->flow, parameter) || !(flow > 0.0) || !std::isfinite(flow)) return std::nullopt;
  const double low = Straight(impl_->flow, parameter, &Line::low), high = Straight(impl_->flow, parameter, &Line::high);
  double a = std::max(1.0 + 1e-6, low - kFarOutside * (high - low)), b = high;
  const auto value = [&](double er) { return impl_->RawFlow(parameter, er); };
  // The rising part only: where the flow no longer rises it no longer says.
  constexpr int kPieces = 128;
  double left = a, at_left = value(a);
  if (flow < at_left) return std::nullopt;
  for (int k = 1; k <= kPieces; ++k) {
    const double right = a + (b - a) * k / kPieces, at_right = value(right);
    if (flow >= at_left && flow < at_right) {
      if ((at_right - at_left) / at_right < 1e-5 * (right - left) / right) return std::nullopt;
      double x = left, y = right;
      for (int i = 0; i < 60; ++i) {
        const double middle = 0.5 * (x + y);
        (value(middle) < flow ? x : y) = middle;
      }
      return 0.5 * (x + y);
    }
    left = right;
    at_left = at_right;
  }
  return std::nullopt;
}

}  // namespace islebook
