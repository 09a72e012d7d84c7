#include "mapstore/find/find_maps.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <random>
#include <set>
#include <utility>

#include <gtest/gtest.h>

#include "mapstore/find/map_reach_grid.h"
#include "mapstore/map/map_document.h"
#include "mapstore/query/compressor_query.h"
#include "mapstore/query/left_edge.h"
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
  auto surface = CompressorSurface::Build(map);
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
  EXPECT_EQ(misses, 0) << "what the map covers is never passed over";
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

// The example wheel as a printed chart is not: with lines left out, islands or the surge line missing, lines flagged, flow in other units or along the other axis.
PerformanceMap Odd(PerformanceMap map, int kind, std::mt19937& random) {
  const auto drop = [&](CurveRole role) { std::erase_if(map.curves, [&](const Curve& curve) { return curve.role == role; }); };
  if (kind == 1) drop(CurveRole::kSurgeLine);
  if (kind == 2) drop(CurveRole::kEfficiencyIsland);
  if (kind == 3) {
    drop(CurveRole::kSurgeLine);
    for (Curve& curve : map.curves)
      if (curve.role == CurveRole::kSpeedLine && random() % 2 == 0) {
        curve.needs_review = true;
        curve.reasons = {"its left end is faint"};
      }
  }
  if (kind == 4) {  // one island only
    bool first = true;
    std::erase_if(map.curves, [&](const Curve& curve) { return curve.role == CurveRole::kEfficiencyIsland && !std::exchange(first, false); });
  }
  if (kind == 5) {
    map.x->unit = "kg/s";
    map.x->max *= 0.45359237 / 60;
    for (Curve& curve : map.curves) {
      for (Point2& p : curve.points) p.x *= 0.45359237 / 60;
      for (Point2& p : curve.sigma) p.x *= 0.45359237 / 60;
    }
    map.reference_conditions = ReferenceConditions{302.594, 96173, ReferenceConditions::Basis::kPrinted};
  }
  return AsWritten(map);
}

// Asking every map in turn, as `ask` does (AskableMap's rules): who fits, who cannot be judged, and how good each is.
struct Asked {
  std::map<std::string, CapableMap> fits;
  std::set<std::string> undecided;
};
Asked AskEvery(const std::map<std::string, PerformanceMap>& maps, const std::map<std::string, CompressorQuery>& queries,
               const CapabilityOptions& options) {
  Asked asked;
  for (const auto& [name, query] : queries) {
    const double factor = *StandardFlowFactor(maps.at(name));
    bool fits = true, open = false, efficiency_known = true;
    double sum = 0.0, margin = 1e300;
    for (const JobPoint& point : options.points) {
      const CompressorAnswer answer = query.AtFlowAndPressureRatio(point.flow / factor, point.pressure_ratio);
      const bool here = LeftEdgeIsDoubtful(answer, query.surface());
      open = open || here;
      fits = fits && answer.inside && (here || (answer.surge_margin && *answer.surge_margin >= options.surge_margin)) &&
             (!options.efficiency || (answer.efficiency && *answer.efficiency >= *options.efficiency));
      efficiency_known = efficiency_known && answer.efficiency;
      sum += answer.efficiency.value_or(0.0);
      if (!here) margin = std::min(margin, answer.surge_margin.value_or(0.0));
    }
    if (!fits) continue;
    if (open) {
      asked.undecided.insert(name);
      continue;
    }
    CapableMap& map = asked.fits[name];
    map.least_surge_margin = margin;
    if (efficiency_known) map.mean_efficiency = sum / static_cast<double>(options.points.size());
  }
  return asked;
}

// On random shelves: nothing is missed, nothing is there that should not be, the figures and the order are those of the answers, and so are the best few.
TEST_F(FindMaps, AgreesWithAskingEveryMap) {
  std::mt19937 random(20250314);
  std::uniform_real_distribution<double> flows(0.4, 2.5), rises(0.7, 1.6), efficiencies(-0.06, 0.02);
  constexpr int kMaps = 120;
  for (int i = 0; i < kMaps; ++i)
    Add("Wheel " + std::to_string(i), Odd(Scaled(flows(random), rises(random), efficiencies(random)), i % 12 < 6 ? 0 : i % 6, random));
  MapFinder finder(*shelf_);
  EXPECT_EQ(*finder.UpdateIndex(), kMaps);
  EXPECT_EQ(*finder.UpdateIndex(), 0);
  std::map<std::string, CompressorQuery> queries;
  for (const auto& [name, map] : maps_) queries.emplace(name, QueryOf(map));
  std::size_t found_at_all = 0, undecided_at_all = 0, asked_at_all = 0;
  for (int round = 0; round < 300; ++round) {
    SCOPED_TRACE(round);
    CapabilityOptions options;
    options.limit = 1000;
    const int points = round % 3 == 0 ? 3 : 1;
    const double flow = std::uniform_real_distribution<double>(0.05, 0.6)(random), ratio = std::uniform_real_distribution<double>(1.2, 3.5)(random);
    for (int i = 0; i < points; ++i) options.points.push_back({flow * (1.0 + 0.05 * i), ratio * (1.0 + 0.03 * i)});
    options.surge_margin = round % 2 == 0 ? 0.0 : 0.15;
    if (round % 4 == 0) options.efficiency = 0.72;
    const Asked expected = AskEvery(maps_, queries, options);
    std::set<std::string> names;
    for (const auto& [name, map] : expected.fits) names.insert(name);
    const auto found = finder.FindCapable(options);
    EXPECT_EQ(Names(found), names);
    EXPECT_EQ(found->not_searched, 0);
    std::set<std::string> undecided;
    for (const CapableMap& map : found->undecided) undecided.insert(map.name);
    EXPECT_EQ(undecided, expected.undecided);
    found_at_all += names.size();
    undecided_at_all += undecided.size();
    for (const CapableMap& map : found->maps) {
      const CapableMap& asked = expected.fits.at(map.name);
      EXPECT_NEAR(map.least_surge_margin, asked.least_surge_margin, 1e-9) << map.name;
      ASSERT_EQ(map.mean_efficiency.has_value(), asked.mean_efficiency.has_value()) << map.name;
      if (asked.mean_efficiency) {
        EXPECT_NEAR(*map.mean_efficiency, *asked.mean_efficiency, 1e-9) << map.name;
      }
    }
    for (std::size_t i = 1; i < found->maps.size(); ++i)
      if (found->maps[i].mean_efficiency) {
        ASSERT_TRUE(found->maps[i - 1].mean_efficiency);
        EXPECT_GE(*found->maps[i - 1].mean_efficiency, *found->maps[i].mean_efficiency);
      }
    // The index alone knows all of them, too, but for ties at the limits.
    options.ask_maps = false;
    const auto by_index = Names(finder.FindCapable(options));
    EXPECT_TRUE(std::includes(by_index.begin(), by_index.end(), names.begin(), names.end()));
    options.ask_maps = true;
    for (const int limit : {1, 3}) {
      options.limit = limit;
      MapFinder other(*shelf_);  // remembers no map
      const auto best = other.FindCapable(options);
      ASSERT_EQ(best->maps.size(), std::min<std::size_t>(names.size(), limit));
      for (std::size_t i = 0; i < best->maps.size(); ++i) EXPECT_EQ(best->maps[i].name, found->maps[i].name);
    }
    asked_at_all += kMaps;
  }
  EXPECT_GT(found_at_all, asked_at_all / 100);
  EXPECT_GT(undecided_at_all, 50u);
}

