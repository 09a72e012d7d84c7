#include <gtest/gtest.h>

#include <cmath>

#include "mapstore/query/compressor_query.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

// What a question asks with, by its place in the order flow, pressure ratio, speed.
std::vector<std::optional<double> CompressorQuestion::*> GivenBy(const CompressorQuestion& question) {
  std::vector<std::optional<double> CompressorQuestion::*> given;
  for (const auto member : {&CompressorQuestion::flow, &CompressorQuestion::pressure_ratio, &CompressorQuestion::speed})
    if (question.*member) given.push_back(member);
  return given;
}

void ExpectSlopesOfValues(const CompressorQuery& query, const CompressorQuestion& question, std::uint64_t seed) {
  const std::optional<CompressorSlopes> slopes = query.Slopes(question);
  ASSERT_TRUE(slopes.has_value()) << seed;
  const auto given = GivenBy(question);
  ASSERT_EQ(2u, given.size());
  struct Value {
    const char* name;
    std::optional<double> CompressorAnswer::* value;
    std::optional<Slope> CompressorSlopes::* slope;
  };
  for (const Value& value : {Value{"flow", &CompressorAnswer::flow, &CompressorSlopes::flow},
                             Value{"pressure ratio", &CompressorAnswer::pressure_ratio, &CompressorSlopes::pressure_ratio},
                             Value{"speed", &CompressorAnswer::speed, &CompressorSlopes::speed},
                             Value{"efficiency", &CompressorAnswer::efficiency, &CompressorSlopes::efficiency},
                             Value{"surge margin", &CompressorAnswer::surge_margin, &CompressorSlopes::surge_margin},
                             Value{"choke margin", &CompressorAnswer::choke_margin, &CompressorSlopes::choke_margin},
                             Value{"map width", &CompressorAnswer::map_width, &CompressorSlopes::map_width}}) {
    if (!((*slopes).*value.slope)) continue;
    const Slope& slope = *((*slopes).*value.slope);
    for (int k = 0; k < 2; ++k) {
      const double at = *(question.*given[k]), step = 3e-6 * at;
      CompressorQuestion more = question, less = question;
      more.*given[k] = at + step;
      less.*given[k] = at - step;
      const CompressorAnswer above = query.Ask(more), below = query.Ask(less), here = query.Ask(question);
      if (!(above.*value.value) || !(below.*value.value) || !above.alternatives.empty()) continue;
      const double found = (*(above.*value.value) - *(below.*value.value)) / (2.0 * step), told = k == 0 ? slope.by_first : slope.by_second;
      EXPECT_NEAR(found * at, told * at, 2e-3 * (std::abs(told * at) + std::abs(*(here.*value.value)) + 0.05))
          << "seed " << seed << ", " << value.name << " by value " << k;
    }
  }
}

TEST(CompressorSlopes, AreThoseOfTheAnswersHoweverAsked) {
  for (std::uint64_t seed = 800; seed < 815; ++seed) {
    const InventedCompressor invented = InventCompressor(seed, {.samples = 20});
    const CompressorQuery query(*CompressorSurface::Build(invented.map));
    for (const ExactSample& sample : invented.samples) {
      const CompressorAnswer answer = query.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio);
      ExpectSlopesOfValues(query, {sample.flow, sample.pressure_ratio, std::nullopt}, seed);
      ExpectSlopesOfValues(query, {sample.flow, std::nullopt, answer.speed}, seed);
      // Where pressure ratio tells the flow: right of a line's hump.
      if (sample.place > 0.4) ExpectSlopesOfValues(query, {std::nullopt, sample.pressure_ratio, answer.speed}, seed);
    }
  }
}

TEST(CompressorSlopes, KnowEveryMarginDefinition) {
  const InventedCompressor invented = InventCompressor(820, {.samples = 30});
  const CompressorSurface surface = *CompressorSurface::Build(invented.map);
  for (const SurgeMarginDefinition& definition : SurgeMarginDefinitions()) {
    const CompressorQuery query(surface, {.surge_margin = definition.margin});
    int known = 0;
    for (const ExactSample& sample : invented.samples) {
      const CompressorQuestion question{sample.flow, sample.pressure_ratio, std::nullopt};
      ExpectSlopesOfValues(query, question, 820);
      known += query.Slopes(question)->surge_margin.has_value();
    }
    EXPECT_GT(known, 10) << definition.name;
  }
}

TEST(CompressorSlopes, OffTheMapThereAreNone) {
  const InventedCompressor invented = InventCompressor(821, {.samples = 0});
  const CompressorQuery query(*CompressorSurface::Build(invented.map));
  EXPECT_FALSE(query.Slopes({10.0 * invented.model.choke_flow, 2.0, std::nullopt}));
  EXPECT_FALSE(query.Slopes({std::nullopt, 2.0, std::nullopt}));
  EXPECT_FALSE(query.Slopes({std::nan(""), 2.0, std::nullopt}));
}

}  // namespace
}  // namespace islebook
