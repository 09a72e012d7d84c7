#include "mapstore/bench/case_turbines.h"

#include <tuple>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/bench/case_file.h"

namespace islebook {
namespace {

using testing::HasSubstr;

std::string Engine(const std::string& stage, const std::string& more = "") {
  return "[engine]\ndisplacement = \"6 L\"\nspeed = \"2000 rpm\"\nboost = \"20 psi\"\n" + more + "[[stage]]\ncompressor = \"birch\"\n" + stage;
}

TEST(CaseTurbinesTest, ReadsEveryKey) {
  const auto parsed = ParseCase(Engine(R"(turbine = "elm"
turbine_reference_temperature = "600 °C"
turbine_reference_pressure = "101.3 kPa"
turbine_wheel_diameter = "58 mm"
wastegate_diameter = "1 in"
wastegate_opening = "40 %"
wastegate_discharge = 0.65
shaft_efficiency = "95 %"
)",
                                       "[exhaust]\nheat_to_coolant = \"20 %\"\nheat_loss = \"5 %\"\nback_pressure = \"2 psi at 40 lb/min\"\n"),
                                "case.toml");
  ASSERT_TRUE(parsed.has_value()) << parsed.error().message;
  const TurbineStage& turbine = *parsed->stages[0].turbine;
  EXPECT_EQ(turbine.map, "elm");
  EXPECT_NEAR(*turbine.reference_K, 873.15, 1e-9);
  EXPECT_NEAR(turbine.wastegate_area_m2, 5.067e-4, 1e-7);
  EXPECT_DOUBLE_EQ(turbine.wastegate_opening->At(20), 0.4);
  EXPECT_FALSE(turbine.wastegate_opening->IsSchedule());
  EXPECT_FALSE(turbine.map_air_K);
  EXPECT_DOUBLE_EQ(turbine.wastegate_discharge, 0.65);
  EXPECT_DOUBLE_EQ(turbine.shaft_efficiency, 0.95);
  const ExhaustPath& exhaust = parsed->points[0].exhaust;
  EXPECT_DOUBLE_EQ(exhaust.heat_to_coolant, 0.2);
  EXPECT_DOUBLE_EQ(exhaust.heat_loss, 0.05);
  EXPECT_NEAR(exhaust.back_pressure.fixed_Pa, 13789.5, 0.1);
  EXPECT_NEAR(*exhaust.back_pressure.at_flow_kg_s, 0.302, 1e-3);
  EXPECT_DOUBLE_EQ(*parsed->points[0].target.air_fuel_ratio, 24.0);
}

TEST(CaseTurbinesTest, ListsWhatItAssumed) {
  const auto parsed = ParseCase(Engine("turbine_effective_area = \"8.5 cm2\"\nwastegate_diameter = \"20 mm\"\n"), "case.toml");
  ASSERT_TRUE(parsed.has_value()) << parsed.error().message;
  std::vector<std::string> keys;
  for (const AssumedValue& value : parsed->assumed) keys.push_back(value.key);
  for (const char* key : {"stage.turbine_efficiency", "stage.wastegate_discharge", "stage.shaft_efficiency", "exhaust.heat_to_coolant",
                          "exhaust.heat_loss", "exhaust.back_pressure", "engine.air_fuel_ratio", "engine.brake_specific_fuel_consumption"})
    EXPECT_THAT(keys, testing::Contains(key));
}

TEST(CaseTurbinesTest, OpeningsFollowTheirSchedule) {
  const std::string schedule =
      "turbine = \"elm\"\nwastegate_diameter = \"20 mm\"\nwastegate_opening = { \"2400 rpm\" = \"60 %\", \"1200 rpm\" = 0, \"1800 rpm\" = \"45 %\" "
      "}\n"
      "[stage.vane_opening]\n\"1000 rpm\" = \"20 %\"\n\"2000 rpm\" = \"80 %\"\n";
  const auto parsed = ParseCase(Engine(schedule), "case.toml");
  ASSERT_TRUE(parsed.has_value()) << parsed.error().message;
  const TurbineStage& turbine = *parsed->stages[0].turbine;
  ASSERT_TRUE(turbine.wastegate_opening && turbine.vane_opening);
  EXPECT_TRUE(turbine.wastegate_opening->IsSchedule());
  for (const auto& [rpm, gate, vanes] : std::initializer_list<std::tuple<double, double, double>>{
           {600, 0.0, 0.2}, {1200, 0.0, 0.32}, {1500, 0.225, 0.5}, {1800, 0.45, 0.68}, {2100, 0.525, 0.8}, {3000, 0.6, 0.8}}) {
    EXPECT_NEAR(turbine.wastegate_opening->At(rpm / 60), gate, 1e-12) << rpm;
    EXPECT_NEAR(turbine.vane_opening->At(rpm / 60), vanes, 1e-12) << rpm;
  }
  EXPECT_NEAR(turbine.vane_opening->Lowest(), 0.2, 1e-12);
  EXPECT_NEAR(turbine.vane_opening->Highest(), 0.8, 1e-12);
  EXPECT_NEAR(turbine.vane_opening->Moved(0.1).At(25), 0.6, 1e-12);
}

TEST(CaseTurbinesTest, TheGasOfTheMap) {
  const auto parsed = ParseCase(Engine("turbine = \"elm\"\nturbine_map_gas = \"air\"\nturbine_map_gas_temperature = \"77 °F\"\n"), "case.toml");
  ASSERT_TRUE(parsed.has_value()) << parsed.error().message;
  EXPECT_NEAR(*parsed->stages[0].turbine->map_air_K, 298.15, 1e-9);
  EXPECT_NEAR(*ParseCase(Engine("turbine = \"elm\"\nturbine_map_gas = \"air\"\n"), "case.toml")->stages[0].turbine->map_air_K, 288.15, 1e-9);
  EXPECT_FALSE(ParseCase(Engine("turbine = \"elm\"\nturbine_map_gas = \"exhaust\"\n"), "case.toml")->stages[0].turbine->map_air_K);
}

struct Refusal {
  const char* stage;
  const char* more;
  int line;
  const char* says;
};

TEST(CaseTurbinesTest, RefusesWhatDoesNotFitWithItsLine) {
  for (const Refusal& refusal : std::initializer_list<Refusal>{
           {"wastegate_diameter = \"20 mm\"\n", "", 7, "belongs to a turbine"},
           {"turbine = \"elm\"\nturbine_effective_area = \"8 cm2\"\n", "", 8, "leave the area out"},
           {"turbine = \"elm\"\nwastegate_opening = \"40 %\"\n", "", 8, "needs wastegate_diameter"},
           {"turbine = \"elm\"\nvane_opening = { \"1000 rpm\" = \"20 %\" }\n", "", 8, "2 to 100 speeds"},
           {"turbine = \"elm\"\nvane_opening = { \"1000 m\" = \"20 %\", \"2000 rpm\" = \"30 %\" }\n", "", 8, "keys of a schedule"},
           {"turbine = \"elm\"\nvane_opening = { \"0 rpm\" = \"20 %\", \"2000 rpm\" = \"30 %\" }\n", "", 8, "not above 0"},
           {"turbine = \"elm\"\n[stage.vane_opening]\n\"1000 rpm\" = 0.2\n\"1,000 rpm\" = 0.3\n", "", 10, "twice"},
           {"turbine = \"elm\"\n[stage.vane_opening]\n\"1000 rpm\" = 0.2\n\"1200 rpm\" = \"3 kg\"\n", "", 10, "vane_opening"},
           {"turbine = \"elm\"\nturbine_map_gas = \"steam\"\n", "", 8, "\"air\""},
           {"turbine = \"elm\"\nturbine_map_gas_temperature = \"20 °C\"\n", "", 8, "belongs beside"},
           {"turbine_effective_area = \"8 cm2\"\nturbine_map_gas = \"air\"\n", "", 8, "leave it out"},
           {"turbine = \"elm\"\nwastegate_diameter = \"20 bar\"\n", "", 8, "wastegate_diameter"},
           {"turbine = \"elm\"\nshaft_efficiency = \"140 %\"\n", "", 8, "shaft_efficiency"},
           {"turbine_effective_area = \"-3 cm2\"\n", "", 7, "turbine_effective_area"},
           {"turbine = \"elm\"\nwastegate_diametre = \"20 mm\"\n", "", 8, "wastegate_diameter"},
           {"turbine = \"elm\"\n[[stage]]\ncompressor = \"rowan\"\n", "", 8, "give every stage one, or none"},
           {"turbine = \"elm\"\n", "[exhaust]\nback_presure = \"2 psi\"\n", 6, "back_pressure"},
           {"turbine = \"elm\"\n", "[limits]\ndrive_ratio_room = 2\ndrive_ratio_over = 1\n", 6, "contradict"}}) {
    const auto parsed = ParseCase(Engine(refusal.stage, refusal.more), "case.toml");
    ASSERT_FALSE(parsed.has_value()) << refusal.stage;
    EXPECT_THAT(parsed.error().message, HasSubstr(refusal.says));
    EXPECT_THAT(parsed.error().place, HasSubstr("line " + std::to_string(refusal.line))) << refusal.stage << parsed.error().message;
  }
}

}  // namespace
}  // namespace islebook
