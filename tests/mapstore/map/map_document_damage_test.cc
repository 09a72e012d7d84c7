// Documents that are damaged, cut, or not documents at all: one sentence that names the place, never a crash, never a map.

#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/map/map_document.h"
#include "tests/mapstore/map/example_maps.h"

namespace islebook {
namespace {

using ::testing::HasSubstr;

std::string Replaced(std::string text, const std::string& old_part, const std::string& new_part) {
  const std::size_t at = text.find(old_part);
  EXPECT_NE(at, std::string::npos) << old_part;
  return text.replace(at, old_part.size(), new_part);
}

struct Damage {
  const char* old_part;
  const char* new_part;
  ErrorCode code;
  const char* place;  // that the message names
};

const char kDocument[] = R"({"document": "performance-map", "schema": 1, "kind": "compressor", "title": "Alder 52",
 "axes": {"x": {"quantity": "corrected_mass_flow", "unit": "lb/min", "scale": "linear", "min": 0, "max": 50},
          "y": {"quantity": "pressure_ratio_tt", "unit": "1", "scale": "linear", "min": 1, "max": 4}},
 "reference_conditions": {"temperature_K": 298, "pressure_Pa": 100000, "basis": "printed"},
 "curves": [{"role": "speed_line", "value": 90000, "unit": "rpm", "closed": false, "points": [[5, 2], [6, 1.9], [7, 1.7]], "points_px": [[1, 2], [3, 4], [5, 6]],
             "sigma": [[0.1, 0.01], [0.1, 0.01], [0.1, 0.01]], "confidence": 0.9, "needs_review": false, "reasons": []}],
 "calibration": {"model": "m", "frame_px": [[0, 0], [9, 0], [9, 9], [0, 9]], "parameters": [1], "residual_px": 0.1, "axis_sigma": [0.1, 0.2], "evidence": ["e"]},
 "source": {"file": "a.png", "sha256": "00", "size_px": [10, 10], "page": 1}, "recipe": {}, "needs_review": []})";

TEST(MapDocumentDamage, TheDocumentItselfIsSound) {
  const auto map = ParseMapDocument(kDocument);
  ASSERT_TRUE(map) << map.error().message;
}

TEST(MapDocumentDamage, EachDefectIsNamedByItsPlace) {
  const Damage rows[] = {
      {"performance-map", "shopping-list", ErrorCode::kMalformedDocument, "document"},
      {"\"document\"", "\"dokument\"", ErrorCode::kMalformedDocument, "document"},
      {"\"schema\": 1,", "", ErrorCode::kMalformedDocument, "schema"},
      {"\"schema\": 1", "\"schema\": \"1\"", ErrorCode::kMalformedDocument, "schema"},
      {"\"schema\": 1", "\"schema\": 1.5", ErrorCode::kMalformedDocument, "schema"},
      {"\"schema\": 1", "\"schema\": -1", ErrorCode::kMalformedDocument, "schema"},
      {"\"schema\": 1", "\"schema\": 2", ErrorCode::kUnsupportedSchema, "newer version"},
      {"\"compressor\"", "\"pump\"", ErrorCode::kMalformedDocument, "kind"},
      {"\"title\": \"Alder 52\"", "\"title\": 52", ErrorCode::kMalformedDocument, "title"},
      {"corrected_mass_flow", "mass_flow", ErrorCode::kMalformedDocument, "axes.x.quantity"},
      {"lb/min", "stone/fortnight", ErrorCode::kUnknownUnit, "axes.x.unit"},
      {"\"linear\", \"min\": 1", "\"cubic\", \"min\": 1", ErrorCode::kMalformedDocument, "axes.y.scale"},
      {"\"min\": 0, ", "", ErrorCode::kMalformedDocument, "axes.x.min"},
      {"\"max\": 4", "\"max\": 1", ErrorCode::kMalformedDocument, "axes.y"},
      {"\"max\": 4", "\"max\": 1e300", ErrorCode::kMalformedDocument, "axes.y.max"},
      {"\"scale\": \"linear\", \"min\": 0", "\"scale\": \"log\", \"min\": 0", ErrorCode::kMalformedDocument, "axes.x"},
      {"298", "-3", ErrorCode::kMalformedDocument, "reference_conditions.temperature_K"},
      {"100000", "\"100 kPa\"", ErrorCode::kMalformedDocument, "reference_conditions.pressure_Pa"},
      {"\"printed\"", "\"guessed\"", ErrorCode::kMalformedDocument, "reference_conditions.basis"},
      {"\"curves\": [", "\"curves\": 3, \"kurven\": [", ErrorCode::kMalformedDocument, "curves"},
      {"\"speed_line\"", "\"rainbow\"", ErrorCode::kMalformedDocument, "curves[0].role"},
      {"\"value\": 90000", "\"value\": \"90000\"", ErrorCode::kMalformedDocument, "curves[0].value"},
      {"\"rpm\"", "\"furlong\"", ErrorCode::kUnknownUnit, "curves[0].unit"},
      {"\"closed\": false", "\"closed\": 0", ErrorCode::kMalformedDocument, "curves[0].closed"},
      {"[6, 1.9]", "[6]", ErrorCode::kMalformedDocument, "curves[0].points[1]"},
      {"[6, 1.9]", "[6, null]", ErrorCode::kMalformedDocument, "curves[0].points[1]"},
      {"[6, 1.9]", "[6, 1e200]", ErrorCode::kMalformedDocument, "curves[0].points[1]"},
      {"[[5, 2], [6, 1.9], [7, 1.7]]", "[]", ErrorCode::kMalformedDocument, "curves[0].points"},
      {"[3, 4], ", "", ErrorCode::kMalformedDocument, "curves[0].points_px"},
      {"[5, 6]", "[5, 6e9]", ErrorCode::kMalformedDocument, "curves[0].points_px[2]"},
      {"[[0.1, 0.01]", "[[-0.1, 0.01]", ErrorCode::kMalformedDocument, "curves[0].sigma[0]"},
      {"\"confidence\": 0.9", "\"confidence\": 1.2", ErrorCode::kMalformedDocument, "curves[0].confidence"},
      {"\"reasons\": []", "\"reasons\": [3]", ErrorCode::kMalformedDocument, "curves[0].reasons[0]"},
      {"[9, 9], ", "", ErrorCode::kMalformedDocument, "calibration.frame_px"},
      {"\"axis_sigma\": [0.1, 0.2]", "\"axis_sigma\": [0.1]", ErrorCode::kMalformedDocument, "calibration.axis_sigma"},
      {"\"size_px\": [10, 10]", "\"size_px\": [10, 10.5]", ErrorCode::kMalformedDocument, "source.size_px[1]"},
      {"\"page\": 1", "\"page\": 0", ErrorCode::kMalformedDocument, "source.page"},
      {"\"recipe\": {}", "\"recipe\": [1]", ErrorCode::kMalformedDocument, "recipe"},
      {"\"needs_review\": []}", "\"needs_review\": \"all well\"}", ErrorCode::kMalformedDocument, "needs_review"},
      {"\"title\": ", "\"kind\": \"turbine\", \"title\": ", ErrorCode::kMalformedDocument, "twice"},
      {"\"max\": 4", "\"max\": 1e999", ErrorCode::kMalformedDocument, "too large"},
      {"\"max\": 4", "\"max\": NaN", ErrorCode::kMalformedDocument, "line 3"},
  };
  for (const Damage& row : rows) {
    const auto map = ParseMapDocument(Replaced(kDocument, row.old_part, row.new_part));
    ASSERT_FALSE(map) << row.old_part << " -> " << row.new_part;
    EXPECT_EQ(map.error().code, row.code) << map.error().message;
    EXPECT_THAT(map.error().message, HasSubstr(row.place));
    EXPECT_EQ(map.error().message.back(), '.');
  }
}

