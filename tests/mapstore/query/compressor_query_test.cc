#include "mapstore/query/compressor_query.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

using testing::HasSubstr;

void ExpectNoNan(const CompressorAnswer& answer) {
  for (const std::optional<double>* value :
       {&answer.flow, &answer.pressure_ratio, &answer.speed, &answer.efficiency, &answer.surge_margin, &answer.choke_margin, &answer.sigma_speed,
        &answer.sigma_efficiency, &answer.sigma_surge_margin, &answer.sigma_flow, &answer.sigma_pressure_ratio}) {
    if (*value) {
      EXPECT_TRUE(std::isfinite(**value));
    }
  }
  EXPECT_EQ(answer.inside, answer.region == MapRegion::kOnMap);
  for (const CompressorAnswer& other : answer.alternatives) ExpectNoNan(other);
}

TEST(CompressorQuery, ThreeWaysToAskTheSamePoint) {
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    const InventedCompressor invented = InventCompressor(seed);
    const CompressorQuery query(*CompressorSurface::Build(invented.map));
    for (const ExactSample& sample : invented.samples) {
      const CompressorAnswer answer = query.Ask({sample.flow, sample.pressure_ratio, std::nullopt});
      ASSERT_TRUE(answer.speed && answer.inside) << seed;
      const CompressorAnswer by_flow = query.Ask({sample.flow, std::nullopt, answer.speed});
      ASSERT_TRUE(by_flow.pressure_ratio.has_value());
      EXPECT_NEAR(sample.pressure_ratio, *by_flow.pressure_ratio, 1e-7 * sample.pressure_ratio + 1e-9 * std::abs(1.0 / (sample.place + 0.01)));
      const CompressorAnswer by_ratio = query.Ask({std::nullopt, sample.pressure_ratio, answer.speed});
      ASSERT_TRUE(by_ratio.flow.has_value());
      // Two flows may have that pressure ratio left and right of a line's hump.
      double nearest = std::abs(*by_ratio.flow - sample.flow);
      for (const CompressorAnswer& other : by_ratio.alternatives) nearest = std::min(nearest, std::abs(*other.flow - sample.flow));
      EXPECT_LT(nearest, 1e-4 * invented.model.choke_flow) << seed;
    }
  }
}

TEST(CompressorQuery, TruthLiesInTheBand) {
  int inside = 0, count = 0, margins = 0;
  for (std::uint64_t seed = 20; seed < 40; ++seed) {
    const InventedCompressor invented = InventCompressor(seed);
    const CompressorQuery query(*CompressorSurface::Build(invented.map));
    for (const ExactSample& sample : invented.samples) {
      const CompressorAnswer answer = query.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio);
      ASSERT_TRUE(answer.sigma_speed && answer.sigma_surge_margin && answer.surge_margin);
      inside += std::abs(*answer.speed - sample.speed) <= 1.96 * *answer.sigma_speed;
      const Point2 surge = invented.model.At(0.0, sample.relative_speed);
      const double margin = surge.y / sample.pressure_ratio * sample.flow / surge.x - 1.0;
      margins += std::abs(*answer.surge_margin - margin) <= std::max(1.96 * *answer.sigma_surge_margin, 1e-5);
      EXPECT_NEAR(margin, *answer.surge_margin, 2e-3 + 0.002 * margin) << seed;
      EXPECT_NEAR(invented.model.At(1.0, sample.relative_speed).x / sample.flow - 1.0, *answer.choke_margin, 1e-3 * (1.0 + *answer.choke_margin));
      ++count;
    }
  }
  EXPECT_GT(inside, 0.95 * count);
  EXPECT_GT(margins, 0.93 * count);
}

