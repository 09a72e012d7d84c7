#include "mapstore/surface/compressor_surface.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <thread>
#include <utility>

#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

using testing::Contains;
using testing::HasSubstr;

CompressorSurface BuildFrom(const PerformanceMap& map) {
  Result<CompressorSurface> surface = CompressorSurface::Build(map);
  EXPECT_TRUE(surface.has_value()) << surface.error().message;
  return *surface;
}

TEST(CompressorSurface, InverseOfForwardReturnsThePlace) {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    const InventedCompressor invented = InventCompressor(seed, {.samples = 0});
    const CompressorSurface surface = BuildFrom(invented.map);
    ASSERT_FALSE(surface.Folds()) << seed;
    paint::Random random(seed + 1000);
    for (int i = 0; i < 250; ++i) {
      const MapPlace place{random.Between(surface.MinSpeed(), surface.MaxSpeed()), random.Part()};
      const SurfaceJet jet = surface.At(place);
      const std::optional<MapPlace> back = surface.Locate(jet.flow, jet.pressure_ratio);
      ASSERT_TRUE(back.has_value()) << "seed " << seed << " speed " << place.speed << " beta " << place.beta;
      EXPECT_NEAR(place.speed, back->speed, 1e-9 * (surface.MaxSpeed() - surface.MinSpeed())) << seed;
      EXPECT_NEAR(place.beta, back->beta, 1e-9) << seed;
    }
  }
}

TEST(CompressorSurface, PointsReturnToThemselves) {
  for (std::uint64_t seed = 41; seed <= 60; ++seed) {
    const InventedCompressor invented = InventCompressor(seed);
    const CompressorSurface surface = BuildFrom(invented.map);
    for (const ExactSample& sample : invented.samples) {
      const std::optional<MapPlace> place = surface.Locate(sample.flow, sample.pressure_ratio);
      ASSERT_TRUE(place.has_value());
      const SurfaceJet jet = surface.At(*place);
      EXPECT_NEAR(sample.flow, jet.flow, 1e-9 * invented.map.x->max);
      EXPECT_NEAR(sample.pressure_ratio, jet.pressure_ratio, 1e-9 * invented.map.y->max);
    }
  }
}

TEST(CompressorSurface, ExactCurvesGiveSpeedAndEfficiencyBetweenThem) {
  double speed_squares = 0.0, inside_squares = 0.0, beyond_squares = 0.0;
  int speeds = 0, inside = 0, beyond = 0, speed_in_band = 0, efficiency_in_band = 0, efficiencies = 0;
  double speed_width = 0.0;
  for (std::uint64_t seed = 100; seed < 130; ++seed) {
    const InventedCompressor invented = InventCompressor(seed);
    const CompressorSurface surface = BuildFrom(invented.map);
    for (const ExactSample& sample : invented.samples) {
      const std::optional<MapPlace> place = surface.Locate(sample.flow, sample.pressure_ratio);
      ASSERT_TRUE(place.has_value() && surface.IsOnMap(*place)) << seed;
      const std::optional<PlaceSigma> sigma = surface.SigmaAt(*place);
      ASSERT_TRUE(sigma.has_value());
      const double speed_error = place->speed / sample.speed - 1.0;
      speed_squares += speed_error * speed_error;
      ++speeds;
      speed_in_band += std::abs(place->speed - sample.speed) <= 1.96 * sigma->speed;
      speed_width += 3.92 * sigma->speed / sample.speed;
      const EfficiencyJet efficiency = surface.EfficiencyAt(*place);
      const double error = efficiency.value - sample.efficiency;
      (efficiency.extrapolated ? beyond_squares : inside_squares) += error * error;
      ++(efficiency.extrapolated ? beyond : inside);
      efficiency_in_band += std::abs(error) <= 1.96 * sigma->efficiency;
      ++efficiencies;
    }
  }
  const double speed_rms = std::sqrt(speed_squares / speeds);
  EXPECT_LT(speed_rms, 1e-4);                             // 0.01 %
  EXPECT_LT(std::sqrt(inside_squares / inside), 1.5e-4);  // 0.015 points
  EXPECT_LT(std::sqrt(beyond_squares / beyond), 2e-3);    // 0.2 points
  EXPECT_GT(static_cast<double>(speed_in_band) / speeds, 0.95);
  EXPECT_LT(speed_width / speeds, 8.0 * speed_rms);
  EXPECT_GT(static_cast<double>(efficiency_in_band) / efficiencies, 0.95);
}

