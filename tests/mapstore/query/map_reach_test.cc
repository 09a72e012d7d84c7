#include "mapstore/query/map_reach.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

bool OnMap(const CompressorSurface& surface, double flow, double ratio) {
  const std::optional<MapPlace> place = surface.Locate(flow, ratio);
  return place && surface.IsOnMap(*place);
}

TEST(MapReach, EveryWayEndsAtTheEdge) {
  for (std::uint64_t seed = 900; seed < 912; ++seed) {
    const InventedCompressor invented = InventCompressor(seed, {.islands = false, .samples = 30});
    const CompressorSurface surface = *CompressorSurface::Build(invented.map);
    for (const ExactSample& sample : invented.samples) {
      const std::optional<EdgeDistances> edges = DistancesToEdges(surface, sample.flow, sample.pressure_ratio);
      ASSERT_TRUE(edges.has_value());
      struct Way {
        const std::optional<EdgeHit>& hit;
        double flow, ratio;
      };
      for (const Way& way : {Way{edges->less_flow, -1.0, 0.0}, Way{edges->more_flow, 1.0, 0.0}, Way{edges->less_pressure_ratio, 0.0, -1.0},
                             Way{edges->more_pressure_ratio, 0.0, 1.0}}) {
        ASSERT_TRUE(way.hit.has_value());
        const double flow_step = 1e-6 * way.flow * invented.map.x->max, ratio_step = 1e-6 * way.ratio * invented.map.y->max;
        EXPECT_TRUE(OnMap(surface, way.hit->at.flow - flow_step, way.hit->at.pressure_ratio - ratio_step)) << seed;
        EXPECT_FALSE(OnMap(surface, way.hit->at.flow + flow_step, way.hit->at.pressure_ratio + ratio_step)) << seed;
        EXPECT_EQ(surface.RegionOf(way.hit->at.flow + flow_step, way.hit->at.pressure_ratio + ratio_step), way.hit->beyond) << seed;
        EXPECT_GE(way.hit->share, edges->nearest.share * (1.0 - 1e-3) - 1e-5) << seed;
        EXPECT_GT(way.hit->change * (way.flow + way.ratio), 0.0);
      }
      // Along the speed line the margins' own points.
      const double speed = surface.Locate(sample.flow, sample.pressure_ratio)->speed;
      EXPECT_NEAR(surface.SurgePoint(speed).flow, edges->toward_surge->at.flow, 1e-9 * invented.map.x->max);
      EXPECT_NEAR(surface.ChokePoint(speed).flow, edges->toward_choke->at.flow, 1e-3 * invented.map.x->max);
      EXPECT_NEAR(surface.MaxSpeed() - speed, edges->faster->change, 1e-9 * speed);
      EXPECT_NEAR(surface.MinSpeed() - speed, edges->slower->change, 1e-9 * speed);
      EXPECT_GT(edges->nearest.share, 0.0);
    }
  }
}

TEST(MapReach, TheEdgeLeftOfAPointIsTheSurgeLine) {
  const InventedCompressor invented = InventCompressor(913, {.islands = false});
  const paint::CompressorModel& model = invented.model;
  const CompressorSurface surface = *CompressorSurface::Build(invented.map);
  const Point2 point = model.At(0.3, 0.5 * (model.low_speed + model.high_speed));
  const std::optional<EdgeDistances> edges = DistancesToEdges(surface, point.x, point.y);
  ASSERT_TRUE(edges && edges->less_flow);
  EXPECT_EQ(MapRegion::kLeftOfSurge, edges->less_flow->beyond);
  // The printed surge line at that pressure ratio.
  EXPECT_NEAR(*surface.SurgeFlowAtPressureRatio(point.y), edges->less_flow->at.flow, 1e-4 * model.choke_flow);
  EXPECT_EQ(MapRegion::kUnderSpeed, DistancesToEdges(surface, point.x, point.y)->slower->beyond);
}

