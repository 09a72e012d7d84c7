#include "mapstore/map/map_document.h"

#include <filesystem>
#include <fstream>
#include <limits>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/mapstore/map/example_maps.h"

namespace islebook {
namespace {

using ::testing::HasSubstr;

TEST(MapDocument, ExamplesRoundTrip) {
  for (const PerformanceMap& map : {ExampleCompressorMap(), ExampleTurbineMap(), PerformanceMap{}}) {
    const auto back = ParseMapDocument(WriteMapDocument(map));
    ASSERT_TRUE(back) << back.error().message;
    EXPECT_EQ(*back, AsWritten(map));
  }
}

TEST(MapDocument, RandomMapsRoundTrip) {
  std::mt19937 random(20);
  for (int i = 0; i < 300; ++i) {
    const PerformanceMap map = RandomMap(random);
    const std::string text = WriteMapDocument(map);
    const auto back = ParseMapDocument(text);
    ASSERT_TRUE(back) << back.error().message << "\n" << text;
    ASSERT_EQ(*back, AsWritten(map)) << text;
    ASSERT_EQ(AsWritten(*back), *back);
    ASSERT_EQ(WriteMapDocument(*back), text);
  }
}

TEST(MapDocument, KeysStandInTheOrderOfTheContract) {
  const std::string text = WriteMapDocument(ExampleTurbineMap());
  std::size_t at = 0;
  for (const char* key : {"document", "schema", "kind", "title",  "axes",   "x",         "y",     "efficiency", "reference_conditions", "curves",
                          "role",     "value",  "unit", "closed", "points", "points_px", "sigma", "confidence", "needs_review",         "reasons"}) {
    const std::size_t found = text.find(std::string("\"") + key + "\":", at);
    ASSERT_NE(found, std::string::npos) << key;
    at = found;
  }
  at = text.rfind("\"reasons\":");
  for (const char* key : {"calibration", "source", "recipe", "needs_review"}) {
    const std::size_t found = text.find(std::string("\"") + key + "\":", at);
    ASSERT_NE(found, std::string::npos) << key;
    at = found;
  }
}

TEST(MapDocument, NumbersAreRoundedAsStated) {
  PerformanceMap map = ExampleCompressorMap();
  map.curves.resize(1);
  Curve& curve = map.curves[0];
  curve.points = {{1.0 / 3.0, 2.0 / 3.0}};
  curve.points_px = {{1234.56789, 0.0004}};
  curve.sigma = {{1.0 / 3.0, 0.0}};
  const std::string text = WriteMapDocument(map);
  EXPECT_THAT(text, HasSubstr("[[0.33333333, 0.66666667]]"));
  EXPECT_THAT(text, HasSubstr("[[1234.568, 0]]"));
  EXPECT_THAT(text, HasSubstr("[[0.3333, 0]]"));
}

TEST(MapDocument, WrittenByHandWithTheLeast) {
  const auto map = ParseMapDocument(
      R"({"document": "performance-map", "schema": 1, "curves": [{"role": "speed_line", "value": 90000, "unit": "rpm", "points": [[1, 2], [3, 1.5]]}]})");
  ASSERT_TRUE(map) << map.error().message;
  EXPECT_FALSE(map->kind);
  EXPECT_FALSE(map->x);
  ASSERT_EQ(map->curves.size(), 1u);
  EXPECT_EQ(map->curves[0].value, 90000.0);
  EXPECT_EQ(map->curves[0].confidence, 1.0);
  EXPECT_TRUE(map->curves[0].sigma.empty());
}

TEST(MapDocument, UnknownKeysAreAccepted) {
  const auto map = ParseMapDocument(
      R"({"document": "performance-map", "schema": 0, "later": {"a": [1]}, "axes": {"z": 3}, "curves": [{"role": "other", "points": [[1, 2]], "color": "sea"}]})");
  ASSERT_TRUE(map) << map.error().message;
  EXPECT_EQ(map->curves.size(), 1u);
}

TEST(MapDocument, RecipeIsKeptWordForWord) {
  PerformanceMap map = ExampleCompressorMap();
  map.recipe_json = R"({"zeta": 1, "alpha": {"b": [1.50, "x"], "a": null}})";
  const auto back = ParseMapDocument(WriteMapDocument(map));
  ASSERT_TRUE(back);
  EXPECT_EQ(back->recipe_json, R"({"zeta":1,"alpha":{"b":[1.5,"x"],"a":null}})");
}

TEST(MapDocument, RecipeThatIsNoObjectIsNotedAsADoubt) {
  PerformanceMap map = ExampleCompressorMap();
  map.needs_review.clear();
  for (const char* recipe : {"[1]", "{\"a\":", "word"}) {
    map.recipe_json = recipe;
    const auto back = ParseMapDocument(WriteMapDocument(map));
    ASSERT_TRUE(back);
    EXPECT_EQ(back->recipe_json, "");
    ASSERT_EQ(back->needs_review.size(), 1u);
    EXPECT_THAT(back->needs_review[0], HasSubstr("recipe"));
  }
}

class MapFile : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::temp_directory_path() / ("islebook-map-file-" + std::to_string(getpid()));
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::filesystem::path folder_;
};

TEST_F(MapFile, WritesAndReads) {
  const auto file = folder_ / "alder-52.map.json";
  ASSERT_TRUE(WriteMapFile(file, ExampleCompressorMap()));
  const auto map = ReadMapFile(file);
  ASSERT_TRUE(map) << map.error().message;
  EXPECT_EQ(*map, AsWritten(ExampleCompressorMap()));
}

TEST_F(MapFile, ValuesThatNoDocumentCanHoldAreRefusedAndTheOldFileStays) {
  const auto file = folder_ / "alder-52.map.json";
  ASSERT_TRUE(WriteMapFile(file, ExampleCompressorMap()));
  PerformanceMap map = ExampleCompressorMap();
  map.curves[2].points[3].y = std::numeric_limits<double>::quiet_NaN();
  const auto written = WriteMapFile(file, map);
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().code, ErrorCode::kMalformedDocument);
  EXPECT_THAT(written.error().message, HasSubstr("curves[2].points[3]"));
  EXPECT_EQ(written.error().place, file.string());
  EXPECT_TRUE(ReadMapFile(file));
}

TEST_F(MapFile, ErrorsNameTheFile) {
  const auto absent = ReadMapFile(folder_ / "absent.map.json");
  ASSERT_FALSE(absent);
  EXPECT_EQ(absent.error().code, ErrorCode::kCannotRead);
  EXPECT_THAT(absent.error().place, HasSubstr("absent.map.json"));
  std::ofstream(folder_ / "bad.map.json") << "{\"document\": \"performance-map\", \"schema\": 9, \"curves\": []}";
  const auto newer = ReadMapFile(folder_ / "bad.map.json");
  ASSERT_FALSE(newer);
  EXPECT_EQ(newer.error().code, ErrorCode::kUnsupportedSchema);
  EXPECT_THAT(newer.error().message, HasSubstr("newer"));
  EXPECT_THAT(newer.error().place, HasSubstr("bad.map.json"));
}

}  // namespace
}  // namespace islebook
