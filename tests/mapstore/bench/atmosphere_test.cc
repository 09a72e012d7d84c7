#include "mapstore/bench/atmosphere.h"

#include <cmath>

#include <gtest/gtest.h>

#include "mapstore/units/atmosphere.h"

namespace islebook {
namespace {

// ISO 2533 / US Standard Atmosphere 1976, geopotential altitude: computed elsewhere from the layer formula (constants from memory) and agreeing with
// the public US-1976 table at 5,000 and 10,000 ft, below.
TEST(AtmosphereTest, AgreesWithTheStandardByGeopotentialAltitude) {
  const double rows[][4] = {
      {-500, 291.400, 107477.5, 1.28489}, {0, 288.150, 101325.0, 1.22500},   {500, 284.900, 95460.8, 1.16727},  {1000, 281.650, 89874.6, 1.11164},
      {1500, 278.400, 84556.0, 1.05807},  {2000, 275.150, 79495.2, 1.00649}, {2500, 271.900, 74682.5, 0.95686}, {3000, 268.650, 70108.5, 0.90912},
      {3500, 265.400, 65764.1, 0.86323},  {4000, 262.150, 61640.2, 0.81913}, {4500, 258.900, 57728.3, 0.77677}, {5000, 255.650, 54019.9, 0.73612},
      {5500, 252.400, 50506.8, 0.69711},  {6000, 249.150, 47181.0, 0.65970}, {1524, 278.244, 84307.3, 1.05555}, {3048, 268.338, 69681.6, 0.90464}};
  for (const auto& [altitude, temperature, pressure, density] : rows) {
    const auto air = AmbientAtAltitude(altitude);
    ASSERT_TRUE(air.has_value()) << altitude;
    EXPECT_NEAR(air->temperature_K, temperature, 6e-4) << altitude;
    EXPECT_NEAR(air->pressure_Pa, pressure, 0.06) << altitude;
    EXPECT_NEAR(air->pressure_Pa / (287.05287 * air->temperature_K), density, 6e-6) << altitude;
    EXPECT_NEAR(AltitudeOfPressure(air->pressure_Pa), altitude, 1e-6);
  }
}

// A public US-1976 table in US units (geopotential): printed digits. (The same table prints 7.4123 psi at 19,000 ft, a slip for 7.0412.)
TEST(AtmosphereTest, AgreesWithAPublicTableInUsUnits) {
  const double psi = 6894.757293168, slug_per_ft3 = 515.378819;
  const double rows[][4] = {{5000, 500.839, 12.2277, 0.00204834}, {10000, 483.008, 10.1065, 0.00175549}};
  for (const auto& [feet, rankine, pressure, density] : rows) {
    const auto air = AmbientAtAltitude(feet * 0.3048);
    ASSERT_TRUE(air.has_value());
    EXPECT_NEAR(air->temperature_K * 1.8, rankine, 0.001);
    EXPECT_NEAR(air->pressure_Pa / psi, pressure, 0.0002);
    EXPECT_NEAR(air->pressure_Pa / (287.05287 * air->temperature_K) / slug_per_ft3 / density, 1.0, 2e-4);  // its densities all stand 0.012 % high
  }
}

// A public engineering table by geometric height: printed digits.
TEST(AtmosphereTest, AgreesWithAPublicTableByGeometricHeight) {
  const double rows[][3] = {{-500, 291.4, 1.0748}, {500, 284.9, 0.9546},  {1000, 281.7, 0.8988}, {1500, 278.4, 0.8456},
                            {2000, 275.2, 0.7950}, {2500, 271.9, 0.7469}, {3000, 268.7, 0.7012}, {3500, 265.4, 0.6578},
                            {4000, 262.2, 0.6166}, {4500, 258.9, 0.5775}, {5000, 255.7, 0.5405}, {6000, 249.2, 0.4722}};
  for (const auto& [height, temperature, bar] : rows) {
    const auto air = AmbientAtAltitude(GeopotentialHeight(Length::Meters(height)).meters());
    ASSERT_TRUE(air.has_value());
    EXPECT_NEAR(air->temperature_K, temperature, 0.051) << height;
    EXPECT_NEAR(air->pressure_Pa / 1e5, bar, 0.000051) << height;
  }
}

// At 10,000 ft the corrected flow of the same mass is up by 1.403 (computed from the standard's own values).
TEST(AtmosphereTest, CorrectedFlowRisesWithAltitude) {
  const auto air = AmbientAtAltitude(3048);
  ASSERT_TRUE(air.has_value());
  EXPECT_NEAR(101325.0 / air->pressure_Pa * std::sqrt(air->temperature_K / 288.15), 1.403, 5e-4);
}

TEST(AtmosphereTest, PlacesWhereNoEngineRunsAreRefused) {
  for (const double altitude : {-2001.0, 9001.0, 100000.0, std::nan("")}) EXPECT_FALSE(AmbientAtAltitude(altitude).has_value()) << altitude;
}

// Steam tables: 2.339 kPa at 20 degrees C, 4.246 kPa at 30, 7.384 kPa at 40 (from memory). Own tolerance 0.5 %.
TEST(AtmosphereTest, SaturationPressureAgreesWithSteamTables) {
  EXPECT_NEAR(SaturationPressure(293.15) / 2339, 1.0, 0.005);
  EXPECT_NEAR(SaturationPressure(303.15) / 4246, 1.0, 0.005);
  EXPECT_NEAR(SaturationPressure(313.15) / 7384, 1.0, 0.005);
}

}  // namespace
}  // namespace islebook
