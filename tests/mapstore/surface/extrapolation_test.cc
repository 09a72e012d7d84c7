// Beyond the outermost speed lines: only when asked for, by similarity, marked, and with an uncertainty that grows.

#include <gtest/gtest.h>

#include <cmath>

#include "mapstore/surface/compressor_surface.h"
#include "mapstore/surface/speed_lines.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

CompressorSurface Extended(const PerformanceMap& map, double below, double above) {
  CompressorSurfaceOptions options;
  options.extrapolate_below = below;
  options.extrapolate_above = above;
  return *CompressorSurface::Build(map, options);
}

TEST(Extrapolation, ChangesNothingOnTheMap) {
  const InventedCompressor invented = InventCompressor(700);
  const CompressorSurface plain = *CompressorSurface::Build(invented.map), extended = Extended(invented.map, 0.5, 0.2);
  EXPECT_EQ(plain.MinSpeed(), plain.LowestSpeed());
  EXPECT_NEAR(0.5 * plain.MinSpeed(), extended.LowestSpeed(), 1e-9 * plain.MinSpeed());
  EXPECT_NEAR(1.2 * plain.MaxSpeed(), extended.HighestSpeed(), 1e-9 * plain.MaxSpeed());
  for (const ExactSample& sample : invented.samples) {
    const MapPlace a = *plain.Locate(sample.flow, sample.pressure_ratio), b = *extended.Locate(sample.flow, sample.pressure_ratio);
    EXPECT_NEAR(a.speed, b.speed, 1e-4 * a.speed);
    EXPECT_TRUE(extended.IsOnMap(b));
    EXPECT_FALSE(extended.IsExtrapolated(b));
    EXPECT_NEAR(plain.EfficiencyAt(a).value, extended.EfficiencyAt(b).value, 1e-4);
  }
}

TEST(Extrapolation, IsNoPartOfTheMap) {
  const InventedCompressor invented = InventCompressor(701);
  const CompressorSurface surface = Extended(invented.map, 0.5, 0.2);
  for (const double speed : {0.7 * surface.MinSpeed(), 1.1 * surface.MaxSpeed()}) {
    const SurfaceJet jet = surface.At({speed, 0.5});
    const std::optional<MapPlace> place = surface.Locate(jet.flow, jet.pressure_ratio);
    ASSERT_TRUE(place.has_value());
    EXPECT_NEAR(speed, place->speed, 1e-6 * speed);
    EXPECT_FALSE(surface.IsOnMap(*place));
    EXPECT_TRUE(surface.IsExtrapolated(*place));
    EXPECT_TRUE(surface.EfficiencyAt(*place).extrapolated);
    EXPECT_EQ(speed < surface.MinSpeed() ? MapRegion::kUnderSpeed : MapRegion::kOverSpeed, surface.RegionOf(jet.flow, jet.pressure_ratio));
  }
  // Without being asked, nothing is said there.
  const CompressorSurface plain = *CompressorSurface::Build(invented.map);
  const SurfaceJet far = surface.At({0.6 * surface.MinSpeed(), 0.5});
  const std::optional<MapPlace> place = plain.Locate(far.flow, far.pressure_ratio);
  EXPECT_FALSE(place && (plain.IsOnMap(*place) || plain.IsExtrapolated(*place)));
  EXPECT_TRUE(plain.AtFlow(0.6 * plain.MinSpeed(), far.flow).empty());
}

