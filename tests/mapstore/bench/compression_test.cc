// Worked examples of compressors, turbines and engines. Textbook examples use constant properties, so they are checked with WorkingGas::Perfect and the numbers
// that the example itself uses; the checks with real air follow.
#include "mapstore/bench/compression.h"

#include <cmath>
#include <numbers>

#include <gtest/gtest.h>

#include "mapstore/bench/engine.h"
#include "mapstore/bench/nozzle.h"
#include "mapstore/units/isentropic.h"

namespace islebook {
namespace {

constexpr double kPsi = 6894.757293168;
const WorkingGas kTextbookAir = WorkingGas::Perfect(1005.0 * 0.4 / 1.4, 1005.0);  // cp 1005, gamma 1.4
const WorkingGas kRoundedAir = WorkingGas::Perfect(1005.0 * 0.286, 1005.0);

// Gorla & Khan, Turbomachinery Design and Theory, ex. 4.1: U2 475 m/s, slip factor 0.88954 (from Cr2 110 m/s and blades 25.5 degrees back), 3 kg/s at 298 K,
// efficiency 0.8, mechanical 0.96. Result: PR 4.4925, 602.1 kW, 627.2 kW at the shaft.
TEST(CompressionTest, GorlaKhanExample41) {
  const double work = 0.88954 * 475.0 * 475.0;
  const auto isentropic_outlet = kTextbookAir.TemperatureAtEnthalpy(kTextbookAir.Enthalpy(298.0) + 0.8 * work);
  ASSERT_TRUE(isentropic_outlet.has_value());
  const double ratio = std::pow(*isentropic_outlet / 298.0, 3.5);
  EXPECT_NEAR(ratio, 4.4925, 0.002);
  const auto change = Compress(kTextbookAir, 298.0, ratio, 0.8);
  ASSERT_TRUE(change.has_value());
  EXPECT_NEAR(3.0 * change->work_J_kg / 1000, 602.1, 0.1);
  EXPECT_NEAR(3.0 * change->work_J_kg / 1000 / 0.96, 627.2, 0.1);
}

// Gorla & Khan, ex. 4.4: D 1 m, 5945 rpm, 28 kg/s, p3/p1 2.2, 298 K, slip 0.9. U2 311.28 m/s, 87.21 kJ/kg, efficiency 86.87 %, T3 384.8 K, 2441.8 kW.
// Both this example and the next round (gamma - 1)/gamma to 0.286, and so does the gas here.
TEST(CompressionTest, GorlaKhanExample44) {
  const double tip = std::numbers::pi * 1.0 * 5945.0 / 60.0;
  EXPECT_NEAR(tip, 311.28, 0.01);
  const double work = 0.9 * tip * tip;
  EXPECT_NEAR(work / 1000, 87.21, 0.01);
  const double outlet = 298.0 + work / 1005.0;
  EXPECT_NEAR(outlet, 384.8, 0.05);
  const auto efficiency = CompressionEfficiency(kRoundedAir, 298.0, outlet, 2.2);
  ASSERT_TRUE(efficiency.has_value());
  EXPECT_NEAR(*efficiency, 0.8687, 0.0001);
  const auto change = Compress(kRoundedAir, 298.0, 2.2, *efficiency);
  ASSERT_TRUE(change.has_value());
  EXPECT_NEAR(change->outlet_temperature_K, outlet, 1e-6);
  EXPECT_NEAR(28.0 * change->work_J_kg / 1000, 2441.8, 0.3);
}

// Gorla & Khan, ex. 4.10: static 298 K, 145 m/s, PR 4, efficiency 0.89, 8 kg/s: T01 308.46 K, rise 168.64 K, 1355.9 kW.
TEST(CompressionTest, GorlaKhanExample410) {
  const double inlet = 298.0 + 145.0 * 145.0 / (2.0 * 1005.0);
  EXPECT_NEAR(inlet, 308.46, 0.005);
  const auto change = Compress(kRoundedAir, inlet, 4.0, 0.89);
  ASSERT_TRUE(change.has_value());
  EXPECT_NEAR(change->outlet_temperature_K - inlet, 168.64, 0.01);
  EXPECT_NEAR(8.0 * change->work_J_kg / 1000, 1355.9, 0.1);
}

// Yahya, Turbines, Compressors and Fans, ex. 12.3: 17000 rpm, 0.48 m, slip 0.92, efficiency 0.77, 306 K, 8 kg/s: PR 3.416, 1343.6 kW.
TEST(CompressionTest, YahyaExample123) {
  const double tip = std::numbers::pi * 0.48 * 17000.0 / 60.0;
  const double work = 0.92 * tip * tip;
  EXPECT_NEAR(8.0 * work / 1000, 1343.6, 0.5);
  const double ratio = std::pow(1.0 + 0.77 * work / (1005.0 * 306.0), 3.5);
  EXPECT_NEAR(ratio, 3.416, 0.004);
  const auto change = Compress(kTextbookAir, 306.0, ratio, 0.77);
  ASSERT_TRUE(change.has_value());
  EXPECT_NEAR(8.0 * change->work_J_kg / 1000, 1343.6, 0.5);
}

// Cengel & Boles, Thermodynamics, 8th ed., problem 7-214: a turbocharger. Exhaust 450 to 400 degrees C, 0.02 kg/s; air 70 degrees C, 95 to 135 kPa, 0.018 kg/s;
// 95 % mechanical; its heat capacities are 1.075 and 1.011 kJ/(kg K), gamma of air 1.397. Answers (from memory) 126.1 degrees C and 0.642. With real air on
// both sides, as the problem takes exhaust for air, the outlet moves by less than 1 K.
TEST(CompressionTest, CengelProblem7214) {
  const double outlet = 343.15 + 0.95 * 0.02 * 1075.0 * 50.0 / (0.018 * 1011.0);
  EXPECT_NEAR(outlet - 273.15, 126.1, 0.05);
  const WorkingGas air = WorkingGas::Perfect(1011.0 * 0.397 / 1.397, 1011.0);
  const auto efficiency = CompressionEfficiency(air, 343.15, outlet, 135.0 / 95.0);
  ASSERT_TRUE(efficiency.has_value());
  EXPECT_NEAR(*efficiency, 0.642, 0.0006);
  const WorkingGas real = WorkingGas::DryAir();
  const auto real_outlet = real.TemperatureAtEnthalpy(real.Enthalpy(343.15) + 0.95 * 0.02 * (real.Enthalpy(723.15) - real.Enthalpy(673.15)) / 0.018);
  ASSERT_TRUE(real_outlet.has_value());
  EXPECT_NEAR(*real_outlet - 273.15, 126.1, 1.0);
}

// Saravanamuttoo, Rogers, Cohen, Straznicky, Gas Turbine Theory, ex. 4.1 (from memory): power input factor 1.04, slip 0.9, 290 rev/s, 0.5 m, 295 K,
// efficiency 0.78, 9 kg/s: 193 K, PR 4.23, 1746 kW.
TEST(CompressionTest, GasTurbineTheoryExample41) {
  const double tip = std::numbers::pi * 0.5 * 290.0;
  EXPECT_NEAR(tip, 455.5, 0.1);
  const double rise = 1.04 * 0.9 * tip * tip / 1005.0;
  EXPECT_NEAR(rise, 193.0, 0.5);
  const double ratio = std::pow(1.0 + 0.78 * rise / 295.0, 3.5);
  EXPECT_NEAR(ratio, 4.23, 0.02);
  const auto change = Compress(kTextbookAir, 295.0, ratio, 0.78);
  ASSERT_TRUE(change.has_value());
  EXPECT_NEAR(9.0 * change->work_J_kg / 1000, 1746.0, 3.0);
}

// NASA HECC data archive, vaned, reading 4339: PR 4.76077, relative rise of total temperature 0.67246, efficiency 0.82596
// from real-gas enthalpies; ours from ideal-gas air of varying heat capacity. Own tolerance: 0.004 (the archive's readings hold moisture and real-gas terms).
TEST(CompressionTest, NasaHighEfficiencyCompressorReading4339) {
  const double inlet = 534.2995 / 1.8;
  const auto efficiency = CompressionEfficiency(WorkingGas::DryAir(), inlet, inlet * 1.6724594314, 4.760770040407265);
  ASSERT_TRUE(efficiency.has_value());
  EXPECT_NEAR(*efficiency, 0.8259564408956097, 0.004);
}

TEST(CompressionTest, EnergyIsConservedAndEfficiencyReturns) {
  const WorkingGas air = WorkingGas::DryAir();
  for (double ratio = 1.0; ratio < 8.0; ratio += 0.37) {
    for (double efficiency = 0.4; efficiency <= 1.0; efficiency += 0.15) {
      const auto change = Compress(air, 288.15, ratio, efficiency);
      ASSERT_TRUE(change.has_value());
      EXPECT_NEAR(change->work_J_kg, air.Enthalpy(change->outlet_temperature_K) - air.Enthalpy(288.15), 1e-8 * air.HeatCapacity(288) * 288);
      if (ratio == 1.0) continue;
      const auto back = CompressionEfficiency(air, 288.15, change->outlet_temperature_K, ratio);
      ASSERT_TRUE(back.has_value());
      EXPECT_NEAR(*back, efficiency, 1e-9);
      const auto loss_free = Expand(air, change->outlet_temperature_K, ratio, 1.0);
      ASSERT_TRUE(loss_free.has_value());
      EXPECT_LE(loss_free->work_J_kg, change->work_J_kg * (1 + 1e-9));
      EXPECT_EQ(efficiency > 0.999, std::abs(loss_free->work_J_kg / change->work_J_kg - 1) < 1e-9);
    }
  }
  EXPECT_FALSE(Compress(air, 288.15, 0.9, 0.7).has_value());
  EXPECT_FALSE(Compress(air, 288.15, 2.0, 0.0).has_value());
  EXPECT_FALSE(Compress(air, 288.15, 2.0, 1.1).has_value());
  EXPECT_FALSE(Compress(air, 288.15, std::nan(""), 0.7).has_value());
  EXPECT_FALSE(CompressionEfficiency(air, 300, 290, 2.0).has_value());
}

// The power-balance equation of Isermann, Combustion Engine Diagnosis (5.4.14 to 5.4.18) is our compressor and turbine on one shaft with constant properties.
TEST(CompressionTest, PowerBalanceEquationAgreesWithCompressorAndTurbine) {
  ShaftBalance shaft;
  const double compressor_efficiency = 0.74, turbine_efficiency = 0.70, mechanical = 0.97;
  shaft.overall_efficiency = compressor_efficiency * turbine_efficiency * mechanical;
  const WorkingGas air = WorkingGas::Perfect(1005.0 * 0.4 / 1.4, 1005.0);
  const WorkingGas exhaust = WorkingGas::Perfect(1148.0 * 0.333 / 1.333, 1148.0);
  for (const double expansion : {1.2, 1.8, 2.5, 3.5}) {
    const double ratio = DrivenPressureRatio(shaft, expansion);
    const auto compressor = Compress(air, shaft.compressor_inlet_K, ratio, compressor_efficiency);
    const auto turbine = Expand(exhaust, shaft.turbine_inlet_K, expansion, turbine_efficiency);
    ASSERT_TRUE(compressor.has_value() && turbine.has_value());
    EXPECT_NEAR(compressor->work_J_kg / (shaft.mass_ratio * turbine->work_J_kg * mechanical), 1.0, 1e-9) << expansion;
  }
}

// Cengel, Fundamentals of Thermal-Fluid Sciences, eq. 7-59: intercooled back to the inlet temperature, the square root.
TEST(CompressionTest, LeastWorkSplitIsTheSquareRootWhenCooledBack) {
  const PressureSplit split = LeastWorkSplit(6.25, 300, 300, 0.75, 0.75, 1.4);
  EXPECT_NEAR(split.first, 2.5, 1e-12);
  EXPECT_NEAR(split.second, 2.5, 1e-12);
}

// Overall 4, 288.15 K and 330 K, equal efficiencies, gamma 1.4: 2.5357 and 1.5775 (derived and confirmed by a numerical search; no publication seen).
TEST(CompressionTest, LeastWorkSplitWithAWarmSecondStage) {
  const PressureSplit split = LeastWorkSplit(4.0, 288.15, 330.0, 0.75, 0.75, 1.4);
  EXPECT_NEAR(split.first, 2.5357, 5e-5);
  EXPECT_NEAR(split.second, 1.5775, 5e-5);
  const auto work = [](double first) { return 288.15 * (std::pow(first, 2.0 / 7) - 1) / 0.75 + 330.0 * (std::pow(4.0 / first, 2.0 / 7) - 1) / 0.75; };
  for (double first = 1.2; first < 3.9; first += 0.01) EXPECT_GE(work(first), work(split.first) - 1e-9);
}

// A common worked example says PR 2.54 on both stages nets 60 psi of boost; 14.7 x 2.54^2 - 14.7 is 80, and 60 psi needs 2.254 on each. Its own first stage
// (22.6 psi gauge, 319 F at 68 %) does check; the air enters at 80 F.
TEST(CompressionTest, PressureRatiosMultiplyAndBoostsDoNotAdd) {
  EXPECT_NEAR(14.7 * 2.54 * 2.54 - 14.7, 80.1, 0.1);
  EXPECT_NEAR(14.7 * 2.254 * 2.254 - 14.7, 60.0, 0.05);
  EXPECT_NEAR(14.7 * 2.54 - 14.7, 22.6, 0.05);
  const auto first = Compress(WorkingGas::DryAir(), (80.0 + 459.67) / 1.8, 2.54, 0.68);
  ASSERT_TRUE(first.has_value());
  EXPECT_NEAR(first->outlet_temperature_K * 1.8 - 459.67, 319.0, 4.0);
}

// Common practice, no source: 400 hp at air-fuel ratio 12 and 0.55 lb/(hp h) takes 44.0 lb/min; 122 cubic inches at 3,600 fillings... (7,200 rpm) and 92 % with
// 130 F in the manifold then need 41.1 psi absolute, 43.1 before a cooler that costs 2; and 10 psi of boost with 1 psi lost at the inlet is PR 1.80.
TEST(EngineTest, WorkedAirDemand) {
  const double pound = 0.45359237, inch3 = 0.0254 * 0.0254 * 0.0254;
  const double flow_lb_min = 400.0 * 12.0 * 0.55 / 60.0;
  EXPECT_NEAR(flow_lb_min, 44.0, 1e-12);
  const Engine engine{.displacement_m3 = 122.0 * inch3, .strokes = 4, .volumetric_efficiency = 0.92};
  // The worked example's constants: 639.6 in lbf/(lb R) is its gas constant, and 460 its zero.
  const double gas_constant = 639.6 * 0.0254 * 4.4482216153 / pound * 1.8;
  const double pressure = ManifoldPressureForFlow(engine, 7200.0 / 60.0, flow_lb_min * pound / 60.0, (460.0 + 130.0) / 1.8, gas_constant);
  EXPECT_NEAR(pressure / kPsi, 41.1, 0.05);
  EXPECT_NEAR(pressure / kPsi + 2.0, 43.1, 0.05);
  EXPECT_NEAR((14.7 + 10.0) / (14.7 - 1.0), 1.80, 0.005);
  EXPECT_NEAR(EngineAirFlow(engine, 120.0, pressure, 590.0 / 1.8, gas_constant), flow_lb_min * pound / 60.0, 1e-12);
  // With the gas constant of our own air the pressure moves by less than 0.2 %.
  EXPECT_NEAR(ManifoldPressureForFlow(engine, 120.0, flow_lb_min * pound / 60.0, 590.0 / 1.8, WorkingGas::DryAir().GasConstant()) / pressure, 1.0,
              0.002);
}

TEST(EngineTest, ATwoStrokeFillsTwiceAsOften) {
  Engine four{.displacement_m3 = 0.012, .strokes = 4}, two = four;
  two.strokes = 2;
  EXPECT_DOUBLE_EQ(EngineAirFlow(two, 20, 2e5, 320, 287), 2 * EngineAirFlow(four, 20, 2e5, 320, 287));
  EXPECT_NEAR(EngineAirFlow(four, 30, 2e5, 320, 287), 0.92 * 0.012 * 15 * 2e5 / (287 * 320), 1e-12);
}

// Choking of an isentropic nozzle (formulas of NACA Report 1135), computed elsewhere.
TEST(NozzleTest, ChokingConstants) {
  const double rows[][3] = {{1.4, 0.684731, 1.892929}, {4.0 / 3.0, 0.673218, 1.852623}, {1.333, 0.673159, 1.852422}, {1.35, 0.676145, 1.862713}};
  for (const auto& [gamma, flow, ratio] : rows) {
    EXPECT_NEAR(ChokedFlowFunction(gamma), flow, 6e-7) << gamma;
    EXPECT_NEAR(CriticalPressureRatio(gamma), ratio, 6e-7) << gamma;
    EXPECT_NEAR(FlowFunction(gamma, 5.0), ChokedFlowFunction(gamma), 1e-12);
    EXPECT_LT(FlowFunction(gamma, 1.5), ChokedFlowFunction(gamma));
  }
  EXPECT_NEAR(ChokedFlowFunction(1.4) / std::sqrt(287.05), 0.0404149, 6e-8);
  EXPECT_NEAR(ChokedFlowFunction(4.0 / 3.0) / std::sqrt(287.05), 0.0397353, 6e-8);
  EXPECT_NEAR(ChokedFlowFunction(1.4) * std::sqrt(3.5), 1.281015, 2e-6);  // m sqrt(cp T0)/(A p0)
  EXPECT_EQ(FlowFunction(1.4, 1.0), 0.0);
}

// Aeronautical Engineer Data Book, appendix 4, p. 255: printed digits.
TEST(NozzleTest, PrintedTablesOfIsentropicFlow) {
  const double rows[][4] = {{0.5, 0.8430, 0.9524, 1.3398}, {0.6, 0.7840, 0.9328, 1.1882}, {0.9, 0.5913, 0.8606, 1.0089}, {1.0, 0.5283, 0.8333, 1.0}};
  for (const auto& [mach, pressure, temperature, area] : rows) {
    const auto state = StateAtMach(mach, 1.4);
    ASSERT_TRUE(state.has_value());
    EXPECT_NEAR(state->pressure, pressure, 6e-5) << mach;
    EXPECT_NEAR(state->temperature, temperature, 6e-5) << mach;
    EXPECT_NEAR(state->area, area, 6e-5) << mach;
    EXPECT_NEAR(FlowFunction(1.4, 1 / state->pressure) * state->area, ChokedFlowFunction(1.4), 1e-12);
  }
}

// A wastegate port widened from 7/8 in to 1 in gains 31 % of area (common practice, no source; it is geometry).
TEST(NozzleTest, AWiderPort) { EXPECT_NEAR(std::pow(1.0 / 0.875, 2), 1.31, 0.005); }

}  // namespace
}  // namespace islebook
