#include "mapstore/map/validate.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "mapstore/map/curve_words.h"
#include "mapstore/map/validate_checks.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace validation {
namespace {

constexpr double kBendReach = 0.012;     // parts of the frame before and after a bend
constexpr double kSpeedLineBend = 50.0;  // degrees; the knee into choke turns by 25 at most on the sheets measured
constexpr double kSmoothBend = 30.0;     // surge, choke and turbine lines; 20 at most on the sheets measured

bool IsEfficiency(Quantity q) { return q == Quantity::kEfficiencyTotalToStatic || q == Quantity::kEfficiencyTotalToTotal; }
bool IsRatio(Quantity q) {
  return q == Quantity::kPressureRatioTotalToTotal || q == Quantity::kPressureRatioTotalToStatic || q == Quantity::kExpansionRatioTotalToStatic ||
         q == Quantity::kExpansionRatioTotalToTotal;
}
bool IsFlow(Quantity q) { return q == Quantity::kCorrectedMassFlow || q == Quantity::kCorrectedVolumeFlow || q == Quantity::kTurbineFlowParameter; }

// The dimensions that a quantity is printed in.
bool Fits(Quantity quantity, Dimension dimension) {
  switch (quantity) {
    case Quantity::kCorrectedMassFlow: return dimension == Dimension::kMassFlow;
    case Quantity::kCorrectedVolumeFlow: return dimension == Dimension::kVolumeFlow;
    case Quantity::kTurbineFlowParameter: return dimension == Dimension::kFlowParameter;
    case Quantity::kCorrectedSpeed:
      return dimension == Dimension::kRotationalSpeed || dimension == Dimension::kVelocity || dimension == Dimension::kRatio;
    default: return dimension == Dimension::kRatio;
  }
}

void CheckAxis(const Context& context, const std::optional<Axis>& axis, const char* name) {
  if (!axis) return;
  const auto unit = ParseUnit(axis->unit);
  if (!unit) {
    context.Add(Severity::kError, std::nullopt, fmt::format("The {} axis has the unit \"{}\", which is not known.", name, axis->unit));
    return;
  }
  if (!Fits(axis->quantity, unit->dimension))
    context.Add(Severity::kError, std::nullopt,
                fmt::format("The {} axis shows {}, which cannot be in {}.", name, QuantityInWords(axis->quantity), axis->unit));
  if (axis->min == axis->max || !std::isfinite(axis->min) || !std::isfinite(axis->max)) {
    context.Add(Severity::kError, std::nullopt,
                fmt::format("The {} axis runs from {} to {}, so it has no span.", name, NumberInWords(axis->min), NumberInWords(axis->max)));
    return;
  }
  const double low = std::min(axis->min, axis->max), high = std::max(axis->min, axis->max);
  if (axis->scale == AxisScale::kLog && low <= 0.0)
    context.Add(Severity::kError, std::nullopt, fmt::format("The {} axis is logarithmic but reaches {}.", name, NumberInWords(low)));
  if (axis->min > axis->max)
    context.Add(Severity::kDoubt, std::nullopt,
                fmt::format("The {} axis runs backwards, from {} to {}.", name, NumberInWords(axis->min), NumberInWords(axis->max)));
  if (IsRatio(axis->quantity) && (high <= 1.05 || high > 15.0 || low < 0.0))
    context.Add(Severity::kDoubt, std::nullopt,
                fmt::format("The {} axis runs from {} to {}, which is unusual for a pressure ratio.", name, NumberInWords(low), NumberInWords(high)));
  if (IsFlow(axis->quantity)) {
    const double si = ToSi(high, *unit);
    const bool odd = unit->dimension == Dimension::kMassFlow     ? si < 0.005 || si > 60.0
                     : unit->dimension == Dimension::kVolumeFlow ? si < 0.004 || si > 60.0
                                                                 : si < 1e-6 || si > 1e-2;
    if (odd || low < 0.0)
      context.Add(Severity::kDoubt, std::nullopt,
                  fmt::format("The {} axis runs from {} to {} {}, which is unusual for a turbocharger.", name, NumberInWords(low),
                              NumberInWords(high), axis->unit));
  }
  if (IsEfficiency(axis->quantity)) {
    const double factor = axis->unit == "%" ? 0.01 : 1.0;
    if (low * factor < -0.01 || high * factor > 1.05)
      context.Add(Severity::kDoubt, std::nullopt,
                  fmt::format("The {} axis runs from {} to {}{}, which is no range of efficiency.", name, NumberInWords(low), NumberInWords(high),
                              axis->unit == "%" ? " %" : ""));
  }
}

}  // namespace

