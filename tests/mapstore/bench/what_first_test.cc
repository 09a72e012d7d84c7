#include "mapstore/bench/what_first.h"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/bench/case_file.h"
#include "mapstore/bench/scaled_map.h"
#include "tests/mapstore/bench/balance_case.h"
#include "tests/mapstore/bench/model_map.h"

namespace islebook {
namespace {

using bench_test::MapOfModel;
using bench_test::MapOfTurbine;
using bench_test::ModelForFlow;
using testing::HasSubstr;

PerformanceMap TurbineOfFlow(double flow) {
  paint::TurbineModel model;
  model.wheel = "Elm 60";
  model.flow = flow;
  return MapOfTurbine(model);
}

class WhatFirstTest : public testing::Test {
 protected:
  PerformanceMap large_ = MapOfModel(ModelForFlow(0.78, 3.4)), small_ = MapOfModel(ModelForFlow(0.42, 3.2));
  PerformanceMap large_turbine_ = TurbineOfFlow(0.070), small_turbine_ = TurbineOfFlow(0.042);
  PerformanceMap larger_ = MapOfModel(ModelForFlow(0.95, 3.4)), unlike_ = MapOfModel(ModelForFlow(2.4, 3.4));

  BenchRig Rig(const std::string& point, const std::string& more = "") const {
    const auto parsed = ParseCase(bench_test::PairText("wastegate_diameter = \"2 in\"\n" + more, "[[point]]\nname = \"asked\"\n" + point,
                                                       "[limits]\noutlet_temperature_over = \"320 °C\"\nmanifold_temperature_over = \"120 °C\"\n"),
                                  "case.toml");
    EXPECT_TRUE(parsed.has_value()) << (parsed ? "" : parsed.error().message);
    return {parsed.value_or(BenchCase{}), {&large_, &small_}, {&large_turbine_, &small_turbine_}};
  }
  static const RankedChange& Find(const WhatFirst& found, const std::string& words) {
    for (const RankedChange& change : found.changes)
      if (change.words.find(words) != std::string::npos) return change;
    ADD_FAILURE() << "no change " << words;
    static const RankedChange none;
    return none;
  }
  WhatFirst Ask(const std::string& point, Goal goal) const {
    const std::vector<ShelfWheel> shelf{{"rowan", &large_}, {"oak", &larger_}, {"giant", &unlike_}};
    auto found = FindWhatFirst(Rig(point), 0, goal, shelf);
    EXPECT_TRUE(found.has_value()) << (found ? "" : found.error().message);
    return found.value_or(WhatFirst{});
  }
};

// Common practice, no source: more power is first sought from the large compressor; the small one hardly matters.
TEST_F(WhatFirstTest, PowerIsSoughtFromTheLargeCompressor) {
  const WhatFirst found = Ask("speed = \"3400 rpm\"\nboost = \"30 psi\"\n", Goal::kPower);
  ASSERT_TRUE(found.now.has_value());
  EXPECT_GT(*found.now, 300e3);
  const double large = Find(found, "large stage: compressor oak").gain.value_or(-1e9);
  const double large_step = Find(found, "large stage: compressor one size up").gain.value_or(-1e9);
  const double small_step = Find(found, "small stage: compressor one size up").gain.value_or(-1e9);
  EXPECT_GT(large, 10e3);
  EXPECT_GT(large_step, 5e3);
  EXPECT_LT(small_step, large_step);
  for (const RankedChange& change : found.changes) EXPECT_THAT(change.words, testing::Not(HasSubstr("giant")));  // three times the flow: nobody would
  // Best first.
  double before = 1e300;
  for (const RankedChange& change : found.changes) {
    if (!change.value) continue;
    EXPECT_LE(*change.value, before + 5e-3 * *found.now);
    before = *change.value;
  }
}

// Common practice, no source: a smaller small-stage turbine brings boost at lower speed, and costs drive pressure at the top; a larger one the other way round.
TEST_F(WhatFirstTest, SmallTurbineTradesLowSpeedForDrivePressure) {
  const WhatFirst low = Ask("speed = \"2400 rpm\"\nboost = \"24 psi\"\n", Goal::kLowSpeed);
  EXPECT_GT(*Find(low, "small stage: turbine one size down").gain, 1.0);
  EXPECT_LT(*Find(low, "small stage: turbine one size up").gain, -1.0);
  EXPECT_TRUE(Find(low, "small stage: turbine one size up").estimated);
  EXPECT_FALSE(Find(low, "large stage: compressor oak").estimated);
  EXPECT_THAT(low.limited_by, HasSubstr("short of the target"));
  const WhatFirst drive = Ask("speed = \"3400 rpm\"\nboost = \"30 psi\"\n", Goal::kDriveRatio);
  EXPECT_GT(*Find(drive, "small stage: turbine one size up").gain, 0.02);
  EXPECT_LT(*Find(drive, "small stage: turbine one size down").gain, -0.02);
}

TEST_F(WhatFirstTest, AltitudeEndsSomewhereAndTheEndIsNamed) {
  const WhatFirst found = Ask("speed = \"2800 rpm\"\nmanifold_pressure = \"40 psia\"\n", Goal::kAltitude);
  ASSERT_TRUE(found.now.has_value());
  EXPECT_GT(*found.now, 0.0);
  EXPECT_LT(*found.now, 6000.0);
  EXPECT_FALSE(found.limited_by.empty());
}

TEST_F(WhatFirstTest, WhatCannotBeAskedIsRefusedInWords) {
  BenchRig rig = Rig("speed = \"2800 rpm\"\nboost = \"20 psi\"\n");
  EXPECT_EQ(FindWhatFirst(rig, 7, Goal::kPower, {}).error().code, ErrorCode::kInvalidArgument);
  for (CompressorStage& stage : rig.asked.stages) stage.turbine.reset();
  rig.turbines.clear();
  EXPECT_THAT(FindWhatFirst(rig, 0, Goal::kDriveRatio, {}).error().message, HasSubstr("needs turbines"));
  rig.asked.points[0].target.fuel_consumption_kg_J.reset();
  EXPECT_THAT(FindWhatFirst(rig, 0, Goal::kPower, {}).error().message, HasSubstr("brake_specific_fuel_consumption"));
}

// Without turbines: the split between the stages is one of the things to change.
TEST_F(WhatFirstTest, SplitIsTriedWhereNothingBalancesIt) {
  BenchRig rig = Rig("speed = \"3000 rpm\"\nboost = \"30 psi\"\n");
  for (CompressorStage& stage : rig.asked.stages) stage.turbine.reset();
  rig.turbines.clear();
  const auto found = FindWhatFirst(rig, 0, Goal::kPower, {});
  ASSERT_TRUE(found.has_value()) << found.error().message;
  EXPECT_THAT(Find(*found, "pressure ratio").words, HasSubstr("large stage"));
  EXPECT_GT(Find(*found, "cooler of 90 %").gain.value_or(0.0), 0.0);
}

TEST(ScaledWheelTest, KeepsTipSpeedPressureRatioAndEfficiency) {
  const PerformanceMap map = MapOfModel(ModelForFlow(0.5, 3.0));
  const double size = 1.1;
  const auto before = CompressorSurface::Build(map), after = CompressorSurface::Build(ScaledWheel(map, size));
  ASSERT_TRUE(before && after);
  for (const double speed : {50000.0, 70000.0, 90000.0})
    for (const double beta : {0.1, 0.5, 0.9}) {
      const SurfaceJet a = before->At({speed, beta}), b = after->At({speed / size, beta});
      EXPECT_NEAR(b.flow / a.flow, size * size, 1e-6);
      EXPECT_NEAR(b.pressure_ratio, a.pressure_ratio, 1e-6);
      EXPECT_NEAR(after->EfficiencyAt({speed / size, beta}).value, before->EfficiencyAt({speed, beta}).value, 1e-4);
    }
}

}  // namespace
}  // namespace islebook
