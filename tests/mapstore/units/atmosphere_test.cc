#include "mapstore/units/atmosphere.h"

#include <cmath>

#include <gtest/gtest.h>

namespace islebook {
namespace {

// ISO 2533 / US Standard Atmosphere 1976 at geopotential heights; layer formula with the standard's constants (from memory), computed by another program.
TEST(StandardAtmosphere, GeopotentialTable) {
  const struct {
    double meters, kelvins, pascals, density;
  } rows[] = {
      {-500, 291.400, 107477.5, 1.28489}, {0, 288.150, 101325.0, 1.22500},   {500, 284.900, 95460.8, 1.16727},  {1000, 281.650, 89874.6, 1.11164},
      {1500, 278.400, 84556.0, 1.05807},  {2000, 275.150, 79495.2, 1.00649}, {2500, 271.900, 74682.5, 0.95686}, {3000, 268.650, 70108.5, 0.90912},
      {3500, 265.400, 65764.1, 0.86323},  {4000, 262.150, 61640.2, 0.81913}, {4500, 258.900, 57728.3, 0.77677}, {5000, 255.650, 54019.9, 0.73612},
      {5500, 252.400, 50506.8, 0.69711},  {6000, 249.150, 47181.0, 0.65970}, {1524, 278.244, 84307.3, 1.05555}, {3048, 268.338, 69681.6, 0.90464}};
  for (const auto& row : rows) {
    const auto air = StandardAtmosphere(Length::Meters(row.meters));
    ASSERT_TRUE(air);
    EXPECT_NEAR(air->temperature.kelvins(), row.kelvins, 5.1e-4) << row.meters;
    EXPECT_NEAR(air->pressure.pascals(), row.pascals, 0.11) << row.meters;
    EXPECT_NEAR(air->density.kilograms_per_cubic_meter(), row.density, 6e-6) << row.meters;
  }
}

// A public table of the US Standard Atmosphere 1976, geopotential, US units. (The same table prints 7.4123 psi at 19 000 ft, a slip: the formula gives 7.0412.)
TEST(StandardAtmosphere, PublicTableInUsUnits) {
  const struct {
    double feet, rankine, psi, slugs;
  } rows[] = {{5000, 500.839, 12.2277, 0.00204834}, {10000, 483.008, 10.1065, 0.00175549}};
  for (const auto& row : rows) {
    const auto air = StandardAtmosphere(Length::Feet(row.feet));
    ASSERT_TRUE(air);
    EXPECT_NEAR(air->temperature.rankine(), row.rankine, 1e-3);
    EXPECT_NEAR(air->pressure.pounds_per_square_inch(), row.psi, 2e-4);
    EXPECT_NEAR(air->density.pounds_per_cubic_foot() / 32.17405 / row.slugs, 1.0,
                1.5e-4);  // its densities go with a gas constant 0.012 % smaller than the standard's
  }
  EXPECT_NEAR(StandardAtmosphere(Length::Feet(19000))->pressure.pounds_per_square_inch(), 7.0412, 2e-4);
}

// A public engineering table by geometric height: 5000 m 255.7 K, 0.5405 bar; 3000 m 268.7 K, 0.7012 bar; -500 m 291.4 K, 1.0748 bar.
TEST(StandardAtmosphere, GeometricHeights) {
  const struct {
    double meters, kelvins, bar;
  } rows[] = {{5000, 255.7, 0.5405}, {3000, 268.7, 0.7012}, {-500, 291.4, 1.0748}};
  for (const auto& row : rows) {
    const auto air = StandardAtmosphere(GeopotentialHeight(Length::Meters(row.meters)));
    ASSERT_TRUE(air);
    EXPECT_NEAR(air->temperature.kelvins(), row.kelvins, 0.051);
    EXPECT_NEAR(air->pressure.bar(), row.bar, 5.1e-5);
  }
}

// ISO 2533 at 11 and 20 km: 216.65 K and 22632 Pa, 5474.9 Pa. From memory.
TEST(StandardAtmosphere, AboveTheTropopause) {
  EXPECT_NEAR(StandardAtmosphere(Length::Meters(11000))->pressure.pascals(), 22632.0, 1.0);
  EXPECT_NEAR(StandardAtmosphere(Length::Meters(20000))->pressure.pascals(), 5474.9, 0.5);
  EXPECT_DOUBLE_EQ(StandardAtmosphere(Length::Meters(15000))->temperature.kelvins(), 216.65);
}

TEST(StandardAtmosphere, BarometerGivesTheHeightBack) {
  for (double meters = -2000.0; meters <= 20000.0; meters += 137.0) {
    const auto height = PressureAltitude(StandardAtmosphere(Length::Meters(meters))->pressure);
    ASSERT_TRUE(height) << meters;
    EXPECT_NEAR(height->meters(), meters, 1e-6);
  }
}

TEST(StandardAtmosphere, OutOfRangeIsRefused) {
  for (const double meters : {-2001.0, 20001.0, 1e9, std::nan("")}) {
    const auto air = StandardAtmosphere(Length::Meters(meters));
    ASSERT_FALSE(air) << meters;
    EXPECT_EQ(air.error().code, ErrorCode::kOutOfRange);
  }
  EXPECT_FALSE(PressureAltitude(Pressure::Bar(2.0)));
  EXPECT_FALSE(PressureAltitude(Pressure::Pascals(0.0)));
}

}  // namespace
}  // namespace islebook
