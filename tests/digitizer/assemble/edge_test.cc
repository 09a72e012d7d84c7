// Islands at the map's edge, where they are cut off.

#include <cmath>
#include <functional>

#include <gtest/gtest.h>

#include "digitizer/assemble/edge_split.h"
#include "digitizer/assemble/island_checks.h"
#include "digitizer/assemble/map_edge.h"

namespace islebook {
namespace {

constexpr double kSide = 1000;  // of the square frame, px

TracedCurve Trace(const std::function<PlotPoint(double)>& f, bool closed = false) {
  TracedCurve curve;
  constexpr int kPoints = 400;
  for (int i = 0; i < kPoints; ++i) {
    const PlotPoint p = f(i / (closed ? kPoints : kPoints - 1.0));
    curve.points.push_back({p.x * kSide, (1 - p.y) * kSide});
  }
  curve.sigma_px.assign(kPoints, 0.1f);
  curve.bridged.assign(kPoints, 0);
  curve.closed = closed;
  curve.ink_mass = 1.5;
  return curve;
}

PlotPoint Flat(double y, double t) { return {0.2 + 0.6 * t, y - 0.1 * t * t}; }  // a speed line

struct Map {
  FrameMapping frame = FrameMapping::FromCorners({ImagePoint{0, 0}, ImagePoint{kSide, 0}, ImagePoint{kSide, kSide}, ImagePoint{0, kSide}});
  std::vector<TracedCurve> traces;
  std::vector<PlotCurve> seen;
  std::vector<RoleGuess> guesses;
  std::vector<CurveLabel> labels;

  void Add(CurveRole role, const TracedCurve& trace) {
    traces.push_back(trace);
    seen.push_back(SeeInFrame(trace, frame));
    guesses.emplace_back();
    guesses.back().role = role;
  }
  Map() {
    Add(CurveRole::kSpeedLine, Trace([](double t) { return Flat(0.3, t); }));
    Add(CurveRole::kSpeedLine, Trace([](double t) { return Flat(0.8, t); }));
  }
  // A ring whose lowest points lie at y `low`.
  void AddRing(double low) {
    Add(CurveRole::kEfficiencyIsland,
        Trace([low](double t) { return PlotPoint{0.35 + 0.1 * std::sin(2 * M_PI * t), low + 0.2 * (1 - std::cos(2 * M_PI * t)) / 2}; }, true));
  }
  void Split() { SplitAtMapEdge({&traces, &seen, &guesses, &labels, &frame}); }
};

TEST(SplitAtMapEdge, ARingJoinedAcrossTheLowestSpeedLineIsOpenedThere) {
  Map map;
  map.AddRing(0.27);
  CurveLabel label;
  label.candidates = {{2, 0.0, LabelPlace::kOnLine}};
  map.labels.push_back(label);
  map.Split();
  ASSERT_EQ(map.traces.size(), 3u);
  EXPECT_FALSE(map.traces[2].closed);
  EXPECT_EQ(map.labels[0].candidates[0].curve, 2u);
  const MapEdge edge = FindMapEdge({CurveRole::kSpeedLine, CurveRole::kSpeedLine, CurveRole::kEfficiencyIsland}, map.seen);
  for (const PlotPoint& p : map.seen[2].points) EXPECT_GT(InsideOf(map.seen[*edge.bottom], p, true).value_or(1.0), -0.004);
}

TEST(SplitAtMapEdge, ARingInsideTheMapStaysWhole) {
  Map map;
  map.AddRing(0.305);
  map.Split();
  ASSERT_EQ(map.traces.size(), 3u);
  EXPECT_TRUE(map.traces[2].closed);
}

TEST(CheckIslands, TwoEndsThatPointAtEachOtherAreDoubted) {
  Map map;
  const auto arc = [](double from, double to) {
    return Trace([=](double t) {
      const double a = from + (to - from) * t;
      return PlotPoint{0.45 + 0.12 * std::cos(a), 0.5 + 0.12 * std::sin(a)};
    });
  };
  map.Add(CurveRole::kEfficiencyIsland, arc(0.0, 3.0));
  map.Add(CurveRole::kEfficiencyIsland, arc(3.2, 6.0));
  map.Add(CurveRole::kEfficiencyIsland, Trace([](double t) { return PlotPoint{0.3 + 0.1 * t, 0.6 + 0.05 * t}; }));
  std::vector<JudgedCurve> judged;
  for (std::size_t i = 0; i < map.traces.size(); ++i) {
    judged.emplace_back();
    judged.back().trace = map.traces[i];
    judged.back().role = map.guesses[i].role;
    if (i >= 2) judged.back().value = 0.7 + 0.01 * static_cast<double>(i);
  }
  const std::vector<InkEvidence> ink(judged.size());
  std::vector<std::vector<Hint>> hints(judged.size());
  CheckIslands({&judged, &map.seen, &ink, &hints});
  EXPECT_FALSE(hints[2].empty());
  EXPECT_FALSE(hints[3].empty());
  EXPECT_TRUE(hints[4].empty());
}

}  // namespace
}  // namespace islebook
