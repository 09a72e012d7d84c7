#include "digitizer/recipe/recipe.h"

#include <array>
#include <cstdio>
#include <filesystem>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include "mapstore/map/whole_file.h"

namespace islebook {
namespace {

using ::testing::HasSubstr;
namespace fs = std::filesystem;

std::string With(const std::string& correction) { return R"({"recipe": 1, "corrections": [)" + correction + "]}"; }

// Every kind of correction, every optional key given and left out.
const char* const kGood[] = {
    R"({"recipe": 1})",
    R"({"recipe": 1, "settings": {}, "corrections": []})",
    R"({"recipe": 1, "settings": {"kind": "turbine", "page": 3, "dpi": 400, "assumed_reference": {"temperature_K": 298, "pressure_Pa": 100000}}})",
    R"({"recipe": 1, "corrections": [{"do": "set_frame", "corners_px": [[10, 12.5], [900, 14], [905, 700], [8, 690]]}]})",
    R"({"recipe": 1, "corrections": [{"do": "set_frame", "corners_px": [[10, 12], [900, 14], [905, 700], [8, 690]], "exact": true, "note": "by hand"}]})",
    R"({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "x", "quantity": "corrected_mass_flow", "unit": "lb/min", "scale": "linear", "min": 0, "max": 60}]})",
    R"({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "y", "scale": "log", "min": 1, "max": 4, "panel_px": [300, 300]}]})",
    R"({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "efficiency", "unit": "%"}]})",
    R"({"recipe": 1, "corrections": [{"do": "add_curve", "role": "surge_line", "points_px": [[100, 500], [300, 200]]}]})",
    R"({"recipe": 1, "corrections": [{"do": "add_curve", "role": "efficiency_island", "value": 0.74, "unit": "1", "closed": true, "points_px": [[100, 500], [300, 200], [400, 400]]}]})",
    R"({"recipe": 1, "corrections": [{"do": "trace_curve", "role": "speed_line", "value": 90000, "unit": "rpm", "through_px": [[100, 500], [300, 520], [400, 600]]}]})",
    R"({"recipe": 1, "corrections": [{"do": "trace_curve", "role": "efficiency_island", "value": 0.7, "unit": "1", "closed": true, "through_px": [[100, 500], [300, 520], [400, 600]], "instead_of": {"near_px": [120, 498], "role": "other"}}]})",
    R"({"recipe": 1, "corrections": [{"do": "trace_curve", "role": "surge_line", "through_px": [[100, 500], [300, 520]], "instead_of": [{"near_px": [1, 2]}, {"near_px": [3, 4], "value": 7}]}]})",
    R"({"recipe": 1, "corrections": [{"do": "add_curve", "role": "choke_line", "points_px": [[100, 500], [300, 200]], "instead_of": {"near_px": [1, 2]}}]})",
    R"({"recipe": 1, "corrections": [{"do": "relabel_curve", "curve": {"near_px": [1, 2]}, "role": "speed_line", "value": 90000, "unit": "rpm"}]})",
    R"({"recipe": 1, "corrections": [{"do": "cut_curve", "curve": {"near_px": [400.25, 300.5]}}]})",
    R"({"recipe": 1, "corrections": [{"do": "join_curves", "curve": {"near_px": [1, 2]}, "with": {"near_px": [3, 4], "role": "other"}}]})",
    R"({"recipe": 1, "corrections": [{"do": "delete_curve", "curve": {"near_px": [1, 2], "role": "speed_line", "value": 60000}}]})",
    R"({"recipe": 1, "corrections": [{"do": "relabel_curve", "curve": {"near_px": [1, 2]}, "value": 74, "unit": "%"}, {"do": "relabel_curve", "curve": {"near_px": [1, 2]}, "value": null}]})",
    R"({"recipe": 1, "corrections": [{"do": "set_role", "curve": {"near_px": [1, 2]}, "role": "choke_line"}, {"do": "accept_curve", "curve": {"near_px": [1, 2]}}]})",
    R"({"recipe": 1, "corrections": [{"do": "set_reference", "temperature_K": 302.594, "pressure_Pa": 96173, "basis": "printed"}, {"do": "set_title", "title": "Alder 52 \"long\""}]})",
};

