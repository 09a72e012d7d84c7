#include "tests/mapstore/map/example_maps.h"

#include <cmath>
#include <numbers>
#include <string>

namespace islebook {
namespace {

// Sheet pixels and sigma of a curve on a frame of 1000 x 800 px at (200, 100).
void PlaceOnSheet(Curve& curve, const Axis& x, const Axis& y) {
  curve.points_px.clear();
  curve.sigma.clear();
  for (const Point2& p : curve.points) {
    curve.points_px.push_back({200.0 + 1000.0 * (p.x - x.min) / (x.max - x.min), 900.0 - 800.0 * (p.y - y.min) / (y.max - y.min)});
    curve.sigma.push_back({0.0002 * std::fabs(x.max - x.min), 0.0003 * std::fabs(y.max - y.min)});
  }
}

double SurgeRatio(double flow) { return 1.0 + 0.055 * flow + 0.00055 * flow * flow; }

std::string RandomText(std::mt19937& random) {
  static const char* const kPieces[] = {"Alder 52",         "\"quoted\"", "\\back", "line\nbreak",         "tab\t", "\x01", "85 °F", "m³/s", "√K",
                                        "\xF0\x9D\x94\x98", "",           "/",      "Kennfeld, Verdichter"};
  std::string text;
  for (unsigned n = random() % 4; n > 0; --n) text += kPieces[random() % std::size(kPieces)];
  return text;
}

double RandomNumber(std::mt19937& random, double low, double high) { return std::uniform_real_distribution<double>(low, high)(random); }

double RandomDecade(std::mt19937& random) {
  const double magnitude = std::pow(10.0, RandomNumber(random, -8.0, 8.0));
  return random() % 8 == 0 ? 0.0 : random() % 2 == 0 ? magnitude : -magnitude;
}

}  // namespace

PerformanceMap ExampleCompressorMap() {
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  map.title = "Fellside Rotors Alder 52";
  map.x = Axis{Quantity::kCorrectedMassFlow, "lb/min", AxisScale::kLinear, 0.0, 50.0};
  map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 4.0};
  map.reference_conditions = ReferenceConditions{302.594, 96173.0, ReferenceConditions::Basis::kPrinted};
  for (int line = 0; line < 5; ++line) {
    Curve curve;
    curve.role = CurveRole::kSpeedLine;
    curve.value = 60000.0 + 15000.0 * line;
    curve.unit = "rpm";
    const double surge_flow = 5.0 + 5.0 * line, choke_flow = surge_flow + 16.0;
    for (int i = 0; i <= 20; ++i) {
      const double t = i / 20.0;
      curve.points.push_back(
          {surge_flow + t * (choke_flow - surge_flow), 1.0 + (SurgeRatio(surge_flow) - 1.0) * (1.0 + 0.05 * t - 0.6 * t * t * t * t)});
    }
    map.curves.push_back(curve);
  }
  Curve surge, choke;
  surge.role = CurveRole::kSurgeLine;
  choke.role = CurveRole::kChokeLine;
  for (int line = 0; line < 5; ++line) {
    surge.points.push_back(map.curves[static_cast<std::size_t>(line)].points.front());
    choke.points.push_back(map.curves[static_cast<std::size_t>(line)].points.back());
  }
  map.curves.push_back(surge);
  map.curves.push_back(choke);
  for (int ring = 0; ring < 3; ++ring) {
    Curve island;
    island.role = CurveRole::kEfficiencyIsland;
    island.value = 0.78 - 0.03 * ring;
    island.unit = "1";
    island.closed = true;
    for (int i = 0; i < 48; ++i) {
      const double angle = -std::numbers::pi / 2 + 2 * std::numbers::pi * i / 48;
      island.points.push_back({25.5 + (1.5 + 1.5 * ring) * std::cos(angle), 2.33 + (0.1 + 0.1 * ring) * std::sin(angle)});
    }
    map.curves.push_back(island);
  }
  map.curves.back().confidence = 0.62;
  map.curves.back().needs_review = true;
  map.curves.back().reasons = {"its label could not be read; 0.72 follows from its neighbors"};
  for (Curve& curve : map.curves) PlaceOnSheet(curve, *map.x, *map.y);
  map.calibration = Calibration{"homography",
                                {{{200, 100}, {1200, 100}, {1200, 900}, {200, 900}}},
                                {1.0, 0.0, 200.0, 0.0, 1.0, 100.0, 0.0, 0.0},
                                0.04,
                                {0.0001, 0.0002},
                                {"frame, 4 sides", "11 of 11 x numbers"}};
  map.source = SheetSource{"alder-52.png", std::string(64, 'a'), {1400, 1000}, 1};
  map.recipe_json = R"({"schema":1,"corrections":[]})";
  map.needs_review = {"the surge line may go on above the top speed line"};
  return map;
}

