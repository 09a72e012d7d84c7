#include "mapstore/units/reference_conditions.h"

#include <cmath>
#include <random>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace islebook {
namespace {

using ::testing::HasSubstr;

struct Note {
  const char* text;
  double temperature_K;
  double pressure_Pa;
};

void ExpectRead(const Note& note, bool repaired) {
  const ReferenceReading reading = ParseReferenceConditions(note.text);
  ASSERT_TRUE(reading.conditions) << note.text << ": " << reading.reason;
  EXPECT_NEAR(reading.conditions->temperature_K, note.temperature_K, 0.01) << note.text;
  EXPECT_NEAR(reading.conditions->pressure_Pa / note.pressure_Pa, 1.0, 1e-5) << note.text;
  EXPECT_EQ(reading.conditions->basis, ReferenceConditions::Basis::kPrinted);
  EXPECT_EQ(reading.repaired, repaired) << note.text;
  EXPECT_EQ(reading.reason, "");
}

TEST(ParseReferenceConditions, NotesAsTheyArePrinted) {
  const Note notes[] = {
      {"Corrected to 85 °F, 28.4 inHg", 302.594, 96173.4},
      {"Corrected to 85°F and 28.4\"Hg", 302.594, 96173.4},
      {"Corrected to 85 degrees Fahrenheit and 28.4 inches of mercury", 302.594, 96173.4},
      {"corrected to 29.92 inHg and 60F", 288.706, 101320.7},
      {"Corrected to 85 °F (29.4 °C), 28.4 inHg (96.2 kPa)", 302.594, 96173.4},
      {"545 °R, 13.95 psia", 302.778, 96181.9},
      {"518.67 R and 14.696 psia", 288.15, 101325.4},
      {"59 deg F, 29.92 in. Hg", 288.15, 101320.7},
      {"Ref. 68°F; 14.7 psi", 293.15, 101352.9},
      {"Tref = 298 K, pref = 100 kPa", 298.0, 100000.0},
      {"Tref=298K, Pref=1000 hPa", 298.0, 100000.0},
      {"T_ref = 20 °C, p_ref = 0.1 MPa", 293.15, 100000.0},
      {"Tref [K] = 298, pref [kPa]: 100", 298.0, 100000.0},
      {"T01 = 288.15 K, p01 = 101325 Pa", 288.15, 101325.0},
      {"T0=288 K p0=101 325 Pa", 288.0, 101325.0},
      {"p0 = 1.013e5 Pa, T0 = 288 K", 288.0, 101300.0},
      {"298K/100kPa", 298.0, 100000.0},
      {"Reference 15 °C / 1.01325 bar", 288.15, 101325.0},
      {"Reference conditions: 1 atm, 15 C", 288.15, 101325.0},
      {"760 mm Hg, 15 °C", 288.15, 101325.0},
      {"15°C, 10.13 N/cm²", 288.15, 101300.0},
      {"20 °C and 1 kg/cm²", 293.15, 98066.5},
      {"T ref 293 K, p ref 981 mbar", 293.0, 98100.0},
      {"referred to 25 C and 0.98 bar", 298.15, 98000.0},
      {"20°C 0.981 bar", 293.15, 98100.0},
      {"25 °C / 100 kPa(a)", 298.15, 100000.0},
      {"Tref:298 K   Pref:100 kPa abs", 298.0, 100000.0},
      {"bezogen auf 20 °C und 0,981 bar", 293.15, 98100.0},
      {"Bezugszustand: 293 K; 981 mbar", 293.0, 98100.0},
      {"Normbedingungen 288,15 K und 101,325 kPa", 288.15, 101325.0},
      {"20 Grad C, 1 bar", 293.15, 100000.0},
      {"Korrigiert auf 298 K und 1 bar", 298.0, 100000.0},
      {"ramené à 15 °C et 1,013 bar", 288.15, 101300.0},
      {"Test at 21 °C and 99 kPa, corrected to 25 °C and 100 kPa", 298.15, 100000.0},
      {"Oil 4 bar, 100 °C; corrected to 288 K, 1.013 bar", 288.0, 101300.0},
      {"standard day", 288.15, 101325.0},
      {"corrected to ISA", 288.15, 101325.0},
  };
  for (const Note& note : notes) ExpectRead(note, false);
}

TEST(ParseReferenceConditions, NotesThroughMisreadings) {
  const Note slips_of_signs[] = {
      {"Corrected to 85 oF, 28.4 inHig", 302.594, 96173.4},
      {"Corrected to 85 *F, 28.4 in. Hg", 302.594, 96173.4},
      {"Corrected to 85 0F, 28.4 inHg", 302.594, 96173.4},
      {"Corrected t0 85 °F, 28.4 lnHg", 302.594, 96173.4},
      {"85 'F, 28.4 inHq", 302.594, 96173.4},
      {"Tref 298 K, Pref 100 KPA", 298.0, 100000.0},
      {"20 *C, 981 rnbar", 293.15, 98100.0},
  };
  for (const Note& note : slips_of_signs) ExpectRead(note, false);
  const Note guessed_digits[] = {
      {"Tref = 298 K, pref = l00 kPa", 298.0, 100000.0}, {"Tref = 298 K, pref = 1OO kPa", 298.0, 100000.0},
      {"T ref 293 K, p ref 98l mbar", 293.0, 98100.0},   {"Corrected to 850F, 28.4 inHg", 302.594, 96173.4},
      {"corrected to 200C, 0.981 bar", 293.15, 98100.0}, {"T ref 293 K, p ref O.981 bar", 293.0, 98100.0},
  };
  for (const Note& note : guessed_digits) ExpectRead(note, true);
}

TEST(ParseReferenceConditions, HalfFoundImplausibleOrAmbiguousSaysWhy) {
  const std::pair<const char*, const char*> rows[] = {
      {"Corrected to 298 K", "no pressure"},
      {"Corrected to 100 kPa", "no temperature"},
      {"Corrected to 85 °F, 284 inHg", "284 inHg"},
      {"Corrected to 873 K, 100 kPa", "873 K"},
      {"Inlet 20 °C, 10 psig", "gauge"},
      {"20 °C, 1 bar(g)", "gauge"},
      {"Test at 21 °C or 25 °C and 100 kPa", "differ"},
      {"298/100", "no reference"},
      {"Fellside Rotors Alder 52 compressor", "no reference"},
      {"Speeds 60000 to 120000 rpm", "no reference"},
      {"Corrected Air Flow (lb/min)", "no reference"},
      {"", "no reference"},
  };
  for (const auto& [text, reason] : rows) {
    const ReferenceReading reading = ParseReferenceConditions(text);
    EXPECT_FALSE(reading.conditions) << text;
    EXPECT_THAT(reading.reason, HasSubstr(reason)) << text;
  }
  EXPECT_NEAR(*ParseReferenceConditions("Corrected to 298 K").temperature_K, 298.0, 1e-9);
}

// Printed in any of the usual ways, any plausible pair comes back.
TEST(ParseReferenceConditions, RandomPairsInManyWordings) {
  std::mt19937 random(4);
  std::uniform_real_distribution<double> celsius(-5.0, 40.0), kilopascals(90.0, 105.0);
  for (int i = 0; i < 500; ++i) {
    const double t = std::round(celsius(random) * 10.0) / 10.0, p = std::round(kilopascals(random) * 10.0) / 10.0;
    char text[120];
    switch (i % 5) {
      case 0: std::snprintf(text, sizeof text, "Tref = %.2f K, pref = %.1f kPa", t + 273.15, p); break;
      case 1: std::snprintf(text, sizeof text, "Corrected to %.1f °C and %.0f mbar", t, p * 10.0); break;
      case 2: std::snprintf(text, sizeof text, "%.2f °F / %.3f inHg", t * 1.8 + 32.0, p / 3.386389); break;
      case 3: std::snprintf(text, sizeof text, "p0 = %.4f bar; T0 = %.1f°C", p / 100.0, t); break;
      default: std::snprintf(text, sizeof text, "%.2f °R, %.3f psia", (t + 273.15) * 1.8, p / 6.894757); break;
    }
    const ReferenceReading reading = ParseReferenceConditions(text);
    ASSERT_TRUE(reading.conditions) << text << ": " << reading.reason;
    EXPECT_NEAR(reading.conditions->temperature_K, t + 273.15, 0.01) << text;
    EXPECT_NEAR(reading.conditions->pressure_Pa, p * 1000.0, 60.0) << text;  // mbar are printed whole
  }
}

TEST(ParseReferenceConditions, RandomTextNeverCrashes) {
  std::mt19937 random(8);
  static const char* const kPieces[] = {"85", " ", "°", "F", "28.4", "inHg", "l00",      "kPa", ",",  ".",  "K",  "298", "(",
                                        ")",  "[", "=", "O", "bar",  "(g)",  "\xE2\x88", "-",   "\"", "Hg", "e5", "I",   "ref"};
  for (int i = 0; i < 20000; ++i) {
    std::string text;
    for (unsigned n = random() % 12; n > 0; --n) text += kPieces[random() % std::size(kPieces)];
    const ReferenceReading reading = ParseReferenceConditions(text);
    EXPECT_NE(reading.conditions.has_value(), !reading.reason.empty()) << text;
  }
}

// The table of pairs in use, and what they do to the same physical point against the standard day: flow times sqrt(288.15/T) p/101325, speed times sqrt(T/288.15).
// Ratios: collected check values for reference conditions, computed independently of this code.
TEST(ReferenceConditions, PairsInUseAgainstTheStandardDay) {
  const struct {
    double temperature_K, pressure_Pa, flow, speed;
  } rows[] = {{298.0, 100000.0, 0.970475, 1.016948},
              {302.594, 96173.0, 0.926227, 1.024758},
              {293.15, 98100.0, 0.959880, 1.008639},
              {288.15, 101325.0, 1.0, 1.0}};
  for (const auto& row : rows) {
    const auto* named = FindNamedReferenceConditions({row.temperature_K, row.pressure_Pa});
    ASSERT_NE(named, nullptr);
    EXPECT_NEAR(std::sqrt(288.15 / named->temperature_K) * named->pressure_Pa / 101325.0, row.flow, 1e-5);
    EXPECT_NEAR(std::sqrt(named->temperature_K / 288.15), row.speed, 1e-5);
  }
  EXPECT_EQ(FindNamedReferenceConditions({300.0, 90000.0}), nullptr);
}

}  // namespace
}  // namespace islebook
