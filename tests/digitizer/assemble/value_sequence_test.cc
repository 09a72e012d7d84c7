// Values by the company they keep: a misread digit is put right where the family leaves no doubt, and doubted where it does.

#include "digitizer/assemble/value_sequence.h"

#include <numeric>

#include <gtest/gtest.h>

namespace islebook {
namespace {

struct Alternative {
  double value, cost;
};

class ValueSequenceTest : public testing::Test {
 protected:
  // A curve whose label was read as the first value.
  void Curve(std::vector<Alternative> alternatives, const std::string& unit = "rpm") {
    CurveLabel label;
    label.value = alternatives.front().value;
    for (const Alternative& a : alternatives) label.alternatives.push_back({"", unit, a.value, a.cost});
    CurveValue value;
    value.value = label.value;
    value.unit = unit;
    value.confidence = 0.9;
    value.labels.push_back(labels_.size());
    labels_.push_back(label);
    values_.push_back(value);
  }
  std::vector<std::size_t> All() const {
    std::vector<std::size_t> order(values_.size());
    std::iota(order.begin(), order.end(), 0);
    return order;
  }

  std::vector<CurveLabel> labels_;
  std::vector<CurveValue> values_;
};

TEST_F(ValueSequenceTest, SpeedsRiseInEvenSteps) {
  Curve({{60000, 0}, {80000, 8}});
  Curve({{90000, 0}, {80000, 1.5}});  // 80000 with a digit that looks like a 9
  Curve({{100000, 0}, {108000, 9}});
  Curve({{130000, 0}, {120000, 2}});
  Curve({{140000, 0}});
  SettleRising(All(), false, labels_, values_);
  EXPECT_EQ(values_[1].value, 80000);
  EXPECT_TRUE(values_[1].reasons.empty());
  EXPECT_EQ(values_[3].value, 120000);
  for (const std::size_t i : {0, 2, 4}) EXPECT_EQ(values_[i].value, labels_[i].value) << i;
}

TEST_F(ValueSequenceTest, ALabelThatGoesWithNothingStaysForOthersToDoubt) {
  Curve({{60000, 0}, {50000, 12}});
  Curve({{6000, 0}, {6500, 12}});
  Curve({{80000, 0}, {90000, 12}});
  Curve({{90000, 0}, {80000, 12}});
  Curve({{100000, 0}});
  SettleRising(All(), false, labels_, values_);
  EXPECT_EQ(values_[1].value, 6000);
  EXPECT_EQ(values_[2].value, 80000);
}

TEST_F(ValueSequenceTest, FallingFamiliesToo) {
  for (const double v : {100.0, 80.0, 20.0, 40.0, 20.0}) Curve({{v, 0}, {v == 20.0 && values_.size() == 2 ? 60.0 : v + 5.0, 4}}, "%");
  SettleRising(All(), true, labels_, values_);
  EXPECT_EQ(values_[2].value, 60);
  EXPECT_EQ(values_[4].value, 20);
}

TEST_F(ValueSequenceTest, IslandsNest) {
  Curve({{0.65, 0}}, "1");
  Curve({{0.78, 0}, {0.70, 2}}, "1");
  Curve({{0.73, 0}, {0.78, 9}}, "1");
  Curve({{0.76, 0}}, "1");
  SettleNested(All(), {{0, 1}, {0, 2}, {1, 2}, {1, 3}, {2, 3}}, labels_, values_);
  EXPECT_EQ(values_[1].value, 0.70);
  EXPECT_TRUE(values_[1].reasons.empty());
  EXPECT_EQ(values_[2].value, 0.73);
}

TEST_F(ValueSequenceTest, WhatTheFamilyLeavesOpenIsDoubted) {
  Curve({{0.65, 0}}, "1");
  Curve({{0.72, 0}, {0.71, 0.5}}, "1");  // both fit
  Curve({{0.76, 0}}, "1");
  SettleNested(All(), {{0, 1}, {0, 2}, {1, 2}}, labels_, values_);
  EXPECT_EQ(values_[1].value, 0.72);
  ASSERT_EQ(values_[1].reasons.size(), 1U);
  EXPECT_LT(values_[1].confidence, 0.5);
  EXPECT_TRUE(values_[0].reasons.empty());
}

TEST_F(ValueSequenceTest, TwoLabelsOfOneTurbineLine) {
  Curve({{385000, 0}, {185000, 1.0}});
  Curve({{185000, 0}, {105000, 7}});
  Curve({{105000, 0}});
  Curve({{131000, 0}});
  SettleTogether(values_[0], labels_, values_[1], labels_);
  EXPECT_EQ(values_[0].value, 185000);
  EXPECT_EQ(values_[1].value, 185000);
  SettleTogether(values_[2], labels_, values_[3], labels_);  // nothing in common
  EXPECT_EQ(values_[2].value, 105000);
  EXPECT_EQ(values_[3].value, 131000);
}

}  // namespace
}  // namespace islebook