std::vector<std::size_t> Context::CurvesOf(CurveRole role, std::size_t least_points) const {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < map.curves.size(); ++i)
    if (map.curves[i].role == role && frame[i].size() >= least_points) out.push_back(i);
  return out;
}

std::string Context::PlaceInWords(const Point2& frame_point) const {
  if (!map.x || !map.y) return "";
  const Point2 p = frame_geometry::FrameScale(*map.x, *map.y).FromFrame(frame_point);
  return fmt::format("{}{}, {}{}", NumberInWords(p.x, 3), map.x->unit == "1" ? "" : " " + map.x->unit, NumberInWords(p.y, 3),
                     map.y->unit == "1" ? "" : " " + map.y->unit);
}

int HigherOf(const std::vector<Point2>& a, const std::vector<Point2>& b) {
  const auto range = [](const std::vector<Point2>& line) { return std::ranges::minmax(line, {}, &Point2::x); };
  const auto [a_min, a_max] = range(a);
  const auto [b_min, b_max] = range(b);
  const double low = std::max(a_min.x, b_min.x), high = std::min(a_max.x, b_max.x);
  if (high - low < 0.01) return 0;
  int votes = 0, samples = 0;
  for (int i = 1; i <= 7; ++i) {
    const double x = low + (high - low) * i / 8.0;
    const auto ya = frame_geometry::HeightAt(a, x), yb = frame_geometry::HeightAt(b, x);
    if (!ya || !yb) continue;
    ++samples;
    votes += *ya > *yb ? 1 : *ya < *yb ? -1 : 0;
  }
  return 2 * votes > samples ? 1 : -2 * votes > samples ? -1 : 0;
}

std::vector<std::size_t> ToBlame(const Context& context, const std::vector<std::pair<std::size_t, std::size_t>>& pairs) {
  std::vector<std::pair<std::size_t, std::size_t>> open;
  std::vector<std::size_t> blamed;
  const auto blame = [&](std::size_t curve) {
    if (std::ranges::find(blamed, curve) == blamed.end()) blamed.push_back(curve);
  };
  for (const auto& [a, b] : pairs) {
    const bool doubt_a = context.IsDoubted(a), doubt_b = context.IsDoubted(b);
    if (doubt_a != doubt_b)
      blame(doubt_a ? a : b);
    else
      open.emplace_back(a, b);
  }
  std::erase_if(open, [&](const auto& pair) {
    return std::ranges::find(blamed, pair.first) != blamed.end() || std::ranges::find(blamed, pair.second) != blamed.end();
  });
  while (!open.empty()) {
    std::map<std::size_t, int> count;
    for (const auto& [a, b] : open) {
      ++count[a];
      ++count[b];
    }
    const int most = std::ranges::max_element(count, {}, [](const auto& entry) { return entry.second; })->second;
    std::vector<std::size_t> worst;
    for (const auto& [curve, n] : count)
      if (n == most) worst.push_back(curve);
    for (const std::size_t curve : worst) blame(curve);
    std::erase_if(open, [&](const auto& pair) {
      return std::ranges::find(worst, pair.first) != worst.end() || std::ranges::find(worst, pair.second) != worst.end();
    });
  }
  std::ranges::sort(blamed);
  return blamed;
}