PerformanceMap ExampleTurbineMap() {
  PerformanceMap map;
  map.kind = MapKind::kTurbine;
  map.title = "Fellside Rotors Rowan 83 turbine";
  map.x = Axis{Quantity::kExpansionRatioTotalToStatic, "1", AxisScale::kLinear, 1.0, 3.5};
  map.y = Axis{Quantity::kTurbineFlowParameter, "kg s-1 K0.5 kPa-1", AxisScale::kLinear, 0.0, 0.08};
  map.efficiency = Axis{Quantity::kEfficiencyTotalToStatic, "1", AxisScale::kLinear, 0.3, 0.8};
  for (int vane = 0; vane < 3; ++vane) {
    Curve flow, efficiency;
    flow.role = CurveRole::kFlowLine;
    efficiency.role = CurveRole::kEfficiencyLine;
    flow.value = efficiency.value = 20.0 + 40.0 * vane;
    flow.unit = efficiency.unit = "%";
    for (int i = 0; i <= 15; ++i) {
      const double ratio = 1.1 + 2.2 * i / 15.0;
      flow.points.push_back({ratio, (0.02 + 0.02 * vane) * std::sqrt(1.0 - std::pow(ratio, -2.2))});
      efficiency.points.push_back({ratio, 0.74 - 0.06 * (vane - 1) * (vane - 1) - 0.08 * (ratio - 1.9) * (ratio - 1.9)});
    }
    PlaceOnSheet(flow, *map.x, *map.y);
    PlaceOnSheet(efficiency, *map.x, *map.efficiency);
    map.curves.push_back(flow);
    map.curves.push_back(efficiency);
  }
  return map;
}

PerformanceMap RandomMap(std::mt19937& random) {
  static const char* const kUnits[] = {"lb/min", "kg/s", "m3/s", "1", "%", "rpm", "krpm", "kg s-1 K0.5 kPa-1", "ft3/min"};
  const auto unit = [&] { return std::string(kUnits[random() % std::size(kUnits)]); };
  const auto axis = [&]() -> std::optional<Axis> {
    if (random() % 6 == 0) return std::nullopt;
    Axis out{static_cast<Quantity>(random() % 11), unit(), random() % 3 == 0 ? AxisScale::kLog : AxisScale::kLinear, RandomNumber(random, 0.1, 5.0),
             0.0};
    out.max = out.min + RandomNumber(random, 0.1, 1e5);
    return out;
  };
  PerformanceMap map;
  if (random() % 5 != 0) map.kind = random() % 2 == 0 ? MapKind::kCompressor : MapKind::kTurbine;
  map.title = RandomText(random);
  map.x = axis();
  map.y = axis();
  if (random() % 3 == 0) map.efficiency = axis();
  if (random() % 2 == 0)
    map.reference_conditions = ReferenceConditions{RandomNumber(random, 250.0, 320.0), RandomNumber(random, 9e4, 1.1e5),
                                                   random() % 2 == 0 ? ReferenceConditions::Basis::kPrinted : ReferenceConditions::Basis::kAssumed};
  for (unsigned n = random() % 5; n > 0; --n) {
    Curve curve;
    curve.role = static_cast<CurveRole>(random() % 7);
    if (random() % 3 != 0) {
      curve.value = RandomDecade(random);
      curve.unit = unit();
    }
    curve.closed = random() % 2 == 0;
    const bool on_sheet = random() % 3 != 0, with_sigma = random() % 3 != 0;
    for (unsigned k = 1 + random() % 30; k > 0; --k) {
      curve.points.push_back({RandomDecade(random), RandomDecade(random)});
      if (on_sheet) curve.points_px.push_back({RandomNumber(random, -100.0, 9000.0), RandomNumber(random, -100.0, 9000.0)});
      if (with_sigma) curve.sigma.push_back({std::fabs(RandomDecade(random)), RandomNumber(random, 0.0, 1.0)});
    }
    curve.confidence = RandomNumber(random, 0.0, 1.0);
    curve.needs_review = random() % 2 == 0;
    for (unsigned k = random() % 3; k > 0; --k) curve.reasons.push_back(RandomText(random));
    map.curves.push_back(curve);
  }
  if (random() % 2 == 0) {
    Calibration calibration;
    calibration.model = RandomText(random);
    for (Point2& corner : calibration.frame_px) corner = {RandomNumber(random, 0.0, 4000.0), RandomNumber(random, 0.0, 4000.0)};
    for (unsigned k = random() % 12; k > 0; --k) calibration.parameters.push_back(RandomDecade(random));
    calibration.residual_px = RandomNumber(random, 0.0, 2.0);
    calibration.axis_sigma = {RandomNumber(random, 0.0, 0.01), RandomNumber(random, 0.0, 0.01)};
    calibration.evidence = {RandomText(random)};
    map.calibration = calibration;
  }
  if (random() % 2 == 0)
    map.source = SheetSource{
        RandomText(random), "0123", {static_cast<int>(random() % 9000), static_cast<int>(random() % 9000)}, 1 + static_cast<int>(random() % 9)};
  if (random() % 2 == 0) map.recipe_json = R"({"schema":1,"corrections":[{"kind":"axis","min":0.1}],"note":"Ünüsual"})";
  for (unsigned k = random() % 3; k > 0; --k) map.needs_review.push_back(RandomText(random));
  return map;
}

}  // namespace islebook
