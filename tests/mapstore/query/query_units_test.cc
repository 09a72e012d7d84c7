#include "mapstore/query/query_units.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/query/question_table.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

using testing::HasSubstr;

PerformanceMap Compressor() { return InventCompressor(1, {.lines = 5, .islands = false, .samples = 0}).map; }  // kg/s at 298 K and 100 kPa, rpm

TEST(QuestionUnits, PrintedUnitsUnlessGiven) {
  const QuestionUnits units = *QuestionUnits::For(Compressor());
  EXPECT_DOUBLE_EQ(0.42, *units.Parse(QuestionValue::kFlow, "0.42"));
  // 1 lb = 0.45359237 kg (exact, international pound).
  EXPECT_NEAR(30.0 * 0.45359237 / 60.0, *units.Parse(QuestionValue::kFlow, "30 lb/min"), 1e-12);
  EXPECT_DOUBLE_EQ(92000.0, *units.Parse(QuestionValue::kSpeed, "92 krpm"));
  EXPECT_DOUBLE_EQ(92000.0, *units.Parse(QuestionValue::kSpeed, "92000"));
  EXPECT_DOUBLE_EQ(2.4, *units.Parse(QuestionValue::kPressureRatio, "2.4"));
}

TEST(QuestionUnits, VolumeAndMassFlowPartAtTheReferenceDensity) {
  const QuestionUnits units = *QuestionUnits::For(Compressor());
  // p / (R T) with R 287.05287 J/(kg K): 100000 / (287.05287 * 298) = 1.16902 kg/m3.
  EXPECT_NEAR(0.3 * 1.16902, *units.Parse(QuestionValue::kFlow, "0.3 m3/s"), 1e-5);
  PerformanceMap map = Compressor();
  map.reference_conditions.reset();
  const auto refused = QuestionUnits::For(map)->Parse(QuestionValue::kFlow, "0.3 m3/s");
  ASSERT_FALSE(refused.has_value());
  EXPECT_EQ(ErrorCode::kIncompatibleUnit, refused.error().code);
  EXPECT_THAT(refused.error().message, HasSubstr("reference conditions"));
}

// Factors for the same physical point between the standard day (288.15 K, 101325 Pa) and 298 K, 100 kPa: flow 0.970475, speed 1.016948, from
// W_ref / W_isa = sqrt(288.15 / T_ref) p_ref / 101325 and N_ref / N_isa = sqrt(T_ref / 288.15) for physical points corrected as in NASA/TM-2014-216638.
TEST(QuestionUnits, OtherReferenceConditionsAreBroughtToTheMaps) {
  const QuestionUnits units = *QuestionUnits::For(Compressor(), ReferenceConditions{288.15, 101325.0, ReferenceConditions::Basis::kPrinted});
  const double flow = *units.Parse(QuestionValue::kFlow, "1"), speed = *units.Parse(QuestionValue::kSpeed, "1");
  EXPECT_NEAR(0.970475, flow, 2e-6);
  EXPECT_NEAR(1.016948, speed, 2e-6);
}

TEST(QuestionUnits, WrongUnitsAreRefusedInWords) {
  const QuestionUnits units = *QuestionUnits::For(Compressor());
  for (const char* text : {"0.4 bar", "3 parsec", "nonsense", "", "0.4 kg/s extra"})
    EXPECT_FALSE(units.Parse(QuestionValue::kFlow, text).has_value()) << text;
  EXPECT_FALSE(units.Parse(QuestionValue::kSpeed, "90 kg/s").has_value());
  EXPECT_FALSE(units.Parse(QuestionValue::kPressureRatio, "2.4 kPa").has_value());
  PerformanceMap map = Compressor();
  map.reference_conditions.reset();
  EXPECT_FALSE(QuestionUnits::For(map, ReferenceConditions{298.0, 100000.0}).has_value());
}

TEST(QuestionUnits, ReferenceConditionsAreRead) {
  const auto reference = ParseReferenceArgument("298 K, 100 kPa");
  ASSERT_TRUE(reference.has_value());
  EXPECT_NEAR(298.0, reference->temperature_K, 1e-9);
  EXPECT_NEAR(100000.0, reference->pressure_Pa, 1e-6);
  EXPECT_FALSE(ParseReferenceArgument("warm").has_value());
}

TEST(QuestionTable, ColumnsUnitsQuotesAndLineEnds) {
  const QuestionUnits units = *QuestionUnits::For(Compressor());
  const auto table = ReadQuestionTable(
      "\xEF\xBB\xBF\"flow [kg/h]\", pressure_ratio ,\"note, long\"\r\n1440,2.0,\"a \"\"quoted\"\" word\r\nover two lines\"\r\n\r\n720,+1.5,b\n",
      units);
  ASSERT_TRUE(table.has_value()) << table.error().message;
  ASSERT_EQ(2u, table->questions.size());
  EXPECT_EQ(std::vector<std::string>{"note, long"}, table->ignored);
  EXPECT_NEAR(0.4, *table->questions[0].values[static_cast<int>(QuestionValue::kFlow)], 1e-12);
  EXPECT_DOUBLE_EQ(1.5, *table->questions[1].values[static_cast<int>(QuestionValue::kPressureRatio)]);
  EXPECT_EQ(2, table->questions[0].line);
  EXPECT_EQ(5, table->questions[1].line);
}

TEST(QuestionTable, BadLinesKeepTheirNumberAndTheRestIsRead) {
  const QuestionUnits units = *QuestionUnits::For(Compressor());
  const auto table = ReadQuestionTable("flow,pressure_ratio\n0.1,2\n0.1;2\nx,2\n0.1,2,3\n0.1,nan\n0.2,2", units);
  ASSERT_TRUE(table.has_value());
  ASSERT_EQ(6u, table->questions.size());
  EXPECT_TRUE(table->questions[0].error.empty());
  EXPECT_THAT(table->questions[1].error, HasSubstr("fields"));
  EXPECT_THAT(table->questions[2].error, HasSubstr("not a number"));
  EXPECT_EQ(4, table->questions[2].line);
  EXPECT_THAT(table->questions[3].error, HasSubstr("3 fields"));
  EXPECT_THAT(table->questions[4].error, HasSubstr("not a number"));
  EXPECT_TRUE(table->questions[5].error.empty());
}

TEST(QuestionTable, WhatIsNoTableIsRefusedWithItsLine) {
  const QuestionUnits units = *QuestionUnits::For(Compressor());
  const std::pair<const char*, const char*> cases[] = {{"", "empty"},
                                                       {"a,b\n1,2\n", "no column"},
                                                       {"flow,flow\n1,2\n", "twice"},
                                                       {"flow [parsec],pressure_ratio\n1,2\n", "flow [parsec]"},
                                                       {"flow [kPa],pressure_ratio\n1,2\n", "cannot be read"},
                                                       {"flow,pressure_ratio\n1,2\n\"1,2\n", "not closed"},
                                                       {"flow,pressure_ratio\n\"1\"x,2\n", "closing quote"}};
  for (const auto& [text, words] : cases) {
    const auto table = ReadQuestionTable(text, units);
    ASSERT_FALSE(table.has_value()) << text;
    EXPECT_THAT(table.error().message, HasSubstr(words));
    EXPECT_THAT(table.error().place, HasSubstr("line"));
  }
}

}  // namespace
}  // namespace islebook