TEST(CompressorQuery, OffTheMapIsSaidAndSpeedIsNot) {
  const InventedCompressor invented = InventCompressor(50);
  const paint::CompressorModel& model = invented.model;
  const CompressorSurface surface = *CompressorSurface::Build(invented.map);
  const CompressorQuery query(surface);
  const double middle = 0.5 * (model.low_speed + model.high_speed);
  const Point2 surge = model.At(0.0, middle);
  const CompressorAnswer left = query.AtFlowAndPressureRatio(0.9 * surge.x, surge.y);
  EXPECT_EQ(MapRegion::kLeftOfSurge, left.region);
  EXPECT_FALSE(left.inside || left.speed || left.efficiency);
  ASSERT_TRUE(left.surge_margin.has_value());
  EXPECT_NEAR(-0.1, *left.surge_margin, 2e-3);  // level line: W / W_surge - 1
  EXPECT_THAT(DoubtWords(left, surface), HasSubstr("left of the surge line"));
  EXPECT_THAT(DoubtWords(left, surface), HasSubstr("level"));
  EXPECT_THAT(DoubtWords(left, surface), Not(HasSubstr("more than the map holds")));
  const Point2 highest = model.At(0.0, model.high_speed);
  EXPECT_THAT(DoubtWords(query.AtFlowAndPressureRatio(0.8 * highest.x, 1.1 * highest.y), surface), HasSubstr("more than the map holds"));
  // The margin runs through zero without a jump.
  const CompressorAnswer right = query.AtFlowAndPressureRatio(1.0001 * surge.x, 0.9999 * surge.y),
                         just_left = query.AtFlowAndPressureRatio(0.9999 * surge.x, surge.y);
  EXPECT_GT(*right.surge_margin, 0.0);
  EXPECT_LT(*right.surge_margin, 1e-3);
  EXPECT_LT(*just_left.surge_margin, 0.0);
  EXPECT_GT(*just_left.surge_margin, -1e-3);

  const Point2 top = model.At(0.5, model.high_speed), bottom = model.At(0.5, model.low_speed), choke = model.At(1.0, middle);
  const CompressorAnswer over = query.AtFlowAndPressureRatio(top.x, 1.05 * top.y);
  EXPECT_EQ(MapRegion::kOverSpeed, over.region);
  EXPECT_THAT(DoubtWords(over, surface), HasSubstr("above the highest speed line"));
  EXPECT_EQ(MapRegion::kUnderSpeed, query.AtFlowAndPressureRatio(bottom.x, 1.0 + 0.9 * (bottom.y - 1.0)).region);
  const CompressorAnswer past = query.AtFlowAndPressureRatio(choke.x * 1.02, 1.0 + 0.7 * (choke.y - 1.0));
  EXPECT_EQ(MapRegion::kPastChoke, past.region);
  EXPECT_FALSE(past.speed.has_value());
}

TEST(CompressorQuery, OffTheLineIsSaid) {
  const InventedCompressor invented = InventCompressor(51);
  const CompressorSurface surface = *CompressorSurface::Build(invented.map);
  const CompressorQuery query(surface);
  const double speed = invented.speeds[2];
  const EdgePoint surge = surface.SurgePoint(speed), choke = surface.ChokePoint(speed);
  const CompressorAnswer left = query.AtSpeedAndFlow(speed, 0.9 * surge.flow);
  EXPECT_EQ(MapRegion::kLeftOfSurge, left.region);
  EXPECT_FALSE(left.pressure_ratio.has_value());
  const CompressorAnswer past = query.AtSpeedAndFlow(speed, 1.1 * choke.flow);
  EXPECT_EQ(MapRegion::kPastChoke, past.region);
  EXPECT_NEAR(1.0 / 1.1 - 1.0, *past.choke_margin, 1e-9);
  EXPECT_EQ(MapRegion::kOverSpeed, query.AtSpeedAndFlow(1.1 * surface.MaxSpeed(), choke.flow).region);
  EXPECT_EQ(MapRegion::kUnderSpeed, query.AtSpeedAndPressureRatio(0.5 * surface.MinSpeed(), 1.1).region);
  EXPECT_FALSE(query.AtSpeedAndPressureRatio(speed, 3.0 * surge.pressure_ratio).flow.has_value());
  for (const CompressorAnswer& answer : {left, past}) EXPECT_FALSE(DoubtWords(answer, surface).empty());
}