struct Bad {
  const char* text;
  const char* place;  // of the error
  const char* says;   // in its sentence
  bool schema_sees;   // a JSON Schema can tell as well
};

const Bad kBad[] = {
    {"", "recipe", "not JSON", true},
    {"{\"recipe\": 1", "recipe", "not JSON", true},
    {"[1]", "recipe", "object", true},
    {"{}", "recipe", "missing", true},
    {R"({"recipe": 2})", "recipe", "newer version", true},
    {R"({"recipe": 0})", "recipe", "schema's number", true},
    {R"({"recipe": 1, "correction": []})", "correction", "not a key", true},
    {R"({"recipe": 1, "settings": {"kind": "pump"}})", "settings.kind", "compressor, turbine", true},
    {R"({"recipe": 1, "settings": {"page": 1.5}})", "settings.page", "whole number", true},
    {R"({"recipe": 1, "settings": {"dpi": 7}})", "settings.dpi", "between", true},
    {R"({"recipe": 1, "settings": {"assumed_reference": {"temperature_K": 25, "pressure_Pa": 100000}}})", "settings.assumed_reference.temperature_K",
     "kelvin", true},
    {R"({"recipe": 1, "corrections": {}})", "corrections", "list", true},
    {R"({"recipe": 1, "corrections": [{"do": "polish"}]})", "corrections[0].do", "polish", true},
    {R"({"recipe": 1, "corrections": [{"do": "set_title", "title": "A"}, {"do": "set_title"}]})", "corrections[1].title", "missing", true},
    {R"({"recipe": 1, "corrections": [{"do": "set_frame", "corners_px": [[0, 0], [9, 0], [9, 9]]}]})", "corrections[0].corners_px", "exactly 4",
     true},
    {R"({"recipe": 1, "corrections": [{"do": "set_frame", "corners_px": [[0, 0], [0, 90], [90, 90], [90, 0]]}]})", "corrections[0].corners_px",
     "top left", false},
    {R"({"recipe": 1, "corrections": [{"do": "set_frame", "corners_px": [[0, 0], [90, 0], [90, "x"], [0, 90]]}]})", "corrections[0].corners_px[2][1]",
     "number", true},
    {R"({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "z", "unit": "1"}]})", "corrections[0].axis", "x, y, efficiency", true},
    {R"({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "x", "quantity": "corrected_mass_flow", "unit": "furlong/fortnight"}]})",
     "corrections[0].unit", "furlong/fortnight", false},
    {R"({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "x", "quantity": "corrected_mass_flow", "unit": "m3/s"}]})", "corrections[0].unit",
     "does not measure", false},
    {R"({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "x", "min": 4}]})", "corrections[0].max", "missing", true},
    {R"({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "x", "min": 4, "max": 4}]})", "corrections[0].max", "differ", false},
    {R"({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "x", "scale": "log", "min": 0, "max": 4}]})", "corrections[0].min", "log", false},
    {R"({"recipe": 1, "corrections": [{"do": "set_axis", "axis": "x"}]})", "corrections[0].axis", "nothing", false},
    {R"({"recipe": 1, "corrections": [{"do": "add_curve", "role": "speed_line", "value": 9, "points_px": [[0, 0], [1, 1]]}]})", "corrections[0].unit",
     "missing", false},
    {R"({"recipe": 1, "corrections": [{"do": "add_curve", "role": "speed_line", "value": 9, "unit": "kg/s", "points_px": [[0, 0], [1, 1]]}]})",
     "corrections[0].unit", "does not fit", false},
    {R"({"recipe": 1, "corrections": [{"do": "add_curve", "role": "surge_line", "points_px": [[0, 0]]}]})", "corrections[0].points_px", "between 2",
     true},
    {R"({"recipe": 1, "corrections": [{"do": "add_curve", "role": "wall", "points_px": [[0, 0], [1, 1]]}]})", "corrections[0].role", "wall", true},
    {R"({"recipe": 1, "corrections": [{"do": "trace_curve", "role": "other", "closed": 1, "through_px": [[0, 0], [1, 1]]}]})",
     "corrections[0].closed", "true or false", true},
    {R"({"recipe": 1, "corrections": [{"do": "delete_curve", "curve": 3}]})", "corrections[0].curve", "object", true},
    {R"({"recipe": 1, "corrections": [{"do": "delete_curve", "curve": {"near": [1, 2]}}]})", "corrections[0].curve.near_px", "missing", true},
    {R"({"recipe": 1, "corrections": [{"do": "delete_curve", "curve": {"near_px": [1, 2, 3]}}]})", "corrections[0].curve.near_px", "point", true},
    {R"({"recipe": 1, "corrections": [{"do": "delete_curve", "curve": {"near_px": [1, 2e9]}}]})", "corrections[0].curve.near_px", "outside", false},
    {R"({"recipe": 1, "corrections": [{"do": "relabel_curve", "curve": {"near_px": [1, 2]}}]})", "corrections[0].value", "missing", true},
    {R"({"recipe": 1, "corrections": [{"do": "relabel_curve", "curve": {"near_px": [1, 2]}, "value": 3}]})", "corrections[0].unit", "missing", false},
    {R"({"recipe": 1, "corrections": [{"do": "relabel_curve", "curve": {"near_px": [1, 2]}, "role": "efficiency_island", "value": 3, "unit": "rpm"}]})",
     "corrections[0].unit", "does not fit", false},
    {R"({"recipe": 1, "corrections": [{"do": "trace_curve", "role": "other", "through_px": [[1, 2], [3, 4]], "instead_of": []}]})",
     "corrections[0].instead_of", "names no curve", true},
    {R"({"recipe": 1, "corrections": [{"do": "trace_curve", "role": "other", "through_px": [[1, 2], [3, 4]], "instead_of": [{"near": [1, 2]}]}]})",
     "corrections[0].instead_of[0].near_px", "missing", true},
    {R"({"recipe": 1, "corrections": [{"do": "set_reference", "temperature_K": 298, "pressure_Pa": 100, "basis": "printed"}]})",
     "corrections[0].pressure_Pa", "pascal", true},
    {R"({"recipe": 1, "corrections": [{"do": "set_reference", "temperature_K": 298, "pressure_Pa": 100000, "basis": "felt"}]})",
     "corrections[0].basis", "felt", true},
    {R"({"recipe": 1, "corrections": [{"do": "set_title", "title": "A", "colour": 1}]})", "corrections[0].colour", "not a key", true},
};

