#include "mapstore/find/find_maps.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <random>
#include <set>

#include <gtest/gtest.h>

#include "mapstore/find/map_reach_grid.h"
#include "mapstore/map/map_document.h"
#include "mapstore/query/compressor_query.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "mapstore/units/correction.h"
#include "tests/mapstore/map/example_maps.h"
#include "tests/mapstore/shelf/shelf_test_support.h"

namespace islebook {
namespace {

// The example wheel scaled to another size, with another pressure rise and another efficiency.
PerformanceMap Scaled(double flow, double rise, double efficiency) {
  PerformanceMap map = ExampleCompressorMap();
  map.x->max *= flow;
  for (Curve& curve : map.curves) {
    for (Point2& p : curve.points) p = {p.x * flow, 1.0 + (p.y - 1.0) * rise};
    if (curve.role == CurveRole::kEfficiencyIsland) *curve.value += efficiency;
  }
  map.y->max = 1.0 + (map.y->max - 1.0) * rise;
  return AsWritten(map);
}

CompressorQuery QueryOf(const PerformanceMap& map) {
  auto surface = CompressorSurface::Build(map, {.estimate_sigma = false});
  EXPECT_TRUE(surface) << (surface ? "" : surface.error().message);
  return CompressorQuery(std::move(*surface), {SurgeMargin::kConstantSpeed, false});
}

class FindMaps : public testing::Test {
 protected:
  void SetUp() override {
    auto shelf = OpenSqliteShelf(folder_.Path() / "shelf.db", {.access = ShelfAccess::kCreate});
    ASSERT_TRUE(shelf) << shelf.error().message;
    shelf_ = std::move(*shelf);
  }

  void Add(const std::string& name, const PerformanceMap& map) {
    NewRevision revision;
    revision.name = name;
    revision.document = WriteMapDocument(map);
    revision.author = "Ines";
    const auto added = shelf_->AddRevision(revision);
    ASSERT_TRUE(added) << added.error().message;
    maps_[name] = map;
  }

  static std::set<std::string> Names(const Result<CapableMaps>& found) {
    std::set<std::string> names;
    EXPECT_TRUE(found) << (found ? "" : found.error().message);
    if (found)
      for (const CapableMap& map : found->maps) names.insert(map.name);
    return names;
  }