TEST(CompressorQuery, ALineWithAHumpHasTwoFlowsAtOnePressureRatio) {
  for (std::uint64_t seed = 1; seed < 60; ++seed) {
    const InventedCompressor invented = InventCompressor(seed, {.samples = 0});
    if (invented.model.hump < 0.03) continue;
    const CompressorQuery query(*CompressorSurface::Build(invented.map));
    const double speed = invented.speeds[1];
    const double ratio = query.surface().SurgePoint(speed).pressure_ratio * 1.002;
    const CompressorAnswer answer = query.AtSpeedAndPressureRatio(speed, ratio);
    ASSERT_EQ(1u, answer.alternatives.size()) << seed;
    EXPECT_LT(*answer.alternatives.front().flow, *answer.flow);
    EXPECT_TRUE(answer.doubts & kSeveralAnswers);
    EXPECT_THAT(DoubtWords(answer, query.surface()), HasSubstr("more than one answer"));
    return;
  }
  FAIL() << "no map with a hump";
}

TEST(CompressorQuery, CrossedLinesGiveAlternatives) {
  // The right half of one line swung down across its lower neighbor.
  InventedCompressor invented = InventCompressor(52, {.lines = 6, .islands = false});
  std::vector<Point2>& points = invented.map.curves[3].points;
  const std::vector<Point2>& below = invented.map.curves[2].points;
  for (std::size_t k = points.size() / 2; k < points.size(); ++k) {
    const double part = 3.0 * static_cast<double>(k - points.size() / 2) / static_cast<double>(points.size());
    points[k].x += part * (below[k].x - points[k].x);
    points[k].y += part * (below[k].y - points[k].y);
  }
  const CompressorQuery query(*CompressorSurface::Build(invented.map));
  int several = 0;
  for (const ExactSample& sample : invented.samples) {
    const CompressorAnswer answer = query.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio);
    ExpectNoNan(answer);
    several += !answer.alternatives.empty();
  }
  EXPECT_GT(several, 0);
}

TEST(CompressorQuery, BadQuestionsAreNoAnswers) {
  const InventedCompressor invented = InventCompressor(53);
  const CompressorQuery query(*CompressorSurface::Build(invented.map));
  const double nan = std::numeric_limits<double>::quiet_NaN(), infinity = std::numeric_limits<double>::infinity();
  const CompressorQuestion questions[] = {{},
                                          {0.1, std::nullopt, std::nullopt},
                                          {0.1, 2.0, 50000.0},
                                          {-0.1, 2.0, std::nullopt},
                                          {nan, 2.0, std::nullopt},
                                          {0.1, infinity, std::nullopt},
                                          {0.1, std::nullopt, nan},
                                          {std::nullopt, 0.0, 90000.0},
                                          {std::nullopt, 2.0, -infinity}};
  for (const CompressorQuestion& question : questions) {
    const CompressorAnswer answer = query.Ask(question);
    EXPECT_TRUE(answer.doubts & kBadQuestion);
    EXPECT_FALSE(answer.inside || answer.speed || answer.flow || answer.pressure_ratio || answer.efficiency || answer.surge_margin);
    EXPECT_THAT(DoubtWords(answer, query.surface()), HasSubstr("Two of flow"));
  }
}

TEST(CompressorQuery, NoNanAnywhereAndBatchesAgree) {
  for (std::uint64_t seed = 60; seed < 66; ++seed) {
    const InventedCompressor invented = InventCompressor(seed, {.surge_line = seed % 2 == 0});
    for (const SurgeMarginDefinition& definition : SurgeMarginDefinitions()) {
      const CompressorQuery query(*CompressorSurface::Build(invented.map), {.surge_margin = definition.margin});
      paint::Random random(seed);
      std::vector<CompressorQuestion> questions;
      for (int i = 0; i < 3000; ++i) {
        CompressorQuestion question;
        const int missing = random.Whole(0, 2);
        if (missing != 0) question.flow = random.Between(0.0, 1.6) * invented.model.choke_flow;
        if (missing != 1) question.pressure_ratio = random.Between(0.5, 1.4 * invented.model.top_ratio);
        if (missing != 2) question.speed = random.Between(0.2, 1.3) * invented.model.design_rpm;
        questions.push_back(question);
      }
      std::vector<CompressorAnswer> one(questions.size()), two(questions.size());
      query.AskAll(questions, one, 1);
      query.AskAll(questions, two, 2);
      for (std::size_t i = 0; i < questions.size(); ++i) {
        ExpectNoNan(one[i]);
        EXPECT_EQ(one[i].speed, two[i].speed);
        EXPECT_EQ(one[i].efficiency, two[i].efficiency);
        EXPECT_EQ(one[i].surge_margin, two[i].surge_margin);
        if (!one[i].speed || !one[i].efficiency || !one[i].surge_margin || !one[i].flow || !one[i].pressure_ratio) {
          EXPECT_FALSE(DoubtWords(one[i], query.surface()).empty());
        }
      }
    }
  }
}