TEST(CompressorSurface, SpeedLinesAndIslandsAreRespected) {
  for (std::uint64_t seed = 200; seed < 210; ++seed) {
    const InventedCompressor invented = InventCompressor(seed);
    const CompressorSurface surface = BuildFrom(invented.map);
    for (const Curve& curve : invented.map.curves) {
      for (const Point2& point : curve.points) {
        const std::optional<MapPlace> place = surface.Locate(point.x, point.y);
        ASSERT_TRUE(place.has_value());
        if (curve.role == CurveRole::kSpeedLine) {
          EXPECT_NEAR(*curve.value, place->speed, 2e-4 * *curve.value);
        } else if (curve.role == CurveRole::kEfficiencyIsland) {
          EXPECT_NEAR(*curve.value, surface.EfficiencyAt(*place).value, 4e-4);
        } else {
          EXPECT_NEAR(0.0, place->beta, 2e-3);
        }
      }
    }
  }
}

TEST(CompressorSurface, ThePeakStaysBounded) {
  const InventedCompressor invented = InventCompressor(12);
  const CompressorSurface surface = BuildFrom(invented.map);
  for (int i = 0; i <= 60; ++i) {
    for (int k = 0; k <= 60; ++k) {
      const MapPlace place{surface.MinSpeed() + (surface.MaxSpeed() - surface.MinSpeed()) * i / 60, k / 60.0};
      const EfficiencyJet jet = surface.EfficiencyAt(place);
      ASSERT_TRUE(std::isfinite(jet.value));
      // Two steps between islands above the innermost at most.
      EXPECT_LT(jet.value, invented.levels.front() + 2.0 * (invented.levels[0] - invented.levels[1]) + 1e-12);
    }
  }
}

TEST(CompressorSurface, DerivativesAreThoseOfTheValues) {
  const InventedCompressor invented = InventCompressor(77, {.samples = 0});
  const CompressorSurface surface = BuildFrom(invented.map);
  paint::Random random(8);
  const double dn = 1e-6 * surface.MaxSpeed(), db = 1e-6;
  for (int i = 0; i < 3000; ++i) {
    const MapPlace place{random.Between(surface.MinSpeed(), surface.MaxSpeed()), random.Part()};
    const SurfaceJet jet = surface.At(place);
    const SurfaceJet faster = surface.At({place.speed + dn, place.beta}), slower = surface.At({place.speed - dn, place.beta});
    const SurfaceJet right = surface.At({place.speed, place.beta + db}), left = surface.At({place.speed, place.beta - db});
    EXPECT_NEAR((faster.flow - slower.flow) / (2 * dn), jet.flow_by_speed, 1e-4 * invented.model.choke_flow / surface.MaxSpeed());
    EXPECT_NEAR((faster.pressure_ratio - slower.pressure_ratio) / (2 * dn), jet.pressure_ratio_by_speed, 1e-3 / surface.MaxSpeed());
    EXPECT_NEAR((right.flow - left.flow) / (2 * db), jet.flow_by_beta, 1e-4 * invented.model.choke_flow);
    EXPECT_NEAR((right.pressure_ratio - left.pressure_ratio) / (2 * db), jet.pressure_ratio_by_beta, 1e-3);
    const EfficiencyJet efficiency = surface.EfficiencyAt(place);
    EXPECT_NEAR((surface.EfficiencyAt({place.speed + dn, place.beta}).value - surface.EfficiencyAt({place.speed - dn, place.beta}).value) / (2 * dn),
                efficiency.by_speed, 1e-3 / surface.MaxSpeed());
    EXPECT_NEAR((surface.EfficiencyAt({place.speed, place.beta + db}).value - surface.EfficiencyAt({place.speed, place.beta - db}).value) / (2 * db),
                efficiency.by_beta, 1e-3);
  }
}

