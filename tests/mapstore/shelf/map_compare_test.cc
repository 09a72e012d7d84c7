#include "mapstore/shelf/map_compare.h"

#include <algorithm>
#include <cmath>

#include <gtest/gtest.h>

#include "tests/mapstore/map/example_maps.h"

namespace islebook {
namespace {

// A straight speed line of flow in lb/min, from (10, 3) to (40, 2).
Curve Line(double speed, double shift = 0.0) {
  Curve curve;
  curve.role = CurveRole::kSpeedLine;
  curve.value = speed;
  curve.unit = "rpm";
  for (int i = 0; i <= 10; ++i) curve.points.push_back({10.0 + 3.0 * i + shift, 3.0 - 0.1 * i});
  return curve;
}

Curve Island(double efficiency, double radius) {
  Curve curve;
  curve.role = CurveRole::kEfficiencyIsland;
  curve.value = efficiency;
  curve.unit = "1";
  curve.closed = true;
  for (int i = 0; i < 72; ++i) {
    const double angle = 2 * 3.14159265358979323846 * i / 72;
    curve.points.push_back({25 + 10 * radius * std::cos(angle), 2.5 + 0.5 * radius * std::sin(angle)});
  }
  return curve;
}

PerformanceMap Map() {
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  map.title = "Alder 52";
  map.x = Axis{Quantity::kCorrectedMassFlow, "lb/min", AxisScale::kLinear, 0, 50};
  map.y = Axis{Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1, 4};
  map.reference_conditions = ReferenceConditions{288.15, 101325, ReferenceConditions::Basis::kAssumed};
  map.curves = {Line(90000), Island(0.74, 1.0), Line(70000, -8)};
  return map;
}

std::string Only(const std::vector<MapChange>& changes) {
  if (changes.size() == 1) return changes[0].sentence;
  std::string all = std::to_string(changes.size()) + " changes:";
  for (const MapChange& change : changes) all += " " + change.sentence;
  return all;
}

TEST(MapCompare, TheSameMapHasNotChanged) {
  std::mt19937 random(7);
  for (int i = 0; i < 20; ++i) {
    const PerformanceMap map = RandomMap(random);
    EXPECT_TRUE(CompareMaps(map, map).empty());
  }
  PerformanceMap shuffled = Map();
  std::reverse(shuffled.curves.begin(), shuffled.curves.end());
  EXPECT_TRUE(CompareMaps(Map(), shuffled).empty()) << "the order of curves says nothing";
}

TEST(MapCompare, AMovedLineSaysHowFarInAxisUnits) {
  PerformanceMap after = Map();
  after.curves[0].points[5].x += 0.4;  // one knot, along the flow axis
  const auto changes = CompareMaps(Map(), after);
  ASSERT_EQ(changes.size(), 1u) << Only(changes);
  EXPECT_EQ(changes[0].kind, ChangeKind::kCurveMoved);
  EXPECT_EQ(changes[0].unit, "1");
  EXPECT_EQ(changes[0].before, 0u);
  // Distance from the new knot to the old straight line in the plot frame: 0.4/50 along x; the line's direction there is (3/50, -0.1/3).
  const double dx = 3.0 / 50, dy = -0.1 / 3, across = (0.4 / 50) * std::abs(dy) / std::hypot(dx, dy);
  const double along_x = across * std::abs(dy) / std::hypot(dx, dy) * 50, along_y = across * dx / std::hypot(dx, dy) * 3;
  EXPECT_LT(std::abs(along_x / 50), std::abs(along_y / 3)) << "so the pressure ratio is what is said";
  EXPECT_NEAR(*changes[0].amount, along_y, 1e-9) << changes[0].sentence;
}

TEST(MapCompare, AShiftAcrossASteepLineIsSaidInFlow) {
  PerformanceMap before = Map(), after = Map();
  for (PerformanceMap* map : {&before, &after})
    for (std::size_t i = 0; i < 11; ++i) map->curves[0].points[i] = {30.0 + 0.05 * static_cast<double>(i), 3.0 - 0.2 * static_cast<double>(i)};
  for (Point2& p : after.curves[0].points) p.x += 0.4;
  EXPECT_EQ(Only(CompareMaps(before, after)), "The 90,000 rpm speed line moved by up to 0.4 lb/min.");
  for (Curve* curve : {&before.curves[0], &after.curves[0]}) curve->sigma.assign(11, {0.3, 0.02});
  EXPECT_EQ(Only(CompareMaps(before, after)), "The 90,000 rpm speed line moved by up to 0.4 lb/min, which is within its uncertainty.");
}

TEST(MapCompare, OtherPointsOnTheSameCourseAreNoMove) {
  PerformanceMap after = Map();
  after.curves[0].points.insert(after.curves[0].points.begin() + 1, {11.5, 2.95});
  EXPECT_EQ(Only(CompareMaps(Map(), after)), "The 90,000 rpm speed line is drawn by other points and stays where it was.");
}

TEST(MapCompare, ALineThatReachesFartherIsLonger) {
  PerformanceMap after = Map();
  after.curves[0].points.push_back({43, 1.9});
  const auto changes = CompareMaps(Map(), after);
  ASSERT_EQ(changes.size(), 1u) << Only(changes);
  EXPECT_EQ(changes[0].kind, ChangeKind::kCurveReach);
  EXPECT_EQ(changes[0].sentence, "The 90,000 rpm speed line is longer by 3 lb/min at an end.");
  EXPECT_EQ(Only(CompareMaps(after, Map())), "The 90,000 rpm speed line is shorter by 3 lb/min at an end.");
}

TEST(MapCompare, IslandsGrowAndShrink) {
  PerformanceMap after = Map();
  after.curves[1] = Island(0.74, 1.05);
  const auto changes = CompareMaps(Map(), after);
  ASSERT_EQ(changes.size(), 1u);
  EXPECT_EQ(changes[0].kind, ChangeKind::kIslandGrew);
  EXPECT_NEAR(*changes[0].amount, 10.25, 1e-6);  // 1.05 squared
  EXPECT_NE(changes[0].sentence.find("The 0.74 efficiency island grew by 10 % of its area"), std::string::npos) << changes[0].sentence;
  EXPECT_EQ(CompareMaps(after, Map())[0].kind, ChangeKind::kIslandShrank);
}

TEST(MapCompare, LabelsAndRoles) {
  PerformanceMap after = Map();
  after.curves[0].value = 92000;
  EXPECT_EQ(Only(CompareMaps(Map(), after)), "The 90,000 rpm speed line is now labeled 92,000 rpm, not 90,000 rpm.");
  after = Map();
  after.curves[0].role = CurveRole::kSurgeLine;
  after.curves[0].value.reset();
  after.curves[0].unit.clear();
  EXPECT_EQ(Only(CompareMaps(Map(), after)), "The 90,000 rpm speed line is now the surge line.");
  // Two labels exchanged: the courses tell which is which.
  after = Map();
  std::swap(after.curves[0].value, after.curves[2].value);
  EXPECT_EQ(CompareMaps(Map(), after).size(), 2u);
  EXPECT_EQ(CompareMaps(Map(), after)[0].kind, ChangeKind::kCurveValue);
}

TEST(MapCompare, CurvesThatComeAndGo) {
  PerformanceMap after = Map();
  after.curves.erase(after.curves.begin() + 2);
  EXPECT_EQ(Only(CompareMaps(Map(), after)), "The 70,000 rpm speed line is gone.");
  EXPECT_EQ(Only(CompareMaps(after, Map())), "The 70,000 rpm speed line is new.");
}

// 302.594 K (85 F) and 96.17 kPa (28.4 inHg) for the standard day: W_c = W sqrt(theta)/delta (NASA/TM-2014-216638), so the printed flow means
// sqrt(302.594/288.15) * 101325/96170 = 1.0797 times as much on the standard day.
TEST(MapCompare, ReferenceConditionsSayTheShift) {
  PerformanceMap after = Map();
  after.reference_conditions = ReferenceConditions{302.594, 96170, ReferenceConditions::Basis::kPrinted};
  const auto changes = CompareMaps(Map(), after);
  ASSERT_EQ(changes.size(), 1u);
  EXPECT_EQ(changes[0].kind, ChangeKind::kReference);
  const double ours = 100 * (std::sqrt(302.594 / 288.15) * 101325 / 96170 - 1);
  EXPECT_NEAR(*changes[0].amount, ours, 1e-6) << changes[0].sentence;
  EXPECT_NE(changes[0].sentence.find("flows shift by +8.0 %"), std::string::npos) << changes[0].sentence;
  after = Map();
  after.reference_conditions->basis = ReferenceConditions::Basis::kPrinted;
  EXPECT_EQ(Only(CompareMaps(Map(), after)), "Reference conditions changed from 288.15 K, 101,325 Pa (assumed) to 288.15 K, 101,325 Pa (printed).");
}

TEST(MapCompare, TheRestOfTheMap) {
  PerformanceMap after = Map();
  after.title = "Alder 53";
  EXPECT_EQ(Only(CompareMaps(Map(), after)), "The title is now \"Alder 53\", not \"Alder 52\".");
  after = Map();
  after.x->unit = "kg/s";
  EXPECT_EQ(CompareMaps(Map(), after)[0].kind, ChangeKind::kAxis);
  after = Map();
  after.needs_review = {"The y axis may be a static ratio."};
  EXPECT_EQ(Only(CompareMaps(Map(), after)), "New doubt: The y axis may be a static ratio.");
  EXPECT_EQ(Only(CompareMaps(after, Map())), "No longer in doubt: The y axis may be a static ratio.");
  after = Map();
  after.curves[0].needs_review = true;
  after.curves[0].reasons = {"The label is smeared."};
  EXPECT_EQ(Only(CompareMaps(Map(), after)), "The 90,000 rpm speed line needs a look: The label is smeared.");
  after = Map();
  after.curves[0].confidence = 0.5;
  EXPECT_EQ(CompareMaps(Map(), after)[0].kind, ChangeKind::kCurveUncertainty);
}

// Whatever differs is said: no two different maps compare as the same.
TEST(MapCompare, NothingChangesUnsaid) {
  std::mt19937 random(11);
  for (int i = 0; i < 200; ++i) {
    PerformanceMap before = RandomMap(random), after = before;
    if (after.curves.empty()) continue;
    Curve& curve = after.curves[random() % after.curves.size()];
    switch (random() % 7) {
      case 0: curve.confidence = curve.confidence > 0.5 ? 0.25 : 0.75; break;
      case 1: curve.reasons.push_back("another"); break;
      case 2: curve.value = curve.value.value_or(1.0) + 1.0; break;
      case 3: curve.closed = !curve.closed; break;
      case 4: after.title += "x"; break;
      case 5: after.needs_review.push_back("another"); break;
      default:
        if (curve.points.empty()) continue;
        curve.points[0].x += 1.0;
    }
    EXPECT_FALSE(CompareMaps(before, after).empty()) << i;
  }
}

}  // namespace
}  // namespace islebook
