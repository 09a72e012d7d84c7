#include "mapstore/bench/case_file.h"
#include "mapstore/bench/case_reader.h"
#include "mapstore/bench/toml_tree.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace islebook {
namespace {

using testing::HasSubstr;

constexpr const char* kFerry = R"(title = "Lake ferry engine, main shaft"
units = "si"

[engine]
displacement = "12.5 L"
strokes = 4
speed = "1,800 rpm"
volumetric_efficiency = "92 %"
boost = "1.4 bar"
air_fuel_ratio = 24
brake_specific_fuel_consumption = "210 g/kWh"

[ambient]
altitude = ["0 m", "5000 ft"]
temperature = "16 °C"

[air_path]
inlet_loss = "3 kPa at 0.5 kg/s"
cooler_loss = "2 %"
cooler_effectiveness = 0.8
coolant_temperature = "77 °F"

[[stage]]
name = "charger"
compressor = "Rowan 83"
speed_limit = "95 krpm"

[[point]]
name = "rated"

[[point]]
speed = "1200 rpm"
manifold_pressure = "34.7 psia"
volumetric_efficiency = 0.9
)";

std::string With(const std::string& from, const std::string& to) {
  std::string text = kFerry;
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

// The line of the case on which `part` stands, as the errors name it.
std::string LineOf(const std::string& text, const std::string& part) {
  const std::size_t at = text.find(part);
  EXPECT_NE(at, std::string::npos) << part;
  return "ferry.toml, line " + std::to_string(1 + std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
}

TEST(CaseFileTest, ReadsEveryKindOfValue) {
  const auto parsed = ParseCase(kFerry, "ferry.toml");
  ASSERT_TRUE(parsed.has_value()) << parsed.error().place << ": " << parsed.error().message;
  EXPECT_EQ(parsed->title, "Lake ferry engine, main shaft");
  ASSERT_EQ(parsed->stages.size(), 1u);
  EXPECT_EQ(parsed->stages[0].map, "Rowan 83");
  EXPECT_NEAR(*parsed->stages[0].speed_limit, 95000.0 / 60, 1e-9);
  ASSERT_EQ(parsed->points.size(), 4u);  // two points at two altitudes
  const OperatingPoint& rated = parsed->points[0];
  EXPECT_EQ(rated.name, "rated, sea level");
  EXPECT_NEAR(rated.engine.displacement_m3, 0.0125, 1e-15);
  EXPECT_NEAR(rated.speed_rev_s, 30.0, 1e-12);
  EXPECT_NEAR(*rated.target.boost_Pa, 1.4e5, 1e-6);
  EXPECT_NEAR(*rated.target.fuel_consumption_kg_J, 0.210 / 3.6e6, 1e-15);
  EXPECT_NEAR(*rated.target.air_fuel_ratio, 24, 1e-12);
  EXPECT_NEAR(rated.ambient.pressure_Pa, 101325, 1e-6);
  EXPECT_NEAR(rated.ambient.temperature_K, 289.15, 1e-9);
  EXPECT_NEAR(rated.inlet_loss.fixed_Pa, 3000, 1e-9);
  EXPECT_NEAR(*rated.inlet_loss.at_flow_kg_s, 0.5, 1e-12);
  EXPECT_NEAR(rated.cooler_loss.fraction, 0.02, 1e-12);
  EXPECT_NEAR(rated.cooler.effectiveness, 0.8, 1e-12);
  EXPECT_NEAR(rated.cooler.coolant_K, 298.15, 1e-6);
  EXPECT_EQ(parsed->points[1].name, "rated, 1,524 m");
  EXPECT_NEAR(parsed->points[1].ambient.pressure_Pa, 84307.3, 0.06);  // ISO 2533
  const OperatingPoint& low = parsed->points[2];
  EXPECT_EQ(low.name, "1,200 rpm, sea level");
  EXPECT_FALSE(low.target.boost_Pa.has_value());
  EXPECT_NEAR(*low.target.manifold_Pa, 34.7 * 6894.757293168, 1e-3);
  EXPECT_NEAR(low.engine.volumetric_efficiency, 0.9, 1e-12);
  EXPECT_EQ(low.line, 31);
}

TEST(CaseFileTest, TheSmallestCaseSaysWhatItAssumed) {
  const auto parsed =
      ParseCase("[engine]\ndisplacement = \"6 L\"\nspeed = \"2000 rpm\"\nboost = \"20 psi\"\n[[stage]]\ncompressor = \"a.map.json\"\n", "small.toml");
  ASSERT_TRUE(parsed.has_value()) << parsed.error().message;
  std::vector<std::string> keys;
  for (const AssumedValue& value : parsed->assumed) {
    keys.push_back(value.key);
    EXPECT_FALSE(value.value.empty());
    EXPECT_FALSE(value.why.empty());
  }
  EXPECT_THAT(keys, testing::UnorderedElementsAre("engine.strokes", "engine.volumetric_efficiency", "air_path.inlet_loss", "air_path.cooler_loss",
                                                  "air_path.cooler_effectiveness", "air_path.coolant_temperature", "ambient.altitude",
                                                  "ambient.temperature", "ambient.relative_humidity"));
  EXPECT_NEAR(parsed->points[0].ambient.temperature_K, 288.15, 1e-9);
  EXPECT_NEAR(parsed->points[0].cooler.coolant_K, 298.15, 1e-9);
}

struct Refusal {
  const char* name;
  const char* from;
  const char* to;
  const char* line_of;  // of the changed text; empty: no line
  std::vector<const char*> says;
};

class CaseRefusalTest : public testing::TestWithParam<Refusal> {};

TEST_P(CaseRefusalTest, NamesTheLineAndWhatToWrite) {
  const Refusal& refusal = GetParam();
  const std::string text = With(refusal.from, refusal.to);
  const auto parsed = ParseCase(text, "ferry.toml");
  ASSERT_FALSE(parsed.has_value());
  EXPECT_EQ(parsed.error().code, ErrorCode::kBadCase);
  EXPECT_EQ(parsed.error().place, *refusal.line_of ? LineOf(text, refusal.line_of) : "ferry.toml") << parsed.error().message;
  for (const char* word : refusal.says) EXPECT_THAT(parsed.error().message, HasSubstr(word));
  EXPECT_TRUE(parsed.error().message.ends_with(".") || parsed.error().message.ends_with("?")) << parsed.error().message;
  EXPECT_EQ(parsed.error().message.find('\n'), std::string::npos);
}

INSTANTIATE_TEST_SUITE_P(
    EachMistake, CaseRefusalTest,
    testing::Values(
        Refusal{"ZeroDisplacement", "\"12.5 L\"", "\"0 L\"", "displacement", {"engine.displacement", "above 0"}},
        Refusal{"NoDisplacement", "displacement = \"12.5 L\"\n", "", "[engine]", {"displacement", "missing"}},
        Refusal{"BareNumber", "\"12.5 L\"", "12.5", "displacement", {"no unit", "12.5 L"}},
        Refusal{"NoUnitInText", "\"12.5 L\"", "\"12.5\"", "displacement", {"no unit", "12.5 L"}},
        Refusal{"WrongKindOfUnit", "\"12.5 L\"", "\"12.5 kg\"", "displacement", {"volume", "12.5 L"}},
        Refusal{"UnknownUnit", "\"12.5 L\"", "\"12.5 firkinz\"", "displacement", {"firkinz", "not a unit", "12.5 L"}},
        Refusal{"NotANumber", "\"12.5 L\"", "\"big\"", "displacement", {"number"}},
        Refusal{"GaugeForAbsolute",
                "manifold_pressure = \"34.7 psia\"",
                "manifold_pressure = \"20 psig\"",
                "manifold_pressure",
                {"absolute", "34.7 psi", "boost = \"20 psi\""}},
        Refusal{"AbsoluteForGauge", "boost = \"1.4 bar\"", "boost = \"2.4 bara\"", "boost", {"barometer", "manifold_pressure = \"2.4 bar\""}},
        Refusal{"ImpossibleAltitude", "[\"0 m\", \"5000 ft\"]", "\"30 km\"", "altitude", {"altitude", "9,000 m"}},
        Refusal{"AltitudeAndPressure",
                "[\"0 m\", \"5000 ft\"]",
                "\"0 m\"\npressure = \"990 hPa\"",
                "pressure = \"990",
                {"ambient.altitude", "ambient.pressure", "contradict"}},
        Refusal{"TwoTargets",
                "boost = \"1.4 bar\"",
                "boost = \"1.4 bar\"\nair_flow = \"0.4 kg/s\"",
                "air_flow",
                {"engine.boost", "engine.air_flow", "contradict", "line 9"}},
        Refusal{"NoTarget", "boost = \"1.4 bar\"\n", "", "[[point]]", {"target", "boost"}},
        Refusal{"PowerWithoutRatio", "boost = \"1.4 bar\"\nair_fuel_ratio = 24\n", "power = \"250 kW\"\n", "power", {"air_fuel_ratio"}},
        Refusal{"PowerWithoutConsumption",
                "boost = \"1.4 bar\"\nair_fuel_ratio = 24\nbrake_specific_fuel_consumption = \"210 g/kWh\"\n",
                "power = \"250 kW\"\nair_fuel_ratio = 24\n",
                "power",
                {"brake_specific_fuel_consumption"}},
        Refusal{"MisspelledKey", "inlet_loss", "inlet_lost", "inlet_lost", {"inlet_lost", "did you mean inlet_loss?"}},
        Refusal{"KeyInTheWrongPlace", "[air_path]", "[air_path]\ndisplacement = \"3 L\"", "displacement = \"3", {"belongs under [engine]"}},
        Refusal{"MisspelledSection", "[air_path]", "[airpath]", "[airpath]", {"airpath", "did you mean air_path?"}},
        Refusal{
            "NoStage", "[[stage]]\nname = \"charger\"\ncompressor = \"Rowan 83\"\nspeed_limit = \"95 krpm\"\n", "", "", {"[[stage]]", "compressor"}},
        Refusal{"NoMap", "compressor = \"Rowan 83\"\n", "", "[[stage]]", {"no map", "compressor ="}},
        Refusal{"ThreeStrokes", "strokes = 4", "strokes = 3", "strokes", {"4 or 2"}},
        Refusal{"TwoStrokeWithoutDelivery",
                "strokes = 4\nspeed = \"1,800 rpm\"\nvolumetric_efficiency = \"92 %\"",
                "strokes = 2\nspeed = \"1,800 rpm\"",
                "[engine]",
                {"two-stroke", "volumetric_efficiency"}},
        Refusal{"VolumetricEfficiencyInPercentWithoutSign", "\"92 %\"", "92", "volumetric_efficiency", {"92 %", "0.92"}},
        Refusal{"NegativeLoss", "\"2 %\"", "\"-2 kPa\"", "cooler_loss", {"cooler_loss", "0 or more"}},
        Refusal{"AbsoluteLoss", "\"2 %\"", "\"2 psia\"", "cooler_loss", {"drop"}},
        Refusal{"LossWithoutUnit", "\"2 %\"", "\"2\"", "cooler_loss", {"no unit"}},
        Refusal{"LossAtNoFlow", "3 kPa at 0.5 kg/s", "3 kPa at 0 kg/s", "inlet_loss", {"air flow", "above 0"}},
        Refusal{"TooHot", "\"16 °C\"", "\"160 °C\"", "temperature", {"65 °C"}},
        Refusal{"Humid", "temperature = \"16 °C\"", "temperature = \"16 °C\"\nrelative_humidity = \"160 %\"", "relative_humidity", {"100 %"}},
        Refusal{"RatioOnTheLastStage",
                "compressor = \"Rowan 83\"",
                "compressor = \"Rowan 83\"\npressure_ratio = 2",
                "pressure_ratio",
                {"contradicts", "last stage"}},
        Refusal{"LossOnTheFirstStage",
                "compressor = \"Rowan 83\"",
                "compressor = \"Rowan 83\"\ninlet_loss = \"1 kPa\"",
                "inlet_loss = \"1 kPa\"",
                {"[air_path]"}},
        Refusal{"OneReferenceOnly",
                "compressor = \"Rowan 83\"",
                "compressor = \"Rowan 83\"\nreference_temperature = \"298 K\"",
                "[[stage]]",
                {"go together"}},
        Refusal{"LimitsTheWrongWayRound", "[[stage]]", "[limits]\nefficiency_room = \"50 %\"\n[[stage]]", "efficiency_room", {"contradict"}},
        Refusal{"NewerSchema", "units = \"si\"", "schema = 2\nunits = \"si\"", "schema", {"schema 2", "newer"}},
        Refusal{"UnknownUnitHabit", "units = \"si\"", "units = \"cgs\"", "units", {"\"si\" or \"us\""}}),
    [](const auto& row) { return row.param.name; });

TEST(CaseFileTest, ListsOfSpeedsAndAltitudesMakeASweep) {
  const auto parsed = ParseCase(
      "[engine]\ndisplacement = \"6 L\"\nboost = \"20 psi\"\n[ambient]\naltitude = [\"0 m\", \"1500 m\"]\n[[stage]]\ncompressor = \"a\"\n"
      "[[point]]\nname = \"grade\"\nspeed = [\"1000 rpm\", \"1,400 rpm\", \"1800 rpm\"]\n",
      "sweep.toml");
  ASSERT_TRUE(parsed.has_value()) << parsed.error().message;
  ASSERT_EQ(parsed->points.size(), 6u);
  EXPECT_EQ(parsed->points[0].name, "grade, 1,000 rpm, sea level");
  EXPECT_EQ(parsed->points[5].name, "grade, 1,800 rpm, 1,500 m");
  EXPECT_NEAR(parsed->points[3].speed_rev_s, 1400 / 60.0, 1e-9);
  EXPECT_NEAR(parsed->points[3].ambient.pressure_Pa, 84556, 2);  // U.S. Standard Atmosphere, 1976: 84,556 Pa at 1,500 m (from memory)
}

TEST(CaseFileTest, BrokenTomlNamesItsLine) {
  const auto parsed = ParseCase("[engine]\ndisplacement = \n", "broken.toml");
  ASSERT_FALSE(parsed.has_value());
  EXPECT_THAT(parsed.error().place, HasSubstr("broken.toml, line 2"));
  EXPECT_THAT(parsed.error().message, HasSubstr("TOML"));
}

TEST(CaseFileTest, AFileThatIsNotThereIsNamed) {
  const auto parsed = ReadCaseFile("/nowhere/ferry.toml");
  ASSERT_FALSE(parsed.has_value());
  EXPECT_THAT(parsed.error().place, HasSubstr("/nowhere/ferry.toml"));
}

TEST(CaseFileTest, SeveralStagesShareTheOverallRatio) {
  std::string text = With(
      "[[stage]]\nname = \"charger\"\ncompressor = \"Rowan 83\"\nspeed_limit = \"95 krpm\"\n",
      "[[stage]]\ncompressor = \"Rowan 83\"\noutlet_pressure = \"2.2 bar absolute\"\n[[stage]]\ncompressor = \"Alder 52\"\ninlet_loss = \"1 psi\"\n"
      "inlet_cooler_effectiveness = \"60 %\"\ninlet_coolant_temperature = \"40 °C\"\n");
  const auto parsed = ParseCase(text, "ferry.toml");
  ASSERT_TRUE(parsed.has_value()) << parsed.error().message;
  ASSERT_EQ(parsed->stages.size(), 2u);
  EXPECT_EQ(parsed->stages[0].name, "low pressure");
  EXPECT_EQ(parsed->stages[1].name, "high pressure");
  EXPECT_NEAR(*parsed->stages[0].outlet_Pa, 2.2e5, 1e-6);
  EXPECT_NEAR(parsed->stages[1].inlet_cooler.effectiveness, 0.6, 1e-12);
  EXPECT_NEAR(parsed->stages[1].inlet_cooler.coolant_K, 313.15, 1e-9);
}

TEST(CaseFileTest, MeasuresAsPeopleTypeThem) {
  const auto value = [](const char* text, Dimension dimension) {
    const auto measure = ParseMeasure(text, dimension, "1");
    EXPECT_TRUE(measure.has_value()) << text;
    return measure ? measure->si : std::nan("");
  };
  EXPECT_NEAR(value("12500 cc", Dimension::kVolume), 0.0125, 1e-12);
  EXPECT_NEAR(value("122 in3", Dimension::kVolume), 122 * 1.6387064e-5, 1e-12);
  EXPECT_NEAR(value("400 hp", Dimension::kPower), 400 * 745.699872, 1e-2);
  EXPECT_NEAR(value("0.55 lb/(hp h)", Dimension::kFuelConsumption), 0.55 * 0.45359237 / (745.699872 * 3600), 1e-12);
  EXPECT_NEAR(value("44 lb/min", Dimension::kMassFlow), 44 * 0.45359237 / 60, 1e-9);
  EXPECT_NEAR(value("-10 °C", Dimension::kTemperature), 263.15, 1e-9);
  EXPECT_NEAR(value("28.4 inHg", Dimension::kPressure), 28.4 * 3386.389, 0.5);
  EXPECT_NEAR(value("1.5e3 m", Dimension::kLength), 1500, 1e-9);
  EXPECT_NEAR(value("92%", Dimension::kRatio), 0.92, 1e-12);
  for (const char* bad : {"", " ", "1..2 m", "1e m", "--3 m", "nan m", "inf m"})
    EXPECT_FALSE(ParseMeasure(bad, Dimension::kLength, "1 m").has_value()) << bad;
}

TEST(CaseFileTest, EditDistanceCountsSlips) {
  EXPECT_EQ(EditDistance("inlet_loss", "inlet_loss"), 0);
  EXPECT_EQ(EditDistance("inlet_lsos", "inlet_loss"), 1);
  EXPECT_EQ(EditDistance("inlt_loss", "inlet_loss"), 1);
  EXPECT_EQ(EditDistance("", "abc"), 3);
}

// Any bytes at all: an answer or a sentence, never a crash.
TEST(CaseFileTest, MangledCasesAreRefusedInWords) {
  const std::string whole = kFerry;
  unsigned state = 12345;
  const auto random = [&state](unsigned below) { return (state = state * 1664525u + 1013904223u) / 65536u % below; };
  for (int i = 0; i < 2000; ++i) {
    std::string text = whole;
    for (unsigned k = 0; k < 1 + random(4); ++k) {
      const std::size_t at = random(static_cast<unsigned>(text.size()));
      switch (random(3)) {
        case 0: text[at] = static_cast<char>(random(256)); break;
        case 1: text.erase(at, 1 + random(20)); break;
        default: text.insert(at, 1, static_cast<char>(32 + random(95)));
      }
    }
    const auto parsed = ParseCase(text, "ferry.toml");
    EXPECT_TRUE(parsed.has_value() || !parsed.error().message.empty());
  }
}

}  // namespace
}  // namespace islebook