TEST(CompressorSurface, FirstDerivativesAreContinuousAcrossLinesAndEdges) {
  const InventedCompressor invented = InventCompressor(78, {.samples = 0});
  const CompressorSurface surface = BuildFrom(invented.map);
  const double step = 1e-7;
  for (int k = 0; k <= 20; ++k) {
    const double beta = k / 20.0;
    for (const double speed : surface.LineSpeeds()) {
      const SurfaceJet below = surface.At({speed * (1 - step), beta}), above = surface.At({speed * (1 + step), beta});
      EXPECT_NEAR(below.flow_by_speed, above.flow_by_speed, 1e-4 * std::abs(below.flow_by_speed));
      EXPECT_NEAR(below.pressure_ratio_by_beta, above.pressure_ratio_by_beta, 1e-4 * (0.1 + std::abs(below.pressure_ratio_by_beta)));
    }
  }
  for (int i = 0; i <= 20; ++i) {
    const double speed = surface.MinSpeed() + (surface.MaxSpeed() - surface.MinSpeed()) * i / 20;
    for (const double beta : {0.0, 1.0}) {
      const SurfaceJet in = surface.At({speed, beta + (beta == 0.0 ? step : -step)}), out = surface.At({speed, beta + (beta == 0.0 ? -step : step)});
      EXPECT_NEAR(in.flow_by_beta, out.flow_by_beta, 1e-4 * (0.01 + std::abs(in.flow_by_beta)));
      EXPECT_NEAR(in.pressure_ratio_by_speed, out.pressure_ratio_by_speed, 1e-4 * std::abs(in.pressure_ratio_by_speed));
    }
  }
}

TEST(CompressorSurface, LeavingALineOutPredictsIt) {
  double squares = 0.0;
  int count = 0;
  for (std::uint64_t seed = 300; seed < 315; ++seed) {
    const InventedCompressor invented = InventCompressor(seed, {.islands = false, .samples = 0});
    for (std::size_t gone = 1; gone + 1 < invented.speeds.size(); ++gone) {
      PerformanceMap map = invented.map;
      const auto line = std::find_if(map.curves.begin(), map.curves.end(), [&](const Curve& curve) { return curve.value == invented.speeds[gone]; });
      const Curve left_out = *line;
      map.curves.erase(line);
      const CompressorSurface surface = BuildFrom(map);
      for (const Point2& point : left_out.points) {
        const std::optional<MapPlace> place = surface.Locate(point.x, point.y);
        ASSERT_TRUE(place.has_value());
        const SurfaceJet jet = surface.At(*place);
        squares += std::pow(jet.pressure_ratio_by_speed * (*left_out.value - place->speed) / point.y, 2);
        ++count;
      }
    }
  }
  EXPECT_LT(std::sqrt(squares / count), 1e-3);  // 0.1 % of pressure ratio
}

TEST(CompressorSurface, RegionsAroundTheMap) {
  for (std::uint64_t seed = 400; seed < 420; ++seed) {
    const InventedCompressor invented = InventCompressor(seed);
    const paint::CompressorModel& model = invented.model;
    const CompressorSurface surface = BuildFrom(invented.map);
    for (const ExactSample& sample : invented.samples) EXPECT_EQ(MapRegion::kOnMap, surface.RegionOf(sample.flow, sample.pressure_ratio)) << seed;
    const double low = model.low_speed, high = model.high_speed, middle = 0.5 * (low + high);
    const Point2 surge = model.At(0.0, middle), choke = model.At(1.0, middle), top = model.At(0.5, high), bottom = model.At(0.5, low);
    EXPECT_EQ(MapRegion::kLeftOfSurge, surface.RegionOf(0.98 * surge.x, surge.y)) << seed;
    EXPECT_EQ(MapRegion::kLeftOfSurge, surface.RegionOf(0.3 * surge.x, surge.y)) << seed;
    EXPECT_EQ(MapRegion::kPastChoke, surface.RegionOf(choke.x, 1.0 + 0.9 * (choke.y - 1.0))) << seed;
    EXPECT_EQ(MapRegion::kPastChoke, surface.RegionOf(3.0 * choke.x, 1.05)) << seed;
    EXPECT_EQ(MapRegion::kOverSpeed, surface.RegionOf(top.x, 1.01 * top.y)) << seed;
    EXPECT_EQ(MapRegion::kOverSpeed, surface.RegionOf(1.1 * top.x, 1.3 * top.y)) << seed;
    EXPECT_EQ(MapRegion::kUnderSpeed, surface.RegionOf(bottom.x, 1.0 + 0.97 * (bottom.y - 1.0))) << seed;
    EXPECT_EQ(MapRegion::kUnderSpeed, surface.RegionOf(0.5 * bottom.x, 1.0 + 0.25 * (bottom.y - 1.0))) << seed;
  }
}