void CheckAxes(const Context& context) {
  const PerformanceMap& map = context.map;
  if (!map.x || !map.y) {
    context.Add(map.curves.empty() ? Severity::kRemark : Severity::kError, std::nullopt, "The map has no axes, so its curves have no values.");
  } else if (map.kind == MapKind::kCompressor) {
    const bool upright =
        (map.x->quantity == Quantity::kCorrectedMassFlow || map.x->quantity == Quantity::kCorrectedVolumeFlow) && IsRatio(map.y->quantity);
    const bool turned =
        (map.y->quantity == Quantity::kCorrectedMassFlow || map.y->quantity == Quantity::kCorrectedVolumeFlow) && IsRatio(map.x->quantity);
    if (!upright && !turned)
      context.Add(Severity::kError, std::nullopt,
                  fmt::format("A compressor map has a flow and a pressure ratio; these axes show {} and {}.", QuantityInWords(map.x->quantity),
                              QuantityInWords(map.y->quantity)));
  } else if (map.kind == MapKind::kTurbine) {
    const bool any_flow = IsFlow(map.x->quantity) || IsFlow(map.y->quantity) || IsEfficiency(map.y->quantity);
    const bool any_ratio = IsRatio(map.x->quantity) || IsRatio(map.y->quantity) || map.x->quantity == Quantity::kVelocityRatio;
    if (!any_flow || !any_ratio)
      context.Add(Severity::kError, std::nullopt,
                  fmt::format("A turbine map has an expansion ratio and a flow; these axes show {} and {}.", QuantityInWords(map.x->quantity),
                              QuantityInWords(map.y->quantity)));
  }
  CheckAxis(context, map.x, "x");
  CheckAxis(context, map.y, "y");
  CheckAxis(context, map.efficiency, "efficiency");
  if (map.efficiency && !IsEfficiency(map.efficiency->quantity))
    context.Add(Severity::kError, std::nullopt, fmt::format("The efficiency axis shows {}.", QuantityInWords(map.efficiency->quantity)));
  if (const auto& conditions = map.reference_conditions) {
    if (!(conditions->temperature_K >= 233.0 && conditions->temperature_K <= 1300.0))
      context.Add(Severity::kError, std::nullopt,
                  fmt::format("A reference temperature of {} K cannot be right.", NumberInWords(conditions->temperature_K)));
    else if (map.kind == MapKind::kCompressor && conditions->temperature_K > 333.0)
      context.Add(Severity::kDoubt, std::nullopt,
                  fmt::format("A reference temperature of {} K is unusual for a compressor.", NumberInWords(conditions->temperature_K)));
    if (!(conditions->pressure_Pa >= 5e4 && conditions->pressure_Pa <= 2e5))
      context.Add(Severity::kDoubt, std::nullopt,
                  fmt::format("A reference pressure of {} kPa is unusual.", NumberInWords(conditions->pressure_Pa / 1000.0)));
  }
}

