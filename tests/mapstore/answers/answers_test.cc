#include <cmath>
#include <limits>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "mapstore/answers/answer_text.h"
#include "mapstore/answers/askable_map.h"
#include "mapstore/answers/question_json.h"
#include "mapstore/map/csv_text.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

using nlohmann::json;
using testing::Contains;
using testing::HasSubstr;

const InventedCompressor& Invented() {
  static const InventedCompressor invented = InventCompressor(2, {.samples = 3000});
  return invented;
}
const AskableMap& Compressor() {
  static const AskableMap map = *AskableMap::Make(Invented().map, "Alder 52", "ab12");
  return map;
}
const AskableMap& Turbine() {
  static const AskableMap map = *AskableMap::Make(InventTurbine(4, true).map, "Rowan 83", "");
  return map;
}
Question At(double flow, double ratio) {
  Question question;
  question.Set(QuestionValue::kFlow, flow);
  question.Set(QuestionValue::kPressureRatio, ratio);
  return question;
}
json AsJson(const AskableMap& map, const MapAnswer& answer) {
  std::string text;
  AppendAnswerJson(text, map, answer);
  return json::parse(text);
}

TEST(AskableMap, TheFirstAnswerOfAListCarriesTheDoubtsAboutTheMap) {
  PerformanceMap doubtful = Invented().map;
  doubtful.needs_review = {"the \"flow\" axis may be off"};
  const AskableMap map = *AskableMap::Make(doubtful, "Alder 52", "ab12");
  const MapAnswer answer = map.Ask(At(Invented().samples[0].flow, Invented().samples[0].pressure_ratio));
  std::string first, next;
  AnswerJson(map).Append(first, answer, true);
  AnswerJson(map).Append(next, answer, false);
  EXPECT_EQ(json::parse(first)["map_needs_review"], json(map.doubts()));
  EXPECT_THAT(map.doubts(), Contains(HasSubstr("flow")));
  json without = json::parse(first);
  without.erase("map_needs_review");
  EXPECT_EQ(without, json::parse(next));
  EXPECT_FALSE(AsJson(Turbine(), Turbine().Ask({})).contains("map_needs_review"));
}

TEST(AskableMap, AnswersAsTheQueryDoes) {
  const CompressorQuery query(*CompressorSurface::Build(Invented().map));
  for (const ExactSample& sample : Invented().samples) {
    const CompressorAnswer expected = query.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio);
    const MapAnswer answer = Compressor().Ask(At(sample.flow, sample.pressure_ratio));
    ASSERT_EQ(expected.speed, answer.speed);
    ASSERT_EQ(expected.efficiency, answer.efficiency);
    ASSERT_EQ(expected.surge_margin, answer.surge_margin);
    ASSERT_EQ(expected.sigma_speed, answer.sigma_speed);
    ASSERT_EQ(expected.sigma_surge_margin, answer.sigma_surge_margin);
    ASSERT_EQ(expected.region, *answer.region);
  }
}

TEST(AskableMap, ABatchOverThreadsIsTheSameAsOneByOne) {
  std::vector<Question> questions;
  for (const ExactSample& sample : Invented().samples) questions.push_back(At(sample.flow, sample.pressure_ratio));
  std::vector<MapAnswer> answers(questions.size());
  Compressor().AskAll(questions, answers, 3);
  for (std::size_t i = 0; i < questions.size(); ++i) ASSERT_EQ(Compressor().Ask(questions[i]).speed, answers[i].speed);
}

