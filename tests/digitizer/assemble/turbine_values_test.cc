// Each speed of a turbine's sheet is printed twice, at its flow line and at its efficiency line: one label mends the other.

#include "digitizer/assemble/turbine_values.h"

#include <optional>
#include <string>
#include <vector>

#include <gtest/gtest.h>

namespace islebook {
namespace {

// A sheet of 1,000 by 1,000 px: solid flow lines that rise, dashed efficiency lines that fall, each pair over a range of its own.
class TurbineSheet {
 public:
  TurbineSheet() {
    panel_.frame = FrameMapping::FromCorners({ImagePoint{0, 0}, ImagePoint{1000, 0}, ImagePoint{1000, 1000}, ImagePoint{0, 1000}});
    panel_.right.emplace();
  }

  // The numbers read at the two lines; nothing where none was read.
  void Add(std::optional<double> at_flow, std::optional<double> at_efficiency) {
    const double from = 100 + 80.0 * pairs_, to = 500 + 80.0 * pairs_;
    AddLine({from, 600 - 20.0 * pairs_}, {to, 450 - 20.0 * pairs_}, false, at_flow);
    AddLine({from, 200 + 10.0 * pairs_}, {to, 330 + 10.0 * pairs_}, true, at_efficiency);
    ++pairs_;
  }

  struct Said {
    std::optional<double> flow, efficiency;
    bool doubted;
  };
  // `known`: what a person said of some curves.
  std::vector<Said> Settle(const std::vector<JudgedCurve>& known = {}) const {
    const std::vector<ValuesGiven> given = GiveTurbineValues({{&panel_, &evidence_, true, known}});
    EXPECT_EQ(given.size(), 1u);
    std::vector<Said> said;
    for (std::size_t k = 0; k < static_cast<std::size_t>(pairs_); ++k) {
      const CurveValue &f = given[0].values[2 * k], &e = given[0].values[2 * k + 1];
      said.push_back({f.value, e.value, !f.reasons.empty() || !e.reasons.empty()});
    }
    return said;
  }

 private:
  void AddLine(ImagePoint from, ImagePoint to, bool dashed, std::optional<double> number) {
    TracedCurve c;
    for (int i = 0; i <= 100; ++i) c.points.push_back({from.x + (to.x - from.x) * i / 100, from.y + (to.y - from.y) * i / 100});
    c.sigma_px.assign(c.points.size(), 0.1f);
    c.bridged.assign(c.points.size(), 0);
    c.dashed = dashed;
    c.ink_mass = 2.0;
    evidence_.curves.curves.push_back(c);
    if (!number) return;
    CurveLabel label;
    label.value = *number;
    label.text = std::to_string(static_cast<int>(*number));
    label.unit = "rpm";
    label.confidence = 0.9;
    label.height_px = 12;
    label.candidates.push_back({evidence_.curves.curves.size() - 1, 4.0, LabelPlace::kAtEnd});
    evidence_.labels.labels.push_back(label);
  }

  Panel panel_;
  PanelEvidence evidence_;
  int pairs_ = 0;
};

TEST(TurbineValues, AgreeingLabelsStand) {
  TurbineSheet sheet;
  for (double speed : {40000.0, 60000.0, 90000.0}) sheet.Add(speed, speed);
  for (const TurbineSheet::Said& s : sheet.Settle()) {
    EXPECT_EQ(s.flow, s.efficiency);
    EXPECT_FALSE(s.doubted);
  }
}

TEST(TurbineValues, AMisreadLabelIsMendedByItsPartnerAndTheSeries) {
  TurbineSheet sheet;
  sheet.Add(60000, 60000);
  sheet.Add(3000, 83000);
  sheet.Add(106000, 1106000);
  sheet.Add(129000, 129000);
  const auto said = sheet.Settle();
  EXPECT_EQ(said[1].flow, 83000);
  EXPECT_EQ(said[2].efficiency, 106000);
  for (std::size_t k : {1u, 2u}) {
    EXPECT_EQ(said[k].flow, said[k].efficiency);
    EXPECT_FALSE(said[k].doubted);
  }
}

TEST(TurbineValues, AValueThatAPersonGaveIsItsPartnersToo) {
  TurbineSheet sheet;
  sheet.Add(60000, 60000);
  sheet.Add(std::nullopt, 41000);
  sheet.Add(100000, 100000);
  std::vector<JudgedCurve> known(6);
  for (std::size_t i = 0; i < known.size(); ++i) {
    known[i].role = i % 2 == 0 ? CurveRole::kFlowLine : CurveRole::kEfficiencyLine;
    known[i].on_right_axis = i % 2 != 0;
  }
  known[2].value = 83000;
  known[2].unit = "rpm";
  known[2].word.role = known[2].word.value = true;
  const auto said = sheet.Settle(known);
  EXPECT_EQ(said[1].flow, 83000);
  EXPECT_EQ(said[1].efficiency, 83000);
  EXPECT_TRUE(said[1].doubted) << "a label says otherwise";
  EXPECT_EQ(said[0].flow, 60000);
  EXPECT_EQ(said[2].efficiency, 100000);
}

TEST(TurbineValues, AMissingLabelIsSuggestedAndSaid) {
  TurbineSheet sheet;
  sheet.Add(60000, 60000);
  sheet.Add(std::nullopt, 83000);
  sheet.Add(106000, 106000);
  const auto said = sheet.Settle();
  EXPECT_EQ(said[1].flow, 83000);
  EXPECT_TRUE(said[1].doubted);
}

TEST(TurbineValues, ANumberLessRoundThanTheSeriesIsDoubted) {
  TurbineSheet sheet;
  sheet.Add(50000, 50000);
  sheet.Add(68070, 68070);
  sheet.Add(85000, 85000);
  sheet.Add(103000, 103000);
  const auto said = sheet.Settle();
  EXPECT_TRUE(said[1].doubted);
  EXPECT_FALSE(said[2].doubted);
}

TEST(TurbineValues, WhatNeitherLabelNorSeriesTellsStaysAsRead) {
  TurbineSheet sheet;
  sheet.Add(60000, 60000);
  sheet.Add(70000, 90000);  // both would fit between the others
  sheet.Add(110000, 110000);
  const auto said = sheet.Settle();
  EXPECT_EQ(said[1].flow, 70000);
  EXPECT_EQ(said[1].efficiency, 90000);
}

}  // namespace
}  // namespace islebook
