// Islands without a label between two that have one.

#include "digitizer/assemble/level_between.h"

#include <gtest/gtest.h>

namespace islebook {
namespace {

// One level speed line and islands that cross it from left to right, each with its value or none (0).
struct Chart {
  std::vector<PlotCurve> curves;
  std::vector<RoleGuess> guesses;
  std::vector<CurveValue> values;

  explicit Chart(const std::vector<double>& islands) {
    Add(CurveRole::kSpeedLine, {{0.0, 0.5}, {1.0, 0.5}}, 60000, "rpm");
    for (std::size_t k = 0; k < islands.size(); ++k) {
      const double x = 0.1 + 0.05 * static_cast<double>(k);
      Add(CurveRole::kEfficiencyIsland, {{x - 0.01, 0.3}, {x + 0.01, 0.7}}, islands[k], "1");
    }
    SuggestLevelsBetween(curves, guesses, values);
  }
  const CurveValue& Island(std::size_t k) const { return values[k + 1]; }

 private:
  void Add(CurveRole role, std::vector<PlotPoint> points, double value, const std::string& unit) {
    PlotCurve curve;
    curve.points = std::move(points);
    curve.min_x = curve.points.front().x;
    curve.max_x = curve.points.back().x;
    curve.min_y = curve.points.front().y;
    curve.max_y = curve.points.back().y;
    curves.push_back(curve);
    RoleGuess guess;
    guess.role = role;
    guesses.push_back(guess);
    CurveValue v;
    if (value > 0) {
      v.value = value;
      v.unit = unit;
      v.confidence = 0.9;
    }
    values.push_back(v);
  }
};

TEST(SuggestLevelsBetween, TheLevelsOfTheOtherSideAreMetOnThisOneToo) {
  const Chart chart({0.69, 0.72, 0.74, 0.76, 0.76, 0.74, 0, 0, 0.65});
  for (const auto& [island, value] : {std::pair{6, 0.72}, std::pair{7, 0.69}}) {
    const CurveValue& v = chart.Island(static_cast<std::size_t>(island));
    ASSERT_TRUE(v.value);
    EXPECT_DOUBLE_EQ(*v.value, value);
    EXPECT_EQ(v.unit, "1");
    EXPECT_TRUE(v.inferred);
    EXPECT_LT(v.confidence, 0.5);
    EXPECT_FALSE(v.reasons.empty());
  }
}

TEST(SuggestLevelsBetween, WhereTheirNumberDiffersNothingIsSaid) {
  const Chart fewer({0.69, 0.72, 0.74, 0.76, 0.76, 0.74, 0, 0.65});
  EXPECT_FALSE(fewer.Island(6).value);
  const Chart more({0.72, 0.74, 0.76, 0.76, 0.74, 0, 0, 0.65});
  EXPECT_FALSE(more.Island(5).value);
}

TEST(SuggestLevelsBetween, BeyondTheLastValueNothingFollows) {
  const Chart chart({0.69, 0.72, 0.74, 0.76, 0.76, 0.74, 0, 0});
  EXPECT_FALSE(chart.Island(6).value);
  EXPECT_FALSE(chart.Island(7).value);
}

}  // namespace
}  // namespace islebook