TEST(AskableMap, QuestionsThatMakeNoSenseSaySo) {
  const double nan = std::numeric_limits<double>::quiet_NaN(), infinity = std::numeric_limits<double>::infinity();
  for (const auto& [flow, ratio] : {std::pair{nan, 2.0}, {0.2, nan}, {infinity, 2.0}, {-0.2, 2.0}, {0.0, 2.0}, {0.2, -infinity}}) {
    const MapAnswer answer = Compressor().Ask(At(flow, ratio));
    EXPECT_FALSE(answer.asked);
    EXPECT_FALSE(answer.inside);
    EXPECT_FALSE(answer.region);
    EXPECT_FALSE(answer.speed || answer.efficiency || answer.surge_margin || answer.flow || answer.pressure_ratio);
    EXPECT_THAT(answer.reason, HasSubstr("positive number"));
  }
  Question opening;
  opening.Set(QuestionValue::kVaneOpening, 50.0);
  opening.Set(QuestionValue::kFlow, 0.2);
  EXPECT_THAT(Compressor().Ask(opening).reason, HasSubstr("compressor map"));
  EXPECT_THAT(Turbine().Ask(At(0.02, 2)).reason, HasSubstr("turbine map"));
  Question unread;
  unread.error = "line 7: \"x\" is not a number.";
  EXPECT_EQ(unread.error, Compressor().Ask(unread).reason);
}

TEST(AskableMap, ATurbineHasNoSurgeMargin) {
  const auto map = AskableMap::Make(InventTurbine(4, true).map, "Rowan 83", "", {.surge_margin = SurgeMargin::kFlow});
  ASSERT_FALSE(map);
  EXPECT_EQ(ErrorCode::kWrongKind, map.error().code);
  EXPECT_FALSE(Turbine().With({.surge_margin = SurgeMargin::kFlow}));
}

TEST(AskableMap, OtherOptionsOnTheSameSurface) {
  const auto other = Compressor().With({.surge_margin = SurgeMargin::kFlow, .sigma = false});
  ASSERT_TRUE(other);
  const ExactSample& sample = Invented().samples.front();
  const MapAnswer one = Compressor().Ask(At(sample.flow, sample.pressure_ratio)), two = other->Ask(At(sample.flow, sample.pressure_ratio));
  EXPECT_EQ(one.speed, two.speed);
  EXPECT_NE(one.surge_margin, two.surge_margin);
  EXPECT_FALSE(two.sigma_speed);
  EXPECT_EQ("flow", AsJson(*other, two)["surge_margin_definition"]);
}

TEST(AnswerText, JsonReadsBackToTheLastDigit) {
  for (const ExactSample& sample : Invented().samples) {
    const MapAnswer answer = Compressor().Ask(At(sample.flow, sample.pressure_ratio));
    const json read = AsJson(Compressor(), answer);
    ASSERT_EQ(*answer.speed, read["speed"].get<double>());
    ASSERT_EQ(*answer.surge_margin, read["surge_margin"].get<double>());
    ASSERT_EQ(*answer.sigma_speed, read["sigma"]["speed"].get<double>());
    ASSERT_EQ(answer.efficiency.has_value(), read["efficiency"].is_number());
    if (answer.efficiency) {
      ASSERT_EQ(*answer.efficiency, read["efficiency"].get<double>());
    }
  }
}

TEST(AnswerText, JsonHasTheFieldsOfTheContract) {
  const ExactSample& sample = Invented().samples.front();
  const json read = AsJson(Compressor(), Compressor().Ask(At(sample.flow, sample.pressure_ratio)));
  for (const char* key :
       {"flow", "pressure_ratio", "speed", "efficiency", "surge_margin", "choke_margin", "inside", "region", "sigma", "revision", "speed_unit"})
    EXPECT_TRUE(read.contains(key)) << key;
  EXPECT_EQ("ab12", read["revision"]);
  const json off = AsJson(Compressor(), Compressor().Ask(At(1e-3 * sample.flow, sample.pressure_ratio)));
  EXPECT_TRUE(off["speed"].is_null());
  EXPECT_TRUE(off["reason"].is_string());
  const json bad = AsJson(Compressor(), Compressor().Ask(At(-1, 2)));
  EXPECT_TRUE(bad["flow"].is_null());
  EXPECT_TRUE(bad["region"].is_null());
  Question question;
  question.Set(QuestionValue::kExpansionRatio, 2.0);
  question.Set(QuestionValue::kVaneOpening, 0.5 * (Turbine().turbine()->LineValues().front() + Turbine().turbine()->LineValues().back()));
  const json turbine = AsJson(Turbine(), Turbine().Ask(question));
  for (const char* key : {"expansion_ratio", "flow", "efficiency", "vane_opening", "inside", "sigma", "revision"})
    EXPECT_TRUE(turbine.contains(key)) << key;
  EXPECT_TRUE(turbine["revision"].is_null());
}

