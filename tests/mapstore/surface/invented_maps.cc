#include "tests/mapstore/surface/invented_maps.h"

#include <algorithm>
#include <cmath>

#include "tests/support/level_set.h"

namespace islebook {

InventedCompressor InventCompressor(std::uint64_t seed, const InventedCompressorOptions& options) {
  paint::Random random(seed);
  InventedCompressor invented;
  invented.model = paint::CompressorModel::Draw(random, random.Pick({40.0, 52.0, 64.0, 83.0, 110.0}), "Alder");
  const paint::CompressorModel& model = invented.model;
  PerformanceMap& map = invented.map;
  map.kind = MapKind::kCompressor;
  map.title = "Alder";
  map.x = Axis{Quantity::kCorrectedMassFlow, "kg/s", AxisScale::kLinear, 0.0, 1.2 * model.choke_flow};
  map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 1.1 * model.top_ratio};
  map.reference_conditions = ReferenceConditions{298.0, 100000.0, ReferenceConditions::Basis::kPrinted};

  const int lines = options.lines > 0 ? options.lines : random.Whole(5, 9);
  const double low = model.low_speed, high = model.high_speed;
  for (int i = 0; i < lines; ++i) {
    const double n = low + (high - low) * i / (lines - 1);
    Curve curve;
    curve.role = CurveRole::kSpeedLine;
    curve.value = n * model.design_rpm;
    curve.unit = "rpm";
    for (int k = 0; k < options.points; ++k) curve.points.push_back(model.At(static_cast<double>(k) / (options.points - 1), n));
    invented.speeds.push_back(*curve.value);
    map.curves.push_back(std::move(curve));
  }
  if (options.surge_line) {
    Curve curve;
    curve.role = CurveRole::kSurgeLine;
    for (int k = 0; k <= 200; ++k) curve.points.push_back(model.At(0.0, low + (high - low) * k / 200));
    map.curves.push_back(std::move(curve));
  }
  if (options.islands) {
    const double top = std::floor(model.peak_efficiency * 100.0 - 0.7) / 100.0;
    for (const double below : {0.0, 0.01, 0.02, 0.04, 0.06, 0.09, 0.13, 0.18}) {
      const double level = top - below;
      bool any = false;
      for (const paint::LevelLine& line : paint::LevelLines([&](double u, double v) { return model.Efficiency(u, low + (high - low) * v); }, level)) {
        if (line.points.size() < 12) continue;
        Curve curve;
        curve.role = CurveRole::kEfficiencyIsland;
        curve.value = level;
        curve.unit = "1";
        curve.closed = line.closed;
        for (const Point2& point : line.points) curve.points.push_back(model.At(point.x, low + (high - low) * point.y));
        map.curves.push_back(std::move(curve));
        any = true;
      }
      if (any) invented.levels.push_back(level);
    }
  }
  for (int i = 0; i < options.samples; ++i) {
    ExactSample sample;
    sample.place = random.Between(0.02, 0.93);
    sample.relative_speed = random.Between(low, high);
    const Point2 at = model.At(sample.place, sample.relative_speed);
    sample.flow = at.x;
    sample.pressure_ratio = at.y;
    sample.speed = sample.relative_speed * model.design_rpm;
    sample.efficiency = model.Efficiency(sample.place, sample.relative_speed);
    invented.samples.push_back(sample);
  }
  return invented;
}

InventedTurbine InventTurbine(std::uint64_t seed, bool vanes) {
  paint::Random random(seed);
  InventedTurbine invented;
  invented.model = paint::TurbineModel::Draw(random, random.Pick({48.0, 62.0, 82.0}), "Rowan", vanes);
  const paint::TurbineModel& model = invented.model;
  PerformanceMap& map = invented.map;
  map.kind = MapKind::kTurbine;
  map.title = "Rowan";
  map.x = Axis{Quantity::kExpansionRatioTotalToStatic, "1", AxisScale::kLinear, 1.0, 4.0};
  map.y = Axis{Quantity::kTurbineFlowParameter, "kg s-1 K0.5 kPa-1", AxisScale::kLinear, 0.0, 2.0 * model.flow};
  map.efficiency = Axis{Quantity::kEfficiencyTotalToStatic, "1", AxisScale::kLinear, 0.3, 0.9};
  const int lines = random.Whole(4, 6);
  for (int i = 0; i < lines; ++i) {
    const double part = vanes ? 0.15 + 0.85 * i / (lines - 1) : 0.45 + 0.55 * i / (lines - 1);
    Curve flow, efficiency;
    flow.role = CurveRole::kFlowLine;
    efficiency.role = CurveRole::kEfficiencyLine;
    flow.value = efficiency.value = vanes ? 100.0 * part : part * model.design_rpm;
    flow.unit = efficiency.unit = vanes ? "%" : "rpm";
    const double first = model.FirstRatio(part), last = model.LastRatio(part);
    for (int k = 0; k < 100; ++k) {
      const double ratio = first + (last - first) * k / 99.0;
      flow.points.push_back({ratio, model.Flow(ratio, part)});
      efficiency.points.push_back({ratio, model.Efficiency(ratio, part)});
    }
    invented.values.push_back(*flow.value);
    map.curves.push_back(std::move(flow));
    map.curves.push_back(std::move(efficiency));
  }
  return invented;
}

}  // namespace islebook
