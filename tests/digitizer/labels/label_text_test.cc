#include "digitizer/labels/label_text.h"

#include <gtest/gtest.h>

namespace islebook {
namespace {

struct Printed {
  const char* text;
  double value;
  const char* unit;
};

// Spellings as charts print them: common practice, no source.
TEST(LabelText, WhatChartsPrint) {
  const Printed cases[] = {
      {"105,000", 105000, ""},
      {"0.74", 0.74, "1"},
      {"74%", 74, "%"},
      {"74 %", 74, "%"},
      {"150k", 150, "krpm"},
      {"67.5k", 67.5, "krpm"},
      {"90 000", 90000, ""},
      {"90.000", 90000, ""},
      {"1 050 000", 1050000, ""},
      {"350 m/s", 350, "m/s"},
      {"n = 90000 1/min", 90000, "rpm"},
      {"N = 142500", 142500, ""},
      {"105%Nc", 105, "%"},
      {"85 %N_c", 85, "%"},
      {"95%N,c", 95, "%"},
      {".875", 0.875, "1"},
      {"0,74", 0.74, "1"},
      {"135000", 135000, ""},
      {"90,000 rpm", 90000, "rpm"},
      {"95 krpm", 95, "krpm"},
      {"\u03b7=0.71", 0.71, "1"},
      {"74", 74, ""},
      {"1.05", 1.05, ""},
      {"60%", 60, "%"},
      {"97,500", 97500, ""},
      {"90'000", 90000, ""},
      {"120000 min\u207b\u00b9", 120000, "rpm"},
      {"82.5", 82.5, ""},
      {"0.745", 0.745, "1"},
      {"1,234.5", 1234.5, ""},
  };
  for (const Printed& c : cases) {
    const auto parsed = ParseLabelText(c.text);
    ASSERT_TRUE(parsed) << c.text;
    EXPECT_DOUBLE_EQ(parsed->value, c.value) << c.text;
    EXPECT_EQ(parsed->unit, c.unit) << c.text;
    EXPECT_FALSE(parsed->repaired) << c.text;
  }
}

TEST(LabelText, LookAlikesOnlyAmongDigits) {
  const Printed cases[] = {{"1O5,OOO", 105000, ""}, {"9O%", 90, "%"},    {"l35000", 135000, ""},
                           {"7S000", 75000, ""},    {"0.B1", 0.81, "1"}, {"12Ok", 120, "krpm"}};
  for (const Printed& c : cases) {
    const auto parsed = ParseLabelText(c.text);
    ASSERT_TRUE(parsed) << c.text;
    EXPECT_DOUBLE_EQ(parsed->value, c.value) << c.text;
    EXPECT_EQ(parsed->unit, c.unit) << c.text;
    EXPECT_TRUE(parsed->repaired) << c.text;
  }
}

TEST(LabelText, WhatIsNoLabel) {
  for (const char* text : {"",  " ", "surge", "Alder 52",  "SOIL",       "lB",    "0.6.9",        "074", "12:30",  "1,2,3",   "-5",
                           "%", "k", "0",     "28.4 inHg", "85 \u00b0F", "298 K", "Tref = 298 K", "n =", "5 kg/s", "1.2.3.4", "99999999999"})
    EXPECT_FALSE(ParseLabelText(text)) << text;
}

TEST(LabelText, Units) {
  EXPECT_EQ(SpeedUnitOf("rpm"), "rpm");
  EXPECT_EQ(SpeedUnitOf("1/min"), "rpm");
  EXPECT_EQ(SpeedUnitOf("U/min"), "rpm");
  EXPECT_EQ(SpeedUnitOf("m/s"), "m/s");
  EXPECT_EQ(SpeedUnitOf("%"), "%");
  EXPECT_EQ(SpeedUnitOf("kg/s"), "");
  EXPECT_EQ(SpeedUnitOf("speed"), "");
}

}  // namespace
}  // namespace islebook