TEST(CompressorQuery, WithoutIslandsThereIsNoEfficiency) {
  const InventedCompressor invented = InventCompressor(70, {.islands = false});
  const CompressorQuery query(*CompressorSurface::Build(invented.map));
  const CompressorAnswer answer = query.AtFlowAndPressureRatio(invented.samples[0].flow, invented.samples[0].pressure_ratio);
  EXPECT_FALSE(answer.efficiency.has_value());
  EXPECT_THAT(DoubtWords(answer, query.surface()), HasSubstr("no efficiency islands"));
  EXPECT_TRUE(answer.speed && answer.surge_margin);
}

TEST(CompressorQuery, StatedUncertaintyOfPointsReachesTheAnswer) {
  InventedCompressor invented = InventCompressor(71);
  const CompressorQuery sharp(*CompressorSurface::Build(invented.map));
  for (Curve& curve : invented.map.curves) curve.sigma.assign(curve.points.size(), {0.004 * invented.model.choke_flow, 0.01});
  const CompressorQuery blurred(*CompressorSurface::Build(invented.map));
  for (const ExactSample& sample : invented.samples) {
    const CompressorAnswer a = sharp.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio),
                           b = blurred.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio);
    EXPECT_GT(*b.sigma_speed, *a.sigma_speed);
    EXPECT_GT(*b.sigma_speed, 1e-3 * sample.speed);
    EXPECT_LT(*b.sigma_speed, 3e-2 * sample.speed);
    EXPECT_GT(*b.sigma_surge_margin, *a.sigma_surge_margin);
  }
}

TEST(CompressorQuery, BeyondTheOutermostLinesIsAnsweredOnlyWhenAskedForAndMarked) {
  const InventedCompressor invented = InventCompressor(60);
  CompressorSurfaceOptions options;
  options.extrapolate_below = 0.3;
  options.extrapolate_above = 0.15;
  const CompressorSurface surface = *CompressorSurface::Build(invented.map, options);
  const CompressorQuery asked(surface), plain(*CompressorSurface::Build(invented.map));
  for (const double speed : {0.85 * surface.MinSpeed(), 1.08 * surface.MaxSpeed()}) {
    const SurfaceJet jet = surface.At({speed, 0.5});
    const MapRegion region = speed < surface.MinSpeed() ? MapRegion::kUnderSpeed : MapRegion::kOverSpeed;
    for (const CompressorAnswer& answer : {asked.AtFlowAndPressureRatio(jet.flow, jet.pressure_ratio), asked.AtSpeedAndFlow(speed, jet.flow),
                                           asked.AtSpeedAndPressureRatio(speed, jet.pressure_ratio)}) {
      ExpectNoNan(answer);
      ASSERT_TRUE(answer.speed && answer.flow && answer.pressure_ratio);
      EXPECT_NEAR(speed, *answer.speed, 1e-6 * speed);
      EXPECT_FALSE(answer.inside);
      EXPECT_EQ(region, answer.region);
      EXPECT_TRUE(answer.doubts & kSpeedExtrapolated);
      EXPECT_TRUE(answer.doubts & kOffMap);
      EXPECT_THAT(DoubtWords(answer, surface), HasSubstr("Extrapolated"));
    }
    const CompressorAnswer none = plain.AtFlowAndPressureRatio(jet.flow, jet.pressure_ratio);
    EXPECT_FALSE(none.speed.has_value());
    EXPECT_EQ(region, none.region);
    EXPECT_FALSE(plain.AtSpeedAndFlow(speed, jet.flow).pressure_ratio.has_value());
  }
}