// What an entry keeps is the map as `ask` has it; whatever is wrong with its bytes is noticed, and the map is then read itself.
TEST(ReachGrid, AKeptMapAnswersAsTheMapDoes) {
  std::mt19937 random(11);
  for (int kind = 0; kind < 6; ++kind) {
    SCOPED_TRACE(kind);
    const PerformanceMap map = Odd(Scaled(1.3, 1.2, -0.02), kind, random);
    const CompressorQuery query = QueryOf(map);
    const ReachEntry entry = MakeReachEntry("Alder 52", "", map);
    const auto kept = OpenKeptMap(entry.kept);
    ASSERT_TRUE(kept);
    EXPECT_EQ(kept->factor, *StandardFlowFactor(map));
    EXPECT_EQ(kept->query->surface().Notes(), query.surface().Notes());
    double highest = 0.0;
    for (const EdgePoint& p : query.surface().Outline()) highest = std::max(highest, p.flow);
    std::uniform_real_distribution<double> flows(0.0, 1.1 * highest), ratios(1.0, 4.0);
    for (int i = 0; i < 4000; ++i) {
      const double flow = flows(random), ratio = ratios(random);
      const CompressorAnswer a = query.AtFlowAndPressureRatio(flow, ratio), b = kept->query->AtFlowAndPressureRatio(flow, ratio);
      ASSERT_EQ(a.inside, b.inside) << flow << " " << ratio;
      if (!a.inside) continue;
      EXPECT_EQ(a.doubts, b.doubts);
      ASSERT_EQ(a.efficiency.has_value(), b.efficiency.has_value());
      ASSERT_EQ(a.surge_margin.has_value(), b.surge_margin.has_value());
      EXPECT_NEAR(a.efficiency.value_or(0.0), b.efficiency.value_or(0.0), 1e-10);
      EXPECT_NEAR(a.surge_margin.value_or(0.0), b.surge_margin.value_or(0.0), 1e-9);
      EXPECT_NEAR(*a.speed, *b.speed, 1e-9 * *a.speed);
    }
    for (std::size_t at = 0; at < entry.kept.size(); at += 97) {
      std::string damaged = entry.kept;
      damaged[at] = static_cast<char>(damaged[at] ^ 0x10);
      EXPECT_FALSE(OpenKeptMap(damaged)) << at;
      EXPECT_FALSE(OpenKeptMap(std::string_view(entry.kept).substr(0, at))) << at;
    }
  }
  EXPECT_FALSE(OpenKeptMap(""));
  EXPECT_FALSE(OpenKeptMap(std::string(20000, '\xff')));
}

TEST_F(FindMaps, EntriesOfAnotherVersionAreMadeAnewAndDamagedOnesDoNoHarm) {
  Add("Alder 52", Scaled(1.0, 1.0, 0.0));
  MapFinder finder(*shelf_);
  CapabilityOptions options;
  options.points = {{25 * 0.45359237 / 60 * 1.08, 2.2}};
  ASSERT_EQ(*finder.UpdateIndex(), 1);
  const auto before = finder.FindCapable(options);
  ASSERT_EQ(Names(before), std::set<std::string>{"Alder 52"});
  ReachEntry entry = MakeReachEntry("Alder 52", before->maps[0].revision, maps_["Alder 52"]);
  entry.kept.resize(entry.kept.size() / 2);
  ASSERT_TRUE(shelf_->SetReach({entry}));
  MapFinder other(*shelf_);
  const auto after = other.FindCapable(options);
  ASSERT_EQ(Names(after), std::set<std::string>{"Alder 52"});
  EXPECT_NEAR(*after->maps[0].mean_efficiency, *before->maps[0].mean_efficiency, 1e-10);
  --entry.version;
  ASSERT_TRUE(shelf_->SetReach({entry}));
  EXPECT_EQ(other.FindCapable(options)->not_searched, 1);
  EXPECT_EQ(*other.UpdateIndex(), 1);
  EXPECT_EQ(other.FindCapable(options)->not_searched, 0);
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