TEST(MapReach, OffTheMapThereIsNoDistance) {
  const InventedCompressor invented = InventCompressor(914, {.islands = false, .samples = 0});
  const CompressorSurface surface = *CompressorSurface::Build(invented.map);
  EXPECT_FALSE(DistancesToEdges(surface, 10.0 * invented.model.choke_flow, 2.0));
  EXPECT_FALSE(DistancesToEdges(surface, std::nan(""), 2.0));
  EXPECT_FALSE(DistancesToEdges(surface, 0.1, std::numeric_limits<double>::infinity()));
}

TEST(MapReach, ALineLeavesWhereItCrossesTheEdge) {
  const InventedCompressor invented = InventCompressor(915, {.islands = false});
  const paint::CompressorModel& model = invented.model;
  const CompressorSurface surface = *CompressorSurface::Build(invented.map);
  // Up the middle of the map from below its lowest line to above its highest: in once, out once.
  std::vector<EdgePoint> line;
  for (double n = 0.8 * model.low_speed; n <= 1.2 * model.high_speed; n += 0.1 * model.high_speed) {
    const Point2 point = model.At(0.5, n);
    line.push_back({point.x, point.y});
  }
  const std::vector<EdgeCrossing> crossings = CrossingsAlong(surface, line);
  ASSERT_EQ(2u, crossings.size());
  EXPECT_FALSE(crossings[0].leaves);
  EXPECT_EQ(MapRegion::kUnderSpeed, crossings[0].outside);
  EXPECT_TRUE(crossings[1].leaves);
  EXPECT_EQ(MapRegion::kOverSpeed, crossings[1].outside);
  EXPECT_NEAR(model.low_speed * model.design_rpm, surface.Locate(crossings[0].at.flow, crossings[0].at.pressure_ratio)->speed,
              1e-6 * model.design_rpm);
  EXPECT_NEAR(model.high_speed * model.design_rpm, surface.Locate(crossings[1].at.flow, crossings[1].at.pressure_ratio)->speed,
              1e-6 * model.design_rpm);
  // The other way round the same places, entering and leaving exchanged.
  const std::vector<EdgePoint> back(line.rbegin(), line.rend());
  const std::vector<EdgeCrossing> reversed = CrossingsAlong(surface, back);
  ASSERT_EQ(2u, reversed.size());
  EXPECT_NEAR(crossings[1].at.flow, reversed[0].at.flow, 1e-9 * model.choke_flow);
  EXPECT_FALSE(reversed[0].leaves);
  // Straight across into surge: the point is on the surge line.
  const Point2 inside = model.At(0.4, 0.8 * model.high_speed);
  const std::vector<EdgePoint> level{{inside.x, inside.y}, {0.3 * inside.x, inside.y}};
  const std::vector<EdgeCrossing> surge = CrossingsAlong(surface, level);
  ASSERT_EQ(1u, surge.size());
  EXPECT_TRUE(surge[0].leaves);
  EXPECT_EQ(MapRegion::kLeftOfSurge, surge[0].outside);
  EXPECT_NEAR(0.0, surface.Locate(surge[0].at.flow, surge[0].at.pressure_ratio)->beta, 1e-6);
  // Wholly on, wholly off, broken by what is no number, and no line at all.
  EXPECT_TRUE(CrossingsAlong(surface, std::vector<EdgePoint>{{inside.x, inside.y}, {1.001 * inside.x, inside.y}}).empty());
  EXPECT_TRUE(CrossingsAlong(surface, std::vector<EdgePoint>{{5.0 * model.choke_flow, 1.0}, {6.0 * model.choke_flow, 3.0}}).empty());
  EXPECT_TRUE(CrossingsAlong(surface, std::vector<EdgePoint>{{inside.x, inside.y}, {std::nan(""), inside.y}}).empty());
  EXPECT_TRUE(CrossingsAlong(surface, {}).empty());
}

}  // namespace
}  // namespace islebook
