#include "mapstore/surface/turbine_surface.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "mapstore/surface/turbine_lines.h"

namespace islebook {
namespace {

constexpr double kFarOutside = 0.35;  // of the lines' range of expansion ratio

using Sample = TurbineSample;
using Line = FittedTurbineLine;

struct Parabola {
  double c0 = 0.0, c1 = 0.0, c2 = 0.0;
  double At(double x) const { return c0 + x * (c1 + x * c2); }
};

bool IsSpeedUnit(const std::string& unit) { return unit == "rpm" || unit == "krpm" || unit == "m/s"; }

double AsIs(double x) { return x; }

}  // namespace

struct TurbineSurface::Impl {
  TurbineParameter parameter = TurbineParameter::kNone;
  std::string unit;
  std::vector<std::string> notes;
  std::vector<Line> flow, efficiency;     // ascending values
  std::vector<Line> over_velocity_ratio;  // efficiency lines of a chart whose x is the velocity ratio
  AcrossLines across_flow, across_efficiency, across_velocity_ratio;
  std::vector<double> values;
  Parabola parabola;  // efficiency over relative blade-jet speed ratio
  double top_value = 1.0;
  bool by_speed = false;

  double JetRatio(double value, double expansion_ratio) const { return (by_speed ? value / top_value : 1.0) / JetShare(expansion_ratio); }