TEST(CompressorSurface, NeverANumberThatIsNone) {
  const InventedCompressor invented = InventCompressor(500, {.samples = 0});
  const CompressorSurface surface = BuildFrom(invented.map);
  paint::Random random(9);
  const double infinity = std::numeric_limits<double>::infinity(), nan = std::numeric_limits<double>::quiet_NaN();
  std::vector<std::pair<double, double>> points{{0.0, 0.0}, {-1.0, 2.0}, {1.0, -2.0},    {infinity, 2.0},  {0.1, infinity},
                                                {nan, 2.0}, {0.1, nan},  {1e300, 1e300}, {1e-300, 1e-300}, {0.2, 1.0}};
  for (int i = 0; i < 4000; ++i)
    points.push_back({random.Between(-0.2, 3.0) * invented.model.choke_flow, random.Between(-1.0, 3.0) * invented.model.top_ratio});
  for (const auto& [flow, ratio] : points) {
    if (const std::optional<MapPlace> place = surface.Locate(flow, ratio)) {
      EXPECT_TRUE(std::isfinite(place->speed) && std::isfinite(place->beta));
      const SurfaceJet jet = surface.At(*place);
      EXPECT_TRUE(std::isfinite(jet.flow) && std::isfinite(jet.pressure_ratio));
      const std::optional<PlaceSigma> sigma = surface.SigmaAt(*place);
      ASSERT_TRUE(sigma.has_value());
      EXPECT_TRUE(std::isfinite(sigma->speed) && std::isfinite(sigma->efficiency) && sigma->speed >= 0.0);
      EXPECT_TRUE(std::isfinite(surface.EfficiencyAt(*place).value));
    }
    surface.RegionOf(flow, ratio);
  }
}

TEST(CompressorSurface, WithoutASurgeLineTheLeftEndsServe) {
  const InventedCompressor invented = InventCompressor(510, {.surge_line = false});
  const CompressorSurface surface = BuildFrom(invented.map);
  EXPECT_FALSE(surface.SurgeLinePrinted());
  EXPECT_THAT(surface.Notes(), Contains(HasSubstr("no surge line")));
  double squares = 0.0;
  for (const ExactSample& sample : invented.samples)
    squares += std::pow(surface.Locate(sample.flow, sample.pressure_ratio)->speed / sample.speed - 1.0, 2);
  EXPECT_LT(std::sqrt(squares / static_cast<double>(invented.samples.size())), 2e-3);
}

TEST(CompressorSurface, UnlabeledLinesAreLeftOutAndSaid) {
  InventedCompressor invented = InventCompressor(511, {.lines = 6});
  invented.map.curves[2].value.reset();
  const CompressorSurface surface = BuildFrom(invented.map);
  EXPECT_EQ(5u, surface.LineSpeeds().size());
  EXPECT_THAT(surface.Notes(), Contains(HasSubstr("no value")));
}

TEST(CompressorSurface, LinesGivenBackwardsOrInPiecesGiveTheSameMap) {
  const InventedCompressor invented = InventCompressor(512, {.lines = 6});
  PerformanceMap pieces = invented.map;
  std::reverse(pieces.curves[1].points.begin(), pieces.curves[1].points.end());
  Curve second = pieces.curves[3];
  pieces.curves[3].points.resize(60);
  second.points.erase(second.points.begin(), second.points.begin() + 60);
  pieces.curves.push_back(second);
  const CompressorSurface whole = BuildFrom(invented.map), joined = BuildFrom(pieces);
  EXPECT_EQ(whole.LineSpeeds(), joined.LineSpeeds());
  for (const ExactSample& sample : invented.samples)
    EXPECT_NEAR(whole.Locate(sample.flow, sample.pressure_ratio)->speed, joined.Locate(sample.flow, sample.pressure_ratio)->speed,
                1e-6 * sample.speed);
}