TEST(Extrapolation, FirstDerivativesRunOnAcrossTheOutermostLines) {
  const CompressorSurface surface = Extended(InventCompressor(702, {.samples = 0}).map, 0.4, 0.2);
  for (const double speed : {surface.MinSpeed(), surface.MaxSpeed()}) {
    for (int k = 1; k < 10; ++k) {
      const double step = 1e-6;
      const MapPlace in{speed * (1.0 - step), k / 10.0}, out{speed * (1.0 + step), k / 10.0};
      const SurfaceJet a = surface.At(in), b = surface.At(out);
      EXPECT_NEAR(a.flow_by_speed, b.flow_by_speed, 1e-3 * std::abs(a.flow_by_speed));
      EXPECT_NEAR(a.pressure_ratio_by_speed, b.pressure_ratio_by_speed, 1e-3 * std::abs(a.pressure_ratio_by_speed));
      const EfficiencyJet c = surface.EfficiencyAt(in), d = surface.EfficiencyAt(out);
      EXPECT_NEAR(c.by_speed, d.by_speed, 1e-3 * (0.1 / surface.MaxSpeed() + std::abs(c.by_speed)));
      EXPECT_NEAR(c.by_beta, d.by_beta, 1e-3 * (0.1 + std::abs(c.by_beta)));
    }
  }
}

// At low Mach number flow goes with speed and head with its square (similarity; any textbook of turbomachinery).
TEST(Extrapolation, GoesToTheSimilarityLawsAtLowSpeed) {
  for (std::uint64_t seed = 710; seed < 720; ++seed) {
    const CompressorSurface surface = Extended(InventCompressor(seed, {.islands = false, .samples = 0}).map, 0.9, 0.0);
    const double slow = 1.05 * surface.LowestSpeed(), slower = surface.LowestSpeed();
    for (const double beta : {0.1, 0.5, 0.9}) {
      const SurfaceJet a = surface.At({slow, beta}), b = surface.At({slower, beta});
      EXPECT_NEAR(slow / slower, a.flow / b.flow, 0.01) << seed;
      EXPECT_NEAR(std::pow(slow / slower, 2), HeadOf(a.pressure_ratio) / HeadOf(b.pressure_ratio), 0.02) << seed;
    }
  }
}

TEST(Extrapolation, UncertaintyGrowsAndHoldsTheTruth) {
  int inside = 0, count = 0;
  for (std::uint64_t seed = 720; seed < 740; ++seed) {
    InventedCompressor invented = InventCompressor(seed, {.lines = 7, .samples = 0});
    // Without its outermost lines.
    std::erase_if(invented.map.curves, [&](const Curve& curve) {
      return curve.role == CurveRole::kSpeedLine && (curve.value == invented.speeds.front() || curve.value == invented.speeds.back());
    });
    const CompressorSurface surface = Extended(invented.map, 0.3, 0.2);
    double before = surface.SigmaAt({surface.MinSpeed(), 0.5})->speed;
    for (double share = 0.95; share > 0.72; share -= 0.05) {
      const double sigma = surface.SigmaAt({share * surface.MinSpeed(), 0.5})->speed;
      EXPECT_GT(sigma, before) << seed;
      before = sigma;
    }
    for (const double speed : {invented.speeds.front(), invented.speeds.back()}) {
      for (double part = 0.1; part < 0.85; part += 0.15) {
        const Point2 point = invented.model.At(part, speed / invented.model.design_rpm);
        const std::optional<MapPlace> place = surface.Locate(point.x, point.y);
        ASSERT_TRUE(place.has_value()) << seed;
        inside += std::abs(place->speed - speed) <= 1.96 * surface.SigmaAt(*place)->speed;
        ++count;
      }
    }
  }
  EXPECT_GT(inside, 0.93 * count);
}

TEST(Extrapolation, OptionsAreChecked) {
  const InventedCompressor invented = InventCompressor(703, {.samples = 0});
  for (const double odd : {-0.1, 0.95, std::nan("")}) {
    CompressorSurfaceOptions options;
    options.extrapolate_below = odd;
    EXPECT_EQ(ErrorCode::kInvalidArgument, CompressorSurface::Build(invented.map, options).error().code);
    options.extrapolate_below = 0.0;
    options.extrapolate_above = odd;
    EXPECT_EQ(ErrorCode::kInvalidArgument, CompressorSurface::Build(invented.map, options).error().code);
  }
}

}  // namespace
}  // namespace islebook
