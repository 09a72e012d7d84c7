// What must hold on any map: a thousand invented ones, every fourth with islands, sixteen places each.

#include <gtest/gtest.h>

#include <cmath>

#include "mapstore/surface/compressor_surface.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

constexpr std::uint64_t kMaps = 1000;
constexpr int kPlaces = 16;

TEST(Properties, HoldOnAThousandMaps) {
  CompressorSurfaceOptions options;
  options.estimate_sigma = false;
  int places = 0, sideways = 0;
  for (std::uint64_t seed = 10000; seed < 10000 + kMaps; ++seed) {
    const InventedCompressor invented = InventCompressor(seed, {.points = 60, .surge_line = seed % 3 != 0, .islands = seed % 4 == 0, .samples = 0});
    const Result<CompressorSurface> built = CompressorSurface::Build(invented.map, options);
    ASSERT_TRUE(built.has_value()) << seed << built.error().message;
    const CompressorSurface& surface = *built;
    EXPECT_FALSE(surface.Folds()) << seed;
    paint::Random random(seed);
    const double span = surface.MaxSpeed() - surface.MinSpeed(), flow_span = invented.map.x->max, ratio_span = invented.map.y->max;
    for (int i = 0; i < kPlaces; ++i) {
      const MapPlace place{random.Between(surface.MinSpeed(), surface.MaxSpeed()), random.Between(0.001, 0.999)};
      const SurfaceJet jet = surface.At(place);
      ASSERT_TRUE(std::isfinite(jet.flow) && std::isfinite(jet.pressure_ratio)) << seed;
      // The inverse of the forward, and the forward of the inverse.
      const std::optional<MapPlace> back = surface.Locate(jet.flow, jet.pressure_ratio);
      ASSERT_TRUE(back.has_value()) << seed;
      EXPECT_NEAR(place.speed, back->speed, 1e-9 * span) << seed;
      EXPECT_NEAR(place.beta, back->beta, 1e-9) << seed;
      const SurfaceJet again = surface.At(*back);
      EXPECT_NEAR(jet.flow, again.flow, 1e-9 * flow_span);
      EXPECT_NEAR(jet.pressure_ratio, again.pressure_ratio, 1e-9 * ratio_span);
      // Along the speed line: its flow gives the same place, unless it stands still there.
      if (const std::optional<MapPlace> along = surface.OnlyAtFlow(place.speed, jet.flow); along && jet.flow_by_beta > 1e-3 * flow_span) {
        EXPECT_NEAR(place.beta, along->beta, 1e-9) << seed;
        EXPECT_NEAR(jet.pressure_ratio, *surface.PressureRatioAt(place.speed, jet.flow), 1e-9 * ratio_span) << seed;
        ++sideways;
      }
      // Monotone along speed where the map is: more speed, more flow and more pressure on every beta line.
      EXPECT_GT(jet.flow_by_speed, 0.0) << seed;
      EXPECT_GT(jet.pressure_ratio_by_speed, 0.0) << seed;
      // Derivatives are those of the values.
      const double dn = 1e-5 * span, db = 1e-5;
      const SurfaceJet up = surface.At({place.speed + dn, place.beta}), down = surface.At({place.speed - dn, place.beta});
      const SurfaceJet right = surface.At({place.speed, place.beta + db}), left = surface.At({place.speed, place.beta - db});
      EXPECT_NEAR((up.flow - down.flow) / (2 * dn), jet.flow_by_speed, 1e-3 * flow_span / span) << seed;
      EXPECT_NEAR((up.pressure_ratio - down.pressure_ratio) / (2 * dn), jet.pressure_ratio_by_speed, 1e-3 * ratio_span / span) << seed;
      EXPECT_NEAR((right.flow - left.flow) / (2 * db), jet.flow_by_beta, 2e-3 * flow_span) << seed;
      EXPECT_NEAR((right.pressure_ratio - left.pressure_ratio) / (2 * db), jet.pressure_ratio_by_beta, 2e-3 * ratio_span) << seed;
      if (surface.HasEfficiency()) {
        const EfficiencyJet efficiency = surface.EfficiencyAt(place);
        EXPECT_TRUE(std::isfinite(efficiency.value) && efficiency.value < 1.0) << seed;
      }
      ++places;
    }
    // Anywhere else: never a number that is none.
    for (int i = 0; i < kPlaces; ++i) {
      const double flow = random.Between(-0.2, 2.0) * flow_span, ratio = random.Between(-0.2, 2.0) * ratio_span;
      if (const std::optional<MapPlace> place = surface.Locate(flow, ratio)) {
        ASSERT_TRUE(std::isfinite(place->speed) && std::isfinite(place->beta)) << seed;
      }
      surface.RegionOf(flow, ratio);
    }
  }
  EXPECT_EQ(static_cast<int>(kMaps) * kPlaces, places);
  EXPECT_GT(sideways, places / 2);
}

}  // namespace
}  // namespace islebook
