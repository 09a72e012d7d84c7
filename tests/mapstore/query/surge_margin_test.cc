#include "mapstore/query/surge_margin.h"

#include <gtest/gtest.h>

#include <set>
#include <string>

#include "mapstore/query/compressor_query.h"

namespace islebook {
namespace {

TEST(SurgeMargin, EveryNameIsReadBack) {
  std::set<std::string> names;
  for (const SurgeMarginDefinition& definition : SurgeMarginDefinitions()) {
    EXPECT_EQ(definition.margin, ParseSurgeMargin(definition.name));
    EXPECT_STREQ(definition.name, DefinitionOf(definition.margin).name);
    names.insert(definition.name);
  }
  EXPECT_EQ(6u, names.size());
  EXPECT_FALSE(ParseSurgeMargin("pressure").has_value());
  EXPECT_FALSE(ParseSurgeMargin("").has_value());
}

// One point of a measured compressor, six margins. Readings: NASA High Efficiency Centrifugal Compressor, vaned diffuser (HECC data archive, read-me of 14 April 2023;
// NASA/CR-2014-218114), lines of 95, 100 and 105 % speed, lb/s. The operating point is reading 3299, the leftmost reading of its line 3308. Surge line straight
// through the leftmost readings. Expected margins: worked out by hand from these readings with the formulas of NASA/TM-2014-216638 (block help: constant flow, and its alternative form)
// and of a marine formula collection; the others from memory.
struct Expected {
  SurgeMargin margin;
  double percent;
};

PerformanceMap MeasuredMap() {
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  map.x = Axis{Quantity::kCorrectedMassFlow, "lb/s", AxisScale::kLinear, 0.0, 15.0};
  map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 6.0};
  const std::pair<double, std::vector<Point2>> lines[] = {{95,
                                                           {{9.4235, 4.2781},
                                                            {9.6177, 4.2453},
                                                            {9.8343, 4.1844},
                                                            {10.0500, 4.1254},
                                                            {10.2856, 4.0054},
                                                            {10.4140, 3.8956},
                                                            {10.4759, 3.8102},
                                                            {10.5535, 3.6145},
                                                            {10.5423, 3.3993},
                                                            {10.5689, 3.2072},
                                                            {10.5517, 3.0706}}},
                                                          {100,
                                                           {{10.38146, 4.83018},
                                                            {10.4754, 4.7608},
                                                            {10.6040, 4.7443},
                                                            {10.7129, 4.7079},
                                                            {10.8142, 4.6752},
                                                            {10.9244, 4.6387},
                                                            {11.1073, 4.5946},
                                                            {11.28376, 4.49534},
                                                            {11.4009, 4.3978},
                                                            {11.4878, 4.2899},
                                                            {11.5354, 4.1962},
                                                            {11.5102, 4.1035},
                                                            {11.5238, 4.0036},
                                                            {11.5461, 3.9013},
                                                            {11.5437, 3.7974},
                                                            {11.5452, 3.6010},
                                                            {11.5493, 3.3927}}},
                                                          {105,
                                                           {{11.5977, 5.3414},
                                                            {11.9373, 5.2455},
                                                            {12.1698, 5.1039},
                                                            {12.3106, 4.9953},
                                                            {12.3760, 4.9236},
                                                            {12.4524, 4.8000},
                                                            {12.5026, 4.7118},
                                                            {12.5370, 4.6119},
                                                            {12.5513, 4.5034},
                                                            {12.5454, 4.3071},
                                                            {12.5667, 4.2031},
                                                            {12.5335, 4.1151},
                                                            {12.5475, 4.0080},
                                                            {12.5451, 3.9016},
                                                            {12.5593, 3.7587}}}};
  Curve surge;
  surge.role = CurveRole::kSurgeLine;
  for (const auto& [speed, points] : lines) {
    Curve curve;
    curve.role = CurveRole::kSpeedLine;
    curve.value = speed;
    curve.unit = "%";
    curve.points = points;
    map.curves.push_back(curve);
    const Point2 end = points.front();
    if (!surge.points.empty()) {
      const Point2 start = surge.points.back();
      for (int i = 1; i < 40; ++i) surge.points.push_back({start.x + (end.x - start.x) * i / 40, start.y + (end.y - start.y) * i / 40});
    }
    surge.points.push_back(end);
  }
  map.curves.push_back(surge);
  return map;
}

TEST(SurgeMargin, OnePointOfAMeasuredCompressorHasSixMargins) {
  const CompressorSurface surface = *CompressorSurface::Build(MeasuredMap());
  const Expected expected[] = {
      {SurgeMargin::kConstantFlow, 15.89},     {SurgeMargin::kConstantSpeed, 16.79},         {SurgeMargin::kFlow, 8.00},
      {SurgeMargin::kFlowOverSurgeFlow, 8.69}, {SurgeMargin::kConstantPressureRatio, 13.15}, {SurgeMargin::kPressureRatio, 7.45}};
  for (const Expected& row : expected) {
    const CompressorQuery query(surface, {.surge_margin = row.margin});
    const CompressorAnswer answer = query.AtFlowAndPressureRatio(11.28376, 4.49534);
    ASSERT_TRUE(answer.surge_margin.has_value()) << DefinitionOf(row.margin).name;
    EXPECT_TRUE(answer.inside);
    EXPECT_NEAR(100.0, *answer.speed, 0.1);
    // The surface passes the reading within its scatter, which moves the speed line by a few hundredths of a percent; margins along it follow.
    const bool along_line = row.margin != SurgeMargin::kConstantFlow && row.margin != SurgeMargin::kConstantPressureRatio;
    EXPECT_NEAR(row.percent, 100.0 * *answer.surge_margin, along_line ? 0.15 : 0.03) << DefinitionOf(row.margin).name;
    EXPECT_NEAR(*answer.surge_margin, *query.Margin(row.margin, 11.28376, 4.49534), 1e-12);
  }
}

// The same data: the choke flow of the 100 % line is 11.5493 lb/s, so that the map is 1 - 10.3815 / 11.5493 = 10.1 % wide there (same source).
TEST(SurgeMargin, ChokeMarginAndMapWidthOfAMeasuredCompressor) {
  const CompressorSurface surface = *CompressorSurface::Build(MeasuredMap());
  const CompressorAnswer answer = CompressorQuery(surface).AtFlowAndPressureRatio(11.28376, 4.49534);
  EXPECT_NEAR(11.5493 / 11.28376 - 1.0, *answer.choke_margin, 1.5e-3);
  EXPECT_NEAR(0.101, 1.0 - surface.SurgePoint(100.0).flow / surface.ChokePoint(100.0).flow, 1.5e-3);
}

}  // namespace
}  // namespace islebook
