#include "mapstore/bench/what_first.h"

#include <cmath>
#include <numbers>
#include <set>

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

// Every kind of change is tried for every goal; what is better is said to be better, stands higher, and of equal gain the cheaper stands first.
TEST_F(WhatFirstTest, EveryKindOfChangeForEveryGoal) {
  const std::vector<ShelfWheel> shelf{{"rowan", &large_}, {"oak", &larger_}, {"elm", &small_turbine_}};
  for (const GoalDefinition& goal : GoalDefinitions()) {
    SCOPED_TRACE(goal.name);
    const BenchRig with_turbines = Rig("speed = \"2800 rpm\"\nmanifold_pressure = \"40 psia\"\n", "wastegate_opening = \"30 %\"\n");
    BenchRig without = Rig("speed = \"2800 rpm\"\nmanifold_pressure = \"40 psia\"\n");
    for (CompressorStage& stage : without.asked.stages) stage.turbine.reset();
    without.turbines.clear();
    std::set<ChangedElement> kinds;
    for (const BenchRig* rig : std::initializer_list<const BenchRig*>{&with_turbines, &without}) {
      if (goal.goal == Goal::kDriveRatio && rig == &without) continue;
      const auto found = FindWhatFirst(*rig, 0, goal.goal, shelf);
      ASSERT_TRUE(found.has_value()) << found.error().message;
      EXPECT_EQ(found->not_tried, 0u);
      double before = goal.more_is_better ? 1e300 : -1e300;
      const double step = std::abs(found->now.value_or(1.0)) / 500.0;  // nobody would pay for less
      for (const RankedChange& change : found->changes) {
        kinds.insert(change.element);
        if (!change.value) continue;
        EXPECT_TRUE(goal.more_is_better ? *change.value <= before + step : *change.value >= before - step) << change.words;
        before = *change.value;
        if (!found->now) continue;
        EXPECT_NEAR(*change.gain, (goal.more_is_better ? 1 : -1) * (*change.value - *found->now), 1e-9 * std::abs(*found->now));
      }
    }
    const std::set<ChangedElement> all{ChangedElement::kSplit,  ChangedElement::kOpening, ChangedElement::kWastegate,
                                       ChangedElement::kCooler, ChangedElement::kTurbine, ChangedElement::kCompressor};
    std::set<ChangedElement> expected = all;
    if (goal.goal == Goal::kDriveRatio) expected.erase(ChangedElement::kSplit);  // it needs turbines, and with them nothing is split
    EXPECT_EQ(kinds, expected);
  }
}

// Common practice, no source: drive pressure is relieved by the port first, then by the turbine; the small compressor is the last to help.
TEST_F(WhatFirstTest, DrivePressureIsRelievedByThePortThenTheTurbine) {
  BenchRig rig = Rig("speed = \"3400 rpm\"\nboost = \"30 psi\"\n");
  rig.asked.stages[1].turbine->wastegate_area_m2 = std::numbers::pi / 4 * 0.014 * 0.014;  // too small a port: wide open
  const auto found = FindWhatFirst(rig, 0, Goal::kDriveRatio, {});
  ASSERT_TRUE(found && found->now);
  double port = -1e9, turbine = -1e9, compressor = -1e9;
  for (const RankedChange& change : found->changes) {
    if (change.stage != 1 || !change.value) continue;
    double& best = change.element == ChangedElement::kWastegate ? port : change.element == ChangedElement::kTurbine ? turbine : compressor;
    if (change.element != ChangedElement::kOpening) best = std::max(best, *change.gain);
  }
  EXPECT_GT(port, 0.02);
  EXPECT_GT(turbine, 0.02);
  EXPECT_LT(compressor, 0.5 * std::min(port, turbine));
}

// A search that is ended early ranks what it has tried, counts the rest, and has begun with what the parts at hand allow; one that is stopped gives nothing.
TEST_F(WhatFirstTest, ASearchCanBeEndedOrStopped) {
  const std::vector<ShelfWheel> shelf(40, ShelfWheel{"ash", &small_});
  std::size_t all = 0;
  const auto ended =
      FindWhatFirst(Rig("speed = \"3000 rpm\"\nboost = \"30 psi\"\n"), 0, Goal::kDriveRatio, shelf, [&](std::size_t done, std::size_t of) {
        all = of;
        return done < 6 ? SearchStep::kGoOn : SearchStep::kEnd;
      });
  ASSERT_TRUE(ended.has_value()) << ended.error().message;
  EXPECT_GT(all, 40u);
  EXPECT_EQ(ended->changes.size() + ended->left_out.size(), 6u);
  EXPECT_EQ(ended->not_tried, all - 6);
  for (const RankedChange& change : ended->changes) EXPECT_THAT(change.words, testing::Not(HasSubstr("compressor ash"))) << change.words;
  const auto stopped = FindWhatFirst(Rig("speed = \"3000 rpm\"\nboost = \"30 psi\"\n"), 0, Goal::kDriveRatio, shelf,
                                     [](std::size_t done, std::size_t) { return done < 2 ? SearchStep::kGoOn : SearchStep::kCancel; });
  ASSERT_FALSE(stopped.has_value());
  EXPECT_EQ(stopped.error().code, ErrorCode::kCancelled);
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
