#include "mapstore/bench/balance_solver.h"

#include <cmath>
#include <numbers>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/case_file.h"
#include "mapstore/bench/compression.h"
#include "mapstore/bench/engine.h"
#include "mapstore/bench/intake_air.h"
#include "mapstore/bench/nozzle.h"
#include "tests/mapstore/bench/balance_case.h"
#include "tests/mapstore/bench/balance_checks.h"
#include "tests/mapstore/bench/model_map.h"

namespace islebook {
namespace {

using bench_test::DrawCase;
using bench_test::DrawnCase;
using bench_test::ExpectConserved;
using bench_test::SolveDrawn;
using testing::HasSubstr;

// A deliberately simple second solution for one stage with a wastegate: bisections within bisections. The expansion ratio comes from the flow that must pass (the solver
// takes it from the power that must be given), the pressure ratio from the shaft, the opening from the target.
class ByHalves {
 public:
  explicit ByHalves(const DrawnCase& drawn)
      : point_(drawn.asked.points[0]),
        stage_(drawn.asked.stages[0]),
        compressor_(*drawn.compressors[0]),
        turbine_(*drawn.turbines[0]),
        air_(IntakeAirOf(point_)),
        gas_(*WorkingGas::LeanExhaust(*point_.target.air_fuel_ratio, 1.85, air_.humidity_ratio / (air_.humidity_ratio + 18.01528 / 28.9651159))) {}

  struct State {
    double opening = 0.0, pressure_ratio = 1.0, expansion_ratio = 1.0, air_flow = 0.0, manifold_Pa = 0.0;
  };
  // The opening that brings the target, or the end of its travel.
  State Solve() const {
    const State shut = AtOpening(0.0), open = AtOpening(1.0);
    if (Target(shut) <= 1.0) return shut;
    if (Target(open) >= 1.0) return open;
    double low = 0.0, high = 1.0;
    for (int i = 0; i < 45; ++i) (Target(AtOpening(0.5 * (low + high))) > 1.0 ? low : high) = 0.5 * (low + high);
    return AtOpening(0.5 * (low + high));
  }
  State AtOpening(double opening) const {
    double low = 1.001, high = 6.0;
    State state;
    for (int i = 0; i < 45; ++i) {
      const double ratio = 0.5 * (low + high);
      (Surplus(ratio, opening, state) > 0.0 ? low : high) = ratio;
    }
    return state;
  }
  double Target(const State& state) const {
    if (point_.target.boost_Pa) return state.manifold_Pa / (point_.ambient.pressure_Pa + *point_.target.boost_Pa);
    return state.air_flow / (1.0 + air_.humidity_ratio) / *point_.target.air_fuel_ratio / *point_.target.fuel_consumption_kg_J /
           *point_.target.power_W;
  }

