#include "mapstore/units/correction.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

#include "mapstore/units/isentropic.h"

namespace islebook {
namespace {

const ReferenceConditions kStandardDay{288.15, 101325.0};

// NASA HECC Data Archive, vaned diffuser, 12 mil clearance, reading 4339: raw inlet totals, speed and flow, and the corrected values in the archive (518.67 degR, 14.696 psia).
// The archive corrects with the real moist gas; the plain formula differs by 0.06 to 0.6 % in flow.
TEST(Correction, MeasuredPointOfAPublishedCompressor) {
  const Inlet inlet{Temperature::Rankine(534.2995), Pressure::PoundsPerSquareInch(10.4807)};
  EXPECT_NEAR(Correct(MassFlow::PoundsPerSecond(7.344981709), inlet, kStandardDay).pounds_per_second() / 10.475417239, 1.0, 0.006);
  EXPECT_NEAR(Correct(RotationalSpeed::RevolutionsPerMinute(22112.1), inlet, kStandardDay).revolutions_per_minute() / 21765.037, 1.0, 0.002);
}

// At 10,000 ft (69.7 kPa, 268.3 K) the same mass flow is 1.403 times as large a corrected flow. Common practice; atmosphere ISO 2533.
TEST(Correction, AltitudeMovesThePointToTheRight) {
  const Inlet inlet{Temperature::Kelvins(268.338), Pressure::Pascals(69681.6)};
  const auto flow = MassFlow::KilogramsPerSecond(0.3);
  EXPECT_NEAR(Correct(flow, inlet, kStandardDay).kilograms_per_second() / 0.3, 1.403, 5e-4);
}

// Factors between reference conditions for one physical point, collected check values computed by another program:
// W_ref/W_isa = sqrt(288.15/T_ref) p_ref/101325, N_ref/N_isa = sqrt(T_ref/288.15).
TEST(Correction, ChangeOfReferenceConditions) {
  const struct {
    ReferenceConditions reference;
    double flow, speed;
  } rows[] = {{{298.0, 100000.0}, 0.970475, 1.016948},
              {{302.5944, 96173.4}, 0.926227, 1.024758},
              {{302.778, 96181.9}, 0.926027, 1.025068},
              {{293.15, 98100.0}, 0.959880, 1.008639}};
  for (const auto& row : rows) {
    EXPECT_NEAR(ChangeReference(CorrectedMassFlow::KilogramsPerSecond(1.0), kStandardDay, row.reference).kilograms_per_second(), row.flow, 2e-6);
    EXPECT_NEAR(ChangeReference(CorrectedSpeed::RadiansPerSecond(1.0), kStandardDay, row.reference).radians_per_second(), row.speed, 2e-6);
    EXPECT_NEAR(ChangeReference(CorrectedVolumeFlow::CubicMetersPerSecond(1.0), kStandardDay, row.reference).cubic_meters_per_second(), row.speed,
                2e-6);
  }
}

TEST(Correction, ThereAndBackAndConsistentWithTheChangeOfReference) {
  std::mt19937 random(6);
  std::uniform_real_distribution<double> kelvins(240.0, 400.0), pascals(5e4, 4e5), value(0.01, 3.0);
  for (int i = 0; i < 500; ++i) {
    const Inlet inlet{Temperature::Kelvins(kelvins(random)), Pressure::Pascals(pascals(random))};
    const ReferenceConditions a{kelvins(random), pascals(random)}, b{kelvins(random), pascals(random)};
    const auto flow = MassFlow::KilogramsPerSecond(value(random));
    const auto speed = RotationalSpeed::RadiansPerSecond(1e4 * value(random));
    const auto volume = VolumeFlow::CubicMetersPerSecond(value(random));
    EXPECT_NEAR(Uncorrect(Correct(flow, inlet, a), inlet, a) / flow, 1.0, 1e-14);
    EXPECT_NEAR(Uncorrect(Correct(speed, inlet, a), inlet, a) / speed, 1.0, 1e-14);
    EXPECT_NEAR(Uncorrect(Correct(volume, inlet, a), inlet, a) / volume, 1.0, 1e-14);
    EXPECT_NEAR(ChangeReference(Correct(flow, inlet, a), a, b) / Correct(flow, inlet, b), 1.0, 1e-13);
    EXPECT_NEAR(ChangeReference(Correct(speed, inlet, a), a, b) / Correct(speed, inlet, b), 1.0, 1e-13);
    EXPECT_NEAR(ChangeReference(Correct(volume, inlet, a), a, b) / Correct(volume, inlet, b), 1.0, 1e-13);
    // A mass flow is its volume flow at the inlet density: corrected, the reference density parts them.
    const auto density = ReferenceDensity({inlet.temperature.kelvins(), inlet.pressure.pascals()});
    EXPECT_NEAR(ToMassFlow(Correct(volume, inlet, a), a) / Correct(volume * density, inlet, a), 1.0, 1e-13);
    EXPECT_NEAR(ToVolumeFlow(ToMassFlow(Correct(volume, inlet, a), a), a) / Correct(volume, inlet, a), 1.0, 1e-14);
    // Turbine: flow parameter and corrected flow are one thing in two scales.
    EXPECT_NEAR(ToCorrectedFlow(FlowParameter(flow, inlet), a) / Correct(flow, inlet, a), 1.0, 1e-13);
    EXPECT_NEAR(FlowAt(ToFlowParameter(Correct(flow, inlet, a), a), inlet) / flow, 1.0, 1e-13);
  }
}

// Air at sea level weighs 1.225 kg/m3 (ISO 2533); at 48 and 175 degF 0.0781 and 0.0625 pounds a cubic foot (common practice, no source).
TEST(Correction, ReferenceDensity) {
  EXPECT_NEAR(ReferenceDensity(kStandardDay).kilograms_per_cubic_meter(), 1.225, 1e-5);
  EXPECT_NEAR(ReferenceDensity({Temperature::Fahrenheit(48).kelvins(), 101325.0}).pounds_per_cubic_foot(), 0.0781, 2e-4);
  EXPECT_NEAR(ReferenceDensity({Temperature::Fahrenheit(175).kelvins(), 101325.0}).pounds_per_cubic_foot(), 0.0625, 2e-4);
}

struct EngineAndEquivalent {
  const char* source;
  Gas gas;
  Inlet inlet;
  MassFlow flow;
  double speed_rpm, work_kj;
  MassFlow equivalent_flow;
  double equivalent_rpm, equivalent_kj;
  double flow_tolerance, speed_tolerance, work_tolerance;
};

// Design tables of NASA turbines: engine conditions and equivalent conditions printed side by side.
TEST(Equivalent, DesignTablesOfPublishedTurbines) {
  const EngineAndEquivalent rows[] = {
      {"Futral and Holeski, NASA TM X-1757 (1969), table I, argon",
       {5.0 / 3.0, 8314.462618 / 39.948},
       {Temperature::Rankine(1950), Pressure::PoundsPerSquareInch(13.20)},
       MassFlow::PoundsPerSecond(0.611),
       50000,
       76.34,
       MassFlow::PoundsPerSecond(1.06),
       29260,
       26.14,
       0.002,
       0.0005,
       0.001},
      {"Kofskey, Roelke, Haas, NASA TN D-7625 (1974), table I; gamma 1.320 of the combustion gas",
       {1.320, 287.05},
       {Temperature::Kelvins(1089), Pressure::Pascals(26.34e4)},
       MassFlow::KilogramsPerSecond(3.28),
       34700,
       159.3,
       MassFlow::KilogramsPerSecond(2.507),
       18075,
       43.23,
       0.002,
       0.0005,
       0.001},
      {"Haas and Kofskey, NASA TN D-7881 (1975), table I; gamma 1.2885 of the combustion gas",
       {1.2885, 287.05},
       {Temperature::Kelvins(1478), Pressure::Pascals(91.2e4)},
       MassFlow::KilogramsPerSecond(0.952),
       70000,
       307.3,
       MassFlow::KilogramsPerSecond(0.246),
       31460,
       62.1,
       0.004,
       0.0005,
       0.001},
  };
  for (const auto& row : rows) {
    const auto factors = EquivalentFactorsOf(row.gas, row.inlet, kStandardDay);
    EXPECT_NEAR(EquivalentFlow(row.flow, factors).kilograms_per_second() / row.equivalent_flow.kilograms_per_second(), 1.0, row.flow_tolerance)
        << row.source;
    EXPECT_NEAR(EquivalentSpeed(RotationalSpeed::RevolutionsPerMinute(row.speed_rpm), factors).revolutions_per_minute() / row.equivalent_rpm, 1.0,
                row.speed_tolerance)
        << row.source;
    EXPECT_NEAR(EquivalentWork(SpecificEnergy::KilojoulesPerKilogram(row.work_kj), factors).kilojoules_per_kilogram() / row.equivalent_kj, 1.0,
                row.work_tolerance)
        << row.source;
  }
  // Plain sqrt(T)/p on the same exhaust gases is low by what the collection of check values says: 2.2 and 2.9 % in flow.
  EXPECT_NEAR(Correct(rows[1].flow, rows[1].inlet, kStandardDay).kilograms_per_second(), 2.453, 0.002);
  EXPECT_NEAR(Correct(rows[2].flow, rows[2].inlet, kStandardDay).kilograms_per_second(), 0.2395, 0.0002);
}

// The same reports' printed pressure ratios, engine and equivalent, total to total and total to static; both columns have three or four digits.
TEST(Equivalent, PressureRatiosOfPublishedTurbines) {
  struct Row {
    const char* source;
    double gamma, ratio, equivalent, tolerance;
  };
  for (const Row& row : {Row{"Futral and Holeski, NASA TM X-1757 (1969), table I, argon, total", 5.0 / 3.0, 1.543, 1.482, 0.001},
                         Row{"the same, static", 5.0 / 3.0, 1.592, 1.524, 0.002},
                         Row{"Kofskey, Roelke, Haas, NASA TN D-7625 (1974), table I, total", 1.320, 1.862, 1.909, 0.002},
                         Row{"Haas and Kofskey, NASA TN D-7881 (1975), table I, total", 1.2885, 2.57, 2.77, 0.004},
                         Row{"the same, static", 1.2885, 2.92, 3.16, 0.01}}) {
    EXPECT_NEAR(EquivalentPressureRatio(row.ratio, row.gamma) / row.equivalent, 1.0, row.tolerance) << row.source;
    EXPECT_NEAR(EquivalentPressureRatio(EquivalentPressureRatio(row.ratio, row.gamma), 1.4, row.gamma), row.ratio, 1e-12) << row.source;
  }
  EXPECT_DOUBLE_EQ(EquivalentPressureRatio(2.5, 1.4), 2.5);
  EXPECT_TRUE(std::isfinite(EquivalentPressureRatio(1e9, 1.3)));
}

TEST(Equivalent, AirAtAnyInletIsPlainCorrection) {
  const Inlet inlet{Temperature::Kelvins(350), Pressure::Pascals(2e5)};
  const auto factors = EquivalentFactorsOf({1.4, kDryAirGasConstant}, inlet, kStandardDay);
  EXPECT_NEAR(factors.epsilon, 1.0, 6e-4);  // the report's 0.740 is rounded
  EXPECT_NEAR(EquivalentSpeed(RotationalSpeed::RevolutionsPerMinute(1000.0), factors).revolutions_per_minute(),
              Correct(RotationalSpeed::RevolutionsPerMinute(1000.0), inlet, kStandardDay).revolutions_per_minute(), 1e-9);
}

TEST(Correction, InletsThatAreSlipsOfUnitsAreRefused) {
  EXPECT_TRUE(CheckInlet({}));
  EXPECT_FALSE(CheckInlet({Temperature::Kelvins(25.0), Pressure::Bar(1.0)}));
  EXPECT_FALSE(CheckInlet({Temperature::Kelvins(298.0), Pressure::Pascals(100.0)}));
  EXPECT_FALSE(CheckInlet({Temperature::Kelvins(std::nan("")), Pressure::Bar(1.0)}));
}

}  // namespace
}  // namespace islebook