  shelf_test::TemporaryFolder folder_;
  std::unique_ptr<Shelf> shelf_;
  std::map<std::string, PerformanceMap> maps_;
};

// W_c = W sqrt(theta)/delta (NASA/TM-2014-216638): at 302.594 K and 96.173 kPa a flow of 1 is sqrt(302.594/288.15) * 101325/96173 on the standard day.
TEST(ReachGrid, FlowsAreBroughtToTheStandardDay) {
  PerformanceMap map = ExampleCompressorMap();
  map.reference_conditions = ReferenceConditions{302.594, 96173, ReferenceConditions::Basis::kPrinted};
  EXPECT_NEAR(*StandardFlowFactor(map), 0.45359237 / 60 * std::sqrt(302.594 / 288.15) * 101325 / 96173, 1e-9);
  map.reference_conditions.reset();
  EXPECT_NEAR(*StandardFlowFactor(map), 0.45359237 / 60, 1e-12);
  // 1 m3/s of dry air at 288.15 K and 101325 Pa is 1.225 kg/s (ISO 2533).
  map.x->quantity = Quantity::kCorrectedVolumeFlow;
  map.x->unit = "m3/s";
  EXPECT_NEAR(*StandardFlowFactor(map), 1.225, 1e-4);
  EXPECT_FALSE(StandardFlowFactor(PerformanceMap{}));
}

TEST(ReachGrid, SaysWhatTheMapSaysWithinItsSlack) {
  const PerformanceMap map = Scaled(1.0, 1.0, 0.0);
  const CompressorQuery query = QueryOf(map);
  const double factor = *StandardFlowFactor(map);
  const ReachEntry entry = MakeReachEntry("Alder 52", "", map);
  ASSERT_FALSE(entry.bands.empty());
  std::mt19937 random(5);
  std::uniform_real_distribution<double> flows(0.0, 50.0), ratios(1.0, 3.0);
  int inside = 0, misses = 0;
  double worst_margin = 0.0, worst_efficiency = 0.0;
  for (int i = 0; i < 20000; ++i) {
    const double flow = flows(random), ratio = ratios(random);
    const CompressorAnswer answer = query.AtFlowAndPressureRatio(flow, ratio);
    std::optional<GridAnswer> looked;
    for (const ReachBand& band : entry.bands) {
      const double standard = flow * factor;
      if (standard < band.flow_min || standard > band.flow_max || ratio < band.pressure_ratio_min || ratio > band.pressure_ratio_max) continue;
      if (const auto one = LookInto(band.grid, standard, ratio)) {
        looked = one;
        if (answer.inside && answer.efficiency && one->efficiency) {
          EXPECT_LE(*one->efficiency, band.efficiency_max + 1e-6);
        }
      }
    }
    if (answer.inside) {
      ++inside;
      if (!looked) ++misses;
    } else if (looked) {
      EXPECT_TRUE(looked->near_edge) << flow << " " << ratio;
    }
    if (!answer.inside || !looked || looked->near_edge) continue;
    if (answer.surge_margin && looked->surge_margin) {
      EXPECT_LE(std::abs(*answer.surge_margin - *looked->surge_margin), looked->surge_margin_error) << flow << " " << ratio;
    }
    if (answer.efficiency && looked->efficiency) {
      EXPECT_LE(std::abs(*answer.efficiency - *looked->efficiency), looked->efficiency_error) << flow << " " << ratio;
    }
    if (answer.surge_margin && looked->surge_margin) worst_margin = std::max(worst_margin, std::abs(*answer.surge_margin - *looked->surge_margin));
    if (answer.efficiency && looked->efficiency) worst_efficiency = std::max(worst_efficiency, std::abs(*answer.efficiency - *looked->efficiency));
  }
  EXPECT_GT(inside, 2000);
  EXPECT_LE(misses, inside / 2000) << "only in the outermost corners";
  EXPECT_LT(worst_margin, 0.12);
  EXPECT_LT(worst_efficiency, 0.01);
  RecordProperty("worst_margin", std::to_string(worst_margin));
  RecordProperty("worst_efficiency", std::to_string(worst_efficiency));
}

TEST(ReachGrid, BytesThatAreNoGridAreOffTheMap) {
  EXPECT_FALSE(LookInto("", 0.1, 2.0));
  EXPECT_FALSE(LookInto(std::string(2000, '\xff'), 0.1, 2.0));
  EXPECT_FALSE(CompareOutlines("", ""));
  EXPECT_TRUE(MakeReachEntry("x", "", ExampleTurbineMap()).bands.empty());
  EXPECT_TRUE(MakeReachEntry("x", "", PerformanceMap{}).bands.empty());
}

// Against asking every map in turn: nothing is missed, nothing is there that should not be, and the order is that of the answers.
TEST_F(FindMaps, AgreesWithAskingEveryMap) {
  std::mt19937 random(20250314);
  std::uniform_real_distribution<double> flows(0.4, 2.5), rises(0.7, 1.6), efficiencies(-0.06, 0.02);
  for (int i = 0; i < 40; ++i) Add("Wheel " + std::to_string(i), Scaled(flows(random), rises(random), efficiencies(random)));
  MapFinder finder(*shelf_);
  EXPECT_EQ(*finder.UpdateIndex(), 40);
  EXPECT_EQ(*finder.UpdateIndex(), 0);
  std::map<std::string, CompressorQuery> queries;
  for (const auto& [name, map] : maps_) queries.emplace(name, QueryOf(map));
  int found_at_all = 0;
  for (int round = 0; round < 60; ++round) {
    SCOPED_TRACE(round);
    CapabilityOptions options;
    options.limit = 1000;
    const int points = round % 3 == 0 ? 3 : 1;
    const double flow = std::uniform_real_distribution<double>(0.05, 0.6)(random), ratio = std::uniform_real_distribution<double>(1.2, 3.5)(random);
    for (int i = 0; i < points; ++i) options.points.push_back({flow * (1.0 + 0.05 * i), ratio * (1.0 + 0.03 * i)});
    options.surge_margin = round % 2 == 0 ? 0.0 : 0.15;
    if (round % 4 == 0) options.efficiency = 0.72;
    std::set<std::string> expected;
    for (const auto& [name, query] : queries) {
      const double factor = *StandardFlowFactor(maps_.at(name));
      bool fits = true;
      for (const JobPoint& point : options.points) {
        const CompressorAnswer answer = query.AtFlowAndPressureRatio(point.flow / factor, point.pressure_ratio);
        fits = fits && answer.inside && answer.surge_margin && *answer.surge_margin >= options.surge_margin &&
               (!options.efficiency || (answer.efficiency && *answer.efficiency >= *options.efficiency));
      }
      if (fits) expected.insert(name);
    }
    const auto found = finder.FindCapable(options);
    EXPECT_EQ(Names(found), expected);
    EXPECT_EQ(found->not_searched, 0);
    found_at_all += static_cast<int>(expected.size());
    for (std::size_t i = 1; i < found->maps.size(); ++i)
      if (found->maps[i - 1].mean_efficiency && found->maps[i].mean_efficiency) {
        EXPECT_GE(*found->maps[i - 1].mean_efficiency, *found->maps[i].mean_efficiency);
      }
    // The index alone knows all of them, too, but for ties at the limits.
    options.ask_maps = false;
    const auto by_index = Names(finder.FindCapable(options));
    EXPECT_TRUE(std::includes(by_index.begin(), by_index.end(), expected.begin(), expected.end()));
    if (!expected.empty()) {
      options.ask_maps = true;
      options.limit = 1;
      const auto best = finder.FindCapable(options);
      ASSERT_EQ(best->maps.size(), 1u);
      EXPECT_EQ(best->maps[0].name, found->maps[0].name);
    }
  }
  EXPECT_GT(found_at_all, 100);
}

TEST_F(FindMaps, ReferenceConditionsCount) {
  PerformanceMap map = Scaled(1.0, 1.0, 0.0);
  map.reference_conditions = ReferenceConditions{288.15, 101325, ReferenceConditions::Basis::kPrinted};
  Add("Alder 52", map);
  map.reference_conditions = ReferenceConditions{302.594, 96173, ReferenceConditions::Basis::kAssumed};
  Add("Rowan 83", map);
  MapFinder finder(*shelf_);
  ASSERT_TRUE(finder.UpdateIndex());
  const CompressorQuery query = QueryOf(map);
  // A point 3 % inside the choke side of the first; the second's map reaches 8 % farther in the same printed numbers.
  const EdgePoint choke = query.surface().ChokePoint(90000);
  const JobPoint point{choke.flow * 1.03 * 0.45359237 / 60, choke.pressure_ratio};
  CapabilityOptions options;
  options.points = {point};
  options.surge_margin = -0.5;
  const auto found = finder.FindCapable(options);
  EXPECT_TRUE(Names(found).contains("Rowan 83"));
  for (const CapableMap& one : found->maps) EXPECT_EQ(one.reference_assumed, one.name == "Rowan 83");
}

TEST_F(FindMaps, WhatChangedIsFoundAnew) {
  Add("Alder 52", Scaled(1.0, 1.0, 0.0));
  MapFinder finder(*shelf_);
  CapabilityOptions options;
  options.points = {{25 * 0.45359237 / 60 * 1.08, 2.2}};
  EXPECT_EQ(finder.FindCapable(options)->not_searched, 1);
  ASSERT_TRUE(finder.UpdateIndex());
  EXPECT_EQ(Names(finder.FindCapable(options)), std::set<std::string>{"Alder 52"});
  Add("Alder 52", Scaled(3.0, 1.0, 0.0));
  EXPECT_EQ(finder.FindCapable(options)->not_searched, 1);
  ASSERT_TRUE(finder.UpdateIndex());
  EXPECT_TRUE(Names(finder.FindCapable(options)).empty());
  ASSERT_TRUE(shelf_->SetRemoved("Alder 52", true, "Ines", ""));
  options.points = {{3 * 25 * 0.45359237 / 60 * 1.08, 2.2}};
  EXPECT_TRUE(Names(finder.FindCapable(options)).empty()) << "what is off the lists is not found";
}

TEST_F(FindMaps, OnlyAmongTheNamesGiven) {
  Add("Alder 52", Scaled(1.0, 1.0, 0.0));
  Add("Alder 53", Scaled(1.02, 1.0, 0.0));
  MapFinder finder(*shelf_);
  ASSERT_TRUE(finder.UpdateIndex());
  CapabilityOptions options;
  options.points = {{25 * 0.45359237 / 60 * 1.08, 2.2}};
  EXPECT_EQ(Names(finder.FindCapable(options)).size(), 2u);
  options.among = std::vector<std::string>{"Alder 53"};
  EXPECT_EQ(Names(finder.FindCapable(options)), std::set<std::string>{"Alder 53"});
  options.among = std::vector<std::string>{};
  EXPECT_TRUE(Names(finder.FindCapable(options)).empty());
}

TEST_F(FindMaps, TheLikestFirst) {
  Add("Alder 52", Scaled(1.0, 1.0, 0.0));
  Add("Alder 53", Scaled(1.03, 1.0, 0.0));
  Add("Alder 60", Scaled(1.4, 1.1, 0.0));
  Add("Rowan 83", Scaled(2.4, 1.5, -0.03));
  MapFinder finder(*shelf_);
  ASSERT_TRUE(finder.UpdateIndex());
  const auto like = finder.FindLike("Alder 52", 10);
  ASSERT_TRUE(like) << like.error().message;
  ASSERT_EQ(like->size(), 3u);
  EXPECT_EQ((*like)[0].name, "Alder 53");
  EXPECT_NEAR((*like)[0].flow_difference, std::log(1.03), 0.002);
  EXPECT_NEAR((*like)[0].pressure_ratio_difference, 0.0, 0.001);
  EXPECT_EQ((*like)[1].name, "Alder 60");
  EXPECT_EQ((*like)[2].name, "Rowan 83");
  EXPECT_EQ(finder.FindLike("Alder 52", 1)->size(), 1u);
  EXPECT_EQ(finder.FindLike("Larch 60", 1).error().code, ErrorCode::kNotFound);
}

TEST_F(FindMaps, QuestionsThatMakeNoSenseAreRefused) {
  MapFinder finder(*shelf_);
  CapabilityOptions options;
  EXPECT_EQ(finder.FindCapable(options).error().code, ErrorCode::kInvalidArgument);
  options.points = {{-1.0, 2.0}};
  EXPECT_EQ(finder.FindCapable(options).error().code, ErrorCode::kInvalidArgument);
  options.points = {{0.2, 2.0}};
  options.efficiency = 72.0;
  EXPECT_EQ(finder.FindCapable(options).error().code, ErrorCode::kInvalidArgument);
  options.efficiency.reset();
  options.limit = 0;
  EXPECT_EQ(finder.FindCapable(options).error().code, ErrorCode::kInvalidArgument);
}

}  // namespace
}  // namespace islebook