 private:
  // Shaft power given less taken, at this pressure ratio.
  double Surplus(double ratio, double opening, State& state) const {
    double flow = 0.01, manifold_K = 320.0, manifold_Pa = 0.0, work = 0.0;
    std::optional<double> speed;
    for (int i = 0; i < 400; ++i) {
      const double inlet = point_.ambient.pressure_Pa - PressureDrop(point_.inlet_loss, point_.ambient.pressure_Pa, flow);
      const CompressorTrial map = compressor_.Work({flow, point_.ambient.temperature_K, inlet, ratio});
      const auto change = Compress(air_.gas, point_.ambient.temperature_K, ratio, map.efficiency);
      work = change->work_J_kg;
      speed = map.speed_rev_s;
      manifold_K = CoolerOutletTemperature(change->outlet_temperature_K, point_.cooler.coolant_K, point_.cooler.effectiveness);
      manifold_Pa = inlet * ratio - PressureDrop(point_.cooler_loss, inlet * ratio, flow);
      const double next = EngineAirFlow(point_.engine, point_.speed_rev_s, manifold_Pa, manifold_K, air_.gas.GasConstant());
      const double moved = std::abs(next - flow);
      flow += 0.6 * (next - flow);
      if (moved < 1e-14) break;
    }
    const auto model = ExhaustModel::Make(point_, air_.gas, air_.humidity_ratio);
    const auto exhaust = model->At(flow, manifold_K);
    const double outlet = point_.ambient.pressure_Pa + PressureDrop(point_.exhaust.back_pressure, point_.ambient.pressure_Pa, exhaust->flow_kg_s);
    double low = 1.0 + 1e-9, high = 20.0, power = 0.0;
    for (int i = 0; i < 60; ++i) {
      const double expansion = 0.5 * (low + high);
      const auto ideal = gas_.IsentropicTemperature(exhaust->turbine_K, 1.0 / expansion);
      const double ideal_work = gas_.Enthalpy(exhaust->turbine_K) - gas_.Enthalpy(*ideal);
      const TurbineReading reading = turbine_.Read({.inlet_K = exhaust->turbine_K,
                                                    .inlet_Pa = outlet * expansion,
                                                    .expansion_ratio = expansion,
                                                    .speed_rev_s = speed,
                                                    .ideal_work_J_kg = ideal_work},
                                                   gas_);
      const double port = stage_.turbine->wastegate_discharge * stage_.turbine->wastegate_area_m2 * opening * outlet * expansion /
                          std::sqrt(gas_.GasConstant() * exhaust->turbine_K) * FlowFunction(gas_.Gamma(exhaust->turbine_K), expansion);
      (reading.flow_kg_s + port < exhaust->flow_kg_s ? low : high) = expansion;
      power = reading.flow_kg_s * ideal_work * reading.efficiency * stage_.turbine->shaft_efficiency;
    }
    state = {opening, ratio, 0.5 * (low + high), flow, manifold_Pa};
    return power - flow * work;
  }