void CheckEachCurve(const Context& context) {
  const PerformanceMap& map = context.map;
  for (std::size_t i = 0; i < map.curves.size(); ++i) {
    const Curve& curve = map.curves[i];
    const std::string name = CurveInWords(curve);
    const auto add = [&](Severity severity, const std::string& rest) { context.Add(severity, i, Capitalized(name + " " + rest)); };
    const bool compressor_role = curve.role == CurveRole::kSpeedLine || curve.role == CurveRole::kSurgeLine || curve.role == CurveRole::kChokeLine ||
                                 curve.role == CurveRole::kEfficiencyIsland;
    const bool turbine_role = curve.role == CurveRole::kFlowLine || curve.role == CurveRole::kEfficiencyLine;
    if ((compressor_role && map.kind == MapKind::kTurbine) || (turbine_role && map.kind == MapKind::kCompressor))
      add(Severity::kError, fmt::format("does not belong on a {} map.", MapKindName(*map.kind)));
    if (curve.points.size() < 2) add(Severity::kError, "has fewer than two points.");
    if (curve.closed && curve.points.size() < 3) add(Severity::kError, "is closed but has fewer than three points.");
    if (curve.closed && curve.role != CurveRole::kEfficiencyIsland && curve.role != CurveRole::kOther)
      add(Severity::kError, "is closed, which only an island can be.");
    if (!curve.points_px.empty() && curve.points_px.size() != curve.points.size())
      add(Severity::kError, "has another number of sheet points than of points.");
    if (!curve.sigma.empty() && curve.sigma.size() != curve.points.size())
      add(Severity::kError, "has another number of uncertainties than of points.");
    if (std::ranges::any_of(curve.sigma, [](const Point2& s) { return !(s.x > 0.0 && s.y > 0.0) || !std::isfinite(s.x) || !std::isfinite(s.y); }))
      add(Severity::kError, "states an uncertainty that is not above zero.");
    if (std::ranges::any_of(curve.points, [](const Point2& p) { return !std::isfinite(p.x) || !std::isfinite(p.y); })) {
      add(Severity::kError, "has a point that is no number.");
      continue;
    }
    if (curve.needs_review && curve.reasons.empty()) add(Severity::kRemark, "is marked for review without a reason.");

    // Points outside the frame, as far as the frame is known.
    const auto& frame = context.frame[i];
    const auto outside = std::ranges::count_if(frame, [](const Point2& p) { return p.x < -0.01 || p.x > 1.01 || p.y < -0.01 || p.y > 1.01; });
    if (outside > 0) add(Severity::kDoubt, fmt::format("leaves the plot frame at {} of its {} points.", outside, frame.size()));

    // Corners: drawn curves of these kinds are smooth; a sharp bend is where two curves were joined. Islands may be pointed.
    const double allowed = curve.role == CurveRole::kSpeedLine                                             ? kSpeedLineBend
                           : curve.role == CurveRole::kEfficiencyIsland || curve.role == CurveRole::kOther ? 360.0
                                                                                                           : kSmoothBend;
    if (const auto bend = frame_geometry::SharpestBend(frame, kBendReach); frame.size() > 10 && bend.degrees > allowed)
      add(Severity::kDoubt,
          fmt::format("has a corner of {:.0f} degrees near {}; two curves may have been joined there.", bend.degrees, context.PlaceInWords(bend.at)));

    // Plausible pressure ratios.
    if (map.x && map.y && curve.role != CurveRole::kEfficiencyLine) {
      double low = 1e300, high = -1e300;
      for (const Point2& p : curve.points)
        for (const auto& [axis, value] : {std::pair(&*map.x, p.x), std::pair(&*map.y, p.y)})
          if (IsRatio(axis->quantity)) {
            low = std::min(low, value);
            high = std::max(high, value);
          }
      if (low < 0.97) add(Severity::kDoubt, fmt::format("goes down to a pressure ratio of {}, which is below 1.", NumberInWords(low, 3)));
      if (high > 12.0 && high < 1e300)
        add(Severity::kDoubt, fmt::format("goes up to a pressure ratio of {}, which one stage cannot reach.", NumberInWords(high, 3)));
    }

    // Plausible values.
    if (!curve.value) {
      // Many sheets label only some of their islands.
      if (curve.role == CurveRole::kSpeedLine) add(Severity::kDoubt, "carries no speed.");
      if (curve.role == CurveRole::kEfficiencyIsland) add(Severity::kRemark, "carries no efficiency.");
      continue;
    }
    const auto unit = ParseUnit(curve.unit);
    if (!unit) {
      add(Severity::kError, curve.unit.empty() ? "has a value without a unit." : fmt::format("has the unit \"{}\", which is not known.", curve.unit));
      continue;
    }
    const double si = ToSi(*curve.value, *unit);
    if (curve.role == CurveRole::kEfficiencyIsland) {
      if (unit->dimension != Dimension::kRatio)
        add(Severity::kError, fmt::format("has an efficiency in {}.", curve.unit));
      else if (si < 0.2 || si > 0.95)
        add(Severity::kDoubt, "has an efficiency outside 0.2 to 0.95.");
    } else if (curve.role == CurveRole::kSpeedLine || turbine_role) {
      if (!IsPlausibleSpeed(*curve.value, curve.unit))
        add(Severity::kDoubt, "has a speed outside 3,000 to 400,000 rpm.");
      else if (unit->dimension == Dimension::kVelocity && (si < 50.0 || si > 800.0))
        add(Severity::kDoubt, "has a tip speed outside 50 to 800 m/s.");
      else if (unit->dimension == Dimension::kRatio && (si < 0.0 || si > 1.5))
        add(Severity::kDoubt, "has a value outside 0 to 150 %.");
      else if (unit->dimension != Dimension::kRotationalSpeed && unit->dimension != Dimension::kVelocity && unit->dimension != Dimension::kRatio)
        add(Severity::kError, fmt::format("has a value in {}, which is neither a speed nor an opening.", curve.unit));
    }
  }
}

}  // namespace validation

