#include "mapstore/units/unit.h"

#include <cmath>
#include <random>
#include <string>
#include <thread>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace islebook {
namespace {

using ::testing::HasSubstr;

struct Spelling {
  const char* canonical;
  std::vector<const char*> spellings;
};

const std::vector<Spelling>& DocumentSpellings() {
  static const std::vector<Spelling> rows = {
      {"lb/min",
       {"lb/min", "lb / min", "lbm/min", "lbs/min", "LB/MIN", "Lb/Min", "lb/min.", "lbs./min.", "[lb/min]", "(lb/min)", "( lbm / min )", "lb per min",
        "pounds per minute", "lb·min⁻¹", "lb min-1", "lb min^-1", "lbm/min of air", "lb/min (corrected)", "in lb/min"}},
      {"lb/s", {"lb/s", "lbm/s", "lb/sec", "lbm/sec.", "lbm s-1"}},
      {"kg/s",
       {"kg/s", "kg s-1", "kg·s⁻¹", "kg s⁻¹", "kg.s-1", "kg*s^-1", "kg/sec", "KG/S", "Kg/s", " kg / s ", "[kg/s]", "kilograms per second",
        "kg / Sek"}},
      {"kg/min", {"kg/min", "kg min-1", "kg/mn"}},
      {"kg/h", {"kg/h", "kg/hr", "kg/hour", "kg h-1", "kg/Std"}},
      {"g/s", {"g/s", "gm/s", "g s⁻¹", "grams/second", "10⁻³ kg/s"}},
      {"m3/s", {"m3/s", "m³/s", "m^3/s", "m^3 s^-1", "m³·s⁻¹", "M3/S", "m**3/s", "cubic meters per second", "cu m/s", "m 3/s"}},
      {"m3/min", {"m3/min", "m³/min"}},
      {"m3/h", {"m3/h", "m³/h", "m^3/hr", "cbm/h"}},
      {"ft3/min", {"ft3/min", "ft³/min", "cfm", "CFM", "c.f.m.", "ft^3/min", "cu ft/min", "cu. ft. per min.", "cubic feet per minute", "ACFM"}},
      {"1", {"1", "-", "[-]", "(-)", "–", "—", "ratio", "none", "dimensionless", "bar/bar", "[ - ]"}},
      {"%", {"%", "[%]", "percent", "per cent", "Prozent", "pct", "pour cent", "% open"}},
      {"rpm",
       {"rpm", "RPM", "r.p.m.", "R.P.M.", "rev/min", "revs/min", "r/min", "1/min", "[1/min]", "min-1", "min⁻¹", "min^-1", "U/min", "Upm", "Umdr/min",
        "tr/min", "/min", "revolutions per minute"}},
      {"krpm",
       {"krpm", "kRPM", "k rpm", "x1000 rpm", "x 1000 rpm", "rpm x 1000", "rpm × 1000", "rpm/1000", "1000 rpm", "10³ rpm", "10^3 rpm", "rpm x 10^3",
        "rpm × 10⁻³", "1000/min", "10³ min⁻¹", "1000 min-1", "x1000 1/min", "thousand rpm"}},
      {"m/s", {"m/s", "m s-1", "m·s⁻¹", "m/sec", "M/S", "meters per second"}},
      {"kg s-1 K0.5 kPa-1",
       {"kg s-1 K0.5 kPa-1", "kg/s·√K/kPa",        "kg/s √K/kPa",      "(kg/s)√K/kPa",     "kg √K / (s kPa)",   "kg √K/(s·kPa)",
        "kg √K / s kPa",     "kg·√K/s·kPa",        "kg·K^0.5/(s·kPa)", "kg/s K^0.5/kPa",   "kg/s K^1/2/kPa",    "kg/s K^(1/2)/kPa",
        "kg/s·K½/kPa",       "kg·s⁻¹·K^0.5·kPa⁻¹", "kg s⁻¹ K½ kPa⁻¹",  "kg/s sqrt(K)/kPa", "kg/s sqrt K / kPa", "[kg/s √K/kPa]",
        "((kg/s)√K)/kPa",    "kg K^.5 / (s kPa)",  "kgK^0.5/skPa",     "KG/S √K/KPA",      "kg/(s·kPa)·√K",     "kg s-1 K 0.5 kPa-1"}},
  };
  return rows;
}

TEST(ParseUnit, UsualSpellingsOfEveryDocumentUnit) {
  ASSERT_EQ(DocumentSpellings().size(), DocumentUnits().size());
  for (const Spelling& row : DocumentSpellings()) {
    EXPECT_TRUE(IsDocumentUnit(row.canonical));
    const auto canonical = ParseUnit(row.canonical);
    ASSERT_TRUE(canonical) << row.canonical;
    EXPECT_EQ(canonical->spelling, row.canonical);
    for (const char* spelling : row.spellings) {
      const auto unit = ParseUnit(spelling);
      ASSERT_TRUE(unit) << spelling << ": " << unit.error().message;
      EXPECT_EQ(unit->spelling, row.canonical) << spelling;
      EXPECT_EQ(unit->dimension, canonical->dimension) << spelling;
      EXPECT_NEAR(unit->factor / canonical->factor, 1.0, 1e-12) << spelling;
      EXPECT_FALSE(unit->repaired) << spelling;
    }
  }
}

// Letters that poor scans confuse (1 I l |, rn m, q g, / l, v for a root): understood where only one unit can be meant, and said to be repaired.
TEST(ParseUnit, WearThatLeavesOneMeaning) {
  const std::pair<const char*, const char*> rows[] = {
      {"Ib/min", "lb/min"},
      {"1b/min", "lb/min"},
      {"|b/min", "lb/min"},
      {"ib / min", "lb/min"},
      {"Ibm/min", "lb/min"},
      {"lb/rnin", "lb/min"},
      {"lb/m1n", "lb/min"},
      {"lb/mln", "lb/min"},
      {"Ib/mln", "lb/min"},
      {"lblmin", "lb/min"},
      {"Iblmin", "lb/min"},
      {"kgls", "kg/s"},
      {"kg|s", "kg/s"},
      {"kq/s", "kg/s"},
      {"rprn", "rpm"},
      {"kg/s vK/kPa", "kg s-1 K0.5 kPa-1"},
      {"kg/s VK/kPa", "kg s-1 K0.5 kPa-1"},
      {"1/m1n", "rpm"},
  };
  for (const auto& [worn, canonical] : rows) {
    const auto unit = ParseUnit(worn);
    ASSERT_TRUE(unit) << worn;
    EXPECT_EQ(unit->spelling, canonical) << worn;
    EXPECT_TRUE(unit->repaired) << worn;
  }
  EXPECT_EQ(ParseUnit("kg/ s")->spelling, "kg/s");
}

TEST(ParseUnit, WhatIsAmbiguousOrNoUnitIsRefused) {
  for (const char* text : {"",
                           "   ",
                           "m?/s",
                           "m°/s",
                           "m'/s",
                           "m2/s",
                           "103 rpm",
                           "kg/",
                           "kg//s",
                           "(kg/s",
                           "kg/s)",
                           "√",
                           "√K",
                           "hello",
                           "kg/s/kPa",
                           "kg/5",
                           "kg/s x 10^-2",
                           "psi/bar",
                           "kg √K",
                           "kg^0.3/s",
                           "2 kg/s",
                           "kg/s √T/p",
                           "\xFF\xFE",
                           "()",
                           "[[[[",
                           "****",
                           "10^",
                           "10^999 rpm",
                           "-1",
                           "0 rpm",
                           "kg s-1 K0.25 kPa-1"}) {
    const auto unit = ParseUnit(text);
    EXPECT_FALSE(unit) << text << " -> " << unit->spelling;
    if (!unit) {
      EXPECT_EQ(unit.error().code, ErrorCode::kUnknownUnit);
    }
  }
  EXPECT_THAT(ParseUnit("scfm").error().message, HasSubstr("standard"));
  EXPECT_THAT(ParseUnit("Nm3/h").error().message, HasSubstr("standard"));
  EXPECT_THAT(ParseUnit("ton/h").error().message, HasSubstr("several"));
  EXPECT_THAT(ParseUnit("gal/min").error().message, HasSubstr("several"));
  EXPECT_FALSE(ParseUnit(std::string(5000, '(')));
}

TEST(ParseUnit, GaugeAndAbsolutePressures) {
  for (const char* text : {"psia", "bar(a)", "bar (a)", "bara", "bar a", "kPa abs", "kPa (abs)", "bar absolute", "inHg abs", "mbar(a)", "psi abs."}) {
    const auto unit = ParseUnit(text);
    ASSERT_TRUE(unit) << text;
    EXPECT_EQ(unit->basis, PressureBasis::kAbsolute) << text;
    EXPECT_EQ(unit->dimension, Dimension::kPressure) << text;
  }
  for (const char* text : {"psig", "bar(g)", "barg", "bar g", "bar gauge", "psi boost", "boost psi", "kPa(g)", "inHg gauge", "barü", "bar(ü)", "atü",
                           "bar rel", "PSIG"}) {
    const auto unit = ParseUnit(text);
    ASSERT_TRUE(unit) << text;
    EXPECT_EQ(unit->basis, PressureBasis::kGauge) << text;
  }
  for (const char* text : {"psi", "bar", "kPa", "mbar", "inHg", "in. Hg", "\"Hg", "mm Hg", "atm", "hPa", "MPa", "kg/cm²", "in H2O"}) {
    const auto unit = ParseUnit(text);
    ASSERT_TRUE(unit) << text;
    EXPECT_EQ(unit->basis, PressureBasis::kUnstated) << text;
    EXPECT_EQ(unit->dimension, Dimension::kPressure) << text;
  }
  const auto mixed = ConvertValue(10.0, "psig", "kPa");
  ASSERT_FALSE(mixed);
  EXPECT_EQ(mixed.error().code, ErrorCode::kIncompatibleUnit);
  EXPECT_THAT(mixed.error().message, HasSubstr("barometer"));
  EXPECT_NEAR(*ConvertValue(10.0, "psig", "bar(g)"), 0.6894757, 1e-6);
  EXPECT_NEAR(*ConvertValue(10.0, "psia", "kPa"), 68.94757, 1e-4);
}

struct Factor {
  const char* unit;
  const char* si;
  double factor;
  double relative_tolerance;
  const char* source;
};

// Conversion factors against published values. The international pound, foot and inch and the kelvin scales are exact by definition.
TEST(ConvertValue, PublishedFactors) {
  const Factor rows[] = {
      {"lb/min", "kg/s", 0.45359237 / 60.0, 1e-14, "international pound, 1959: 0.453 592 37 kg exactly (from memory)"},
      {"lb/s", "kg/s", 0.45359237, 1e-14, "same"},
      {"ft3/min", "m3/s", 0.3048 * 0.3048 * 0.3048 / 60.0, 1e-14, "international foot, 1959: 0.3048 m exactly (from memory)"},
      {"inHg", "Pa", 3386.389, 1e-6, "NIST SP 811, appendix B: inch of mercury, conventional, 3.386 389 E+03 (from memory)"},
      {"psi", "Pa", 6894.757, 1e-7, "NIST SP 811, appendix B: 6.894 757 E+03 (from memory)"},
      {"mmHg", "Pa", 133.3224, 1e-6, "NIST SP 811, appendix B: 1.333 224 E+02 (from memory)"},
      {"inH2O", "Pa", 249.0889, 1e-6, "NIST SP 811, appendix B: inch of water, conventional, 2.490 889 E+02 (from memory)"},
      {"hp", "W", 745.6999, 1e-7, "NIST SP 811, appendix B: 7.456 999 E+02 (from memory)"},
      {"PS", "W", 735.4988, 1e-6, "NIST SP 811, appendix B: horsepower (metric) 7.354 988 E+02 (from memory)"},
      {"lbf ft", "N m", 1.355818, 1e-6, "NIST SP 811, appendix B: 1.355 818 (from memory)"},
      {"Btu/lb", "J/kg", 2326.0, 1e-6, "NIST SP 811, appendix B: 2.326 E+03 (from memory)"},
      {"degR", "K", 5.0 / 9.0, 1e-14, "by definition"},
      {"rpm", "rad/s", 2.0 * 3.14159265358979323846 / 60.0, 1e-14, "by definition"},
      {"atm", "Pa", 101325.0, 1e-14, "standard atmosphere, by definition"},
      {"kg s-1 K0.5 bar-1", "kg s-1 K0.5 kPa-1", 0.01, 1e-12, "by definition"},
  };
  for (const Factor& row : rows) {
    const auto value = ConvertValue(1.0, row.unit, row.si);
    ASSERT_TRUE(value) << row.unit << ": " << value.error().message;
    EXPECT_NEAR(*value / row.factor, 1.0, row.relative_tolerance) << row.unit << ", " << row.source;
  }
  EXPECT_NEAR(*ConvertValue(85.0, "degF", "K"), 302.594, 5e-4);      // published/README 1.2 of the trade: 85 degF is 302.594 K
  EXPECT_NEAR(*ConvertValue(518.67, "degR", "K"), 288.15, 1e-9);     // standard day in both scales, NASA HECC data (518.67 degR)
  EXPECT_NEAR(*ConvertValue(14.696, "psia", "kPa"), 101.325, 5e-3);  // same
  EXPECT_NEAR(*ConvertValue(28.4, "inHg", "Pa"), 96173.0, 1.0);      // 28.4 x 3386.389
  EXPECT_NEAR(*ConvertValue(100.0, "degC", "degF"), 212.0, 1e-9);
}

// Published relation of the two usual turbine flow scales in US units: flow parameter = corrected flow x sqrt(518.67)/14.696, factor 1/0.6453.
// 1 lb/min corrected to the standard day, in lb/min sqrt(degR)/psi and in kg/s sqrt(K)/kPa.
TEST(ConvertValue, FlowParameterBetweenUnitSystems) {
  const double us = std::sqrt(518.67) / 14.696;
  EXPECT_NEAR(1.0 / us, 0.6453, 5e-5);
  const double si = 0.45359237 / 60.0 * std::sqrt(288.15) / 101.325;
  EXPECT_NEAR(*ConvertValue(us, "lb/min √R/psi", "kg s-1 K0.5 kPa-1") / si, 1.0, 5e-5);
  EXPECT_EQ(ParseUnit("lb/min √R/psi")->spelling, "lb min-1 degR0.5 psi-1");
  EXPECT_EQ(ParseUnit("(kg/s)√K/bar")->spelling, "kg s-1 K0.5 bar-1");
}

TEST(ConvertValue, MassAndVolumeFlowPartAtADensity) {
  const auto value = ConvertValue(1.0, "lb/min", "cfm");
  ASSERT_FALSE(value);
  EXPECT_EQ(value.error().code, ErrorCode::kIncompatibleUnit);
  EXPECT_THAT(value.error().message, HasSubstr("density"));
  EXPECT_FALSE(ConvertValue(1.0, "rpm", "m/s"));
  EXPECT_FALSE(ConvertValue(1.0, "nonsense", "m/s"));
}

TEST(ConvertValue, ThereAndBackIsTheSame) {
  std::mt19937 random(5);
  std::uniform_real_distribution<double> values(-1000.0, 1000.0);
  const char* const pairs[][2] = {{"lb/min", "kg/h"},
                                  {"ft3/min", "m3/h"},
                                  {"degF", "degC"},
                                  {"inHg", "mbar"},
                                  {"rpm", "krpm"},
                                  {"%", "1"},
                                  {"lb min-1 degR0.5 psi-1", "kg s-1 K0.5 kPa-1"},
                                  {"hp", "kW"}};
  for (const auto& pair : pairs)
    for (int i = 0; i < 200; ++i) {
      const double value = values(random);
      const double back = *ConvertValue(*ConvertValue(value, pair[0], pair[1]), pair[1], pair[0]);
      ASSERT_NEAR(back, value, 1e-9 * (1.0 + std::fabs(value))) << pair[0];
    }
}

TEST(ToDocumentUnit, KeepsPrintedDigitsWhereItCan) {
  const struct {
    const char* unit;
    const char* document;
    double multiply;
  } rows[] = {{"lb/min", "lb/min", 1.0},
              {"L/s", "m3/s", 1e-3},
              {"t/h", "kg/h", 1e3},
              {"lb/h", "lb/min", 1.0 / 60.0},
              {"(kg/s)√K/bar", "kg s-1 K0.5 kPa-1", 0.01},
              {"rps", "rpm", 60.0},
              {"cfm", "ft3/min", 1.0}};
  for (const auto& row : rows) {
    const auto choice = ToDocumentUnit(*ParseUnit(row.unit));
    ASSERT_TRUE(choice) << row.unit;
    EXPECT_EQ(choice->unit, row.document) << row.unit;
    EXPECT_NEAR(choice->multiply / row.multiply, 1.0, 1e-12) << row.unit;
  }
  EXPECT_FALSE(ToDocumentUnit(*ParseUnit("degC")));
  EXPECT_FALSE(ToDocumentUnit(*ParseUnit("psia")));
}

TEST(ParseUnit, RandomTextNeverCrashesAndWhatItGivesReadsBack) {
  std::mt19937 random(9);
  static const char* const kPieces[] = {"kg",   "/", "s", "·", "√", "K", "(",   ")", "kPa",  "^", "-", "1", "0.5", " ",   "lb", "min", "rpm", "x",
                                        "1000", "°", "F", "[", "]", "%", "bar", "a", "\xC3", "|", "I", "²", "⁻",   "per", "*",  "psi", "g"};
  int understood = 0;
  for (int i = 0; i < 20000; ++i) {
    std::string text;
    for (unsigned n = 1 + random() % 7; n > 0; --n) text += kPieces[random() % std::size(kPieces)];
    const auto unit = ParseUnit(text);
    if (!unit) continue;
    ++understood;
    ASSERT_TRUE(std::isfinite(unit->factor) && unit->factor > 0.0) << text;
    const auto again = ParseUnit(unit->spelling);
    ASSERT_TRUE(again) << text << " -> " << unit->spelling;
    ASSERT_EQ(again->dimension, unit->dimension) << text << " -> " << unit->spelling;
    ASSERT_NEAR(again->factor / unit->factor, 1.0, 1e-12) << text << " -> " << unit->spelling;
    ASSERT_EQ(again->basis, unit->basis) << text << " -> " << unit->spelling;
  }
  EXPECT_GT(understood, 500);
}

TEST(ParseUnit, ManyThreadsAtOnce) {
  std::vector<std::thread> threads;
  std::vector<int> good(4, 0);
  for (std::size_t t = 0; t < good.size(); ++t)
    threads.emplace_back([&good, t] {
      for (int i = 0; i < 200; ++i) {
        const auto unit = ParseUnit(i % 2 == 0 ? "furlong" : "lb/min √R/psi");  // the first goes all the way to UDUNITS
        good[t] += unit ? 1 : 0;
      }
    });
  for (std::thread& thread : threads) thread.join();
  for (const int n : good) EXPECT_EQ(n, 200);
}

}  // namespace
}  // namespace islebook
