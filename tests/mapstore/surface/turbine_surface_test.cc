#include "mapstore/surface/turbine_surface.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

using testing::HasSubstr;

TurbineSurface BuildFrom(const PerformanceMap& map) {
  Result<TurbineSurface> surface = TurbineSurface::Build(map);
  EXPECT_TRUE(surface.has_value()) << surface.error().message;
  return *surface;
}

class TurbineSurfaceOf : public testing::TestWithParam<bool> {};

TEST_P(TurbineSurfaceOf, PassesThroughItsLinesAndBetweenThem) {
  const bool vanes = GetParam();
  double flow_squares = 0.0, efficiency_squares = 0.0;
  int count = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    const InventedTurbine invented = InventTurbine(seed, vanes);
    const TurbineSurface surface = BuildFrom(invented.map);
    EXPECT_EQ(vanes ? TurbineParameter::kVaneOpening : TurbineParameter::kSpeed, surface.Parameter());
    for (const Curve& curve : invented.map.curves) {
      for (const Point2& point : curve.points) {
        const std::optional<TurbineValue> value =
            curve.role == CurveRole::kFlowLine ? surface.Flow(*curve.value, point.x) : surface.Efficiency(*curve.value, point.x);
        ASSERT_TRUE(value.has_value()) << seed;
        EXPECT_NEAR(point.y, value->value, (curve.role == CurveRole::kFlowLine ? 1e-3 : 5e-4) * std::max(point.y, 0.3)) << seed;
        EXPECT_FALSE(value->extrapolated);
      }
    }
    paint::Random random(seed);
    for (int i = 0; i < 100; ++i) {
      const double value = random.Between(invented.values.front(), invented.values.back());
      const double part = vanes ? value / 100.0 : value / invented.model.design_rpm;
      const double ratio = random.Between(invented.model.FirstRatio(part), invented.model.LastRatio(part));
      const std::optional<TurbineValue> flow = surface.Flow(value, ratio), efficiency = surface.Efficiency(value, ratio);
      ASSERT_TRUE(flow && efficiency);
      flow_squares += std::pow(flow->value / invented.model.Flow(ratio, part) - 1.0, 2);
      efficiency_squares += std::pow(efficiency->value - invented.model.Efficiency(ratio, part), 2);
      ++count;
    }
  }
  EXPECT_LT(std::sqrt(flow_squares / count), 2e-3);        // 0.2 %
  EXPECT_LT(std::sqrt(efficiency_squares / count), 2e-3);  // 0.2 points
}

TEST_P(TurbineSurfaceOf, DerivativeIsThatOfTheValue) {
  const InventedTurbine invented = InventTurbine(31, GetParam());
  const TurbineSurface surface = BuildFrom(invented.map);
  const double value = 0.5 * (invented.values[1] + invented.values[2]);
  for (int i = 1; i < 50; ++i) {
    const double ratio = surface.MinExpansionRatio(value) + (surface.MaxExpansionRatio(value) - surface.MinExpansionRatio(value)) * i / 50.0,
                 step = 1e-4;
    const double slope = (surface.Flow(value, ratio + step)->value - surface.Flow(value, ratio - step)->value) / (2 * step);
    EXPECT_NEAR(slope, surface.Flow(value, ratio)->by_expansion_ratio, 1e-3 * invented.model.flow);
  }
}

TEST_P(TurbineSurfaceOf, NothingIsSaidOutsideAndNoNumberIsNone) {
  const InventedTurbine invented = InventTurbine(32, GetParam());
  const TurbineSurface surface = BuildFrom(invented.map);
  const double nan = std::numeric_limits<double>::quiet_NaN(), infinity = std::numeric_limits<double>::infinity();
  const double middle = 0.5 * (invented.values.front() + invented.values.back());
  EXPECT_FALSE(surface.Flow(1.01 * invented.values.back(), 2.0));
  EXPECT_FALSE(surface.Flow(0.9 * invented.values.front(), 2.0));
  EXPECT_FALSE(surface.Flow(middle, 1.0));
  EXPECT_FALSE(surface.Flow(middle, 50.0));
  EXPECT_FALSE(surface.Efficiency(middle, 50.0));
  for (const double odd : {nan, infinity, -infinity, -1.0, 0.0}) {
    EXPECT_FALSE(surface.Flow(middle, odd));
    EXPECT_FALSE(surface.Flow(odd, 2.0));
    EXPECT_FALSE(surface.Efficiency(odd, 2.0));
    EXPECT_TRUE(surface.ParametersAt(2.0, odd).empty());
    EXPECT_TRUE(surface.ParametersAt(odd, 0.01).empty());
    EXPECT_FALSE(surface.ExpansionRatioAt(middle, odd));
  }
}