TEST(CompressorSurface, PressureRatioAlongXIsTurnedRound) {
  const InventedCompressor invented = InventCompressor(512, {.lines = 6});
  PerformanceMap turned = invented.map;
  std::swap(turned.x, turned.y);
  for (Curve& curve : turned.curves)
    for (Point2& point : curve.points) std::swap(point.x, point.y);
  const CompressorSurface upright = BuildFrom(invented.map), other = BuildFrom(turned);
  for (const ExactSample& sample : invented.samples)
    EXPECT_EQ(upright.Locate(sample.flow, sample.pressure_ratio)->speed, other.Locate(sample.flow, sample.pressure_ratio)->speed);
}

TEST(CompressorSurface, AShortLineGoesOnAsItsNeighborsDo) {
  InventedCompressor invented = InventCompressor(512, {.lines = 6});
  invented.map.curves[2].points.resize(90);  // of 120
  const CompressorSurface surface = BuildFrom(invented.map);
  EXPECT_THAT(surface.Notes(), Contains(HasSubstr("short of choke")));
  double squares = 0.0;
  for (const ExactSample& sample : invented.samples) {
    const std::optional<MapPlace> place = surface.Locate(sample.flow, sample.pressure_ratio);
    ASSERT_TRUE(place && surface.IsOnMap(*place));
    squares += std::pow(place->speed / sample.speed - 1.0, 2);
  }
  EXPECT_LT(std::sqrt(squares / static_cast<double>(invented.samples.size())), 1e-3);
}

TEST(CompressorSurface, AnIslandThatDisagreesIsLeftOutAndSaid) {
  InventedCompressor invented = InventCompressor(513);
  int changed = 0;
  for (Curve& curve : invented.map.curves) {
    if (curve.role != CurveRole::kEfficiencyIsland || curve.value != invented.levels[2]) continue;
    curve.value = *curve.value - 0.10;
    ++changed;
  }
  ASSERT_GT(changed, 0);
  const CompressorSurface surface = BuildFrom(invented.map);
  EXPECT_THAT(surface.Notes(), Contains(HasSubstr("does not agree")));
  double worst = 0.0;
  for (const ExactSample& sample : invented.samples) {
    const EfficiencyJet jet = surface.EfficiencyAt(*surface.Locate(sample.flow, sample.pressure_ratio));
    if (!jet.extrapolated) worst = std::max(worst, std::abs(jet.value - sample.efficiency));
  }
  EXPECT_LT(worst, 0.01);
}

double EfficiencyRms(const CompressorSurface& surface, const std::vector<ExactSample>& samples) {
  double squares = 0.0;
  for (const ExactSample& sample : samples) {
    const std::optional<MapPlace> place = surface.Locate(sample.flow, sample.pressure_ratio);
    squares += std::pow(surface.EfficiencyAt(place.value()).value - sample.efficiency, 2);
  }
  return std::sqrt(squares / static_cast<double>(samples.size()));
}

// A flagged island whose value was read wrong is told by the others; one that was read right counts, and its flag widens the uncertainty.
TEST(CompressorSurface, FlaggedIslandsAreBelievedWhereTheOthersBearThemOut) {
  int wrong = 0, told = 0;
  for (std::uint64_t seed = 400; seed < 430; ++seed) {
    const InventedCompressor invented = InventCompressor(seed);
    const CompressorSurface exact = BuildFrom(invented.map);
    for (const double by : {-0.08, 0.05, 0.0}) {
      PerformanceMap map = invented.map;
      std::vector<Curve*> islands;
      for (Curve& curve : map.curves)
        if (curve.role == CurveRole::kEfficiencyIsland) islands.push_back(&curve);
      if (islands.size() < 5) continue;
      Curve& flagged = *islands[islands.size() / 2];
      flagged.needs_review = true;
      flagged.confidence = 0.4;
      flagged.value = *flagged.value + by * (flagged.unit == "%" ? 100.0 : 1.0);
      const CompressorSurface surface = BuildFrom(map);
      const bool left_out = std::any_of(surface.Notes().begin(), surface.Notes().end(),
                                        [](const std::string& note) { return note.find("does not agree") != std::string::npos; });
      if (by == 0.0) {
        EXPECT_FALSE(left_out) << seed;
        EXPECT_LT(EfficiencyRms(surface, invented.samples), EfficiencyRms(exact, invented.samples) + 3e-4) << seed;
        const MapPlace place{0.5 * (surface.MinSpeed() + surface.MaxSpeed()), 0.5};
        EXPECT_GE(surface.EfficiencySigmaAt(place), exact.EfficiencySigmaAt(place)) << seed;
      } else {
        ++wrong;
        told += left_out ? 1 : 0;
        if (!left_out) continue;
        EXPECT_LT(EfficiencyRms(surface, invented.samples), 0.004) << seed << " " << by;
      }
    }
  }
  EXPECT_GT(wrong, 30);
  EXPECT_GE(told, wrong * 95 / 100);
}

