// map_schema.json says the same as the reader and the writer do.

#include <array>
#include <cstdio>
#include <filesystem>
#include <random>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/units/unit.h"
#include "tests/mapstore/map/example_maps.h"

namespace islebook {
namespace {

using ::testing::HasSubstr;
namespace fs = std::filesystem;

const fs::path kSourceDir = fs::path(__FILE__).parent_path() / "../../..";

std::string Schema() { return ReadFileContents(kSourceDir / "mapstore/map/map_schema.json").value_or(""); }

TEST(MapSchema, NamesEveryWordThatTheReaderKnows) {
  const std::string schema = Schema();
  ASSERT_FALSE(schema.empty());
  for (const char* unit : DocumentUnits()) EXPECT_THAT(schema, HasSubstr("\"" + std::string(unit) + "\""));
  for (int i = 0; i < 11; ++i) EXPECT_THAT(schema, HasSubstr("\"" + std::string(QuantityName(static_cast<Quantity>(i))) + "\""));
  for (int i = 0; i < 7; ++i) EXPECT_THAT(schema, HasSubstr("\"" + std::string(CurveRoleName(static_cast<CurveRole>(i))) + "\""));
  EXPECT_THAT(schema, HasSubstr("\"maximum\": " + std::to_string(kMapSchema) + "}"));
}

TEST(MapSchema, RealDocumentsPassAndDamagedOnesDoNot) {
  const fs::path folder = fs::temp_directory_path() / ("islebook-map-schema-" + std::to_string(getpid()));
  fs::create_directories(folder / "good");
  fs::create_directories(folder / "bad");
  std::mt19937 random(31);
  int count = 0;
  const auto add = [&](const char* kind, const std::string& text) {
    ASSERT_TRUE(ReplaceFileContents(folder / kind / (std::to_string(count++) + ".json"), text));
  };
  add("good", WriteMapDocument(ExampleCompressorMap()));
  add("good", WriteMapDocument(ExampleTurbineMap()));
  add("good", WriteMapDocument(PerformanceMap{}));
  for (int i = 0; i < 60; ++i) add("good", WriteMapDocument(RandomMap(random)));

  const std::string sound = WriteMapDocument(ExampleCompressorMap());
  const std::pair<const char*, const char*> damages[] = {
      {"performance-map", "shopping-list"},
      {"\"schema\": 1", "\"schema\": 2"},
      {"\"compressor\"", "\"pump\""},
      {"corrected_mass_flow", "mass_flow"},
      {"lb/min", "stone/fortnight"},
      {"\"linear\"", "\"cubic\""},
      {"\"min\": 0, ", ""},
      {"\"temperature_K\": 302.594", "\"temperature_K\": -3"},
      {"\"printed\"", "\"guessed\""},
      {"\"speed_line\"", "\"rainbow\""},
      {"\"value\": 60000", "\"value\": \"60000\""},
      {"\"closed\": false", "\"closed\": 0"},
      {"\"points\": [[", "\"points\": [[1, 2, 3], ["},
      {"\"confidence\": 1", "\"confidence\": 1.5"},
      {"\"page\": 1", "\"page\": 0"},
      {"\"recipe\": {", "\"recipe\": [], \"rezept\": {"},
      {"\"curves\": [", "\"curves\": 3, \"kurven\": ["},
  };
  for (const auto& [old_part, new_part] : damages) {
    std::string text = sound;
    const std::size_t at = text.find(old_part);
    ASSERT_NE(at, std::string::npos) << old_part;
    text.replace(at, std::string_view(old_part).size(), new_part);
    EXPECT_FALSE(ParseMapDocument(text)) << old_part;
    add("bad", text);
  }

  const char* python = fs::exists("/usr/bin/python3") ? "/usr/bin/python3" : "python3";
  const std::string command = std::string(python) + " '" + (kSourceDir / "tests/mapstore/map/validate_documents.py").string() + "' '" +
                              (kSourceDir / "mapstore/map/map_schema.json").string() + "' '" + (folder / "good").string() + "' '" +
                              (folder / "bad").string() + "' 2>&1";
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