TEST(TurbineSurface, FlowTellsTheVaneOpening) {
  for (std::uint64_t seed = 40; seed < 50; ++seed) {
    const InventedTurbine invented = InventTurbine(seed, true);
    const TurbineSurface surface = BuildFrom(invented.map);
    const double opening = 0.4 * invented.values.front() + 0.6 * invented.values.back(), ratio = 2.0;
    const std::vector<double> found = surface.ParametersAt(ratio, surface.Flow(opening, ratio)->value);
    ASSERT_EQ(1u, found.size());
    EXPECT_NEAR(opening, found.front(), 1e-6 * opening);
  }
}

TEST(TurbineSurface, FlowTellsTheExpansionRatioUntilItChokes) {
  const InventedTurbine invented = InventTurbine(51, true);
  const TurbineSurface surface = BuildFrom(invented.map);
  const double opening = invented.values[1];
  const double ratio = 1.5, flow = surface.Flow(opening, ratio)->value;
  ASSERT_TRUE(surface.ExpansionRatioAt(opening, flow).has_value());
  EXPECT_NEAR(ratio, *surface.ExpansionRatioAt(opening, flow), 1e-6);
  EXPECT_FALSE(surface.ExpansionRatioAt(opening, 1.5 * invented.model.flow).has_value());
}

TEST(TurbineSurface, RefusesWhatItCannotUse) {
  const InventedTurbine invented = InventTurbine(60, false);
  PerformanceMap map = invented.map;
  map.kind = MapKind::kCompressor;
  EXPECT_EQ(ErrorCode::kWrongKind, TurbineSurface::Build(map).error().code);
  map = invented.map;
  map.curves.clear();
  EXPECT_EQ(ErrorCode::kNotEnoughCurves, TurbineSurface::Build(map).error().code);
  map = invented.map;
  map.x.reset();
  EXPECT_EQ(ErrorCode::kMalformedDocument, TurbineSurface::Build(map).error().code);
  map = invented.map;
  map.x->quantity = Quantity::kVelocityRatio;
  map.efficiency.reset();
  EXPECT_THAT(TurbineSurface::Build(map).error().message, HasSubstr("expansion ratio"));
}

TEST(TurbineSurface, ASingleLineWithoutALabelServes) {
  InventedTurbine invented = InventTurbine(61, false);
  invented.map.curves.resize(2);
  for (Curve& curve : invented.map.curves) {
    curve.value.reset();
    curve.unit.clear();
  }
  const TurbineSurface surface = BuildFrom(invented.map);
  EXPECT_EQ(TurbineParameter::kNone, surface.Parameter());
  const Point2 point = invented.map.curves[0].points[50];
  EXPECT_NEAR(point.y, surface.Flow(0.0, point.x)->value, 1e-4 * point.y);
}

TEST_P(TurbineSurfaceOf, DerivativeByTheLinesValueIsThatOfTheValue) {
  const InventedTurbine invented = InventTurbine(33, GetParam());
  const TurbineSurface surface = BuildFrom(invented.map);
  const double span = invented.values.back() - invented.values.front();
  for (int i = 1; i < 30; ++i) {
    const double value = invented.values.front() + span * i / 30.0, step = 1e-4 * span;
    const double ratio = 0.5 * (surface.MinExpansionRatio(value) + surface.MaxExpansionRatio(value));
    EXPECT_NEAR((surface.Flow(value + step, ratio)->value - surface.Flow(value - step, ratio)->value) / (2 * step),
                surface.Flow(value, ratio)->by_parameter, 2e-3 * invented.model.flow / span);
    EXPECT_NEAR((surface.Efficiency(value + step, ratio)->value - surface.Efficiency(value - step, ratio)->value) / (2 * step),
                surface.Efficiency(value, ratio)->by_parameter, 2e-3 / span);
  }
}

