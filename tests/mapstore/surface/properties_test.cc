// What must hold on any map: a thousand invented compressors, every fourth with islands, sixteen places each; three hundred turbines, by speeds and by vanes.

#include <gtest/gtest.h>

#include <cmath>

#include "mapstore/surface/compressor_surface.h"
#include "mapstore/surface/turbine_surface.h"
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
        const double by_speed =
            (surface.EfficiencyAt({place.speed + dn, place.beta}).value - surface.EfficiencyAt({place.speed - dn, place.beta}).value) / (2 * dn);
        const double by_beta =
            (surface.EfficiencyAt({place.speed, place.beta + db}).value - surface.EfficiencyAt({place.speed, place.beta - db}).value) / (2 * db);
        EXPECT_NEAR(by_speed, efficiency.by_speed, 1e-3 / span) << seed;
        EXPECT_NEAR(by_beta, efficiency.by_beta, 1e-3) << seed;
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

TEST(Properties, HoldOnThreeHundredTurbines) {
  int places = 0, inverses = 0, openings = 0;
  for (std::uint64_t seed = 20000; seed < 20300; ++seed) {
    const bool vanes = seed % 2 == 0;
    const InventedTurbine invented = InventTurbine(seed, vanes);
    const Result<TurbineSurface> built = TurbineSurface::Build(invented.map);
    ASSERT_TRUE(built.has_value()) << seed << built.error().message;
    const TurbineSurface& surface = *built;
    paint::Random random(seed);
    const double lowest = surface.LineValues().front(), highest = surface.LineValues().back(), span = highest - lowest;
    const double flow_scale = invented.model.flow;
    for (int i = 0; i < kPlaces; ++i) {
      const double parameter = random.Between(lowest, highest), low = surface.MinExpansionRatio(parameter),
                   high = surface.MaxExpansionRatio(parameter);
      const double ratio = random.Between(low + 0.01 * (high - low), high - 0.01 * (high - low));
      const std::optional<TurbineValue> flow = surface.Flow(parameter, ratio), efficiency = surface.Efficiency(parameter, ratio);
      ASSERT_TRUE(flow && efficiency) << seed;
      for (const TurbineValue& value : {*flow, *efficiency}) {
        ASSERT_TRUE(std::isfinite(value.value) && std::isfinite(value.sigma) && std::isfinite(value.by_expansion_ratio) &&
                    std::isfinite(value.by_parameter))
            << seed;
        EXPECT_FALSE(value.extrapolated) << seed;
      }
      EXPECT_GT(flow->value, 0.0);
      EXPECT_LT(efficiency->value, 1.0);
      // A larger expansion ratio never passes less (a nozzle), but for the correction's last digits.
      EXPECT_GE(flow->by_expansion_ratio, -2e-3 * flow_scale) << seed;
      // The expansion ratio of that flow, where flow still tells it.
      if (flow->by_expansion_ratio > 0.05 * flow->value) {
        const std::optional<double> back = surface.ExpansionRatioAt(parameter, flow->value);
        ASSERT_TRUE(back.has_value()) << seed;
        EXPECT_NEAR(ratio, *back, 1e-9 * (high - 1.0) + 1e-9) << seed;
        ++inverses;
      }
      // And the opening.
      if (vanes) {
        double nearest = 1e300;
        for (const double opening : surface.ParametersAt(ratio, flow->value)) nearest = std::min(nearest, std::abs(opening - parameter));
        EXPECT_LT(nearest, 1e-9 * span + 1e-12) << seed;
        ++openings;
      }
      // Derivatives are those of the values, with another step than the surface's own.
      const double dr = 3e-4, dp = 3e-5 * span;
      if (parameter - dp > lowest && parameter + dp < highest) {
        EXPECT_NEAR((surface.Flow(parameter, ratio + dr)->value - surface.Flow(parameter, ratio - dr)->value) / (2 * dr), flow->by_expansion_ratio,
                    2e-2 * flow_scale)
            << seed;
        EXPECT_NEAR((surface.Efficiency(parameter, ratio + dr)->value - surface.Efficiency(parameter, ratio - dr)->value) / (2 * dr),
                    efficiency->by_expansion_ratio, 2e-2)
            << seed;
        EXPECT_NEAR((surface.Flow(parameter + dp, ratio)->value - surface.Flow(parameter - dp, ratio)->value) / (2 * dp), flow->by_parameter,
                    2e-2 * flow_scale / span)
            << seed;
      }
      ++places;
    }
    for (int i = 0; i < kPlaces; ++i) {
      const double parameter = random.Between(-0.5, 2.0) * highest, ratio = random.Between(-1.0, 12.0);
      for (const std::optional<TurbineValue>& value : {surface.Flow(parameter, ratio), surface.Efficiency(parameter, ratio)}) {
        if (value) {
          ASSERT_TRUE(std::isfinite(value->value) && std::isfinite(value->sigma)) << seed;
        }
      }
      for (const double opening : surface.ParametersAt(ratio, random.Between(-1.0, 2.0) * flow_scale)) ASSERT_TRUE(std::isfinite(opening)) << seed;
    }
  }
  EXPECT_EQ(300 * kPlaces, places);
  EXPECT_GT(inverses, places / 3);
  EXPECT_EQ(places / 2, openings);
}

}  // namespace
}  // namespace islebook
