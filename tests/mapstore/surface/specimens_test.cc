// Exact curves of the shared specimen sheets in, exact field values out; lines and islands left out.

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

#include "mapstore/surface/turbine_surface.h"
#include "tests/mapstore/surface/invented_maps.h"
#include "tests/mapstore/surface/surface_measures.h"

namespace islebook {
namespace {

std::filesystem::path CleanSpecimens() { return std::filesystem::path(ISLEBOOK_SHARED_DIR) / "specimens" / "clean"; }

TEST(Specimens, ExactCurvesGiveTheFieldBetweenThem) {
  const std::vector<TrueSheet> sheets = ReadTrueSheets(CleanSpecimens());
  if (sheets.empty()) GTEST_SKIP() << "the shared specimens are not here: " << CleanSpecimens();
  FieldMisses misses;
  Tally flow, efficiency;
  for (const TrueSheet& sheet : sheets) {
    if (sheet.map.kind == MapKind::kTurbine) {
      const Result<TurbineSurface> surface = TurbineSurface::Build(sheet.map);
      ASSERT_TRUE(surface.has_value()) << sheet.name << surface.error().message;
      for (const FieldSample& sample : sheet.samples) {
        const std::optional<TurbineValue> passed = surface->Flow(sample.speed, sample.x), eta = surface->Efficiency(sample.speed, sample.x);
        ASSERT_TRUE(passed && eta) << sheet.name;
        flow.Add(passed->value / sample.y - 1.0, passed->sigma / sample.y);
        efficiency.Add(eta->value - sample.efficiency, eta->sigma);
      }
      continue;
    }
    const Result<CompressorSurface> surface = CompressorSurface::Build(sheet.map);
    ASSERT_TRUE(surface.has_value()) << sheet.name << surface.error().message;
    MissField(*surface, sheet.samples, misses);
  }
  ASSERT_GT(misses.speed.count(), 1000);
  EXPECT_EQ(0, misses.unanswered);
  EXPECT_LT(misses.speed.Rms(), 1.5e-3);   // 0.15 %
  EXPECT_LT(misses.inside.Rms(), 1.5e-3);  // 0.15 points
  EXPECT_LT(misses.beyond.Rms(), 5e-3);    // 0.5 points
  EXPECT_GT(misses.speed.InBand(), 0.95);
  EXPECT_LT(misses.speed.WidthOverRms(), 6.0);
  EXPECT_GT(misses.inside.InBand(), 0.95);
  EXPECT_LT(misses.inside.WidthOverRms(), 6.0);
  EXPECT_GT(misses.beyond.InBand(), 0.95);
  ASSERT_GT(flow.count(), 100);
  EXPECT_LT(flow.Rms(), 1.5e-3);
  EXPECT_LT(efficiency.Rms(), 1.5e-3);
  EXPECT_GT(flow.InBand(), 0.95);
  EXPECT_GT(efficiency.InBand(), 0.95);
}

TEST(Specimens, LinesAndIslandsLeftOutComeBack) {
  const std::vector<TrueSheet> sheets = ReadTrueSheets(CleanSpecimens());
  if (sheets.empty()) GTEST_SKIP() << "the shared specimens are not here: " << CleanSpecimens();
  Tally inner, outermost, islands;
  for (const TrueSheet& sheet : sheets) {
    if (sheet.map.kind != MapKind::kCompressor) continue;
    const LineLeftOut line = LeaveLinesOut(sheet.map);
    for (const Tally* tally : {&line.inner, &line.inner_at_flow}) inner.Add(*tally);
    for (const Tally* tally : {&line.outermost, &line.outermost_at_flow}) outermost.Add(*tally);
    const IslandLeftOut island = LeaveIslandsOut(sheet.map);
    for (const Tally* tally : {&island.between, &island.outermost, &island.innermost}) islands.Add(*tally);
  }
  EXPECT_GT(inner.count(), 10000);
  EXPECT_LT(inner.Rms(), 0.008);      // 0.8 % of pressure ratio
  EXPECT_LT(outermost.Rms(), 0.02);   // 2 %
  EXPECT_LT(islands.Rms(), 0.003);    // 0.3 points
  EXPECT_GT(islands.InBand(), 0.95);  // and the surface knows how far
}

TEST(InventedMaps, LinesAndIslandsLeftOutComeBack) {
  Tally inner, outermost, islands;
  for (std::uint64_t seed = 300; seed < 312; ++seed) {
    const PerformanceMap map = InventCompressor(seed, {.samples = 0}).map;
    const LineLeftOut line = LeaveLinesOut(map);
    for (const Tally* tally : {&line.inner, &line.inner_at_flow}) inner.Add(*tally);
    for (const Tally* tally : {&line.outermost, &line.outermost_at_flow}) outermost.Add(*tally);
    EXPECT_EQ(0, line.unanswered);
    const IslandLeftOut island = LeaveIslandsOut(map);
    for (const Tally* tally : {&island.between, &island.outermost, &island.innermost}) islands.Add(*tally);
  }
  EXPECT_LT(inner.Rms(), 0.008);
  EXPECT_LT(outermost.Rms(), 0.02);
  EXPECT_LT(islands.Rms(), 0.003);
  EXPECT_GT(islands.InBand(), 0.95);
}

}  // namespace
}  // namespace islebook
