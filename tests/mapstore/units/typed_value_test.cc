#include "mapstore/units/typed_value.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/units/printed_number.h"

namespace islebook {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

TEST(ParseTypedValue, ValuesAsPeopleTypeThem) {
  const struct {
    const char* text;
    double value;
    const char* unit;
    double si;
  } rows[] = {
      {"0.42 kg/s", 0.42, "kg/s", 0.42},
      {"0.42kg/s", 0.42, "kg/s", 0.42},
      {".42 kg/s", 0.42, "kg/s", 0.42},
      {"0,42 kg/s", 0.42, "kg/s", 0.42},
      {"15 degC", 15.0, "degC", 288.15},
      {"15C", 15.0, "degC", 288.15},
      {"-5 °C", -5.0, "degC", 268.15},
      {"−5 °C", -5.0, "degC", 268.15},
      {"85 °F", 85.0, "degF", 302.5944444},
      {"298 K", 298.0, "K", 298.0},
      {"28.4 inHg", 28.4, "inHg", 96173.437},
      {"981 mbar", 981.0, "mbar", 98100.0},
      {"5000 ft", 5000.0, "ft", 1524.0},
      {"5,000 ft", 5000.0, "ft", 1524.0},
      {"2.5 bar(a)", 2.5, "bar(a)", 250000.0},
      {"90,000 rpm", 90000.0, "rpm", 9424.77796},
      {"90 000 1/min", 90000.0, "rpm", 9424.77796},
      {"1.234,5 kg/h", 1234.5, "kg/h", 0.342916667},
      {"1,234.5 kg/h", 1234.5, "kg/h", 0.342916667},
      {"74%", 74.0, "%", 0.74},
      {"12 L", 12.0, "L", 0.012},
      {"400 hp", 400.0, "hp", 298279.9486},
      {"1e-3 kg/s", 0.001, "kg/s", 0.001},
      {"2.4 -", 2.4, "1", 2.4},
  };
  for (const auto& row : rows) {
    const auto typed = ParseTypedValue(row.text);
    ASSERT_TRUE(typed) << row.text << ": " << typed.error().message;
    EXPECT_DOUBLE_EQ(typed->value, row.value) << row.text;
    EXPECT_EQ(typed->unit.spelling, row.unit) << row.text;
    EXPECT_NEAR(typed->si(), row.si, 1e-7 * row.si) << row.text;
    EXPECT_FALSE(typed->gauge()) << row.text;
  }
}

TEST(ParseTypedValue, GaugePressuresAreReportedAsGauge) {
  for (const char* text : {"14 psig", "14 psi boost", "boost 14 psi", "boost: 0.97 bar", "1 bar(g)", "100 kPa gauge", "1.2 barü"}) {
    const auto typed = ParseTypedValue(text);
    ASSERT_TRUE(typed) << text;
    EXPECT_TRUE(typed->gauge()) << text;
  }
  EXPECT_FALSE(ParseTypedValue("14 psia")->gauge());
  EXPECT_EQ(ParseTypedValue("14 psi")->unit.basis, PressureBasis::kUnstated);
}

TEST(ParseTypedValue, UnitIfNone) {
  const auto typed = ParseTypedValue("42", *ParseUnit("lb/min"));
  ASSERT_TRUE(typed);
  EXPECT_EQ(typed->unit.spelling, "lb/min");
  EXPECT_EQ(ParseTypedValue("0.3 kg/s", *ParseUnit("lb/min"))->unit.spelling, "kg/s");
  EXPECT_FALSE(ParseTypedValue("42"));
}

TEST(ParseTypedValue, WhatCannotBeOneValueIsRefused) {
  const struct {
    const char* text;
    ErrorCode code;
    const char* says;
  } rows[] = {
      {"", ErrorCode::kInvalidArgument, "number"},
      {"kg/s", ErrorCode::kInvalidArgument, "number"},
      {"1,234 kg/s", ErrorCode::kInvalidArgument, "1234 or 1.234"},
      {"90.000 U/min", ErrorCode::kInvalidArgument, "90 or 90000"},
      {"5 ft 3 in", ErrorCode::kUnknownUnit, "ft 3 in"},
      {"3", ErrorCode::kUnknownUnit, "unit"},
      {"1e999 kg/s", ErrorCode::kInvalidArgument, "number"},
      {"nan kg/s", ErrorCode::kInvalidArgument, "number"},
      {"4 parsecs per beard", ErrorCode::kUnknownUnit, "parsecs"},
      {"10 scfm", ErrorCode::kUnknownUnit, "standard"},
  };
  for (const auto& row : rows) {
    const auto typed = ParseTypedValue(row.text);
    ASSERT_FALSE(typed) << row.text;
    EXPECT_EQ(typed.error().code, row.code) << row.text;
    EXPECT_THAT(typed.error().message, HasSubstr(row.says)) << row.text;
  }
}

TEST(ReadPrintedNumber, SeparatorsAndTheirMeanings) {
  EXPECT_THAT(ReadPrintedNumber("1,234")->values, ElementsAre(1234.0, 1.234));
  EXPECT_THAT(ReadPrintedNumber("1.234")->values, ElementsAre(1.234, 1234.0));
  EXPECT_THAT(ReadPrintedNumber("0,420")->values, ElementsAre(0.42));
  EXPECT_THAT(ReadPrintedNumber("1234,5")->values, ElementsAre(1234.5));
  EXPECT_THAT(ReadPrintedNumber("1,234,567")->values, ElementsAre(1234567.0));
  EXPECT_THAT(ReadPrintedNumber("1.234.567,8")->values, ElementsAre(1234567.8));
  EXPECT_THAT(ReadPrintedNumber("101 325 Pa")->values, ElementsAre(101325.0));
  EXPECT_EQ(ReadPrintedNumber("101 325 Pa")->length, 7u);
  EXPECT_EQ(ReadPrintedNumber("85 28.4")->length, 2u);
  EXPECT_THAT(ReadPrintedNumber("20'000")->values, ElementsAre(20000.0));
  EXPECT_THAT(ReadPrintedNumber("5.")->values, ElementsAre(5.0));
  EXPECT_FALSE(ReadPrintedNumber("1.2.3"));
  EXPECT_FALSE(ReadPrintedNumber("x1"));
  EXPECT_FALSE(ReadPrintedNumber("-"));
  EXPECT_FALSE(ReadPrintedNumber("lO"));
  EXPECT_THAT(ReadPrintedNumber("lO0 kPa", true)->values, ElementsAre(100.0));
  EXPECT_TRUE(ReadPrintedNumber("lO0 kPa", true)->repaired);
  EXPECT_FALSE(ReadPrintedNumber("lO kPa", true));  // no true digit in it
  EXPECT_EQ(ReadPrintedNumber("85oF", true)->length, 2u);
}

}  // namespace
}  // namespace islebook
