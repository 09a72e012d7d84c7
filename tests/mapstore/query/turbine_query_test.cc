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

// Against central differences of the answers, however asked.
TEST(TurbineQuery, SlopesAreThoseOfTheAnswers) {
  struct Value {
    std::optional<double> TurbineAnswer::* value;
    std::optional<Slope> TurbineSlopes::* slope;
  };
  int compared = 0;
  for (std::uint64_t seed = 40; seed < 60; ++seed) {
    const InventedTurbine invented = InventTurbine(seed, seed % 2 == 0);
    const TurbineQuery query(*TurbineSurface::Build(invented.map));
    const TurbineSurface& surface = query.surface();
    paint::Random random(seed);
    for (int i = 0; i < 20; ++i) {
      const double parameter = random.Between(surface.LineValues().front(), surface.LineValues().back());
      const double low = surface.MinExpansionRatio(parameter), high = surface.MaxExpansionRatio(parameter);
      const double ratio = random.Between(low + 0.1 * (high - low), low + 0.7 * (high - low));
      const std::optional<double> flow = query.Ask({ratio, std::nullopt, parameter}).flow;
      ASSERT_TRUE(flow) << seed;
      // Near choke, or where openings hardly tell, differences of the inverse say nothing.
      const TurbineValue there = *surface.Flow(parameter, ratio);
      if (there.by_expansion_ratio * ratio < 0.1 * *flow || std::abs(there.by_parameter) * parameter < 0.05 * *flow) continue;
      for (const TurbineQuestion& question : {TurbineQuestion{ratio, std::nullopt, parameter}, TurbineQuestion{ratio, flow, std::nullopt},
                                              TurbineQuestion{std::nullopt, flow, parameter}}) {
        const TurbineAnswer here = query.Ask(question);
        const std::optional<TurbineSlopes> slopes = query.Slopes(question);
        if (!here.alternatives.empty() || !slopes) continue;
        int place = 0;
        for (const auto given : {&TurbineQuestion::flow, &TurbineQuestion::expansion_ratio, &TurbineQuestion::parameter}) {
          if (!(question.*given)) continue;
          const bool first = place++ == 0;
          const double at = *(question.*given), step = 1e-4 * at;
          TurbineQuestion more = question, less = question;
          more.*given = at + step;
          less.*given = at - step;
          const TurbineAnswer above = query.Ask(more), below = query.Ask(less);
          for (const Value& value :
               {Value{&TurbineAnswer::flow, &TurbineSlopes::flow}, Value{&TurbineAnswer::expansion_ratio, &TurbineSlopes::expansion_ratio},
                Value{&TurbineAnswer::parameter, &TurbineSlopes::parameter}, Value{&TurbineAnswer::efficiency, &TurbineSlopes::efficiency}}) {
            const std::optional<Slope>& slope = (*slopes).*value.slope;
            if (!slope || !(above.*value.value) || !(below.*value.value) || !above.alternatives.empty() || !below.alternatives.empty()) continue;
            const double found = (*(above.*value.value) - *(below.*value.value)) / (2.0 * step), told = first ? slope->by_first : slope->by_second;
            EXPECT_NEAR(found * at, told * at, 1e-2 * (std::abs(told * at) + std::abs(*(here.*value.value)) + 0.05)) << "seed " << seed;
            ++compared;
          }
        }
      }
    }
  }
  EXPECT_GT(compared, 2000);
}

TEST(TurbineQuery, ThereAreNoSlopesOutside) {
  const TurbineQuery query(*TurbineSurface::Build(InventTurbine(4, false).map));
  EXPECT_FALSE(query.Slopes({std::nullopt, 1e3, query.surface().LineValues().front()}));
  EXPECT_FALSE(query.Slopes({2.0, std::nullopt, std::nullopt}));
  EXPECT_FALSE(query.Slopes({std::nan(""), std::nullopt, query.surface().LineValues().front()}));
}

}  // namespace
}  // namespace islebook