TEST(Recipe, WhatIsWrittenReadsBackTheSame) {
  for (const char* text : kGood) {
    const auto recipe = ParseRecipe(text);
    ASSERT_TRUE(recipe.has_value()) << text << "\n" << recipe.error().place << " " << recipe.error().message;
    const std::string written = WriteRecipe(*recipe);
    const auto again = ParseRecipe(written);
    ASSERT_TRUE(again.has_value()) << written << "\n" << again.error().message;
    EXPECT_EQ(*again, *recipe) << written;
    EXPECT_EQ(WriteRecipe(*again), written);
  }
}

TEST(Recipe, PlacesAreCountedAsPeopleCount) {
  EXPECT_EQ(RecipePlaceInWords("corrections[0].unit"), "correction 1, unit");
  EXPECT_EQ(RecipePlaceInWords("corrections[11]"), "correction 12");
  EXPECT_EQ(RecipePlaceInWords("corrections[0].corners_px[2][1]"), "correction 1, corners_px, entry 3, entry 2");
  EXPECT_EQ(RecipePlaceInWords("settings.page"), "settings, page");
  EXPECT_EQ(RecipePlaceInWords("corrections"), "corrections");
  EXPECT_EQ(RecipePlaceInWords("corrections[x].y["), "correction[x], y[");
}

TEST(Recipe, FaultsNameTheirPlaceInOneSentence) {
  for (const Bad& bad : kBad) {
    SCOPED_TRACE(bad.text);
    const auto recipe = ParseRecipe(bad.text);
    ASSERT_FALSE(recipe.has_value());
    EXPECT_EQ(recipe.error().code, ErrorCode::kBadRecipe);
    EXPECT_EQ(recipe.error().place, bad.place);
    EXPECT_THAT(recipe.error().message, HasSubstr(bad.says));
    EXPECT_EQ(recipe.error().message.back(), '.');
  }
}

