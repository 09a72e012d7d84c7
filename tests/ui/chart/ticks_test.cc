#include "ui/chart/ticks.h"

#include <cmath>

#include <gtest/gtest.h>

namespace islebook {
namespace {

TEST(TicksTest, StepsAreRoundAndCoverTheSpan) {
  for (double low : {0.0, 1.0, 0.013, -3.0, 12000.0}) {
    for (double span : {0.0037, 0.4, 1.7, 9.0, 26.0, 480.0, 91000.0}) {
      const double high = low + span;
      for (int about : {3, 6, 10}) {
        const Ticks ticks = PlaceTicks(low, high, AxisScale::kLinear, about);
        ASSERT_GE(ticks.major.size(), 2u) << low << " " << span;
        EXPECT_LE(ticks.major.size(), static_cast<std::size_t>(2 * about + 2));
        const double step = ticks.major[1] - ticks.major[0];
        const double digit = step / std::pow(10.0, std::floor(std::log10(step) + 1e-9));
        EXPECT_TRUE(std::abs(digit - 1) < 1e-6 || std::abs(digit - 2) < 1e-6 || std::abs(digit - 2.5) < 1e-6 || std::abs(digit - 5) < 1e-6) << digit;
        for (double v : ticks.major) {
          EXPECT_GE(v, low - 1e-6 * span);
          EXPECT_LE(v, high + 1e-6 * span);
          // The printed number is the tick's value, to a thousandth of a step.
          EXPECT_NEAR(std::round(v * std::pow(10.0, ticks.decimals)) / std::pow(10.0, ticks.decimals), v, 1e-3 * step);
        }
        for (double v : ticks.minor)
          for (double m : ticks.major) EXPECT_GT(std::abs(v - m), 1e-6 * step);
      }
    }
  }
}

TEST(TicksTest, RoundOutwardHoldsTheData) {
  for (double low : {0.0, 1.0, 0.37, 55.0}) {
    for (double high : {low + 0.02, low + 3.3, low + 710.0}) {
      const AxisSpan span = RoundOutward(low, high, AxisScale::kLinear, 8);
      EXPECT_LE(span.min, low + 1e-9);
      EXPECT_GE(span.max, high - 1e-9);
      EXPECT_LT(span.max - span.min, 1.5 * (high - low));
    }
  }
  const AxisSpan log = RoundOutward(3.0, 70.0, AxisScale::kLog, 8);
  EXPECT_DOUBLE_EQ(log.min, 3.0);
  EXPECT_DOUBLE_EQ(log.max, 70.0);
  EXPECT_DOUBLE_EQ(RoundOutward(1.7, 13.0, AxisScale::kLog, 8).min, 1.5);
  EXPECT_DOUBLE_EQ(RoundOutward(1.7, 13.0, AxisScale::kLog, 8).max, 15.0);
}

TEST(TicksTest, LogTicksAreDecadeDigits) {
  const Ticks ticks = PlaceTicks(2.0, 100.0, AxisScale::kLog, 8);
  EXPECT_EQ(ticks.major, (std::vector<double>{2, 5, 10, 20, 50, 100}));
}

TEST(TicksTest, AnEmptySpanDoesNotHang) {
  EXPECT_EQ(PlaceTicks(2.0, 2.0, AxisScale::kLinear, 5).major.size(), 1u);
  const AxisSpan span = RoundOutward(2.0, 2.0, AxisScale::kLinear, 5);
  EXPECT_LT(span.min, span.max);
}

TEST(NumberOnChartTest, AsAChartPrintsThem) {
  EXPECT_EQ(NumberOnChart(90000, 0), "90,000");
  EXPECT_EQ(NumberOnChart(1234567.5, 1), "1,234,567.5");
  EXPECT_EQ(NumberOnChart(9500, 0), "9500");
  EXPECT_EQ(NumberOnChart(0.74, 2), "0.74");
  EXPECT_EQ(NumberOnChart(-0.0001, 2), "0.00");
  EXPECT_EQ(NumberOnChart(-1.5, 1), "\u22121.5");
  EXPECT_EQ(NumberOnChart(-12500, 0), "\u221212,500");
  EXPECT_EQ(ValueOnChart(0.74), "0.74");
  EXPECT_EQ(ValueOnChart(74), "74");
  EXPECT_EQ(ValueOnChart(112500), "112,500");
  EXPECT_EQ(ValueOnChart(101.325), "101.325");
  EXPECT_FALSE(NumberOnChart(1e300, 3).empty());
}

}  // namespace
}  // namespace islebook
