#include "mapstore/query/turbine_query.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

using testing::HasSubstr;

TEST(TurbineQuery, ExpansionRatioAndSpeedGiveFlowAndEfficiency) {
  const InventedTurbine invented = InventTurbine(1, false);
  const TurbineQuery query(*TurbineSurface::Build(invented.map));
  const double speed = invented.values[2], part = speed / invented.model.design_rpm;
  const double ratio = 0.5 * (invented.model.FirstRatio(part) + invented.model.LastRatio(part));
  const TurbineAnswer answer = query.Ask({ratio, std::nullopt, speed});
  EXPECT_TRUE(answer.inside);
  EXPECT_TRUE(answer.reason.empty()) << answer.reason;
  EXPECT_NEAR(invented.model.Flow(ratio, part), *answer.flow, 1e-3 * *answer.flow);
  EXPECT_NEAR(invented.model.Efficiency(ratio, part), *answer.efficiency, 1e-3);
  EXPECT_TRUE(answer.sigma_flow && answer.sigma_efficiency);
}

TEST(TurbineQuery, ExpansionRatioAndFlowGiveTheVaneOpening) {
  const InventedTurbine invented = InventTurbine(2, true);
  const TurbineQuery query(*TurbineSurface::Build(invented.map));
  const TurbineAnswer answer = query.Ask({2.0, invented.model.Flow(2.0, 0.5), std::nullopt});
  ASSERT_TRUE(answer.parameter.has_value()) << answer.reason;
  EXPECT_NEAR(50.0, *answer.parameter, 0.5);
  EXPECT_NEAR(invented.model.Efficiency(2.0, 0.5), *answer.efficiency, 5e-3);
}

TEST(TurbineQuery, FlowAndVaneOpeningGiveTheExpansionRatio) {
  const InventedTurbine invented = InventTurbine(3, true);
  const TurbineQuery query(*TurbineSurface::Build(invented.map));
  const TurbineAnswer answer = query.Ask({std::nullopt, invented.model.Flow(1.6, 0.6), 60.0});
  ASSERT_TRUE(answer.expansion_ratio.has_value()) << answer.reason;
  EXPECT_NEAR(1.6, *answer.expansion_ratio, 0.01);
}

TEST(TurbineQuery, WhatCannotBeKnownIsSaid) {
  const InventedTurbine invented = InventTurbine(4, false);
  const TurbineQuery query(*TurbineSurface::Build(invented.map));
  const double speed = invented.values[1], nan = std::numeric_limits<double>::quiet_NaN();
  TurbineAnswer answer = query.Ask({2.0, std::nullopt, 2.0 * invented.values.back()});
  EXPECT_FALSE(answer.inside || answer.flow || answer.efficiency);
  EXPECT_THAT(answer.reason, HasSubstr("outside the labeled lines"));
  answer = query.Ask({20.0, std::nullopt, speed});
  EXPECT_FALSE(answer.inside || answer.flow || answer.efficiency);
  EXPECT_THAT(answer.reason, HasSubstr("outside the lines"));
  answer = query.Ask({query.surface().MaxExpansionRatio(speed) + 0.05, std::nullopt, speed});
  EXPECT_FALSE(answer.inside);
  EXPECT_TRUE(answer.flow && answer.efficiency);
  EXPECT_THAT(answer.reason, HasSubstr("Extrapolated"));
  answer = query.Ask({0.9, std::nullopt, speed});
  EXPECT_THAT(answer.reason, HasSubstr("above 1"));
  answer = query.Ask({2.0, std::nullopt, std::nullopt});
  EXPECT_THAT(answer.reason, HasSubstr("Two of"));
  for (const TurbineQuestion& question : {TurbineQuestion{nan, std::nullopt, speed}, TurbineQuestion{2.0, nan, std::nullopt},
                                          TurbineQuestion{2.0, std::nullopt, nan}, TurbineQuestion{-2.0, std::nullopt, speed}}) {
    answer = query.Ask(question);
    EXPECT_FALSE(answer.inside || answer.efficiency);
    EXPECT_FALSE(answer.reason.empty());
    for (const std::optional<double>& value : {answer.expansion_ratio, answer.flow, answer.parameter}) {
      if (value) {
        EXPECT_TRUE(std::isfinite(*value));
      }
    }
  }
}

}  // namespace
}  // namespace islebook
