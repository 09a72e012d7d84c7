#include "ui/chart/chart_words.h"

#include <gtest/gtest.h>

namespace islebook {
namespace {

TEST(ChartWordsTest, AxisSaysQuantityUnitAndReference) {
  const Axis flow{Quantity::kCorrectedMassFlow, "lb/min", AxisScale::kLinear, 0, 60};
  EXPECT_EQ(AxisWords(flow, ReferenceConditions{288.15, 101325, ReferenceConditions::Basis::kPrinted}),
            "Corrected mass flow, lb/min, corrected to 15 °C and 101.325 kPa");
  EXPECT_EQ(AxisWords(flow, ReferenceConditions{298, 100000, ReferenceConditions::Basis::kAssumed}),
            "Corrected mass flow, lb/min, corrected to 298 K and 100 kPa (assumed)");
  EXPECT_EQ(AxisWords(flow, std::nullopt), "Corrected mass flow, lb/min, reference conditions not stated");
  EXPECT_EQ(AxisWords({Quantity::kPressureRatioTotalToTotal, "1"}, std::nullopt), "Pressure ratio, total to total");
  EXPECT_EQ(AxisWords({Quantity::kTurbineFlowParameter, "kg s-1 K0.5 kPa-1"}, std::nullopt), "Flow parameter, kg/s·√K/kPa");
}

TEST(ChartWordsTest, LabelsAsPrinted) {
  Curve island;
  island.role = CurveRole::kEfficiencyIsland;
  island.value = 0.7, island.unit = "1";
  EXPECT_EQ(CurveLabel(island), "0.70");
  island.value = 74, island.unit = "%";
  EXPECT_EQ(CurveLabel(island), "74 %");
  Curve speed;
  speed.role = CurveRole::kSpeedLine;
  speed.value = 90000, speed.unit = "rpm";
  EXPECT_EQ(CurveWords(speed), "Speed line 90,000 rpm");
  speed.value.reset();
  EXPECT_EQ(CurveLabel(speed), "");
}

TEST(ChartWordsTest, DoubtsAreNumberedSheetFirst) {
  PerformanceMap map;
  map.needs_review = {"units assumed"};
  map.curves.resize(3);
  map.curves[1].needs_review = true;
  map.curves[1].reasons = {"a", "b"};
  const auto doubts = NumberDoubts(map);
  ASSERT_EQ(doubts.size(), 2u);
  EXPECT_EQ(doubts[0].number, 1);
  EXPECT_EQ(doubts[0].curve, -1);
  EXPECT_EQ(doubts[1].curve, 1);
  EXPECT_NE(doubts[1].words.find("a; b"), std::string::npos);
}

}  // namespace
}  // namespace islebook