TEST(MapDocumentDamage, WhatIsNoDocument) {
  for (const char* text : {"", "   \n", "null", "3", "[]", "{}", "\"performance-map\"", "speed,flow\n1,2\n", "<html></html>", "\xFF\xD8\xFF\xE0",
                           "{\"document\": \"performance-map\""}) {
    const auto map = ParseMapDocument(text);
    ASSERT_FALSE(map) << text;
    EXPECT_EQ(map.error().code, ErrorCode::kMalformedDocument);
    EXPECT_FALSE(map.error().message.empty());
  }
  EXPECT_THAT(ParseMapDocument("{\"document\": \"perf").error().message, HasSubstr("not complete"));
  EXPECT_THAT(ParseMapDocument("").error().message, HasSubstr("empty"));
}

TEST(MapDocumentDamage, DeepNestingIsRefusedNotFollowed) {
  const std::string deep(200000, '[');
  EXPECT_FALSE(ParseMapDocument(deep));
  std::string closed = Replaced(kDocument, "\"recipe\": {}", "\"recipe\": {\"a\": " + std::string(1000, '[') + std::string(1000, ']') + "}");
  const auto map = ParseMapDocument(closed);
  ASSERT_FALSE(map);
  EXPECT_THAT(map.error().message, HasSubstr("nested"));
}

TEST(MapDocumentDamage, EveryCutIsNoticed) {
  const std::string whole = WriteMapDocument(ExampleTurbineMap());
  const std::size_t end = whole.find_last_of('}');
  for (std::size_t length = 0; length <= end; length += 37) {
    const auto map = ParseMapDocument(whole.substr(0, length));
    ASSERT_FALSE(map) << length;
    ASSERT_FALSE(map.error().message.empty());
  }
}

// Bytes changed, dropped, doubled and swapped at random: either a map that can be written again, or a sentence.
TEST(MapDocumentDamage, RandomMutationsNeverCrash) {
  std::mt19937 random(11);
  PerformanceMap small = ExampleCompressorMap();
  for (Curve& curve : small.curves) {
    curve.points.resize(3);
    curve.points_px.resize(3);
    curve.sigma.resize(3);
  }
  const std::string whole = WriteMapDocument(small);
  static const char kBytes[] = "{}[]\",:0123456789.eE-+ntf\\ \x80\xFF\n";
  int refused = 0;
  for (int i = 0; i < 3000; ++i) {
    std::string text = whole;
    for (unsigned n = 1 + random() % 4; n > 0; --n) {
      const std::size_t at = random() % text.size();
      switch (random() % 4) {
        case 0: text[at] = kBytes[random() % (sizeof kBytes - 1)]; break;
        case 1: text.erase(at, 1 + random() % 8); break;
        case 2: text.insert(at, text.substr(random() % text.size(), random() % 12)); break;
        default: std::swap(text[at], text[random() % text.size()]);
      }
    }
    const auto map = ParseMapDocument(text);
    if (map) {
      ASSERT_TRUE(CheckWritable(*map));
      ASSERT_TRUE(ParseMapDocument(WriteMapDocument(*map)));
    } else {
      ASSERT_FALSE(map.error().message.empty());
      ++refused;
    }
  }
  EXPECT_GT(refused, 1500);  // a parser that took everything would pass the rest
}

}  // namespace
}  // namespace islebook
