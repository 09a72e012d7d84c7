#include "tests/mapstore/bench/model_map.h"

#include <cmath>

#include "mapstore/units/unit.h"
#include "tests/support/level_set.h"

namespace islebook::bench_test {
namespace {

double FlowUnitSi(const ModelMapOptions& options) {
  const auto unit = ParseUnit(options.flow_unit);
  const double density =
      unit->dimension == Dimension::kVolumeFlow ? options.reference.pressure_Pa / (287.05287 * options.reference.temperature_K) : 1.0;
  return unit->factor * density;
}

double SpeedOf(const paint::CompressorModel& model, const ModelMapOptions& options, double n) {
  if (options.speed_unit == "m/s") return model.tip_speed * n;
  return options.speed_unit == "krpm" ? model.design_rpm * n / 1000 : model.design_rpm * n;
}

}  // namespace

PerformanceMap MapOfModel(const paint::CompressorModel& model, const ModelMapOptions& options) {
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  map.title = "Fellside Rotors " + model.wheel;
  map.reference_conditions = options.reference;
  const double unit = FlowUnitSi(options);
  const auto unit_kind = ParseUnit(options.flow_unit)->dimension;
  map.x = Axis{unit_kind == Dimension::kVolumeFlow ? Quantity::kCorrectedVolumeFlow : Quantity::kCorrectedMassFlow, options.flow_unit,
               AxisScale::kLinear, 0.0, std::ceil(model.choke_flow * 1.2 / unit * 100) / 100};
  map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, std::ceil(model.top_ratio * 1.15 * 5) / 5};
  const auto place = [&](double s, double n) {
    const Point2 at = model.At(s, n);
    return Point2{at.x / unit, at.y};
  };
  const auto add = [&map, &options](CurveRole role, std::optional<double> value, const std::string& value_unit, bool closed,
                                    std::vector<Point2> points) {
    Curve curve{.role = role, .value = value, .unit = value_unit, .closed = closed, .points = std::move(points)};
    curve.sigma.assign(curve.points.size(), Point2{5e-4 * options.lines, 1e-3});
    for (Point2& sigma : curve.sigma) sigma.x *= map.x->max * 0.02;
    map.curves.push_back(std::move(curve));
  };
  for (int i = 0; i < options.lines; ++i) {
    const double n = model.low_speed + (model.high_speed - model.low_speed) * i / (options.lines - 1);
    std::vector<Point2> points;
    for (int k = 0; k <= 60; ++k) points.push_back(place(k / 60.0, n));
    add(CurveRole::kSpeedLine, SpeedOf(model, options, n), options.speed_unit, false, std::move(points));
  }
  std::vector<Point2> surge;
  for (int k = 0; k <= 60; ++k) surge.push_back(place(0.0, model.low_speed + (model.high_speed - model.low_speed) * k / 60.0));
  add(CurveRole::kSurgeLine, std::nullopt, "", false, std::move(surge));
  if (options.islands) {
    const auto efficiency = [&](double u, double v) { return model.Efficiency(u, model.low_speed + (model.high_speed - model.low_speed) * v); };
    for (double level = std::floor(model.peak_efficiency * 50) / 50; level > 0.5; level -= 0.02) {
      for (const paint::LevelLine& line : paint::LevelLines(efficiency, level)) {
        std::vector<Point2> points;
        for (const Point2& at : line.points) points.push_back(place(at.x, model.low_speed + (model.high_speed - model.low_speed) * at.y));
        if (points.size() >= 8) add(CurveRole::kEfficiencyIsland, level, "1", line.closed, std::move(points));
      }
    }
  }
  return map;
}

ModelReader::ModelReader(paint::CompressorModel model, ModelMapOptions options) : model_(std::move(model)), options_(std::move(options)) {
  facts_.title = model_.wheel;
  facts_.source = model_.wheel;
  facts_.flow_unit = options_.flow_unit;
  facts_.speed_unit = options_.speed_unit;
  facts_.reference = options_.reference;
  facts_.has_efficiency = true;
  facts_.top_speed = SpeedOf(model_, options_, model_.high_speed);
  facts_.speed_unit_si = options_.speed_unit == "rpm" ? 1.0 / 60 : options_.speed_unit == "krpm" ? 1000.0 / 60 : 1.0;
  facts_.speed_is_tip_speed = options_.speed_unit == "m/s";
}

CompressorReading ModelReader::Read(const CompressorState& state) const {
  CompressorReading reading;
  const double theta = state.inlet_K / options_.reference.temperature_K;
  reading.corrected_flow_kg_s = state.flow_kg_s * std::sqrt(theta) / (state.inlet_Pa / options_.reference.pressure_Pa);
  reading.map_flow = reading.corrected_flow_kg_s / FlowUnitSi(options_);
  const double flow = reading.corrected_flow_kg_s, ratio = state.pressure_ratio;
  // On one speed line, s of this flow; below surge and beyond choke it is clamped and the ratio there compared.
  const auto s_at = [&](double n) {
    double low = 0.0, high = 1.0;
    if (model_.At(0.0, n).x >= flow) return 0.0;
    if (model_.At(1.0, n).x <= flow) return 1.0;
    for (int i = 0; i < 60; ++i) {
      const double middle = 0.5 * (low + high);
      (model_.At(middle, n).x < flow ? low : high) = middle;
    }
    return 0.5 * (low + high);
  };
  // At a fixed flow the pressure ratio rises with speed.
  double low = model_.low_speed, high = model_.high_speed;
  const auto excess = [&](double n) { return model_.At(s_at(n), n).y - ratio; };
  if (excess(low) > 0.0) {
    reading.region = MapRegion::kUnderSpeed;
    return reading;
  }
  if (excess(high) < 0.0) {
    reading.region = flow < model_.At(0.0, high).x   ? MapRegion::kLeftOfSurge
                     : flow > model_.At(1.0, high).x ? MapRegion::kPastChoke
                                                     : MapRegion::kOverSpeed;
    return reading;
  }
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    (excess(middle) < 0.0 ? low : high) = middle;
  }
  const double n = 0.5 * (low + high), s = s_at(n);
  if (s <= 0.0 || s >= 1.0) {
    reading.region = s <= 0.0 ? MapRegion::kLeftOfSurge : MapRegion::kPastChoke;
    return reading;
  }
  reading.inside = true;
  reading.corrected_speed = SpeedOf(model_, options_, n);
  reading.speed = *reading.corrected_speed * std::sqrt(theta);
  reading.efficiency = model_.Efficiency(s, n);
  const Point2 surge = model_.At(0.0, n), choke = model_.At(1.0, n);
  reading.surge_margin = (surge.y / ratio) * (flow / surge.x) - 1.0;
  reading.choke_margin = choke.x / flow - 1.0;
  return reading;
}

paint::CompressorModel ModelForFlow(double choke_flow_kg_s, double top_ratio) {
  paint::CompressorModel model;
  model.wheel = "Rowan 83";
  model.inducer_mm = 83.0;
  model.design_rpm = 95000;
  model.choke_flow = choke_flow_kg_s;
  model.surge_flow = choke_flow_kg_s * 0.5;
  model.top_ratio = top_ratio;
  return model;
}

}  // namespace islebook::bench_test