TEST(CompressorQuery, MapWidthIsThatOfTheSpeedLine) {
  const InventedCompressor invented = InventCompressor(61);
  const CompressorSurface surface = *CompressorSurface::Build(invented.map);
  const CompressorQuery query(surface);
  for (const ExactSample& sample : invented.samples) {
    const CompressorAnswer answer = query.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio);
    ASSERT_TRUE(answer.map_width.has_value());
    const double truth = 1.0 - invented.model.At(0.0, sample.relative_speed).x / invented.model.At(1.0, sample.relative_speed).x;
    EXPECT_NEAR(truth, *answer.map_width, 1e-3);
    EXPECT_DOUBLE_EQ(*answer.map_width, *query.MapWidth(*answer.speed));
  }
  EXPECT_FALSE(query.MapWidth(2.0 * surface.MaxSpeed()));
  EXPECT_FALSE(query.MapWidth(std::nan("")));
}

// HECC, vaned diffuser, 100 % line: surge at 10.3815 lb/s, choke at 11.5493 lb/s, so a width of 10.1 % (NASA HECC data archive, computed).
TEST(CompressorQuery, MapWidthOfAMeasuredLine) {
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  map.x = Axis{Quantity::kCorrectedMassFlow, "lb/s", AxisScale::kLinear, 0.0, 15.0};
  map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 6.0};
  for (const auto& [speed, points] : std::vector<std::pair<double, std::vector<Point2>>>{
           {95.0, {{9.4235, 4.2781}, {9.8343, 4.1844}, {10.2856, 4.0054}, {10.4759, 3.8102}, {10.5689, 3.2072}}},
           {100.0, {{10.3815, 4.8302}, {10.8142, 4.6752}, {11.2838, 4.4953}, {11.4878, 4.2899}, {11.5493, 3.3927}}}}) {
    Curve line;
    line.role = CurveRole::kSpeedLine;
    line.value = speed;
    line.unit = "%";
    line.points = points;
    map.curves.push_back(line);
  }
  const CompressorQuery query(*CompressorSurface::Build(map));
  EXPECT_NEAR(0.101, *query.MapWidth(100.0), 0.0015);  // five of its seventeen readings
}

TEST(CompressorQuery, WhatRestsOnFlaggedCurvesIsMarked) {
  InventedCompressor invented = InventCompressor(63, {.lines = 6});
  Curve& line = invented.map.curves[2];
  line.needs_review = true;
  line.reasons = {"hard to read"};
  for (Curve& curve : invented.map.curves)
    if (curve.role == CurveRole::kEfficiencyIsland && curve.value == invented.levels[1]) curve.needs_review = true;
  const CompressorSurface surface = *CompressorSurface::Build(invented.map);
  const CompressorQuery query(surface);
  int speed_marked = 0, efficiency_marked = 0;
  for (const ExactSample& sample : invented.samples) {
    const CompressorAnswer answer = query.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio);
    const bool beside = sample.speed > invented.speeds[1] && sample.speed < invented.speeds[3];
    EXPECT_EQ(beside, (answer.doubts & kSpeedFromFlagged) != 0);
    speed_marked += beside;
    if (answer.efficiency && (answer.doubts & kEfficiencyFromFlagged)) {
      ++efficiency_marked;
      EXPECT_GT(*answer.efficiency, invented.levels[2] - 0.003);
      EXPECT_LT(*answer.efficiency, invented.levels[0] + 0.003);
      EXPECT_THAT(DoubtWords(answer, surface), HasSubstr("flagged for review"));
    }
  }
  EXPECT_GT(speed_marked, 10);
  EXPECT_GT(efficiency_marked, 0);
}

TEST(CompressorQuery, UncertaintyOrNotTheValuesAreTheSame) {
  const InventedCompressor invented = InventCompressor(62);
  const CompressorSurface surface = *CompressorSurface::Build(invented.map);
  const CompressorQuery with(surface), without(surface, {.sigma = false});
  for (const ExactSample& sample : invented.samples) {
    const CompressorAnswer a = with.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio),
                           b = without.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio);
    EXPECT_EQ(a.speed, b.speed);
    EXPECT_EQ(a.efficiency, b.efficiency);
    EXPECT_EQ(a.surge_margin, b.surge_margin);
    EXPECT_EQ(a.doubts, b.doubts);
    EXPECT_FALSE(b.sigma_speed.has_value());
  }
}

}  // namespace
}  // namespace islebook
