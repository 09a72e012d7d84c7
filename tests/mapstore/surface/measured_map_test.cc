// Measured compressors: the HECC runs with a vaned diffuser (here) and without (in the shared data). See vaned_readings.cc for their source.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

#include "mapstore/surface/compressor_surface.h"
#include "tests/mapstore/surface/surface_measures.h"

namespace islebook {
namespace {

TEST(MeasuredMap, EveryOtherReadingComesBack) {
  const HalfLeftOut half = LeaveHalfOut(AtNominalSpeeds(VanedReadings()));
  EXPECT_EQ(0, half.unanswered);
  EXPECT_GT(half.ratio.count(), 50);
  EXPECT_EQ(78, half.ratio_at_beta.count());
  EXPECT_LT(half.ratio.Rms(), 0.008);          // 0.8 % of pressure ratio at a reading's flow, where that tells the pressure ratio
  EXPECT_LT(half.ratio_at_beta.Rms(), 0.003);  // and across the lines everywhere
  EXPECT_LT(half.speed.Rms(), 0.002);
  EXPECT_LT(half.efficiency.Rms(), 0.008);  // 0.8 points
  EXPECT_GT(half.efficiency.InBand(), 0.90);
  EXPECT_LT(half.efficiency.WidthOverRms(), 8.0);
}

TEST(MeasuredMap, AnInnerSpeedLineComesBack) {
  const LineLeftOut lines = LeaveLinesOut(MapOf(AtNominalSpeeds(VanedReadings())));
  EXPECT_GT(lines.inner.count(), 50);
  EXPECT_LT(lines.inner.Rms(), 0.008);
  EXPECT_GT(lines.outermost.count(), 20);
  EXPECT_LT(lines.outermost.Rms(), 0.02);
}

TEST(MeasuredMap, ReadingsThatScatterDoNotFoldAChokedLine) {
  const SpeedReadings readings = AtNominalSpeeds(VanedReadings());
  const CompressorSurface surface = *CompressorSurface::Build(MapOf(readings), OptionsWithPoints(readings));
  EXPECT_FALSE(surface.Folds());
  for (const auto& [speed, line] : readings)
    for (double part = 0.02; part < 1.0; part += 0.02) {
      const EdgePoint surge = surface.SurgePoint(speed), choke = surface.ChokePoint(speed);
      EXPECT_EQ(1u, surface.AtFlow(speed, surge.flow + part * (choke.flow - surge.flow)).size()) << speed << " " << part;
    }
}

// Where a line is choked, flow stands still, and with it the work: efficiency falls as head does. The published readings at 85 % show it.
TEST(MeasuredMap, EfficiencyFallsWithHeadAlongAChokedLine) {
  const SpeedReadings readings = AtNominalSpeeds(VanedReadings());
  CompressorSurfaceOptions options = OptionsWithPoints(readings);
  // Without the last reading of the line, which the surface must then predict.
  const Reading last = readings.at(85.0).back();
  std::erase_if(options.efficiency_points, [&](const EfficiencyPoint& point) { return point.flow == last.flow; });
  const CompressorSurface surface = *CompressorSurface::Build(MapOf(readings), options);
  const EfficiencyJet jet = surface.EfficiencyAt(*surface.Locate(last.flow, last.pressure_ratio));
  EXPECT_NEAR(last.efficiency, jet.value, 0.01);
}

// Efficiencies at points and no islands: what lies beyond the readings is marked.
TEST(MeasuredMap, BeyondTheReadingsIsMarked) {
  const SpeedReadings readings = AtNominalSpeeds(VanedReadings());
  CompressorSurfaceOptions options = OptionsWithPoints(readings);
  std::erase_if(options.efficiency_points, [](const EfficiencyPoint& point) { return point.pressure_ratio < 3.0; });
  const CompressorSurface surface = *CompressorSurface::Build(MapOf(readings), options);
  ASSERT_TRUE(surface.HasEfficiency());
  EXPECT_FALSE(surface.EfficiencyAt(*surface.Locate(11.0, 4.6)).extrapolated);
  EXPECT_TRUE(surface.EfficiencyAt(*surface.Locate(5.5, 2.34)).extrapolated);
  options.efficiency_points.assign(10, EfficiencyPoint{100.0, 1.1, 0.7, 0.0});
  const CompressorSurface without = *CompressorSurface::Build(MapOf(readings), options);
  EXPECT_FALSE(without.HasEfficiency());
  EXPECT_THAT(without.Notes(), testing::Contains(testing::HasSubstr("10 of 10 single efficiencies")));
}

// The other four runs of the archive, where the shared data are at hand.
TEST(MeasuredMap, TheVanelessRunsComeBackToo) {
  const std::filesystem::path folder = std::filesystem::path(ISLEBOOK_SHARED_DIR) / "open_data" / "hecc";
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << "the shared measured data are not here: " << folder;
  for (const char* name :
       {"hecc_vaneless_blm_12mil.csv", "hecc_vaneless_td00_12mil.csv", "hecc_vaneless_td01_12mil.csv", "hecc_vaneless_td00_12mil_nobleed.csv"}) {
    const SpeedReadings readings = ReadMeasured(folder / name);
    const HalfLeftOut half = LeaveHalfOut(readings);
    EXPECT_GT(half.ratio.count(), 20) << name;
    EXPECT_EQ(0, half.unanswered) << name;
    EXPECT_LT(half.ratio.Rms(), 0.003) << name;
    EXPECT_LT(half.speed.Rms(), 0.001) << name;
    EXPECT_LT(half.efficiency.Rms(), 0.002) << name;
    const LineLeftOut lines = LeaveLinesOut(MapOf(readings));
    EXPECT_LT(lines.inner.Rms(), 0.008) << name;
    EXPECT_LT(lines.outermost.Rms(), 0.02) << name;
  }
}

}  // namespace
}  // namespace islebook
