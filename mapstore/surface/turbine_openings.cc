#include "mapstore/surface/turbine_openings.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/surface/spline.h"

namespace islebook {

struct TurbineOpenings::Impl {
  std::vector<double> openings;
  std::vector<TurbineSurface> maps;

  template <typename Ask>
  std::optional<TurbineValue> Between(double opening, const Ask& ask) const {
    const double slack = 1e-9 * (openings.back() - openings.front());
    if (!(opening >= openings.front() - slack && opening <= openings.back() + slack)) return std::nullopt;
    const std::size_t low = static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(
        std::upper_bound(openings.begin(), openings.end(), opening) - openings.begin() - 1, 0, static_cast<std::ptrdiff_t>(openings.size()) - 2));
    // The maps that know something there; both neighbors must, unless the opening is one of theirs.
    std::vector<double> x, values;
    std::vector<TurbineValue> known;
    std::size_t below = 0;
    bool has_low = false, has_high = false;
    for (std::size_t i = 0; i < maps.size(); ++i) {
      const std::optional<TurbineValue> value = ask(maps[i]);
      if (!value) continue;
      if (i == low) has_low = true, below = x.size();
      if (i == low + 1) has_high = true;
      x.push_back(openings[i]);
      values.push_back(value->value);
      known.push_back(*value);
    }
    if (has_low && std::abs(opening - openings[low]) <= slack) return known[below];
    if (has_high && std::abs(opening - openings[low + 1]) <= slack) return known[has_low ? below + 1 : Index(x, openings[low + 1])];
    if (!has_low || !has_high) return std::nullopt;
    const double t = (opening - openings[low]) / (openings[low + 1] - openings[low]);
    TurbineValue answer;
    answer.value = HermiteCurve::Monotone(x, values).Value(opening);
    const TurbineValue &a = known[below], &b = known[below + 1];
    const double straight = a.value + t * (b.value - a.value);
    answer.extrapolated = a.extrapolated || b.extrapolated;
    answer.by_expansion_ratio = a.by_expansion_ratio + t * (b.by_expansion_ratio - a.by_expansion_ratio);
    answer.by_parameter = a.by_parameter + t * (b.by_parameter - a.by_parameter);
    if (x.size() > 2) {
      // Derivatives of the same interpolant.
      std::vector<double> by_ratio, by_parameter;
      for (const TurbineValue& value : known) by_ratio.push_back(value.by_expansion_ratio), by_parameter.push_back(value.by_parameter);
      const double step = 1e-6;
      std::vector<double> moved(values);
      for (std::size_t i = 0; i < moved.size(); ++i) moved[i] += step * by_ratio[i];
      answer.by_expansion_ratio = (HermiteCurve::Monotone(x, moved).Value(opening) - answer.value) / step;
      double scale = 0.0;
      for (const double slope : by_parameter) scale = std::max(scale, std::abs(slope));
      if (scale > 0.0) {
        const double along = 1e-6 * std::abs(answer.value) / scale;
        for (std::size_t i = 0; i < moved.size(); ++i) moved[i] = values[i] + along * by_parameter[i];
        answer.by_parameter = (HermiteCurve::Monotone(x, moved).Value(opening) - answer.value) / along;
      }
    }
    // How far the curve departs from straight says how much it guesses; with two openings nothing does, and a twentieth of their difference stands for it.
    const double guess = x.size() > 2 ? 0.5 * std::abs(answer.value - straight) : 0.05 * std::abs(b.value - a.value) * 4.0 * t * (1.0 - t);
    answer.sigma = std::hypot(a.sigma + t * (b.sigma - a.sigma), guess);
    return answer;
  }
  static std::size_t Index(const std::vector<double>& x, double value) {
    return static_cast<std::size_t>(std::lower_bound(x.begin(), x.end(), value) - x.begin());
  }
};

Result<TurbineOpenings> TurbineOpenings::Build(std::vector<TurbineAtOpening> maps) {
  for (const TurbineAtOpening& map : maps) {
    if (!std::isfinite(map.opening)) return Fail(ErrorCode::kInvalidArgument, "a vane opening must be a number.");
    if (map.surface.Parameter() != TurbineParameter::kSpeed)
      return Fail(ErrorCode::kWrongKind, fmt::format("the map at vane opening {:g} has no lines labeled with speeds.", map.opening));
    if (map.surface.ParameterUnit() != maps.front().surface.ParameterUnit())
      return Fail(ErrorCode::kInvalidArgument, fmt::format("the map at vane opening {:g} gives speeds in {} and another in {}; convert one of them.",
                                                           map.opening, map.surface.ParameterUnit(), maps.front().surface.ParameterUnit()));
  }
  if (maps.size() < 2) return Fail(ErrorCode::kNotEnoughCurves, "maps at two vane openings or more are needed.");
  std::stable_sort(maps.begin(), maps.end(), [](const TurbineAtOpening& a, const TurbineAtOpening& b) { return a.opening < b.opening; });
  auto impl = std::make_shared<Impl>();
  for (TurbineAtOpening& map : maps) {
    if (!impl->openings.empty() && map.opening == impl->openings.back())
      return Fail(ErrorCode::kInvalidArgument, fmt::format("two maps are given for vane opening {:g}.", map.opening));
    impl->openings.push_back(map.opening);
    impl->maps.push_back(std::move(map.surface));
  }
  return TurbineOpenings(std::move(impl));
}

const std::vector<double>& TurbineOpenings::Openings() const { return impl_->openings; }
const TurbineSurface& TurbineOpenings::MapAt(std::size_t index) const { return impl_->maps.at(index); }

std::optional<TurbineValue> TurbineOpenings::Flow(double opening, double speed, double expansion_ratio) const {
  return impl_->Between(opening, [&](const TurbineSurface& map) { return map.Flow(speed, expansion_ratio); });
}

std::optional<TurbineValue> TurbineOpenings::Efficiency(double opening, double speed, double expansion_ratio) const {
  return impl_->Between(opening, [&](const TurbineSurface& map) { return map.Efficiency(speed, expansion_ratio); });
}

std::vector<double> TurbineOpenings::OpeningsFor(double speed, double expansion_ratio, double flow) const {
  std::vector<double> found;
  if (!std::isfinite(flow)) return found;
  constexpr int kPieces = 32;
  const double low = impl_->openings.front(), high = impl_->openings.back();
  const auto miss = [&](double opening) -> std::optional<double> {
    const std::optional<TurbineValue> value = Flow(opening, speed, expansion_ratio);
    if (!value) return std::nullopt;
    return value->value - flow;
  };
  std::optional<double> before = miss(low);
  if (before && *before == 0.0) found.push_back(low);
  for (int k = 1; k <= kPieces; ++k) {
    double a = low + (high - low) * (k - 1) / kPieces, b = low + (high - low) * k / kPieces;
    const std::optional<double> after = miss(b);
    if (after && *after == 0.0) {
      found.push_back(b);
    } else if (before && after && *before != 0.0 && (*before < 0.0) != (*after < 0.0)) {
      const bool rising = *before < 0.0;
      for (int i = 0; i < 50; ++i) {
        const double middle = 0.5 * (a + b);
        const std::optional<double> there = miss(middle);
        if (!there) break;
        ((*there < 0.0) == rising ? a : b) = middle;
      }
      found.push_back(0.5 * (a + b));
    }
    before = after;
  }
  return found;
}

}  // namespace islebook