TEST(Recipe, UnitsAreUnderstoodAsPeopleTypeThem) {
  const auto recipe = ParseRecipe(With(R"({"do": "set_axis", "axis": "x", "quantity": "corrected_mass_flow", "unit": "lbs/min"})"));
  ASSERT_TRUE(recipe.has_value()) << recipe.error().message;
  EXPECT_EQ(std::get<SetAxis>(recipe->corrections[0].step).unit, "lb/min");
}

TEST(Recipe, StepsAreDescribedInWords) {
  const auto recipe = ParseRecipe(With(R"({"do": "relabel_curve", "curve": {"near_px": [812, 344]}, "value": 90000, "unit": "rpm"})"));
  ASSERT_TRUE(recipe.has_value());
  EXPECT_EQ(DescribeStep(recipe->corrections[0].step), "label the curve near (812, 344) with 90000 rpm");
  EXPECT_STREQ(StepName(recipe->corrections[0].step), "relabel_curve");
}

TEST(Recipe, GarbageIsRefusedNotCrashedOn) {
  std::mt19937 random(4);
  for (int round = 0; round < 3000; ++round) {
    std::string text = kGood[random() % std::size(kGood)];
    for (int edits = 1 + static_cast<int>(random() % 4); edits > 0; --edits) {
      const std::size_t at = random() % text.size();
      switch (random() % 3) {
        case 0: text[at] = static_cast<char>(random() % 256); break;
        case 1: text.erase(at, 1 + random() % 6); break;
        default: text.insert(at, 1, "{}[],:\"01e-"[random() % 11]); break;
      }
      if (text.empty()) text = " ";
    }
    const auto recipe = ParseRecipe(text);
    if (!recipe) {
      EXPECT_FALSE(recipe.error().message.empty());
    } else {
      EXPECT_TRUE(ParseRecipe(WriteRecipe(*recipe)).has_value()) << text;
    }
  }
}

// The shipped schema says the same as the reader, but for what a schema cannot tell (units, geometry).
TEST(Recipe, TheSchemaAgrees) {
  const fs::path folder = fs::temp_directory_path() / ("islebook-recipe-schema-" + std::to_string(getpid()));
  fs::create_directories(folder / "good");
  fs::create_directories(folder / "bad");
  int count = 0;
  for (const char* text : kGood) {
    ASSERT_TRUE(ReplaceFileContents(folder / "good" / (std::to_string(count++) + ".json"), text));
    ASSERT_TRUE(ReplaceFileContents(folder / "good" / (std::to_string(count++) + ".json"), WriteRecipe(*ParseRecipe(text))));
  }
  for (const Bad& bad : kBad)
    if (bad.schema_sees && std::string(bad.says) != "not JSON") {
      ASSERT_TRUE(ReplaceFileContents(folder / "bad" / (std::to_string(count++) + ".json"), bad.text));
    }
  const std::string source = ISLEBOOK_SOURCE_DIR;
  const std::string command = std::string(fs::exists("/usr/bin/python3") ? "/usr/bin/python3" : "python3") + " '" + source +
                              "/tests/mapstore/map/validate_documents.py' '" + source + "/digitizer/recipe/recipe_schema.json' '" +
                              (folder / "good").string() + "' '" + (folder / "bad").string() + "' 2>&1";
  std::string output;
  FILE* pipe = popen(command.c_str(), "r");
  ASSERT_NE(pipe, nullptr);
  std::array<char, 4096> block{};
  while (const std::size_t n = fread(block.data(), 1, block.size(), pipe)) output.append(block.data(), n);
  const int status = pclose(pipe);
  fs::remove_all(folder);
  const int code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  if (code == 77 || code == 127) GTEST_SKIP() << "no Python with jsonschema here: " << output;
  EXPECT_EQ(code, 0) << output;
}

}  // namespace
}  // namespace islebook
