// The units a shop is used to, each against its definition or a published table.

#include "mapstore/bench/unit_habit.h"

#include <algorithm>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/bench/shop_units.h"
#include "mapstore/bench/verdicts.h"

namespace islebook {
namespace {

using ::testing::HasSubstr;

constexpr ShopQuantity kAll[] = {ShopQuantity::kFlow,  ShopQuantity::kPressure, ShopQuantity::kTemperature,
                                 ShopQuantity::kSpeed, ShopQuantity::kPower,    ShopQuantity::kLength};

UnitHabit Habit(const std::string& text) {
  const auto habit = ParseUnitHabit(text);
  EXPECT_TRUE(habit) << text << ": " << (habit ? "" : habit.error().message);
  return habit.value_or(UnitHabit());
}

// NIST Special Publication 811 (2008), appendix B.8: factors as printed there.
TEST(UnitHabitTest, FactorsAreThePublishedOnes) {
  const auto factor = [](ShopQuantity quantity, const char* unit) {
    UnitHabit habit;
    EXPECT_TRUE(habit.Set(quantity, unit)) << unit;
    return habit.Of(quantity).factor;
  };
  EXPECT_NEAR(factor(ShopQuantity::kFlow, "lb/min"), 7.559873e-3, 1e-9);
  EXPECT_NEAR(factor(ShopQuantity::kPressure, "psi"), 6.894757e3, 1e-3);
  EXPECT_NEAR(factor(ShopQuantity::kPressure, "mbar"), 1.0e2, 1e-9);
  EXPECT_NEAR(factor(ShopQuantity::kPower, "hp"), 7.456999e2, 1e-4);
  EXPECT_NEAR(factor(ShopQuantity::kPower, "PS"), 7.354988e2, 1e-4);
  EXPECT_NEAR(factor(ShopQuantity::kLength, "ft"), 3.048e-1, 1e-12);
  EXPECT_NEAR(factor(ShopQuantity::kSpeed, "rpm") * 6.283185307, 1.047198e-1, 1e-7);  // rad/s
}

TEST(UnitHabitTest, EachQuantityIsShownInItsOwnUnit) {
  const Shop mixed(Habit("si, flow lb/min, pressure kPa, temperature °F, power PS, length ft"));
  EXPECT_EQ(mixed.Flow(0.45359237 / 60 * 50), "50 lb/min");
  EXPECT_EQ(mixed.Pressure(101325), "101.3 kPa");
  EXPECT_EQ(mixed.Temperature(373.15), "212 °F");  // water boils, by definition of the scale
  EXPECT_EQ(mixed.Power(735498.75), "1000 PS");
  EXPECT_EQ(AltitudeWords(304.8, Habit("si, length ft")), "1,000 ft");
  const Shop si(UnitHabit::kSi), us(UnitHabit::kUs);
  EXPECT_EQ(si.Pressure(2.4e5), "2.400 bar");
  EXPECT_EQ(us.Pressure(101325), "14.7 psi");
  EXPECT_EQ(si.Drop(3000), "3.0 kPa");
  EXPECT_EQ(us.Drop(6894.757), "1.00 psi");
  EXPECT_EQ(Shop(Habit("si, temperature K")).Temperature(288.15), "288 K");
  EXPECT_EQ(Shop(Habit("si, pressure mbar")).Pressure(101325), "1013 mbar");
  EXPECT_NEAR(us.Difference(ShopQuantity::kTemperature, 10.0), 18.0, 1e-9);
}

TEST(UnitHabitTest, WrittenAndReadAgainItIsTheSame) {
  EXPECT_EQ(WriteUnitHabit(UnitHabit::kSi), "si");
  EXPECT_EQ(WriteUnitHabit(UnitHabit::kUs), "us");
  EXPECT_EQ(Habit("us, temperature degC"), Habit("us,temperature  °C"));
  // Every unit of every quantity, beside whatever the others are.
  for (const UnitHabit& base : {UnitHabit::kSi, UnitHabit::kUs})
    for (const ShopQuantity quantity : kAll)
      for (const ShopUnit& unit : ShopUnits(quantity)) {
        UnitHabit habit = base;
        ASSERT_TRUE(habit.Set(quantity, unit.name));
        EXPECT_EQ(Habit(WriteUnitHabit(habit)), habit) << WriteUnitHabit(habit);
      }
}

TEST(UnitHabitTest, WhatIsNoChoiceIsRefusedByName) {
  for (const char* wrong : {"", "cgs", "si, ", "si, flow", "si, flavor sweet", "flow lb/min", "si flow lb/min"})
    EXPECT_FALSE(ParseUnitHabit(wrong)) << wrong;
  const auto unit = ParseUnitHabit("si, pressure inHg");
  ASSERT_FALSE(unit);
  EXPECT_EQ(unit.error().code, ErrorCode::kUnknownUnit);
  EXPECT_THAT(unit.error().message, HasSubstr("pressure is shown in one of bar, kPa, mbar, psi, not in \"inHg\""));
}

// Limits are said in the shop's unit; 170 °C is 338 °F.
TEST(UnitHabitTest, TheBenchSpeaksInIt) {
  BenchLimits limits;
  limits.outlet_K_over = 273.15 + 170;
  const auto words = DescribeLimits(limits, Habit("si, temperature °F"), false);
  EXPECT_TRUE(std::any_of(words.begin(), words.end(), [](const LimitWords& limit) { return limit.words.find("338 °F") != std::string::npos; }));
}

}  // namespace
}  // namespace islebook
