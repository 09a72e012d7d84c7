#include "mapstore/units/quantity.h"

#include <type_traits>

#include <gtest/gtest.h>

#include "mapstore/units/unit.h"

namespace islebook {
namespace {

// Nothing from a bare number, and no kind passes for another.
static_assert(!std::is_constructible_v<MassFlow, double> && !std::is_convertible_v<double, Pressure> &&
              !std::is_constructible_v<Temperature, double>);
static_assert(!std::is_convertible_v<MassFlow, CorrectedMassFlow> && !std::is_convertible_v<CorrectedSpeed, RotationalSpeed> &&
              !std::is_convertible_v<GaugePressure, Pressure>);
static_assert(sizeof(MassFlow) == sizeof(double) && std::is_trivially_copyable_v<Pressure>);
static_assert(MassFlow::KilogramsPerSecond(0.4).kilograms_per_second() == 0.4);
static_assert(Pressure::Kilopascals(100.0) < Pressure::Bar(1.1));
static_assert(KelvinsBetween(Temperature::Celsius(15.0), Temperature::Celsius(25.0)) == 10.0);

TEST(Quantity, GoesInAndComesOutTheSame) {
  EXPECT_DOUBLE_EQ(MassFlow::PoundsPerMinute(44.0).pounds_per_minute(), 44.0);
  EXPECT_DOUBLE_EQ(MassFlow::PoundsPerSecond(1.1).pounds_per_second(), 1.1);
  EXPECT_DOUBLE_EQ(CorrectedMassFlow::KilogramsPerHour(900.0).kilograms_per_second(), 0.25);
  EXPECT_DOUBLE_EQ(CorrectedMassFlow::KilogramsPerMinute(15.0).kilograms_per_second(), 0.25);
  EXPECT_DOUBLE_EQ(CorrectedMassFlow::GramsPerSecond(250.0).kilograms_per_second(), 0.25);
  EXPECT_DOUBLE_EQ(CorrectedVolumeFlow::CubicFeetPerMinute(500.0).cubic_feet_per_minute(), 500.0);
  EXPECT_DOUBLE_EQ(VolumeFlow::CubicMetersPerHour(3600.0).cubic_meters_per_second(), 1.0);
  EXPECT_DOUBLE_EQ(RotationalSpeed::RevolutionsPerMinute(90000.0).revolutions_per_minute(), 90000.0);
  EXPECT_DOUBLE_EQ(Temperature::Fahrenheit(85.0).fahrenheit(), 85.0);
  EXPECT_DOUBLE_EQ(Temperature::Rankine(518.67).kelvins(), 288.15);
  EXPECT_DOUBLE_EQ(Temperature::Celsius(25.0).kelvins(), 298.15);
  EXPECT_DOUBLE_EQ(Pressure::PoundsPerSquareInch(14.7).pounds_per_square_inch(), 14.7);
  EXPECT_DOUBLE_EQ(Pressure::InchesOfMercury(28.4).inches_of_mercury(), 28.4);
  EXPECT_DOUBLE_EQ(Pressure::Millibar(981.0).kilopascals(), 98.1);
  EXPECT_DOUBLE_EQ(Length::Feet(5000.0).meters(), 1524.0);
  EXPECT_DOUBLE_EQ(Length::Inches(2.0).millimeters(), 50.8);
  EXPECT_DOUBLE_EQ(Volume::Liters(12.0).cubic_meters(), 0.012);
  EXPECT_DOUBLE_EQ(Volume::CubicInches(855.0).cubic_inches(), 855.0);
  EXPECT_DOUBLE_EQ(Power::Horsepower(400.0).horsepower(), 400.0);
  EXPECT_DOUBLE_EQ(TipSpeed::FeetPerSecond(1000.0).meters_per_second(), 304.8);
  EXPECT_DOUBLE_EQ(TurbineFlowParameter::KilogramRootKelvinPerSecondKilopascal(0.05).kilogram_root_kelvin_per_second_pascal(), 5e-5);
  EXPECT_DOUBLE_EQ(Density::PoundsPerCubicFoot(0.0765).pounds_per_cubic_foot(), 0.0765);
}

// Two ways to the same factor: ours here, UDUNITS's in unit.h.
TEST(Quantity, FactorsAgreeWithUdunits) {
  EXPECT_NEAR(MassFlow::PoundsPerMinute(1.0).kilograms_per_second(), *ConvertValue(1.0, "lb/min", "kg/s"), 1e-15);
  EXPECT_NEAR(VolumeFlow::CubicFeetPerMinute(1.0).cubic_meters_per_second(), *ConvertValue(1.0, "ft3/min", "m3/s"), 1e-15);
  EXPECT_NEAR(Pressure::PoundsPerSquareInch(1.0).pascals(), *ConvertValue(1.0, "psia", "Pa"), 1e-7);
  EXPECT_NEAR(Pressure::InchesOfMercury(1.0).pascals(), *ConvertValue(1.0, "inHg", "Pa"), 1e-7);
  EXPECT_NEAR(RotationalSpeed::RevolutionsPerMinute(1.0).radians_per_second(), *ConvertValue(1.0, "rpm", "rad/s"), 1e-15);
  EXPECT_NEAR(Power::Horsepower(1.0).watts(), *ConvertValue(1.0, "hp", "W"), 1e-9);
  EXPECT_NEAR(Temperature::Fahrenheit(85.0).kelvins(), *ConvertValue(85.0, "degF", "K"), 1e-9);
}

TEST(Quantity, Arithmetic) {
  const auto w = MassFlow::KilogramsPerSecond(0.4);
  EXPECT_DOUBLE_EQ((w * 2.0 - w / 2.0 + w).kilograms_per_second(), 1.0);
  EXPECT_DOUBLE_EQ(Pressure::Bar(2.4) / Pressure::Bar(0.96), 2.5);
  EXPECT_DOUBLE_EQ((w * SpecificEnergy::KilojoulesPerKilogram(100.0)).kilowatts(), 40.0);
  EXPECT_DOUBLE_EQ((VolumeFlow::CubicMetersPerSecond(2.0) * Density::KilogramsPerCubicMeter(1.2)).kilograms_per_second(), 2.4);
  EXPECT_DOUBLE_EQ((MassFlow::KilogramsPerSecond(2.4) / Density::KilogramsPerCubicMeter(1.2)).cubic_meters_per_second(), 2.0);
}

// Boost is gauge: with 3 psi lost in the cooler and 0.5 psi at the inlet, pressure ratio 2 leaves 10.7 psi in the manifold, not 14.7. Common practice, no source.
TEST(Quantity, GaugePressureNeedsABarometer) {
  const auto barometer = Pressure::PoundsPerSquareInch(14.7);
  const auto boost = GaugePressure::PoundsPerSquareInch(10.7);
  const auto outlet = boost.Above(barometer) + Pressure::PoundsPerSquareInch(3.0);
  const auto inlet = barometer - Pressure::PoundsPerSquareInch(0.5);
  EXPECT_NEAR(outlet / inlet, 2.0, 1e-12);
}

// Gas Turbine Theory (Saravanamuttoo and others), example 4.1, from memory: 290 rev/s on 0.5 m is 455.5 m/s.
// Gorla and Khan, Turbomachinery Design and Theory, example 4.4: 5945 rpm on 1 m is 311.28 m/s.
TEST(Quantity, TipSpeedsOfWorkedExamples) {
  EXPECT_NEAR(TipSpeedOf(RotationalSpeed::RevolutionsPerMinute(290.0 * 60.0), Length::Meters(0.5)).meters_per_second(), 455.5, 0.05);
  EXPECT_NEAR(TipSpeedOf(RotationalSpeed::RevolutionsPerMinute(5945.0), Length::Meters(1.0)).meters_per_second(), 311.28, 0.005);
}

}  // namespace
}  // namespace islebook