TEST(AnswerText, SlopesAndEdgesWhereAskedFor) {
  const AskableMap map = *Compressor().With({.slopes = true, .edges = true});
  for (const ExactSample& sample : Invented().samples) {
    const Question question = At(sample.flow, sample.pressure_ratio);
    const MapAnswer answer = map.Ask(question);
    ASSERT_TRUE(answer.details);
    const json read = AsJson(map, answer);
    const AnswerSlopes slopes = *map.Slopes(question);
    ASSERT_EQ(slopes.speed->by_first, read["slopes"]["speed"]["by_flow"].get<double>());
    ASSERT_EQ(slopes.speed->by_second, read["slopes"]["speed"]["by_pressure_ratio"].get<double>());
    ASSERT_FALSE(read["slopes"].contains("flow"));
    ASSERT_EQ(answer.efficiency.has_value(), read["slopes"]["efficiency"].is_object());
    const EdgeDistances edges = *map.Edges(question);
    ASSERT_EQ(edges.less_flow->change, read["edges"]["less_flow"]["change"].get<double>());
    ASSERT_EQ(edges.nearest.share, read["edges"]["nearest"]["share"].get<double>());
    ASSERT_EQ(MapRegionName(edges.nearest.beyond), read["edges"]["nearest"]["beyond"]);
    std::string header, line;
    AppendAnswerCsvHeader(header, map);
    AppendAnswerCsv(line, map, answer);
    if (answer.reason.empty()) {
      ASSERT_EQ(std::count(header.begin(), header.end(), ','), std::count(line.begin(), line.end(), ',')) << line;
    }
  }
  const json off = AsJson(map, map.Ask(At(1e-3 * Invented().samples.front().flow, 2.0)));
  EXPECT_TRUE(off["edges"].is_null());
  EXPECT_FALSE(AsJson(map, map.Ask(At(-1, 2))).contains("edges"));
  EXPECT_FALSE(AsJson(Compressor(), Compressor().Ask(At(0.2, 2))).contains("slopes"));
  EXPECT_EQ(ErrorCode::kWrongKind, Turbine().With({.edges = true}).error().code);
  EXPECT_TRUE(Turbine().With({.slopes = true}));
}

TEST(AnswerText, CsvFieldsAreQuotedWhereTheyMustBe) {
  std::string out;
  AppendCsvField(out, "plain");
  AppendCsvField(out, "a,\"b\"");
  EXPECT_EQ("plain\"a,\"\"b\"\"\"", out);
  std::string header, line;
  AppendAnswerCsvHeader(header, Compressor());
  EXPECT_THAT(header, testing::StartsWith("flow [kg/s],pressure_ratio,speed [rpm],efficiency,"));
  AppendAnswerCsv(line, Compressor(), Compressor().Ask(At(-1, 2)));
  EXPECT_EQ(std::count(header.begin(), header.end(), ','), std::count(line.begin(), line.end(), ',') - 2)
      << line;  // two commas inside the reason's quotes
}

