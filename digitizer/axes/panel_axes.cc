#include "digitizer/axes/panel_axes.h"

#include <algorithm>
#include <cmath>

#include "digitizer/axes/axis_fit.h"

namespace islebook {
namespace {

struct UnitRange {
  const char* unit;
  double least, most;  // of the axis end
};
// From the smallest turbochargers to large engines' and aero stages; common practice, no source.
constexpr UnitRange kFlowRanges[] = {{"lb/min", 3, 1500}, {"lb/s", 0.05, 400}, {"kg/s", 0.02, 200},   {"kg/min", 1, 1500},  {"kg/h", 60, 100000},
                                     {"g/s", 10, 20000},  {"m3/s", 0.01, 150}, {"m3/min", 0.8, 3000}, {"m3/h", 50, 300000}, {"ft3/min", 30, 60000}};

}  // namespace

double RangeLikelihood(AxisMatter matter, const std::string& unit, double low, double high) {
  const double span = high - low;
  const bool starts_clean = std::abs(low) < 0.004 * span;
  switch (matter) {
    case AxisMatter::kPressureRatio:
    case AxisMatter::kExpansionRatio:
      if (low < -0.02 * span || high > 60.0) return -1.0;
      if (high < 1.05) return -0.8;
      if (high > 12.0) return -0.6;
      if (high > 8.0) return -0.15;
      return starts_clean || std::abs(low - 1.0) < 0.004 * span ? 0.0 : low > 3.0 ? -0.4 : -0.06;
    case AxisMatter::kEfficiency:
      if (low < -0.02 * span) return -1.0;
      if (high <= 1.05) return high < 0.2 ? -0.7 : 0.0;
      if (high <= 105.0 && high >= 20.0) return unit == "1" ? -0.3 : 0.0;
      return -0.9;
    case AxisMatter::kFlowParameter:
      if (low < -0.02 * span) return -1.0;
      if (high > 20.0) return -0.9;
      if (high > 2.0) return -0.6;
      return high < 0.001 ? -0.5 : starts_clean ? 0.0 : -0.02;
    case AxisMatter::kMassFlow:
    case AxisMatter::kVolumeFlow:
    case AxisMatter::kFlow: {
      if (low < -0.02 * span) return -0.9;
      double out = starts_clean ? 0.0 : -0.05;
      for (const UnitRange& r : kFlowRanges) {
        if (unit != r.unit) continue;
        if (high < r.least) out -= std::min(0.7, 0.3 + 0.3 * std::log10(r.least / std::max(high, 1e-9)));
        if (high > r.most) out -= std::min(0.7, 0.3 + 0.3 * std::log10(high / r.most));
      }
      return out;
    }
    case AxisMatter::kVelocityRatio: return low < -0.02 * span || high > 2.0 ? -0.8 : 0.0;
    case AxisMatter::kSpeed: return low < -0.02 * span ? -0.8 : 0.0;
    case AxisMatter::kUnknown:
    case AxisMatter::kOther: return 0.0;
  }
  return 0.0;
}

std::vector<Mark> AxisMarks(const MarksFound& marks, Side side, const FrameCandidate& candidate, double length_px) {
  const bool across = side == kTop || side == kBottom;
  std::vector<Mark> out;
  const auto add = [&](Mark m) {
    for (Mark& o : out) {
      if (std::abs(o.t - m.t) * length_px > 1.3) continue;
      const double wa = 1.0 / (o.sigma_t * o.sigma_t + 1e-12), wb = 1.0 / (m.sigma_t * m.sigma_t + 1e-12);
      if (!o.frame_side) o.t = (wa * o.t + wb * m.t) / (wa + wb);
      o.sigma_t = std::max(0.6 * std::min(o.sigma_t, m.sigma_t), 1.0 / std::sqrt(wa + wb));
      o.length_px = std::max(o.length_px, m.length_px);
      o.strength = std::max(o.strength, m.strength);
      o.grid = o.grid || m.grid;
      o.frame_side = o.frame_side || m.frame_side;
      return;
    }
    out.push_back(m);
  };
  const Side low_side = across ? kLeft : kBottom, high_side = across ? kRight : kTop;
  for (const auto& [end_side, t] : {std::pair{low_side, 0.0}, std::pair{high_side, 1.0}}) {
    if (candidate.lines[end_side] < 0) continue;
    Mark m;
    m.t = t;
    m.sigma_t = 0.06 / length_px;
    m.frame_side = true;
    m.strength = 60.0;
    add(m);
  }
  for (const Mark& m : marks.ticks[side]) add(m);
  if (side == kBottom || side == kLeft) {
    for (const Mark& m : across ? marks.grid_u : marks.grid_v) add(m);
  }
  std::sort(out.begin(), out.end(), [](const Mark& a, const Mark& b) { return a.t < b.t; });
  return out;
}

std::optional<SideAxis> CalibrateSide(const SideNumbers& numbers, const SideTitle& title, const std::vector<Mark>& marks, double length_px) {
  SeriesOptions options;
  const AxisMatter matter = title.meaning.confidence >= 0.5 ? title.meaning.matter : AxisMatter::kUnknown;
  const std::string unit = title.meaning.unit;
  const double scale = std::pow(10.0, title.meaning.power_of_ten);
  options.range_prior = [matter, unit, scale](double low, double high) { return RangeLikelihood(matter, unit, low * scale, high * scale); };
  options.log_ticks = MarksLookLogarithmic(marks);
  options.even_ticks = MarksLookEven(marks);
  auto series = FitNumberSeries(numbers.numbers, options);
  if (!series) return std::nullopt;
  std::vector<double> places;
  for (const SeriesNumber& n : numbers.numbers) places.push_back(n.t);
  AxisFitOptions fit_options;
  fit_options.length_px = length_px;
  SideAxis axis;
  axis.fit = FitAxis(*series, places, marks, fit_options);
  axis.fit.numbers_read = static_cast<int>(numbers.numbers.size());
  axis.fit.title = title.text;
  axis.series = std::move(*series);
  axis.numbers = numbers;
  axis.title = title;
  if (title.meaning.power_of_ten != 0.0) {
    AxisFit& f = axis.fit;
    if (f.axis.scale == AxisScale::kLinear) {
      f.offset *= scale, f.slope *= scale, f.sigma_offset *= scale, f.sigma_slope *= scale, f.covariance *= scale * scale;
    } else {
      f.offset += title.meaning.power_of_ten;
    }
    f.axis.min *= scale;
    f.axis.max *= scale;
  }
  const double used = static_cast<double>(axis.fit.numbers_used);
  axis.fit.confidence = std::clamp(0.4 + 0.1 * std::min(used, 5.0) + 0.3 * std::clamp(axis.series.margin, 0.0, 0.4), 0.0, 1.0);
  if (!axis.fit.doubts.empty())
    axis.fit.confidence = std::min(axis.fit.confidence, 0.6 - 0.1 * static_cast<double>(std::min<std::size_t>(axis.fit.doubts.size(), 4)));
  return axis;
}

}  // namespace islebook