// One level alone: nothing says how fast efficiency falls from it, so away from it the uncertainty grows until it is no answer.
TEST(CompressorSurface, OneLevelAloneIsUnsureAwayFromIt) {
  PerformanceMap map = InventCompressor(7).map;
  std::vector<Curve> kept;
  bool have = false;
  for (const Curve& curve : map.curves) {
    if (curve.role == CurveRole::kEfficiencyIsland && std::exchange(have, true)) continue;
    kept.push_back(curve);
  }
  const Curve island = *std::find_if(kept.begin(), kept.end(), [](const Curve& curve) { return curve.role == CurveRole::kEfficiencyIsland; });
  map.curves = kept;
  const CompressorSurface surface = BuildFrom(map);
  const Point2 on = island.points[island.points.size() / 3];
  const std::optional<MapPlace> there = surface.Locate(on.x, on.y);
  ASSERT_TRUE(there.has_value());
  EXPECT_LT(surface.EfficiencySigmaAt(*there), 0.025);
  double farthest = 0.0;
  for (int i = 0; i <= 10; ++i)
    for (int j = 0; j <= 10; ++j)
      farthest = std::max(farthest, surface.EfficiencySigmaAt({surface.MinSpeed() + 0.1 * i * (surface.MaxSpeed() - surface.MinSpeed()), 0.1 * j}));
  EXPECT_GT(farthest, 0.05);
}

TEST(CompressorSurface, MislabeledLinesAreLeftOutAndSaid) {
  // Two labels exchanged: nobody can tell which is right, so both lines go; the others still know the speeds between them.
  InventedCompressor invented = InventCompressor(514, {.lines = 6});
  std::swap(invented.map.curves[2].value, invented.map.curves[3].value);
  const CompressorSurface swapped = BuildFrom(invented.map);
  EXPECT_FALSE(swapped.Folds());
  EXPECT_EQ(4u, swapped.LineSpeeds().size());
  EXPECT_THAT(swapped.Notes(), Contains(HasSubstr("out of the order of the others")));
  for (const ExactSample& sample : invented.samples)
    EXPECT_NEAR(sample.speed, swapped.Locate(sample.flow, sample.pressure_ratio)->speed, 0.02 * sample.speed);
  // A lost digit.
  invented = InventCompressor(514, {.lines = 6});
  invented.map.curves[4].value = *invented.map.curves[4].value / 10.0;
  const CompressorSurface lost = BuildFrom(invented.map);
  EXPECT_FALSE(lost.Folds());
  EXPECT_THAT(lost.Notes(), Contains(HasSubstr("that its speed cannot")));
  for (const ExactSample& sample : invented.samples)
    EXPECT_NEAR(sample.speed, lost.Locate(sample.flow, sample.pressure_ratio)->speed, 0.01 * sample.speed);
}