  double RawFlow(double value, double expansion_ratio) const { return RawFlow(value, expansion_ratio, across_flow); }
  double RawFlow(double value, double expansion_ratio, const AcrossLines& across) const {
    AcrossLines::Weights weights;
    across.At(value, weights);
    const double jet = JetShare(expansion_ratio);
    double area = 0.0, share = 0.0, factor = 0.0;
    for (std::size_t i = 0; i < weights.count; ++i) {
      if (weights.value[i] == 0.0) continue;
      area += weights.value[i] * flow[i].area;
      share += weights.value[i] * flow[i].share;
      factor += weights.value[i] * flow[i].CorrectionAt(jet);
    }
    return area * FlowFunction(std::pow(expansion_ratio, share)) * factor;
  }
  double RawEfficiency(double value, double expansion_ratio) const { return RawEfficiency(value, expansion_ratio, across_efficiency); }
  double RawEfficiency(double value, double expansion_ratio, const AcrossLines& across) const {
    AcrossLines::Weights weights;
    across.At(value, weights);
    const double jet = JetShare(expansion_ratio);
    const double scale = weights.Of([&](std::size_t i) { return efficiency[i].scale; });
    const double term = weights.Of([&](std::size_t i) { return efficiency[i].CorrectionAt(jet); });
    return scale * parabola.At(JetRatio(value, expansion_ratio)) + term;
  }
  double RawOverVelocityRatio(double value, double ratio, const AcrossLines& across) const {
    AcrossLines::Weights weights;
    across.At(value, weights);
    return weights.Of([&](std::size_t i) { return over_velocity_ratio[i].CorrectionAt(ratio); });
  }
  // Derivative by the lines' value; one-sided at the outermost lines, 0 where there is but one.
  template <typename At>
  double ByParameter(double value, const At& at) const {
    if (parameter == TurbineParameter::kNone || values.size() < 2) return 0.0;
    const double step = 1e-5 * (values.back() - values.front());
    return (at(value + step) - at(value - step)) / (2.0 * step);
  }
  void FitEfficiency(const std::vector<std::vector<Sample>>& samples);
  void LeaveLinesOut();
  double Low(double value) const {
    return std::min(flow.empty() ? 1e300 : StraightAcross(flow, value, &Line::low),
                    efficiency.empty() ? 1e300 : StraightAcross(efficiency, value, &Line::low));
  }
  double High(double value) const {
    return std::max(flow.empty() ? 0.0 : StraightAcross(flow, value, &Line::high),
                    efficiency.empty() ? 0.0 : StraightAcross(efficiency, value, &Line::high));
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
    line.correction = SmoothAlong(samples[i], terms, line.low, line.high, JetShare);
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
  shown(
      flow, [this](double v, double er, int i) { return RawFlow(v, er, AcrossLines(flow, i)); },
      [this](double v, double er) { return RawFlow(v, er); }, true);
  shown(
      efficiency, [this](double v, double er, int i) { return RawEfficiency(v, er, AcrossLines(efficiency, i)); },
      [this](double v, double er) { return RawEfficiency(v, er); }, false);
  shown(
      over_velocity_ratio, [this](double v, double ratio, int i) { return RawOverVelocityRatio(v, ratio, AcrossLines(over_velocity_ratio, i)); },
      [this](double v, double ratio) { return RawOverVelocityRatio(v, ratio, across_velocity_ratio); }, false);
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
  auto impl = std::make_shared<Impl>();
  const bool y_is_efficiency = map.y->quantity == Quantity::kEfficiencyTotalToStatic || map.y->quantity == Quantity::kEfficiencyTotalToTotal;
  const bool over_velocity_ratio = map.x->quantity == Quantity::kVelocityRatio && (y_is_efficiency || map.efficiency);
  if (!is_expansion(*map.x) && !over_velocity_ratio)
    return Fail(ErrorCode::kMalformedDocument, "one axis of a turbine map must be an expansion ratio, or a velocity ratio with efficiency over it.",
                "axes.x");
  const std::string efficiency_unit = map.efficiency ? map.efficiency->unit : y_is_efficiency ? map.y->unit : "1";

  const double least = over_velocity_ratio ? 0.0 : 1.0;

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
    const std::vector<Sample> samples = SamplesOf(curve, !is_flow && efficiency_unit == "%" ? 0.01 : 1.0, least);
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
      kind.lines[0.0] = SamplesOf(*curve, curve->role == CurveRole::kEfficiencyLine && efficiency_unit == "%" ? 0.01 : 1.0, least);
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

  for (auto& [value, samples] : flow.lines) {
    if (over_velocity_ratio || impl->flow.size() >= AcrossLines::kMost) {
      impl->notes.push_back(over_velocity_ratio ? "A flow line over a velocity ratio says nothing about expansion and is left out."
                                                : "The map has more lines than a surface can hold; those of the highest values are left out.");
      continue;
    }
    Line line = StartLine(value, samples);
    FitFlow(line, samples);
    if (line.area > 0.0) impl->flow.push_back(std::move(line));
  }
  std::vector<std::vector<Sample>> efficiency_samples;
  for (auto& [value, samples] : efficiency.lines) {
    std::vector<Line>& lines = over_velocity_ratio ? impl->over_velocity_ratio : impl->efficiency;
    if (lines.size() >= AcrossLines::kMost) continue;
    lines.push_back(StartLine(value, samples));
    if (over_velocity_ratio) {
      std::vector<double> values;
      for (const Sample& sample : samples) values.push_back(sample.y);
      lines.back().correction = SmoothAlong(samples, values, lines.back().low, lines.back().high, AsIs);
    }
    efficiency_samples.push_back(samples);
  }
  if (!impl->efficiency.empty()) impl->FitEfficiency(efficiency_samples);
  impl->across_flow = AcrossLines(impl->flow);
  impl->across_efficiency = AcrossLines(impl->efficiency);
  impl->across_velocity_ratio = AcrossLines(impl->over_velocity_ratio);
  if (impl->flow.empty() && impl->efficiency.empty() && impl->over_velocity_ratio.empty())
    return Fail(ErrorCode::kNotEnoughCurves, "the map has no turbine line that can be used.");
  impl->LeaveLinesOut();
  return TurbineSurface(std::move(impl));
}

TurbineParameter TurbineSurface::Parameter() const { return impl_->parameter; }
const std::string& TurbineSurface::ParameterUnit() const { return impl_->unit; }
const std::vector<double>& TurbineSurface::LineValues() const { return impl_->values; }
bool TurbineSurface::HasFlow() const { return !impl_->flow.empty(); }
bool TurbineSurface::HasEfficiency() const { return !impl_->efficiency.empty(); }
bool TurbineSurface::HasEfficiencyOverVelocityRatio() const { return !impl_->over_velocity_ratio.empty(); }
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

std::optional<TurbineValue> TurbineSurface::Flow(double parameter, double expansion_ratio, bool slopes) const {
  if (!impl_->Covers(impl_->flow, parameter) || !(expansion_ratio > 1.0)) return std::nullopt;
  const double low = StraightAcross(impl_->flow, parameter, &Line::low), high = StraightAcross(impl_->flow, parameter, &Line::high);
  const double outside = Outside(expansion_ratio, low, high);
  // Below the range a nozzle's flow goes to zero by itself; above, only so far.
  if (outside > kFarOutside && expansion_ratio > high) return std::nullopt;
  TurbineValue value;
  value.value = impl_->RawFlow(parameter, expansion_ratio);
  value.extrapolated = outside > 1e-9;
  if (slopes) {
    const double step = 1e-5 * expansion_ratio, left = std::max(expansion_ratio - step, 1.0);
    value.by_expansion_ratio =
        (impl_->RawFlow(parameter, expansion_ratio + step) - impl_->RawFlow(parameter, left)) / (expansion_ratio + step - left);
    value.by_parameter = impl_->ByParameter(parameter, [&](double other) { return impl_->RawFlow(other, expansion_ratio); });
  }
  const double between = 0.4 * StraightAcross(impl_->flow, parameter, &Line::missed) * BetweenLines(impl_->flow, parameter);
  value.sigma = std::sqrt(std::pow(StraightAcross(impl_->flow, parameter, &Line::sigma), 2) +
                          std::pow(value.value, 2) * (between * between + 1e-8 + std::pow(0.1 * outside, 2)));
  if (!std::isfinite(value.value) || !std::isfinite(value.by_expansion_ratio) || !std::isfinite(value.sigma)) return std::nullopt;
  return value;
}

std::optional<TurbineValue> TurbineSurface::Efficiency(double parameter, double expansion_ratio, bool slopes) const {
  if (!impl_->Covers(impl_->efficiency, parameter) || !(expansion_ratio > 1.0)) return std::nullopt;
  const double low = StraightAcross(impl_->efficiency, parameter, &Line::low), high = StraightAcross(impl_->efficiency, parameter, &Line::high);
  const double outside = Outside(expansion_ratio, low, high);
  if (outside > kFarOutside) return std::nullopt;
  TurbineValue value;
  value.value = impl_->RawEfficiency(parameter, expansion_ratio);
  value.extrapolated = outside > 1e-9;
  if (slopes) {
    const double step = 1e-5 * expansion_ratio, left = std::max(expansion_ratio - step, 1.0);
    value.by_expansion_ratio =
        (impl_->RawEfficiency(parameter, expansion_ratio + step) - impl_->RawEfficiency(parameter, left)) / (expansion_ratio + step - left);
    value.by_parameter = impl_->ByParameter(parameter, [&](double other) { return impl_->RawEfficiency(other, expansion_ratio); });
  }
  const double between = 0.4 * StraightAcross(impl_->efficiency, parameter, &Line::missed) * BetweenLines(impl_->efficiency, parameter);
  value.sigma =
      std::sqrt(std::pow(StraightAcross(impl_->efficiency, parameter, &Line::sigma), 2) + between * between + 1e-8 + std::pow(0.15 * outside, 2));
  if (!std::isfinite(value.value) || !std::isfinite(value.by_expansion_ratio) || !std::isfinite(value.sigma)) return std::nullopt;
  if (value.value < 0.0 || value.value > 1.0) return std::nullopt;
  return value;
}

std::optional<TurbineValue> TurbineSurface::EfficiencyAtVelocityRatio(double parameter, double velocity_ratio) const {
  const std::vector<Line>& lines = impl_->over_velocity_ratio;
  if (!impl_->Covers(lines, parameter) || !(velocity_ratio > 0.0) || !std::isfinite(velocity_ratio)) return std::nullopt;
  // Nothing carries on beyond the lines but their own ends.
  const double low = StraightAcross(lines, parameter, &Line::low), high = StraightAcross(lines, parameter, &Line::high);
  const double slack = 1e-9 * (high - low);
  if (velocity_ratio < low - slack || velocity_ratio > high + slack) return std::nullopt;
  const auto at = [&](double value, double ratio) { return impl_->RawOverVelocityRatio(value, ratio, impl_->across_velocity_ratio); };
  TurbineValue value;
  value.value = at(parameter, velocity_ratio);
  const double step = 1e-5 * (high - low);
  value.by_expansion_ratio = (at(parameter, velocity_ratio + step) - at(parameter, velocity_ratio - step)) / (2.0 * step);
  value.by_parameter = impl_->ByParameter(parameter, [&](double other) { return at(other, velocity_ratio); });
  const double between = 0.4 * StraightAcross(lines, parameter, &Line::missed) * BetweenLines(lines, parameter);
  value.sigma = std::sqrt(std::pow(StraightAcross(lines, parameter, &Line::sigma), 2) + between * between + 1e-8);
  if (!(value.value > 0.0 && value.value < 1.0)) return std::nullopt;
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
    return Outside(expansion_ratio, StraightAcross(impl_->flow, value, &Line::low), StraightAcross(impl_->flow, value, &Line::high)) > kFarOutside;
  });
  return found;
}

std::optional<double> TurbineSurface::ExpansionRatioAt(double parameter, double flow) const {
  if (!impl_->Covers(impl_->flow, parameter) || !(flow > 0.0) || !std::isfinite(flow)) return std::nullopt;
  const double low = StraightAcross(impl_->flow, parameter, &Line::low), high = StraightAcross(impl_->flow, parameter, &Line::high);
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