namespace {

// A sheet with pressure ratio along x, turned so that the checks see flow along x.
PerformanceMap Turned(PerformanceMap map) {
  std::swap(map.x, map.y);
  for (Curve& curve : map.curves)
    if (curve.role != CurveRole::kEfficiencyLine) {
      for (Point2& p : curve.points) std::swap(p.x, p.y);
      for (Point2& p : curve.sigma) std::swap(p.x, p.y);
    }
  return map;
}

}  // namespace

bool IsPlausibleSpeed(double value, const std::string& unit) {
  constexpr double kSlowest = 3000.0, kFastest = 400000.0;  // rpm
  const auto parsed = ParseUnit(unit);
  if (!parsed || parsed->dimension != Dimension::kRotationalSpeed) return true;
  const double rpm = ToSi(value, *parsed) * 60.0 / (2.0 * 3.14159265358979);
  return rpm >= kSlowest * (1 - 1e-9) && rpm <= kFastest * (1 + 1e-9);
}

std::vector<Finding> ValidateMap(const PerformanceMap& given) {
  const bool compressor = given.kind == MapKind::kCompressor;
  const bool turned = given.x && given.y && validation::IsRatio(compressor ? given.x->quantity : given.y->quantity) &&
                      validation::IsFlow(compressor ? given.y->quantity : given.x->quantity);
  const PerformanceMap& map = turned && given.kind ? Turned(given) : given;
  std::vector<Finding> findings;
  validation::Context context{map, findings, {}};
  const bool sound_axes = map.x && map.y && map.x->min != map.x->max && map.y->min != map.y->max;
  for (const Curve& curve : map.curves) {
    const std::optional<Axis>& y = curve.role == CurveRole::kEfficiencyLine ? map.efficiency : map.y;
    const bool finite = std::ranges::all_of(curve.points, [](const Point2& p) { return std::isfinite(p.x) && std::isfinite(p.y); });
    context.frame.push_back(sound_axes && y && y->min != y->max && finite ? frame_geometry::FrameScale(*map.x, *y).ToFrame(curve.points)
                                                                          : std::vector<Point2>{});
  }
  if (!map.kind && !map.curves.empty()) context.Add(Severity::kDoubt, std::nullopt, "It is not known whether this is a compressor or a turbine map.");
  validation::CheckAxes(context);
  validation::CheckEachCurve(context);
  if (compressor) {
    validation::CheckSpeedLines(context);
    validation::CheckLimits(context);
    validation::CheckIslands(context);
  }
  if (map.kind == MapKind::kTurbine) validation::CheckTurbineLines(context);
  std::ranges::stable_sort(findings, {}, [](const Finding& f) { return f.curve ? *f.curve + 1 : 0; });
  return findings;
}

const char* SeverityName(Severity severity) { return severity == Severity::kError ? "error" : severity == Severity::kDoubt ? "doubt" : "remark"; }

}  // namespace islebook