// A flagged line that carries its neighbor's label is told by the course of the lines that are sure; a flagged line with its own label stays.
TEST(CompressorSurface, AFlaggedLabelOneStepOffIsLeftOut) {
  int tried = 0, told = 0;
  for (std::uint64_t seed = 520; seed < 540; ++seed) {
    for (const bool wrong : {true, false}) {
      InventedCompressor invented = InventCompressor(seed, {.lines = 8});
      std::vector<Curve*> lines;
      for (Curve& curve : invented.map.curves)
        if (curve.role == CurveRole::kSpeedLine) lines.push_back(&curve);
      const double step = *lines[1]->value - *lines[0]->value;
      for (const int i : {0, 1}) {
        lines[static_cast<std::size_t>(i)]->needs_review = true;
        if (wrong) *lines[static_cast<std::size_t>(i)]->value -= step;
      }
      const CompressorSurface surface = BuildFrom(invented.map);
      if (!wrong) {
        EXPECT_EQ(8u, surface.LineSpeeds().size()) << seed;
        continue;
      }
      if (step < 0.08 * *lines[1]->value) continue;  // too small a step to be told
      ++tried;
      told += surface.LineSpeeds().size() == 6u ? 1 : 0;
    }
  }
  EXPECT_GT(tried, 10);
  EXPECT_GE(told, tried * 9 / 10);
}

TEST(CompressorSurface, LinesThatCrossAreSaidAndGiveSeveralAnswers) {
  InventedCompressor invented = InventCompressor(514, {.lines = 6});
  // One line tilted about its middle so that its right half runs across its neighbor below.
  std::vector<Point2>& points = invented.map.curves[3].points;
  const std::vector<Point2>& below = invented.map.curves[2].points;
  const std::size_t count = points.size();
  for (std::size_t k = count / 2; k < count; ++k) {
    const double part = 2.2 * static_cast<double>(k - count / 2) / static_cast<double>(count);
    points[k].x += part * (below[k].x - points[k].x);
    points[k].y += part * (below[k].y - points[k].y);
  }
  const CompressorSurface surface = BuildFrom(invented.map);
  EXPECT_TRUE(surface.Folds());
  EXPECT_THAT(surface.Notes(), Contains(HasSubstr("cross or are out of order")));
}

TEST(CompressorSurface, RefusesWhatItCannotUse) {
  const InventedCompressor invented = InventCompressor(515, {.lines = 5});
  PerformanceMap map = invented.map;
  map.kind = MapKind::kTurbine;
  EXPECT_EQ(ErrorCode::kWrongKind, CompressorSurface::Build(map).error().code);
  map = invented.map;
  map.kind.reset();
  EXPECT_EQ(ErrorCode::kWrongKind, CompressorSurface::Build(map).error().code);
  map = invented.map;
  map.x.reset();
  EXPECT_EQ(ErrorCode::kMalformedDocument, CompressorSurface::Build(map).error().code);
  map = invented.map;
  for (int i = 0; i < 4; ++i) map.curves[i].value.reset();
  const Result<CompressorSurface> few = CompressorSurface::Build(map);
  ASSERT_FALSE(few.has_value());
  EXPECT_EQ(ErrorCode::kNotEnoughCurves, few.error().code);
  EXPECT_THAT(few.error().message, HasSubstr("at least two"));
  EXPECT_EQ(ErrorCode::kInvalidArgument, CompressorSurface::Build(invented.map, {.beta_intervals = 2}).error().code);
}

TEST(CompressorSurface, TwoLinesAreEnough) {
  const InventedCompressor invented = InventCompressor(516, {.lines = 2, .islands = false});
  const CompressorSurface surface = BuildFrom(invented.map);
  for (const Curve& curve : invented.map.curves) {
    if (curve.role != CurveRole::kSpeedLine) continue;
    for (const Point2& point : curve.points) EXPECT_NEAR(*curve.value, surface.Locate(point.x, point.y)->speed, 1e-3 * *curve.value);
  }
}

TEST(CompressorSurface, ManyThreadsReadTheSame) {
  const InventedCompressor invented = InventCompressor(517);
  const CompressorSurface surface = BuildFrom(invented.map);
  std::vector<double> first;
  for (const ExactSample& sample : invented.samples) first.push_back(surface.Locate(sample.flow, sample.pressure_ratio)->speed);
  std::vector<std::jthread> threads;
  std::vector<int> same(4, 0);
  for (int t = 0; t < 4; ++t) {
    threads.emplace_back([&, t] {
      for (std::size_t i = 0; i < invented.samples.size(); ++i)
        same[t] += surface.Locate(invented.samples[i].flow, invented.samples[i].pressure_ratio)->speed == first[i];
    });
  }
  threads.clear();
  for (const int count : same) EXPECT_EQ(static_cast<int>(invented.samples.size()), count);
}

}  // namespace
}  // namespace islebook
