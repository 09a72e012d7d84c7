// What the bench says of its results: verdicts, refusals, the report as JSON.

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/bench_json.h"
#include "mapstore/bench/case_file.h"
#include "tests/mapstore/bench/model_map.h"
#include "tests/mapstore/bench/run_case.h"

namespace islebook {
namespace {

using bench_test::Case;
using bench_test::MapOfModel;
using bench_test::ModelForFlow;
using bench_test::RunCase;
using testing::AllOf;
using testing::HasSubstr;

const Verdict& Find(const std::vector<Verdict>& verdicts, VerdictKind kind) {
  for (const Verdict& verdict : verdicts)
    if (verdict.kind == kind) return verdict;
  ADD_FAILURE();
  return verdicts.front();
}

BenchResult OnMap(const std::string& points, const std::string& stage_keys = "", const std::string& limits = "") {
  const BenchCase asked =
      Case("[engine]\ndisplacement = \"12 L\"\nspeed = \"1500 rpm\"\n" + limits +
           "[air_path]\ninlet_loss = \"2 kPa\"\ncooler_loss = \"5 kPa\"\n[[stage]]\ncompressor = \"rowan\"\n" + stage_keys + points);
  const auto reader = MakeCompressorReader(MapOfModel(ModelForFlow(0.55, 3.8)), asked.stages[0]);
  EXPECT_TRUE(reader.has_value());
  return RunCase(asked, {reader->get()});
}

TEST(BenchVerdictTest, GradesInWords) {
  const BenchResult middle = OnMap("[[point]]\nboost = \"1.3 bar\"\n");
  EXPECT_EQ(middle.grade, Grade::kRoom) << middle.summary;
  EXPECT_THAT(middle.summary, HasSubstr("Room everywhere"));
  EXPECT_FALSE(middle.NeedsReview());
  EXPECT_THAT(Find(middle.points[0].stages[0].verdicts, VerdictKind::kSurge).words, HasSubstr("±"));

  const BenchResult lugging = OnMap("[[point]]\nspeed = \"750 rpm\"\nboost = \"1.6 bar\"\n");
  EXPECT_EQ(lugging.points[0].stages[0].reading.region, MapRegion::kLeftOfSurge);
  EXPECT_EQ(Find(lugging.points[0].stages[0].verdicts, VerdictKind::kSurge).grade, Grade::kOver);
  EXPECT_EQ(lugging.grade, Grade::kOver);
  EXPECT_THAT(lugging.summary, HasSubstr("left of the surge line at 750 rpm, sea level"));
  EXPECT_TRUE(lugging.NeedsReview());

  const BenchResult racing = OnMap("[[point]]\nspeed = \"3200 rpm\"\nboost = \"1 bar\"\n");
  EXPECT_EQ(racing.points[0].stages[0].reading.region, MapRegion::kPastChoke);
  EXPECT_EQ(Find(racing.points[0].stages[0].verdicts, VerdictKind::kChoke).grade, Grade::kOver);
  EXPECT_TRUE(racing.points[0].stages[0].efficiency_assumed);
  EXPECT_THAT(racing.points[0].doubts, testing::Contains(HasSubstr("assumed")));

  const BenchResult high = OnMap("[[point]]\nspeed = \"1600 rpm\"\nboost = \"3.6 bar\"\n");
  EXPECT_EQ(high.points[0].stages[0].reading.region, MapRegion::kOverSpeed);
  EXPECT_EQ(Find(high.points[0].stages[0].verdicts, VerdictKind::kSpeed).grade, Grade::kOver);
  EXPECT_EQ(Find(high.points[0].stages[0].verdicts, VerdictKind::kOutletTemperature).grade, Grade::kOver);

  const BenchResult idle = OnMap("[[point]]\nspeed = \"600 rpm\"\nboost = \"0.1 bar\"\n");
  EXPECT_EQ(idle.points[0].stages[0].reading.region, MapRegion::kUnderSpeed);
  EXPECT_EQ(idle.points[0].grade, Grade::kUnknown);
  EXPECT_TRUE(idle.NeedsReview());
}

TEST(BenchVerdictTest, TheMakersSpeedLimitIsPhysical) {
  const BenchResult plain = OnMap("[[point]]\nboost = \"1.5 bar\"\n");
  const CompressorReading& reading = plain.points[0].stages[0].reading;
  const double rpm = *reading.speed;
  EXPECT_NEAR(rpm / *reading.corrected_speed, std::sqrt(288.15 / 298.0), 1e-9);
  // The same corrected speed at 45 degrees C is 3.3 % more at the shaft than at 298 K (published README 7.20: computed).
  const BenchResult hot = OnMap("[[point]]\nboost = \"1.5 bar\"\n", "", "[ambient]\ntemperature = \"45 °C\"\n");
  EXPECT_NEAR(*hot.points[0].stages[0].reading.speed / *hot.points[0].stages[0].reading.corrected_speed, 1.033, 5e-4);
  const auto grade = [&](double share) {
    const BenchResult limited = OnMap("[[point]]\nboost = \"1.5 bar\"\n", "speed_limit = \"" + std::to_string(rpm / share) + " rpm\"\n");
    return Find(limited.points[0].stages[0].verdicts, VerdictKind::kSpeed).grade;
  };
  EXPECT_EQ(grade(0.90), Grade::kRoom);
  EXPECT_EQ(grade(0.97), Grade::kClose);
  EXPECT_EQ(grade(1.02), Grade::kOver);
}

TEST(BenchVerdictTest, LimitsOfTheCaseAreUsed) {
  const BenchResult plain = OnMap("[[point]]\nboost = \"1.3 bar\"\n");
  const double margin = *plain.points[0].stages[0].reading.surge_margin;
  const BenchResult strict =
      OnMap("[[point]]\nboost = \"1.3 bar\"\n", "", "[limits]\nsurge_margin_room = \"" + std::to_string(100 * margin + 5) + " %\"\n");
  EXPECT_EQ(Find(strict.points[0].stages[0].verdicts, VerdictKind::kSurge).grade, Grade::kClose);
}

TEST(BenchRefusalTest, MapsThatCannotServe) {
  const CompressorStage stage{.name = "charger", .map = "rowan"};
  PerformanceMap turbine = MapOfModel(ModelForFlow(0.5, 3.5));
  turbine.kind = MapKind::kTurbine;
  const auto wrong = MakeCompressorReader(turbine, stage);
  ASSERT_FALSE(wrong.has_value());
  EXPECT_EQ(wrong.error().code, ErrorCode::kWrongKind);
  EXPECT_THAT(wrong.error().message, HasSubstr("turbine map"));

  const PerformanceMap plain = MapOfModel(ModelForFlow(0.5, 3.5), {.islands = false});
  const auto blind = MakeCompressorReader(plain, stage);
  ASSERT_FALSE(blind.has_value());
  EXPECT_THAT(blind.error().message, HasSubstr("no efficiency"));
  EXPECT_THAT(blind.error().message, HasSubstr("assumed_efficiency"));
  CompressorStage helped = stage;
  helped.assumed_efficiency = 0.7;
  EXPECT_TRUE(MakeCompressorReader(plain, helped).has_value());

  CompressorStage tip = stage;
  tip.speed_limit = 500.0;
  tip.speed_limit_is_tip_speed = true;
  const auto mixed = MakeCompressorReader(MapOfModel(ModelForFlow(0.5, 3.5)), tip);
  ASSERT_FALSE(mixed.has_value());
  EXPECT_THAT(mixed.error().message, HasSubstr("rpm"));
  EXPECT_TRUE(MakeCompressorReader(MapOfModel(ModelForFlow(0.5, 3.5), {.speed_unit = "m/s"}), tip).has_value());

  PerformanceMap silent = MapOfModel(ModelForFlow(0.5, 3.5));
  silent.reference_conditions.reset();
  const auto assumed = MakeCompressorReader(silent, stage);
  ASSERT_TRUE(assumed.has_value());
  EXPECT_THAT((*assumed)->facts().doubts, testing::Contains(HasSubstr("reference conditions")));
  PerformanceMap doubted = MapOfModel(ModelForFlow(0.5, 3.5));
  doubted.curves[1].needs_review = true;
  doubted.curves[1].reasons = {"its right end is hidden"};
  for (Curve& curve : doubted.curves)
    if (curve.role == CurveRole::kSurgeLine) curve.needs_review = true;
  EXPECT_THAT((*MakeCompressorReader(doubted, stage))->facts().doubts,
              testing::Contains(AllOf(HasSubstr("the surge line"), HasSubstr("speed line 4"), HasSubstr(" rpm"))));
  CompressorStage told = stage;
  told.reference_K = 298.0;
  told.reference_Pa = 100000.0;
  EXPECT_TRUE((*MakeCompressorReader(silent, told))->facts().doubts.empty());
}

TEST(BenchRefusalTest, PointsThatCannotBeAreNamed) {
  const BenchResult result =
      OnMap("[[point]]\nmanifold_pressure = \"0.6 bar\"\n[[point]]\nboost = \"1.3 bar\"\n[[point]]\nboost = \"1 bar\"\ninlet_loss = \"80 kPa\"\n");
  EXPECT_THAT(result.points[0].failure, HasSubstr("without a compressor"));
  EXPECT_TRUE(result.points[1].failure.empty());
  EXPECT_THAT(result.points[2].failure, HasSubstr("inlet loss"));
  EXPECT_TRUE(result.AnyFailure());
  EXPECT_THAT(result.summary, HasSubstr("2 of 3 points"));

  BenchCase none;
  EXPECT_FALSE(RunBench(none, {}).has_value());
}

TEST(BenchJsonTest, SaysWhatItIsDocumentedToSay) {
  const BenchResult result = OnMap("[[point]]\nboost = \"1.3 bar\"\nname = \"rated\"\n[[point]]\nmanifold_pressure = \"0.6 bar\"\n");
  const nlohmann::json report = nlohmann::json::parse(WriteBenchReport(result));
  EXPECT_EQ(report["document"], "bench-report");
  EXPECT_EQ(report["schema"], 1);
  EXPECT_EQ(report["summary"]["point"], "rated");
  ASSERT_EQ(report["points"].size(), 2u);
  const auto& stage = report["points"][0]["stages"][0];
  for (const char* key : {"flow_kg_s", "inlet_K", "inlet_Pa", "pressure_ratio", "outlet_K", "power_W", "efficiency", "corrected_flow_kg_s",
                          "map_flow", "corrected_speed", "speed", "surge_margin", "choke_margin"})
    EXPECT_TRUE(stage[key].is_number()) << key;
  EXPECT_EQ(stage["region"], "on_map");
  EXPECT_TRUE(stage["sigma"]["efficiency"].is_number());
  EXPECT_EQ(stage["verdicts"].size(), 6u);
  EXPECT_TRUE(report["points"][1]["failure"].is_string());
  EXPECT_FALSE(report["cautions"].empty());
  EXPECT_FALSE(report["assumed"].empty());
}

}  // namespace
}  // namespace islebook