TEST(QuestionJson, PointsAndColumnsAreTheSame) {
  const auto points = ParseQuestionList(R"({"points": [{"flow": 0.2, "pressure_ratio": 2}, {"speed": 90000, "flow": 0.1, "pressure_ratio": null}]})",
                                        Compressor(), 10);
  ASSERT_TRUE(points) << points.error().message;
  ASSERT_EQ(2u, points->questions.size());
  EXPECT_EQ(0.2, points->questions[0].At(QuestionValue::kFlow));
  EXPECT_EQ(90000, points->questions[1].At(QuestionValue::kSpeed));
  EXPECT_FALSE(points->questions[1].At(QuestionValue::kPressureRatio));
  const auto columns =
      ParseQuestionList(R"({"columns": {"flow": [0.2, 0.3], "pressure_ratio": [2, 2.5]}, "surge_margin": "flow"})", Compressor(), 10);
  ASSERT_TRUE(columns) << columns.error().message;
  EXPECT_EQ(0.3, columns->questions[1].At(QuestionValue::kFlow));
  EXPECT_EQ(SurgeMargin::kFlow, columns->options.surge_margin);
  EXPECT_FALSE(columns->options.slopes || columns->options.edges);
  const auto more = ParseQuestionList(R"({"points": [], "slopes": true, "edges": true})", Compressor(), 10);
  EXPECT_TRUE(more && more->options.slopes && more->options.edges);
  // The pound is 0.45359237 kg exactly (international yard and pound agreement, 1959).
  const auto pounds = ParseQuestionList(R"({"points": [{"flow": 60, "pressure_ratio": 2}], "units": {"flow": "lb/min"}})", Compressor(), 10);
  ASSERT_TRUE(pounds) << pounds.error().message;
  EXPECT_NEAR(0.45359237, *pounds->questions[0].At(QuestionValue::kFlow), 1e-12);
}

TEST(QuestionJson, WhatIsWrongIsNamedWithItsPlace) {
  const struct {
    const char* json;
    const char* words;
    const char* place;
  } cases[] = {
      {"", "not JSON", ""},
      {"{\"points\": [", "not JSON", ""},
      {"[]", "object", ""},
      {"{}", "points or columns", ""},
      {R"({"points": [{"flow": "0.2"}]})", "text", "points[0].flow"},
      {R"({"points": [{"flow": 0.2}, {"flaw": 1}]})", "no such value", "points[1].flaw"},
      {R"({"points": [{"flow": 0.2, "flow": 0.3}]})", "twice", "points[0].flow"},
      {R"({"points": [{"flow": NaN}]})", "not JSON", ""},
      {R"({"points": [{"flow": 1e999}]})", "too large", ""},
      {R"({"points": [{"flow": [1]}]})", "list", "points[0].flow"},
      {R"({"points": [], "ponts": 1})", "no such key", "ponts"},
      {R"({"points": [{"expansion_ratio": 2}]})", "compressor map", "points"},
      {R"({"points": [{"flow": 1}], "units": {"flow": "parsec"}})", "cannot be read", "units.flow"},
      {R"({"points": [{"flow": 1}], "units": {"flow": "K"}})", "cannot be read", "units.flow"},
      {R"({"points": [{"flow": 1}], "surge_margin": "mine"})", "constant-speed", "surge_margin"},
      {R"({"points": [], "slopes": 1})", "number", "slopes"},
      {R"({"points": [], "units": true})", "true and false", "units"},
      {R"({"points": [{"flow": 1}], "reference": "warm"})", "298 K", "reference"},
      {R"({"columns": {"flow": [1, 2], "speed": [1]}})", "unequal length", "columns"},
      {R"({"points": [{}, {}, {}, {}]})", "more than 3 points", "points[3]"},
      {R"({"columns": {"flow": [1, 2, 3, 4]}})", "more than 3 points", "columns.flow[3]"},
  };
  for (const auto& each : cases) {
    const auto list = ParseQuestionList(each.json, Compressor(), 3);
    ASSERT_FALSE(list) << each.json;
    EXPECT_THAT(list.error().message, HasSubstr(each.words)) << each.json;
    EXPECT_EQ(each.place, list.error().place) << each.json;
  }
  EXPECT_FALSE(ParseQuestionList(R"({"points": [{"flow": 1}], "surge_margin": "flow"})", Turbine(), 3));
  EXPECT_FALSE(ParseQuestionList(R"({"points": [{"flow": 1}], "edges": true})", Turbine(), 3));
}

}  // namespace
}  // namespace islebook