  const OperatingPoint& point_;
  const CompressorStage& stage_;
  const CompressorReader& compressor_;
  const TurbineReader& turbine_;
  IntakeAir air_;
  WorkingGas gas_;
};

TEST(BalanceTest, AgreesWithBisections) {
  paint::Random random(11);
  int compared = 0, regulated = 0;
  while (compared < 40) {
    const DrawnCase drawn = DrawCase(random, 1);
    const TurbineStage& turbine = *drawn.asked.stages[0].turbine;
    if (drawn.turbines[0]->facts().has_vanes || !(turbine.wastegate_area_m2 > 0.0) || turbine.wastegate_opening) continue;
    const auto state = SolveDrawn(drawn);
    ASSERT_TRUE(state.has_value()) << state.error().message;
    if (state->air.stages[0].efficiency_assumed) continue;  // off the map two balances may exist
    const ByHalves::State other = ByHalves(drawn).Solve();
    SCOPED_TRACE(compared);
    EXPECT_NEAR(state->air.stages[0].pressure_ratio / other.pressure_ratio, 1.0, 1e-7);
    EXPECT_NEAR(state->air.air_flow_kg_s / other.air_flow, 1.0, 1e-7);
    EXPECT_NEAR(state->turbines[0].expansion_ratio / other.expansion_ratio, 1.0, 1e-6);
    EXPECT_NEAR(state->turbines[0].opening, other.opening, 1e-5);
    ++compared;
    regulated += other.opening > 0.0 && other.opening < 1.0 ? 1 : 0;
  }
  EXPECT_GT(regulated, 5);
}

TEST(BalanceTest, RandomCasesConserveMassEnergyAndShaftPower) {
  paint::Random random(7);
  constexpr int kCases = 1000, kMostStages = 3;
  int solved = 0, evaluations = 0, most = 0, unsolved[kMostStages] = {};
  std::vector<std::string> reasons;
  for (int i = 0; i < kCases; ++i) {
    const DrawnCase drawn = DrawCase(random, 1 + i % kMostStages);
    const auto state = SolveDrawn(drawn);
    if (!state) {
      reasons.push_back(state.error().message);
      ++unsolved[i % kMostStages];
      continue;
    }
    ++solved;
    evaluations += state->evaluations;
    most = std::max(most, state->evaluations);
    ExpectConserved(drawn, *state);
    if (HasFailure()) FAIL() << "case " << i;
  }
  RecordProperty("evaluations", evaluations / std::max(solved, 1));
  RecordProperty("most", most);
  // A case that does not solve names the element that is out.
  for (const std::string& reason : reasons) EXPECT_THAT(reason, HasSubstr("stage \""));
  for (const int count : unsolved) EXPECT_LE(count, kCases / kMostStages / 100);
}

Error RefusedBy(const DrawnCase& drawn) {
  const auto equations = BalanceEquations::Make(drawn.asked.points[0], drawn.asked, drawn.compressors, drawn.turbines);
  EXPECT_FALSE(equations.has_value());
  return equations ? Error{} : equations.error();
}

TEST(BalanceTest, WhatDoesNotCloseIsNamed) {
  paint::Random random(5);
  DrawnCase drawn = DrawCase(random, 2);
  while (drawn.turbines[1]->facts().has_vanes) drawn = DrawCase(random, 2);
  const auto with = [&drawn](auto change) {
    DrawnCase changed = drawn;
    change(changed);
    return RefusedBy(changed).message;
  };
  EXPECT_THAT(with([](DrawnCase& c) {
                for (CompressorStage& stage : c.asked.stages) stage.turbine->wastegate_area_m2 = 3e-4, stage.turbine->wastegate_opening.reset();
              }),
              HasSubstr("both regulate"));
  EXPECT_THAT(with([](DrawnCase& c) { c.asked.stages[0].outlet_Pa = 2e5; }), HasSubstr("nothing to hold it with"));
  EXPECT_THAT(with([](DrawnCase& c) { c.asked.stages[0].turbine->vane_opening = 0.4; }), HasSubstr("not labeled with openings"));
  EXPECT_THAT(with([](DrawnCase& c) { c.asked.stages[0].turbine.reset(); }), HasSubstr("has no turbine"));
  EXPECT_THAT(with([](DrawnCase& c) { c.asked.points[0].target.air_fuel_ratio = 9.0; }), HasSubstr("unburned"));
  EXPECT_THAT(with([](DrawnCase& c) { c.asked.points[0].target.air_fuel_ratio.reset(); }), HasSubstr("air_fuel_ratio"));
}

// Both ports hold: the large stage's its own outlet, the small stage's the engine's target.
TEST(BalanceTest, TwoPortsHoldTwoPressures) {
  paint::Random random(21);
  int held = 0;
  for (int i = 0; i < 200 && held < 5; ++i) {
    DrawnCase drawn = DrawCase(random, 2);
    if (drawn.turbines[1]->facts().has_vanes || !drawn.asked.points[0].target.boost_Pa) continue;
    for (CompressorStage& stage : drawn.asked.stages) stage.turbine->wastegate_area_m2 = 8e-4, stage.turbine->wastegate_opening.reset();
    drawn.asked.stages[0].turbine->wastegate_opening = 0.0;
    const auto free = SolveDrawn(drawn);
    if (!free || free->turbines[1].regulation != Regulation::kHolding) continue;
    drawn.asked.stages[0].turbine->wastegate_opening.reset();
    drawn.asked.stages[0].pressure_ratio = 1.0 + 0.85 * (free->air.stages[0].pressure_ratio - 1.0);
    const auto state = SolveDrawn(drawn);
    if (!state || state->turbines[0].regulation != Regulation::kHolding || state->turbines[1].regulation != Regulation::kHolding) continue;
    EXPECT_NEAR(state->air.stages[0].pressure_ratio / *drawn.asked.stages[0].pressure_ratio, 1.0, 1e-9);
    EXPECT_NEAR(state->target_ratio, 1.0, 1e-9);
    ExpectConserved(drawn, *state);
    ++held;
  }
  EXPECT_EQ(held, 5);
}

}  // namespace
}  // namespace islebook
