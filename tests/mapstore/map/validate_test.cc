#include "mapstore/map/validate.h"

#include <algorithm>
#include <functional>
#include <limits>
#include <random>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mapstore/map/curve_words.h"
#include "mapstore/map/frame_geometry.h"
#include "tests/mapstore/map/example_maps.h"

namespace islebook {
namespace {

using ::testing::HasSubstr;

std::string AllOf(const std::vector<Finding>& findings) {
  std::string out;
  for (const Finding& finding : findings)
    out +=
        std::string(SeverityName(finding.severity)) + " (" + (finding.curve ? std::to_string(*finding.curve) : "-") + "): " + finding.sentence + "\n";
  return out;
}

TEST(ValidateMap, SoundMapsHaveNoFindings) {
  EXPECT_TRUE(ValidateMap(ExampleCompressorMap()).empty()) << AllOf(ValidateMap(ExampleCompressorMap()));
  EXPECT_TRUE(ValidateMap(ExampleTurbineMap()).empty()) << AllOf(ValidateMap(ExampleTurbineMap()));
}

struct Defect {
  const char* name;
  std::function<void(PerformanceMap&)> damage;
  Severity severity;
  std::optional<std::size_t> curve;
  const char* says;
};

void ExpectFound(const PerformanceMap& sound, const std::vector<Defect>& defects) {
  for (const Defect& defect : defects) {
    PerformanceMap map = sound;
    defect.damage(map);
    const auto findings = ValidateMap(map);
    const bool found = std::ranges::any_of(findings, [&](const Finding& f) {
      return f.severity == defect.severity && f.curve == defect.curve && f.sentence.find(defect.says) != std::string::npos;
    });
    EXPECT_TRUE(found) << defect.name << " gave:\n" << AllOf(findings);
    for (const Finding& finding : findings) {
      EXPECT_EQ(finding.sentence.back(), '.') << finding.sentence;
      EXPECT_FALSE(finding.sentence[0] >= 'a' && finding.sentence[0] <= 'z') << finding.sentence;
    }
  }
}

// Curves of the example: 0-4 speed lines, 5 surge, 6 choke, 7-9 islands from the highest efficiency down.
TEST(ValidateMap, DefectsOfACompressorMap) {
  const auto shift = [](Curve& curve, double dx, double dy) {
    for (Point2& p : curve.points) p = {p.x + dx, p.y + dy};
  };
  const std::vector<Defect> defects = {
      {"no axes", [](auto& m) { m.x.reset(); }, Severity::kError, std::nullopt, "no axes"},
      {"kind unknown", [](auto& m) { m.kind.reset(); }, Severity::kDoubt, std::nullopt, "not known whether"},
      {"unit of another quantity", [](auto& m) { m.x->unit = "m3/s"; }, Severity::kError, std::nullopt, "cannot be in m3/s"},
      {"wrong quantity", [](auto& m) { m.x->quantity = Quantity::kVelocityRatio; }, Severity::kError, std::nullopt, "A compressor map has"},
      {"axis without span", [](auto& m) { m.y->max = m.y->min; }, Severity::kError, std::nullopt, "no span"},
      {"axis ten times too long", [](auto& m) { m.y->max = 40; }, Severity::kDoubt, std::nullopt, "unusual for a pressure ratio"},
      {"flow axis absurd",
       [](auto& m) {
         m.x->unit = "kg/s";
         m.x->max = 5000;
       },
       Severity::kDoubt, std::nullopt, "unusual for a turbocharger"},
      {"reference temperature in Celsius", [](auto& m) { m.reference_conditions->temperature_K = 25; }, Severity::kError, std::nullopt,
       "reference temperature"},
      {"reference pressure in millibar", [](auto& m) { m.reference_conditions->pressure_Pa = 981; }, Severity::kDoubt, std::nullopt,
       "reference pressure"},
      {"two speeds exchanged", [](auto& m) { std::swap(m.curves[1].value, m.curves[3].value); }, Severity::kDoubt, 1u, "105,000 rpm speed line lies"},
      {"one speed misread", [](auto& m) { m.curves[2].value = 190000; }, Severity::kDoubt, 2u,
       "lies between the 75,000 rpm speed line and the 105,000 rpm speed line, so its value or its place is in doubt; 90,000 would fit"},
      {"speed a tenth", [](auto& m) { m.curves[4].value = 12000; }, Severity::kDoubt, 4u, "lies beyond"},
      {"speed breaks the step", [](auto& m) { m.curves[2].value = 96000; }, Severity::kDoubt, 2u, "90,000 would fit"},
      {"speed twice", [](auto& m) { m.curves[2].value = 75000; }, Severity::kDoubt, 2u, "stands twice"},
      {"speed missing", [](auto& m) { m.curves[2].value.reset(); }, Severity::kDoubt, 2u, "carries no speed"},
      {"speed absurd", [](auto& m) { m.curves[4].value = 1.2e6; }, Severity::kDoubt, 4u, "outside 3,000"},
      {"speed in a flow unit", [](auto& m) { m.curves[0].unit = "kg/s"; }, Severity::kError, 0u, "neither a speed"},
      {"value without unit", [](auto& m) { m.curves[0].unit.clear(); }, Severity::kError, 0u, "without a unit"},
      {"speed lines cross",
       [](auto& m) {
         for (std::size_t i = 10; i < m.curves[1].points.size(); ++i) m.curves[1].points[i].y += 0.12 * double(i - 10);
       },
       Severity::kError, 1u, "crosses the 90,000 rpm speed line"},
      {"speed line rises again", [](auto& m) { m.curves[3].points.back().y += 1.0; }, Severity::kDoubt, 3u, "rises again"},
      {"speed line turns back", [](auto& m) { m.curves[3].points.back().x -= 4.0; }, Severity::kDoubt, 3u, "turns back"},
      {"speed line short at surge",
       [](auto& m) {
         for (auto* l : {&m.curves[2].points, &m.curves[2].points_px, &m.curves[2].sigma}) l->erase(l->begin(), l->begin() + 6);
       },
       Severity::kDoubt, 2u, "does not begin at the surge line"},
      {"surge line somewhere else", [&](auto& m) { shift(m.curves[5], 6.0, -0.4); }, Severity::kDoubt, 5u, "begin at the surge line"},
      {"a second surge line",
       [&](auto& m) {
         m.curves.push_back(m.curves[5]);
         shift(m.curves.back(), 3.0, 0.0);
         m.curves.back().confidence = 0.4;
       },
       Severity::kDoubt, 10u, "two surge lines"},
      {"choke line somewhere else", [&](auto& m) { shift(m.curves[6], -7.0, 0.0); }, Severity::kDoubt, 6u, "end at the choke line"},
      {"corner in a speed line",
       [](auto& m) {
         for (std::size_t i = 14; i < m.curves[0].points.size(); ++i) m.curves[0].points[i].y = m.curves[0].points[13].y - 0.35 * double(i - 13);
         m.y->min = -4;
       },
       Severity::kDoubt, 0u, "a corner of"},
      {"islands cross", [&](auto& m) { shift(m.curves[7], 3.5, 0.0); }, Severity::kError, 7u, "crosses the 0.75 efficiency island"},
      {"islands not nested", [](auto& m) { std::swap(m.curves[7].value, m.curves[9].value); }, Severity::kDoubt, 7u, "lies inside"},
      {"islands of one value nested", [](auto& m) { m.curves[7].value = 0.75; }, Severity::kDoubt, 7u, "another of the same efficiency"},
      {"island label lower than both sides", [](auto& m) { m.curves[8].value = 0.55; }, Severity::kDoubt, 8u, "lies inside"},
      {"efficiency absurd", [](auto& m) { m.curves[7].value = 7.8; }, Severity::kDoubt, 7u, "outside 0.2 to 0.95"},
      {"efficiency in rpm", [](auto& m) { m.curves[7].unit = "rpm"; }, Severity::kError, 7u, "efficiency in rpm"},
      {"closed speed line", [](auto& m) { m.curves[0].closed = true; }, Severity::kError, 0u, "only an island"},
      {"turbine role", [](auto& m) { m.curves[0].role = CurveRole::kFlowLine; }, Severity::kError, 0u, "does not belong"},
      {"points outside the frame", [](auto& m) { m.curves[0].points[0].x = -7.0; }, Severity::kDoubt, 0u, "leaves the plot frame at 1 of"},
      {"pressure ratio below one",
       [](auto& m) {
         m.y->min = 0.0;
         m.curves[0].points.back().y = 0.5;
       },
       Severity::kDoubt, 0u, "below 1"},
      {"pressure ratio beyond a stage", [](auto& m) { m.curves[4].points[0].y = 14.0; }, Severity::kDoubt, 4u, "cannot reach"},
      {"sigma zero", [](auto& m) { m.curves[3].sigma[2].y = 0.0; }, Severity::kError, 3u, "not above zero"},
      {"sigma count", [](auto& m) { m.curves[3].sigma.pop_back(); }, Severity::kError, 3u, "number of uncertainties"},
      {"pixel count", [](auto& m) { m.curves[3].points_px.pop_back(); }, Severity::kError, 3u, "number of sheet points"},
      {"not a number", [](auto& m) { m.curves[3].points[4].x = std::numeric_limits<double>::quiet_NaN(); }, Severity::kError, 3u, "no number"},
      {"one point", [](auto& m) { m.curves[3].points.resize(1); }, Severity::kError, 3u, "fewer than two"},
      {"review without reason", [](auto& m) { m.curves[9].reasons.clear(); }, Severity::kRemark, 9u, "without a reason"},
  };
  ExpectFound(ExampleCompressorMap(), defects);
}

// Open islands cannot be told inside from outside; along a speed line their values must still rise to one peak.
TEST(ValidateMap, OpenIslandsInTheWrongOrder) {
  PerformanceMap map = ExampleCompressorMap();
  for (std::size_t i = 7; i <= 9; ++i) {
    map.curves[i].closed = false;
    for (auto* list : {&map.curves[i].points, &map.curves[i].points_px, &map.curves[i].sigma}) list->resize(46);
  }
  EXPECT_TRUE(ValidateMap(map).empty()) << AllOf(ValidateMap(map));
  map.curves[8].value = 0.55;  // the middle one of three
  const auto findings = ValidateMap(map);
  ASSERT_FALSE(findings.empty());
  EXPECT_EQ(findings[0].curve, 8u);
  EXPECT_THAT(findings[0].sentence, HasSubstr("between islands of higher efficiency"));
}

TEST(ValidateMap, DefectsOfATurbineMap) {
  const std::vector<Defect> defects = {
      {"flow falls", [](auto& m) { m.curves[2].points.back().y -= 0.01; }, Severity::kDoubt, 2u, "swallows more"},
      {"openings exchanged", [](auto& m) { std::swap(m.curves[0].value, m.curves[2].value); }, Severity::kDoubt, 0u, "lies"},
      {"opening missing", [](auto& m) { m.curves[2].value.reset(); }, Severity::kDoubt, 2u, "carries no speed or opening"},
      {"0 means open",
       [](auto& m) {
         std::swap(m.curves[0].value, m.curves[4].value);
         std::swap(m.curves[1].value, m.curves[5].value);
       },
       Severity::kRemark, std::nullopt, "may mean open"},
      {"efficiency above one", [](auto& m) { m.curves[1].points[3].y = 1.2; }, Severity::kDoubt, 1u, "no turbine has"},
      {"no partner", [](auto& m) { m.curves[3].value = 65; }, Severity::kDoubt, 3u, "may be misread"},
      {"partner missing", [](auto& m) { m.curves.erase(m.curves.begin() + 3); }, Severity::kRemark, 2u, "no efficiency line"},
      {"corner",
       [](auto& m) {
         for (std::size_t i = 9; i < 16; ++i) m.curves[0].points[i].y += 0.004 * double(i - 8);
       },
       Severity::kDoubt, 0u, "a corner of"},
      {"compressor role", [](auto& m) { m.curves[0].role = CurveRole::kSurgeLine; }, Severity::kError, 0u, "does not belong"},
      {"expansion ratio below one",
       [](auto& m) {
         m.x->min = 0.5;
         m.curves[0].points[0].x = 0.6;
       },
       Severity::kDoubt, 0u, "below 1"},
      {"axes of a compressor",
       [](auto& m) {
         m.x->quantity = Quantity::kCorrectedSpeed;
         m.x->unit = "rpm";
       },
       Severity::kError, std::nullopt, "A turbine map has"},
      {"efficiency axis of another thing", [](auto& m) { m.efficiency->quantity = Quantity::kVelocityRatio; }, Severity::kError, std::nullopt,
       "The efficiency axis shows"},
  };
  ExpectFound(ExampleTurbineMap(), defects);
}

TEST(ValidateMap, AMissingLineLeavesAGapAndAccusesNobody) {
  PerformanceMap map = ExampleCompressorMap();
  map.curves.erase(map.curves.begin() + 3);
  for (const Finding& finding : ValidateMap(map)) EXPECT_EQ(finding.sentence.find("even step"), std::string::npos) << finding.sentence;
}

TEST(ValidateMap, OfTwoValuesOutOfOrderTheDoubtedOneIsBlamed) {
  PerformanceMap map = ExampleCompressorMap();
  std::swap(map.curves[1].value, map.curves[2].value);
  map.curves[2].needs_review = true;
  map.curves[2].reasons = {"hard to read"};
  const auto findings = ValidateMap(map);
  const auto blamed = [&](std::size_t curve) {
    return std::ranges::any_of(findings,
                               [&](const Finding& f) { return f.curve == curve && f.sentence.find("place is in doubt") != std::string::npos; });
  };
  EXPECT_TRUE(blamed(2)) << AllOf(findings);
  EXPECT_FALSE(blamed(1)) << AllOf(findings);
}

TEST(ValidateMap, AnIslandMayGoUnlabelled) {
  PerformanceMap map = ExampleCompressorMap();
  map.curves[8].value.reset();
  map.curves[8].unit.clear();
  for (const Finding& finding : ValidateMap(map)) EXPECT_EQ(finding.severity, Severity::kRemark) << finding.sentence;
}

TEST(ValidateMap, TurnedSheetsAreCheckedAlike) {
  PerformanceMap map = ExampleCompressorMap();
  map.curves[2].value = 190000;
  std::swap(map.x, map.y);
  for (Curve& curve : map.curves) {
    for (Point2& p : curve.points) std::swap(p.x, p.y);
    for (Point2& p : curve.sigma) std::swap(p.x, p.y);
  }
  const auto findings = ValidateMap(map);
  ASSERT_EQ(findings.size(), 1u) << AllOf(findings);
  EXPECT_EQ(findings[0].curve, 2u);
}

TEST(ValidateMap, RandomMapsNeverCrash) {
  std::mt19937 random(77);
  for (int i = 0; i < 500; ++i) {
    const PerformanceMap map = RandomMap(random);
    for (const Finding& finding : ValidateMap(map)) {
      EXPECT_FALSE(finding.sentence.empty());
      if (finding.curve) {
        EXPECT_LT(*finding.curve, map.curves.size());
      }
    }
  }
  EXPECT_TRUE(ValidateMap(PerformanceMap{}).size() == 1 && ValidateMap(PerformanceMap{})[0].severity == Severity::kRemark);
}

TEST(FrameGeometry, CrossingsDistancesAndInside) {
  using namespace frame_geometry;
  const std::vector<Point2> a{{0, 0}, {1, 1}, {2, 0}}, b{{0, 0.5}, {2, 0.5}};
  const auto crossings = FindCrossings(a, b);
  ASSERT_EQ(crossings.size(), 2u);
  EXPECT_NEAR(crossings[0].at.x, 0.5, 1e-12);
  EXPECT_NEAR(crossings[1].along_a, 1.5, 1e-12);
  EXPECT_EQ(FindCrossings(a, {{1, 1}, {1, 2}}, 0.01).size(), 0u);                    // touches with its end
  EXPECT_EQ(FindCrossings({{0, 0}, {1, 0}, {2, 0}}, {{1, -1}, {1, 1}}).size(), 1u);  // through a vertex: once
  EXPECT_NEAR(DistanceTo(a, {1, 2}), 1.0, 1e-12);
  EXPECT_NEAR(LengthOf(b), 2.0, 1e-12);
  const std::vector<Point2> ring{{0, 0}, {2, 0}, {2, 2}, {0, 2}};
  EXPECT_TRUE(IsInside(ring, {1, 1}));
  EXPECT_FALSE(IsInside(ring, {3, 1}));
  EXPECT_EQ(HeightAt(a, 0.25), 0.25);
  EXPECT_FALSE(HeightAt(a, 3.0));
  const FrameScale scale({Quantity::kCorrectedMassFlow, "kg/s", AxisScale::kLog, 0.01, 1.0},
                         {Quantity::kPressureRatioTotalToTotal, "1", AxisScale::kLinear, 1.0, 5.0});
  const Point2 frame = scale.ToFrame(Point2{0.1, 3.0});
  EXPECT_NEAR(frame.x, 0.5, 1e-12);
  EXPECT_NEAR(frame.y, 0.5, 1e-12);
  EXPECT_NEAR(scale.FromFrame(frame).x, 0.1, 1e-12);
}

TEST(CurveWords, NumbersAndCurves) {
  EXPECT_EQ(NumberInWords(90000), "90,000");
  EXPECT_EQ(NumberInWords(1234567), "1,234,570");
  EXPECT_EQ(NumberInWords(-12500.5), "-12,500.5");
  EXPECT_EQ(NumberInWords(9999), "9999");
  EXPECT_EQ(NumberInWords(0.742), "0.742");
  EXPECT_EQ(NumberInWords(2.0 / 3.0, 3), "0.667");
  Curve curve;
  curve.role = CurveRole::kSpeedLine;
  EXPECT_EQ(CurveInWords(curve), "a speed line without a value");
  curve.value = 90000;
  curve.unit = "rpm";
  EXPECT_EQ(CurveInWords(curve), "the 90,000 rpm speed line");
  curve.role = CurveRole::kEfficiencyIsland;
  curve.value = 74;
  curve.unit = "%";
  EXPECT_EQ(CurveInWords(curve), "the 74 % efficiency island");
}

}  // namespace
}  // namespace islebook
