#include "tests/mapstore/bench/balance_checks.h"

#include <gtest/gtest.h>

#include "mapstore/bench/compression.h"
#include "mapstore/bench/engine.h"
#include "mapstore/bench/intake_air.h"

namespace islebook::bench_test {

Result<BalanceState> SolveDrawn(const DrawnCase& drawn) {
  auto equations = BalanceEquations::Make(drawn.asked.points[0], drawn.asked, drawn.compressors, drawn.turbines);
  if (!equations) return std::unexpected(equations.error());
  return BalanceSolver(std::move(*equations)).Solve();
}

void ExpectConserved(const DrawnCase& drawn, const BalanceState& state) {
  const OperatingPoint& point = drawn.asked.points[0];
  const IntakeAir air = IntakeAirOf(point);
  const auto gas = WorkingGas::LeanExhaust(*point.target.air_fuel_ratio, 1.85, air.humidity_ratio / (air.humidity_ratio + 18.01528 / 28.9651159));
  ASSERT_TRUE(gas.has_value());
  constexpr double kTight = 1e-8;
  // Mass: what the engine breathes and burns passes each turbine with its wastegate.
  const double breathed = EngineAirFlow(point.engine, point.speed_rev_s, state.air.manifold_Pa, state.air.manifold_K, air.gas.GasConstant());
  EXPECT_NEAR(state.air.air_flow_kg_s / breathed, 1.0, kTight);
  EXPECT_NEAR(state.exhaust.flow_kg_s / (state.air.air_flow_kg_s + state.exhaust.fuel_flow_kg_s), 1.0, 1e-14);
  for (const TurbineState& turbine : state.turbines)
    EXPECT_NEAR((turbine.flow_kg_s + turbine.wastegate_flow_kg_s) / state.exhaust.flow_kg_s, 1.0, kTight);
  double taken = 0.0, pressure = point.ambient.pressure_Pa + state.back_pressure_Pa;
  for (std::size_t i = 0; i < state.turbines.size(); ++i) {
    const StageState& stage = state.air.stages[i];
    const TurbineState& turbine = state.turbines[i];
    // The shaft: turbine power less bearing loss is compressor power.
    const double compressor = state.air.air_flow_kg_s * (air.gas.Enthalpy(stage.outlet_K) - air.gas.Enthalpy(stage.inlet_K));
    const double given = turbine.flow_kg_s * turbine.work_J_kg * drawn.asked.stages[i].turbine->shaft_efficiency;
    EXPECT_NEAR(given / compressor, 1.0, kTight);
    // The gas: what goes through the turbine loses its work, what goes through the port nothing; mixed behind.
    const double lost = state.exhaust.flow_kg_s * (gas->Enthalpy(turbine.inlet_K) - gas->Enthalpy(turbine.outlet_K));
    EXPECT_NEAR(lost / (turbine.flow_kg_s * turbine.work_J_kg), 1.0, kTight);
    const auto expansion = Expand(*gas, turbine.inlet_K, turbine.expansion_ratio, turbine.reading.efficiency);
    ASSERT_TRUE(expansion.has_value());
    EXPECT_NEAR(expansion->work_J_kg / turbine.work_J_kg, 1.0, kTight);
    EXPECT_NEAR(turbine.outlet_Pa / pressure, 1.0, 1e-12);
    EXPECT_NEAR(turbine.inlet_Pa / turbine.outlet_Pa, turbine.expansion_ratio, 1e-10 * turbine.expansion_ratio);
    pressure = turbine.inlet_Pa;
    taken += turbine.flow_kg_s * turbine.work_J_kg;
  }
  EXPECT_NEAR(state.drive_Pa, pressure, 1e-6);
  // Energy: fuel and air in; brake, coolant, manifold and exhaust out.
  const auto heat = [](const WorkingGas& of, double kelvin) { return of.Enthalpy(kelvin) - of.Enthalpy(kHeatDatum_K); };
  const double in = state.exhaust.fuel_flow_kg_s * kFuelHeatingValue_J_kg + state.air.air_flow_kg_s * heat(air.gas, state.air.manifold_K);
  const double out = state.exhaust.brake_W + state.exhaust.coolant_W + state.exhaust.manifold_loss_W + taken +
                     state.exhaust.flow_kg_s * heat(*gas, state.turbines.front().outlet_K);
  EXPECT_NEAR(out / in, 1.0, kTight);
}

}  // namespace islebook::bench_test