// Efficiency drawn over the blade-jet speed ratio, one parabola a speed. 0.79 at 0.621 is a published design point (NASA TM X-1757, table II); the shape is invented.
TEST(TurbineSurface, EfficiencyOverVelocityRatio) {
  const auto truth = [](double speed, double ratio) { return 0.79 - 0.03 * std::pow(speed / 1e5 - 0.9, 2) - 1.6 * std::pow(ratio - 0.621, 2); };
  PerformanceMap map;
  map.kind = MapKind::kTurbine;
  map.x = Axis{Quantity::kVelocityRatio, "1", AxisScale::kLinear, 0.2, 1.0};
  map.y = Axis{Quantity::kEfficiencyTotalToStatic, "%", AxisScale::kLinear, 40.0, 90.0};
  for (const double speed : {60000.0, 80000.0, 100000.0, 120000.0}) {
    Curve line;
    line.role = CurveRole::kEfficiencyLine;
    line.value = speed;
    line.unit = "rpm";
    for (int k = 0; k < 50; ++k) line.points.push_back({0.4 + 0.4 * k / 49.0, 100.0 * truth(speed, 0.4 + 0.4 * k / 49.0)});
    map.curves.push_back(line);
  }
  const TurbineSurface surface = BuildFrom(map);
  EXPECT_TRUE(surface.HasEfficiencyOverVelocityRatio());
  EXPECT_FALSE(surface.HasFlow() || surface.HasEfficiency());
  for (double speed = 60000.0; speed <= 120000.0; speed += 7500.0) {
    for (double ratio = 0.41; ratio < 0.8; ratio += 0.05) {
      const std::optional<TurbineValue> value = surface.EfficiencyAtVelocityRatio(speed, ratio);
      ASSERT_TRUE(value.has_value());
      EXPECT_NEAR(truth(speed, ratio), value->value, 5e-4);
      EXPECT_NEAR(-3.2 * (ratio - 0.621), value->by_expansion_ratio, 0.02);
      EXPECT_NEAR(-0.06 * (speed / 1e5 - 0.9), value->by_parameter * 1e5, 0.01);
    }
  }
  EXPECT_NEAR(0.79, surface.EfficiencyAtVelocityRatio(90000.0, 0.621)->value, 5e-4);
  for (const double odd : {0.3, 0.9, -1.0, 0.0, std::nan("")}) EXPECT_FALSE(surface.EfficiencyAtVelocityRatio(90000.0, odd)) << odd;
  EXPECT_FALSE(surface.EfficiencyAtVelocityRatio(130000.0, 0.6));
  EXPECT_FALSE(surface.Flow(90000.0, 2.0));
}

// NASA TN D-7625 (Kofskey, Roelke, Haas 1974): equivalent mass flow, kg/s, of a single-stage turbine over total pressure ratio at 100 % speed, as a public digitization of
// the report's figure has it (MIT license; the report prints a choking flow of 2.30 kg/s). Every other reading is left out and must come back.
TEST(TurbineSurface, AMeasuredTurbineIsCarriedByTheNozzle) {
  const std::vector<Point2> readings{{1.30387, 2.01893}, {1.45405, 2.13560}, {1.55304, 2.17695}, {1.81443, 2.25079}, {1.87584, 2.25942},
                                     {1.98995, 2.28107}, {2.11035, 2.27757}, {2.26819, 2.29368}, {2.33170, 2.29466}};
  PerformanceMap map;
  map.kind = MapKind::kTurbine;
  map.x = Axis{Quantity::kExpansionRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 3.0};
  map.y = Axis{Quantity::kCorrectedMassFlow, "kg/s", AxisScale::kLinear, 1.0, 2.5};
  Curve line;
  line.role = CurveRole::kFlowLine;
  line.value = 100.0;
  line.unit = "%";
  for (std::size_t i = 0; i < readings.size(); i += 2) line.points.push_back(readings[i]);
  map.curves.push_back(line);
  const TurbineSurface surface = BuildFrom(map);
  for (const Point2& reading : readings) EXPECT_NEAR(reading.y, surface.Flow(100.0, reading.x)->value, 0.008 * reading.y) << reading.x;
  const std::optional<TurbineValue> beyond = surface.Flow(100.0, 2.6);
  ASSERT_TRUE(beyond.has_value());
  EXPECT_TRUE(beyond->extrapolated);
  EXPECT_NEAR(2.30, beyond->value, 0.015);
}

INSTANTIATE_TEST_SUITE_P(SpeedsAndVanes, TurbineSurfaceOf, testing::Bool(), [](const auto& param) { return param.param ? "Vanes" : "Speeds"; });

}  // namespace
}  // namespace islebook
