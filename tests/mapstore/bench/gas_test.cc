#include "mapstore/bench/gas.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

namespace islebook {
namespace {

struct AirRow {
  double temperature, heat_capacity, gamma, heat_capacity_tolerance, gamma_tolerance;
};

// NBS Circular 564 (1955), table of air at low pressure, as reprinted in textbooks: three or four printed digits. The last two rows come from another
// formula that its reprint calls good to 1 %.
TEST(GasTest, AirAgreesWithTheBureauOfStandards) {
  const AirRow rows[] = {
      {250, 1003, 1.401, 1.0, 0.001}, {300, 1005, 1.400, 1.0, 0.001},  {350, 1008, 1.398, 1.0, 0.001},  {400, 1013, 1.395, 1.0, 0.001},
      {450, 1020, 1.391, 1.0, 0.001}, {500, 1029, 1.387, 1.0, 0.001},  {550, 1040, 1.381, 1.0, 0.001},  {600, 1051, 1.376, 1.0, 0.001},
      {650, 1063, 1.370, 1.0, 0.001}, {700, 1075, 1.364, 1.0, 0.001},  {750, 1087, 1.359, 1.0, 0.001},  {800, 1099, 1.354, 1.0, 0.001},
      {900, 1121, 1.344, 1.0, 0.001}, {1000, 1142, 1.336, 1.5, 0.001}, {1100, 1155, 1.331, 11., 0.003}, {1200, 1173, 1.324, 11., 0.003}};
  const WorkingGas air = WorkingGas::DryAir();
  for (const AirRow& row : rows) {
    EXPECT_NEAR(air.HeatCapacity(row.temperature), row.heat_capacity, row.heat_capacity_tolerance) << row.temperature;
    EXPECT_NEAR(air.Gamma(row.temperature), row.gamma, row.gamma_tolerance) << row.temperature;
  }
}

// Computed once with another program from the same NASA polynomials (NASA/TP-2002-211556): checks the coefficients and the mixing to the last printed digit.
TEST(GasTest, AirAgreesWithThePolynomialsComputedElsewhere) {
  const AirRow rows[] = {{250, 1003.08, 1.40089}, {288.15, 1004.27, 1.40023}, {300, 1004.81, 1.39993},  {400, 1013.45, 1.39517},
                         {500, 1029.53, 1.38661}, {600, 1050.99, 1.37575},    {700, 1074.90, 1.36435},  {800, 1098.73, 1.35365},
                         {900, 1120.89, 1.34425}, {1000, 1141.01, 1.33614},   {1100, 1158.99, 1.32921}, {1200, 1174.62, 1.32341}};
  const WorkingGas air = WorkingGas::DryAir();
  for (const AirRow& row : rows) {
    EXPECT_NEAR(air.HeatCapacity(row.temperature), row.heat_capacity, 0.006) << row.temperature;
    EXPECT_NEAR(air.Gamma(row.temperature), row.gamma, 6e-6) << row.temperature;
  }
  EXPECT_NEAR(air.GasConstant(), 287.0509, 5e-5);
  const double rises[][2] = {{400, 100.849}, {500, 202.941}, {600, 306.935}, {800, 521.911}, {1000, 746.019}, {1200, 977.740}};
  for (const auto& [temperature, rise] : rises) EXPECT_NEAR((air.Enthalpy(temperature) - air.Enthalpy(300)) / 1000, rise, 6e-4) << temperature;
}

// Lean diesel exhaust of CH1.85 and dry air, complete combustion, from the same polynomials by another program.
TEST(GasTest, LeanExhaustAgreesWithThePolynomialsComputedElsewhere) {
  struct Row {
    double air_fuel_ratio, gas_constant;
    double values[6][2];
  };
  const double temperatures[] = {600, 700, 800, 900, 1000, 1200};
  const Row rows[] = {
      {20, 286.579, {{1117.6, 1.3449}, {1147.3, 1.3330}, {1176.5, 1.3220}, {1203.9, 1.3124}, {1229.1, 1.3041}, {1272.1, 1.2908}}},
      {25, 286.670, {{1104.8, 1.3504}, {1133.3, 1.3386}, {1161.5, 1.3277}, {1187.9, 1.3181}, {1212.1, 1.3098}, {1253.3, 1.2966}}},
      {30, 286.731, {{1096.1, 1.3543}, {1123.9, 1.3425}, {1151.4, 1.3316}, {1177.1, 1.3220}, {1200.7, 1.3137}, {1240.6, 1.3006}}},
      {40, 286.809, {{1085.1, 1.3593}, {1112.0, 1.3476}, {1138.6, 1.3367}, {1163.4, 1.3272}, {1186.1, 1.3189}, {1224.5, 1.3059}}},
  };
  for (const Row& row : rows) {
    const auto gas = WorkingGas::LeanExhaust(row.air_fuel_ratio);
    ASSERT_TRUE(gas.has_value());
    EXPECT_NEAR(gas->GasConstant(), row.gas_constant, 6e-4);
    for (int i = 0; i < 6; ++i) {
      EXPECT_NEAR(gas->HeatCapacity(temperatures[i]), row.values[i][0], 0.06) << row.air_fuel_ratio << " " << temperatures[i];
      EXPECT_NEAR(gas->Gamma(temperatures[i]), row.values[i][1], 6e-5) << row.air_fuel_ratio << " " << temperatures[i];
    }
  }
  EXPECT_NEAR(StoichiometricAirFuelRatio(), 14.574, 6e-4);
}

TEST(GasTest, AVeryLeanExhaustIsAir) {
  const auto gas = WorkingGas::LeanExhaust(1e9);
  ASSERT_TRUE(gas.has_value());
  EXPECT_NEAR(gas->HeatCapacity(700), WorkingGas::DryAir().HeatCapacity(700), 1e-4);
}

TEST(GasTest, RichMixturesAndOddFuelsAreRefused) {
  EXPECT_FALSE(WorkingGas::LeanExhaust(12).has_value());
  EXPECT_FALSE(WorkingGas::LeanExhaust(std::nan("")).has_value());
  EXPECT_FALSE(WorkingGas::LeanExhaust(25, -1).has_value());
  EXPECT_TRUE(WorkingGas::LeanExhaust(14.6).has_value());
}

// The two ranges of the polynomials meet at 1000 K, and the derivatives of enthalpy and entropy are cp and cp/T.
TEST(GasTest, RangesMeetAndDerivativesAgree) {
  for (const WorkingGas& gas : {WorkingGas::DryAir(), WorkingGas::MoistAir(0.03), *WorkingGas::LeanExhaust(22)}) {
    EXPECT_NEAR(gas.HeatCapacity(1000 - 1e-9) / gas.HeatCapacity(1000), 1.0, 1e-6);
    EXPECT_NEAR((gas.Enthalpy(1000) - gas.Enthalpy(1000 - 1e-9)) / gas.HeatCapacity(1000), 0.0, 1e-3);
    EXPECT_NEAR((gas.Entropy(1000) - gas.Entropy(1000 - 1e-9)) / gas.HeatCapacity(1000), 0.0, 1e-6);
    for (double t = 210; t < 3000; t *= 1.07) {
      if (std::abs(t - 1000) < 1) continue;
      const double d = 1e-3 * t;
      EXPECT_NEAR((gas.Enthalpy(t + d) - gas.Enthalpy(t - d)) / (2 * d) / gas.HeatCapacity(t), 1.0, 2e-6) << t;
      EXPECT_NEAR((gas.Entropy(t + d) - gas.Entropy(t - d)) / (2 * d) * t / gas.HeatCapacity(t), 1.0, 2e-6) << t;
    }
  }
}

TEST(GasTest, InversesReturnWhatWentIn) {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> temperature(201, 2900), log_ratio(-1.5, 2.0);
  for (const WorkingGas& gas : {WorkingGas::DryAir(), *WorkingGas::LeanExhaust(18, 1.9, 0.02), WorkingGas::Perfect(287, 1005)}) {
    for (int i = 0; i < 500; ++i) {
      const double t = temperature(random);
      const auto back = gas.TemperatureAtEnthalpy(gas.Enthalpy(t));
      ASSERT_TRUE(back.has_value());
      EXPECT_NEAR(*back, t, 1e-9 * t);
      const double ratio = std::exp(log_ratio(random));
      const auto end = gas.IsentropicTemperature(t, ratio);
      if (!end) continue;  // below 200 K
      EXPECT_NEAR(gas.Entropy(*end) - gas.Entropy(t), gas.GasConstant() * std::log(ratio), 1e-8 * gas.HeatCapacity(t));
      const auto again = gas.IsentropicTemperature(*end, 1 / ratio);
      ASSERT_TRUE(again.has_value());
      EXPECT_NEAR(*again, t, 1e-9 * t);
    }
  }
}

TEST(GasTest, BeyondTheDataIsAnError) {
  const WorkingGas air = WorkingGas::DryAir();
  EXPECT_FALSE(air.IsentropicTemperature(288, 1e-3).has_value());
  EXPECT_FALSE(air.IsentropicTemperature(150, 2).has_value());
  EXPECT_FALSE(air.IsentropicTemperature(288, -2).has_value());
  EXPECT_FALSE(air.IsentropicTemperature(std::nan(""), 2).has_value());
  EXPECT_FALSE(air.TemperatureAtEnthalpy(1e9).has_value());
  EXPECT_FALSE(air.TemperatureAtEnthalpy(std::nan("")).has_value());
}

}  // namespace
}  // namespace islebook
