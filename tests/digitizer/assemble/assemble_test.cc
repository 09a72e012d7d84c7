// Meaning from structure: roles, values and doubts on maps made of exact curves.

#include "digitizer/assemble/assemble.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>

namespace islebook {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

constexpr double kSide = 1000;  // of the square frame, px

ImagePoint At(double u, double v) { return {u * kSide, (1 - v) * kSide}; }

struct Sheet {
  AxesFound axes;
  PanelEvidence evidence;

  explicit Sheet(Quantity x, Quantity y) {
    Panel panel;
    panel.frame = FrameMapping::FromCorners({ImagePoint{0, 0}, ImagePoint{kSide, 0}, ImagePoint{kSide, kSide}, ImagePoint{0, kSide}});
    AxisFit fit;
    fit.axis = {x, "lb/min", AxisScale::kLinear, 0, 50};
    fit.slope = 50;
    panel.x = fit;
    fit.axis = {y, "1", AxisScale::kLinear, 1, 4};
    fit.offset = 1;
    fit.slope = 3;
    panel.y = fit;
    axes.panels.push_back(panel);
  }
  std::size_t Add(const std::function<ImagePoint(double)>& f, double mass, bool closed = false) {
    TracedCurve curve;
    for (int i = 0; i < 150; ++i) curve.points.push_back(f(i / (closed ? 150.0 : 149.0)));
    curve.sigma_px.assign(150, 0.1f);
    curve.bridged.assign(150, 0);
    curve.closed = closed;
    curve.ink_mass = mass;
    evidence.curves.curves.push_back(curve);
    return evidence.curves.curves.size() - 1;
  }
  void Label(const std::string& text, double value, const std::string& unit, std::size_t curve, LabelPlace place) {
    CurveLabel label;
    label.text = text;
    label.value = value;
    label.unit = unit;
    label.confidence = 0.95;
    label.height_px = 14;
    const std::vector<ImagePoint>& points = evidence.curves.curves[curve].points;
    label.center = place == LabelPlace::kAtEnd ? ImagePoint{points.back().x, points.back().y + 12} : points[points.size() / 2];
    label.width_px = 30;
    label.candidates = {{curve, place == LabelPlace::kOnLine ? 0.0 : 6.0, place}};
    evidence.labels.labels.push_back(label);
  }
};

// A map of n speed lines between surge and choke, with one closed island.
struct Compressor {
  Sheet sheet{Quantity::kCorrectedMassFlow, Quantity::kPressureRatioTotalToTotal};
  std::vector<std::size_t> speeds;
  std::size_t surge = 0, island = 0;

  static ImagePoint SpeedLine(double s, double t) {  // s 0..1 from the lowest to the highest
    const double u0 = 0.1 + 0.35 * s, v0 = 0.15 + 0.6 * s, w = 0.18 + 0.3 * s, h = 0.08 + 0.35 * s;
    return At(u0 + w * std::sin(0.5 * M_PI * t), v0 - h * (1 - std::cos(0.5 * M_PI * t)));
  }
  explicit Compressor(int n = 5) {
    surge = sheet.Add([](double t) { return At(0.1 + 0.35 * t, 0.15 + 0.6 * t); }, 4);
    for (int i = 0; i < n; ++i) speeds.push_back(sheet.Add([i, n](double t) { return SpeedLine(static_cast<double>(i) / (n - 1), t); }, 3));
    island = sheet.Add(
        [](double t) {
          return At(0.42 + 0.09 * std::cos(2 * M_PI * t) + 0.05 * std::sin(2 * M_PI * t),
                    0.44 + 0.10 * std::sin(2 * M_PI * t) + 0.05 * std::cos(2 * M_PI * t));
        },
        1.5, true);
  }
  JudgedMap Judge() const { return *JudgeCurves(sheet.axes, {sheet.evidence}); }
};

const JudgedCurve* Find(const JudgedMap& map, CurveRole role, std::optional<double> value) {
  for (const JudgedCurve& c : map.curves)
    if (c.role == role && c.value == value) return &c;
  return nullptr;
}

TEST(JudgeCurves, TellsSurgeSpeedLinesAndIslandsByTheirPlaceInTheWhole) {
  Compressor c;
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(60000 + 10000 * i), 60000 + 10000 * i, "", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  c.sheet.Label("0.74", 0.74, "1", c.island, LabelPlace::kOnLine);
  const JudgedMap map = c.Judge();
  EXPECT_EQ(map.kind, MapKind::kCompressor);
  ASSERT_EQ(map.curves.size(), 7u);
  for (int i = 0; i < 5; ++i) {
    const JudgedCurve* line = Find(map, CurveRole::kSpeedLine, 60000 + 10000 * i);
    ASSERT_NE(line, nullptr) << i;
    EXPECT_EQ(line->unit, "rpm");
    EXPECT_TRUE(line->reasons.empty()) << line->reasons.front();
  }
  ASSERT_NE(Find(map, CurveRole::kEfficiencyIsland, 0.74), nullptr);
  const JudgedCurve* surge = Find(map, CurveRole::kSurgeLine, std::nullopt);
  ASSERT_NE(surge, nullptr);
  EXPECT_TRUE(surge->reasons.empty());
}

TEST(JudgeCurves, SuggestsAMissingSpeedButNeverAssertsIt) {
  Compressor c;
  for (int i : {0, 1, 3, 4})
    c.sheet.Label(std::to_string(60000 + 10000 * i), 60000 + 10000 * i, "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  const JudgedMap map = c.Judge();
  const JudgedCurve* inferred = Find(map, CurveRole::kSpeedLine, 80000.0);
  ASSERT_NE(inferred, nullptr);
  EXPECT_FALSE(inferred->reasons.empty());
  EXPECT_LT(inferred->confidence, 0.5);
}

TEST(JudgeCurves, DoubtsAMisreadSpeed) {
  // One figure lost from the third of five.
  Compressor c;
  const double values[] = {60000, 70000, 8000, 90000, 100000};
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(static_cast<int>(values[i])), values[i], "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  const JudgedMap map = c.Judge();
  const JudgedCurve* wrong = Find(map, CurveRole::kSpeedLine, 8000.0);
  ASSERT_NE(wrong, nullptr);
  EXPECT_FALSE(wrong->reasons.empty());
  EXPECT_TRUE(Find(map, CurveRole::kSpeedLine, 90000.0)->reasons.empty());
}

// What a person said of one curve tells of the others.
TEST(JudgeAgain, AValueGivenPutsTheSeriesRight) {
  // Of five speeds two were read, and one of them wrong.
  Compressor c;
  c.sheet.Label("60000", 60000, "rpm", c.speeds[0], LabelPlace::kAtEnd);
  c.sheet.Label("90000", 90000, "rpm", c.speeds[3], LabelPlace::kAtEnd);
  c.sheet.Label("80000", 80000, "rpm", c.speeds[1], LabelPlace::kAtEnd);
  JudgedMap map = c.Judge();
  ASSERT_EQ(Find(map, CurveRole::kSpeedLine, 70000.0), nullptr);
  const auto at = std::ranges::find_if(map.curves, [](const JudgedCurve& j) { return j.role == CurveRole::kSpeedLine && j.value == 80000.0; });
  ASSERT_NE(at, map.curves.end());
  const auto said = at - map.curves.begin();
  at->value = 70000.0;
  at->word.role = at->word.value = true;
  const JudgedMap again = *JudgeAgain(map, c.sheet.axes, {c.sheet.evidence});
  ASSERT_EQ(again.curves.size(), map.curves.size());
  const JudgedCurve& given = again.curves[static_cast<std::size_t>(said)];
  EXPECT_EQ(given.value, 70000.0);
  EXPECT_TRUE(given.reasons.empty());
  for (const double value : {60000.0, 80000.0, 90000.0, 100000.0}) EXPECT_NE(Find(again, CurveRole::kSpeedLine, value), nullptr) << value;
  EXPECT_FALSE(Find(again, CurveRole::kSpeedLine, 100000.0)->reasons.empty()) << "what is inferred is said to be";
}

TEST(JudgeAgain, WhatAPersonSaidStays) {
  Compressor c;
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(60000 + 10000 * i), 60000 + 10000 * i, "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  JudgedMap map = c.Judge();
  JudgedCurve& line = map.curves[2];
  line.role = CurveRole::kOther;
  line.value.reset();
  line.word.role = true;
  JudgedCurve& odd = map.curves[3];
  odd.value = 12345.0;
  odd.word.role = odd.word.value = odd.word.accepted = true;
  const JudgedMap again = *JudgeAgain(map, c.sheet.axes, {c.sheet.evidence});
  EXPECT_EQ(again.curves[2].role, CurveRole::kOther);
  EXPECT_EQ(again.curves[3].value, 12345.0);
  EXPECT_TRUE(again.curves[3].reasons.empty());
}

// Two labels that changed places: either may be the wrong one.
TEST(JudgeCurves, DoubtsBothSpeedsThatChangedPlaces) {
  Compressor c;
  const double values[] = {60000, 70000, 90000, 80000, 100000};
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(static_cast<int>(values[i])), values[i], "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  const JudgedMap map = c.Judge();
  for (const double value : values) {
    const JudgedCurve* line = Find(map, CurveRole::kSpeedLine, value);
    ASSERT_NE(line, nullptr) << value;
    EXPECT_EQ(line->reasons.empty(), value != 80000 && value != 90000) << value;
  }
}

TEST(JudgeCurves, DoubtsASpeedThatIsLessRoundThanItsKin) {
  Compressor c;
  const double values[] = {60000, 70000, 80000, 90900, 100000};
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(static_cast<int>(values[i])), values[i], "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  const JudgedMap map = c.Judge();
  ASSERT_NE(Find(map, CurveRole::kSpeedLine, 90900.0), nullptr);
  EXPECT_FALSE(Find(map, CurveRole::kSpeedLine, 90900.0)->reasons.empty());
  EXPECT_TRUE(Find(map, CurveRole::kSpeedLine, 80000.0)->reasons.empty());
}

TEST(JudgeCurves, AnEfficiencyIsNoSpeed) {
  Compressor c;
  for (int i : {0, 1, 2, 4})
    c.sheet.Label(std::to_string(60000 + 10000 * i), 60000 + 10000 * i, "", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  c.sheet.Label("67%", 67, "%", c.speeds[3], LabelPlace::kOnLine);
  const JudgedMap map = c.Judge();
  for (const JudgedCurve& curve : map.curves) {
    if (curve.role != CurveRole::kSpeedLine || !curve.value) continue;
    EXPECT_EQ(curve.unit, "rpm");
    EXPECT_GE(*curve.value, 60000.0);
  }
}

TEST(JudgeCurves, DoubtsTheOneSpeedLineThatEndsTooSoon) {
  Compressor c;
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(60000 + 10000 * i), 60000 + 10000 * i, "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  auto& cut = c.sheet.evidence.curves.curves[c.speeds[2]];
  cut.points.resize(120);
  cut.sigma_px.resize(120);
  cut.bridged.resize(120);
  const JudgedMap map = c.Judge();
  for (int i = 0; i < 5; ++i) {
    const JudgedCurve* line = Find(map, CurveRole::kSpeedLine, 60000 + 10000 * i);
    ASSERT_NE(line, nullptr) << i;
    EXPECT_EQ(line->reasons.empty(), i != 2) << i;
  }
}

// The sheet itself as a witness: bare paper, with what a test draws on it.
struct Paper {
  Page page;
  RidgesFound ridges;
  PrintFound print;
  Paper() {
    page.ink = cv::Mat1b(1000, 1000, static_cast<std::uint8_t>(0));
    print.mask = cv::Mat1b(1000, 1000, static_cast<std::uint8_t>(0));
    print.digit_height_px = 12;
  }
  void Draw(const std::vector<ImagePoint>& line) {
    for (std::size_t i = 1; i < line.size(); ++i)
      for (int k = 0; k <= 20; ++k) {
        const double x = line[i - 1].x + (line[i].x - line[i - 1].x) * k / 20, y = line[i - 1].y + (line[i].y - line[i - 1].y) * k / 20;
        for (int dy = -1; dy <= 1; ++dy)
          for (int dx = -1; dx <= 1; ++dx)
            if (x + dx >= 0 && y + dy >= 0 && x + dx < 1000 && y + dy < 1000) page.ink(cvRound(y) + dy, cvRound(x) + dx) = 200;
      }
  }
  SheetSeen Seen() const { return {&page, &ridges, &print}; }
};

// A label at the end hides a part of its line, but not a tenth of it.
TEST(JudgeCurves, DoubtsALineThatStopsShortOfTheSurgeLineWhateverStandsThere) {
  Compressor c;
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(60000 + 10000 * i), 60000 + 10000 * i, "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  Paper paper;
  for (const TracedCurve& curve : c.sheet.evidence.curves.curves) paper.Draw(curve.points);
  auto& cut = c.sheet.evidence.curves.curves[c.speeds[0]];
  cut.points.erase(cut.points.begin(), cut.points.begin() + 16);
  cut.sigma_px.resize(cut.points.size());
  cut.bridged.resize(cut.points.size());
  Word word;
  word.center = cut.points.front();
  word.width_px = 20;
  paper.print.words.push_back(word);
  const SheetSeen seen = paper.Seen();
  JudgedMap map = *JudgeCurves(c.sheet.axes, {c.sheet.evidence}, {}, &seen);
  const JudgedCurve* line = Find(map, CurveRole::kSpeedLine, 60000.0);
  ASSERT_NE(line, nullptr);
  ASSERT_FALSE(line->reasons.empty());
  EXPECT_NE(line->reasons.front().find("short of the surge line"), std::string::npos) << line->reasons.front();
  EXPECT_NE(line->reasons.front().find("surely cut"), std::string::npos) << line->reasons.front();
  EXPECT_TRUE(Find(map, CurveRole::kSpeedLine, 70000.0)->reasons.empty());
  // The sheet's own doubt names the line.
  DoubtTheWhole(map);
  EXPECT_TRUE(std::ranges::any_of(map.report.doubts, [](const std::string& d) { return d.find("the 60,000 rpm speed line") != std::string::npos; }));
}

TEST(JudgeCurves, WithoutASurgeLineTheNeighborsTellWhereALineBegins) {
  Compressor c;
  c.sheet.evidence.curves.curves.erase(c.sheet.evidence.curves.curves.begin());
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(60000 + 10000 * i), 60000 + 10000 * i, "rpm", c.speeds[static_cast<std::size_t>(i)] - 1, LabelPlace::kAtEnd);
  for (const bool whole : {true, false}) {
    if (!whole) {
      auto& cut = c.sheet.evidence.curves.curves[c.speeds[2] - 1];
      cut.points.erase(cut.points.begin(), cut.points.begin() + 25);
      cut.sigma_px.resize(cut.points.size());
      cut.bridged.resize(cut.points.size());
    }
    const JudgedMap map = c.Judge();
    ASSERT_EQ(Find(map, CurveRole::kSurgeLine, std::nullopt), nullptr);
    for (int i = 0; i < 5; ++i) {
      const JudgedCurve* line = Find(map, CurveRole::kSpeedLine, 60000 + 10000 * i);
      ASSERT_NE(line, nullptr) << i;
      EXPECT_EQ(
          std::ranges::any_of(line->reasons, [](const std::string& r) { return r.find("later than the lines beside it") != std::string::npos; }),
          !whole && i == 2)
          << i;
    }
  }
}

TEST(JudgeCurves, ASpeedThatNoWheelTurnsAtIsLeftOpen) {
  Compressor c;
  const double values[] = {60000, 70000, 530801, 90000, 100000};
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(static_cast<int>(values[i])), values[i], "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  const JudgedMap map = c.Judge();
  EXPECT_EQ(Find(map, CurveRole::kSpeedLine, 530801.0), nullptr);
  const JudgedCurve* open = Find(map, CurveRole::kSpeedLine, std::nullopt);
  ASSERT_NE(open, nullptr);
  EXPECT_TRUE(std::ranges::any_of(open->reasons, [](const std::string& r) { return r.find("530,801 rpm") != std::string::npos; }));
}

TEST(JudgeCurves, SpeedsInPerCentStayAsPrinted) {
  Compressor c;
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(70 + 10 * i) + "%Nc", 70 + 10 * i, "%", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  const JudgedMap map = c.Judge();
  for (int i = 0; i < 5; ++i) {
    const JudgedCurve* line = Find(map, CurveRole::kSpeedLine, 70 + 10 * i);
    ASSERT_NE(line, nullptr) << i;
    EXPECT_EQ(line->unit, "%");
  }
}

TEST(JudgeCurves, WhatSpeedLinesRunAcrossIsNoChokeLine) {
  Compressor c;
  // Rising, and touched by the right ends of most speed lines; the others run on beyond it.
  std::vector<ImagePoint> ends;
  for (int i = 0; i < 5; ++i) ends.push_back(Compressor::SpeedLine(i / 4.0, i == 1 || i == 3 ? 0.93 : 1.0));
  const std::size_t line = c.sheet.Add(
      [&](double t) {
        const double at = 4.0 * t;
        const auto k = std::min<std::size_t>(3, static_cast<std::size_t>(at));
        const double f = at - static_cast<double>(k);
        return ImagePoint{ends[k].x + f * (ends[k + 1].x - ends[k].x), ends[k].y + f * (ends[k + 1].y - ends[k].y)};
      },
      1.5);
  c.sheet.Label("0.55", 0.55, "1", line, LabelPlace::kOnLine);
  const JudgedMap map = c.Judge();
  EXPECT_EQ(Find(map, CurveRole::kChokeLine, std::nullopt), nullptr);
  EXPECT_NE(Find(map, CurveRole::kEfficiencyIsland, 0.55), nullptr);
}

// Whether it has no label or its label was overlooked nobody can tell: it carries no efficiency, and that is said.
TEST(JudgeCurves, AnIslandWithoutAValueIsDoubted) {
  Compressor c;
  for (int i = 0; i < 5; ++i)
    c.sheet.Label(std::to_string(60000 + 10000 * i), 60000 + 10000 * i, "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  Paper paper;
  for (const TracedCurve& curve : c.sheet.evidence.curves.curves) paper.Draw(curve.points);
  const SheetSeen seen = paper.Seen();
  const auto judged = JudgeCurves(c.sheet.axes, {c.sheet.evidence}, {}, &seen);
  ASSERT_TRUE(judged.has_value());
  int islands = 0;
  for (const JudgedCurve& curve : judged->curves) {
    if (curve.role != CurveRole::kEfficiencyIsland) continue;
    ++islands;
    EXPECT_FALSE(curve.value);
    EXPECT_FALSE(curve.reasons.empty());
  }
  EXPECT_EQ(islands, 1);
}

// A chart that labels some islands and leaves others bare: a bare one has neither print at it nor a gap that a label would make.
TEST(JudgeCurves, ABareIslandAmongLabeledOnesIsNotAskedForANumber) {
  for (const bool printed : {false, true}) {
    Compressor c;
    for (int i = 0; i < 5; ++i)
      c.sheet.Label(std::to_string(60000 + 10000 * i), 60000 + 10000 * i, "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
    const auto ring = [](double size) {
      return [size](double t) {
        return At(0.42 + size * (0.09 * std::cos(2 * M_PI * t) + 0.05 * std::sin(2 * M_PI * t)),
                  0.44 + size * (0.10 * std::sin(2 * M_PI * t) + 0.05 * std::cos(2 * M_PI * t)));
      };
    };
    c.sheet.Label("0.75", 0.75, "1", c.sheet.Add(ring(0.7), 1.5, true), LabelPlace::kOnLine);
    c.sheet.Label("0.77", 0.77, "1", c.sheet.Add(ring(0.4), 1.5, true), LabelPlace::kOnLine);
    Paper paper;
    for (const TracedCurve& curve : c.sheet.evidence.curves.curves) paper.Draw(curve.points);
    if (printed) {
      Word word;
      word.center = c.sheet.evidence.curves.curves[c.island].points[10];
      word.width_px = 40;
      word.height_px = 12;
      word.glyphs.resize(4);
      paper.print.words.push_back(word);
    }
    const SheetSeen seen = paper.Seen();
    const JudgedMap map = *JudgeCurves(c.sheet.axes, {c.sheet.evidence}, {}, &seen);
    const JudgedCurve* bare = Find(map, CurveRole::kEfficiencyIsland, std::nullopt);
    ASSERT_NE(bare, nullptr);
    EXPECT_EQ(bare->reasons.empty(), !printed);
  }
}

TEST(JudgeCurves, InkThatGoesOnBeyondAnEndIsSeen) {
  Compressor c(3);  // too few for a family of ends
  for (int i = 0; i < 3; ++i)
    c.sheet.Label(std::to_string(60000 + 10000 * i), 60000 + 10000 * i, "rpm", c.speeds[static_cast<std::size_t>(i)], LabelPlace::kAtEnd);
  Paper paper;
  for (const TracedCurve& curve : c.sheet.evidence.curves.curves) paper.Draw(curve.points);
  TracedCurve& cut = c.sheet.evidence.curves.curves[c.speeds[2]];
  cut.points.resize(125);
  cut.sigma_px.resize(125);
  cut.bridged.resize(125);
  const SheetSeen seen = paper.Seen();
  const JudgedMap map = *JudgeCurves(c.sheet.axes, {c.sheet.evidence}, {}, &seen);
  EXPECT_FALSE(Find(map, CurveRole::kSpeedLine, 80000.0)->reasons.empty());
  EXPECT_TRUE(Find(map, CurveRole::kSpeedLine, 70000.0)->reasons.empty());
}

TEST(JudgeCurves, DoubtsCurvesThatBendTheWrongWayOrStopInTheOpen) {
  Compressor c;
  // The middle line jumps to its lower neighbor halfway, as a wrongly joined line does.
  auto& points = c.sheet.evidence.curves.curves[c.speeds[2]].points;
  for (std::size_t i = 75; i < points.size(); ++i) points[i] = Compressor::SpeedLine(0.25, static_cast<double>(i) / 149.0);
  ASSERT_GT(std::hypot(points[75].x - points[74].x, points[75].y - points[74].y), 20.0);
  const std::size_t loose = c.sheet.Add([](double t) { return At(0.35 + 0.1 * t, 0.5 + 0.08 * t); }, 1.5);
  c.sheet.Label("0.70", 0.70, "1", loose, LabelPlace::kOnLine);
  const JudgedMap map = c.Judge();
  // Whatever the joined curve is now taken for, it says for itself that its shape is wrong.
  const ImagePoint jump = points[10];  // on the part that is still its own
  const auto holds = [&](const JudgedCurve& curve) {
    return std::any_of(curve.trace.points.begin(), curve.trace.points.end(), [&](ImagePoint p) { return p.x == jump.x && p.y == jump.y; });
  };
  const auto joined = std::find_if(map.curves.begin(), map.curves.end(), holds);
  ASSERT_NE(joined, map.curves.end());
  EXPECT_LT(joined->confidence, 0.5);
  EXPECT_TRUE(std::any_of(joined->reasons.begin(), joined->reasons.end(), [](const std::string& r) { return r.find("label") == std::string::npos; }))
      << CurveRoleName(joined->role) << ": " << (joined->reasons.empty() ? "" : joined->reasons.front());
  const JudgedCurve* island = Find(map, CurveRole::kEfficiencyIsland, 0.70);
  ASSERT_NE(island, nullptr);
  EXPECT_FALSE(island->reasons.empty());
  JudgedMap whole = map;
  DoubtTheWhole(whole);
  EXPECT_FALSE(whole.report.doubts.empty());
}

TEST(JudgeCurves, DeclinesAChartOfAnotherKind) {
  Sheet sheet(Quantity::kCorrectedSpeed, Quantity::kEfficiencyTotalToTotal);
  sheet.Add([](double t) { return At(0.1 + 0.8 * t, 0.2 + 0.3 * t); }, 2);
  const auto map = JudgeCurves(sheet.axes, {sheet.evidence});
  ASSERT_TRUE(map.has_value());
  EXPECT_FALSE(map->kind.has_value());
  EXPECT_TRUE(map->curves.empty());
  EXPECT_FALSE(map->report.doubts.empty());
}

// Where a line ends is less sure than where it runs: the band reaches out along it there, and only there.
TEST(CalibrateMap, TheEndsOfALineAreLessSureAlongIt) {
  Compressor c;
  auto& level = c.sheet.evidence.curves.curves[c.speeds[0]];
  level.end_sigma_px[0] = level.end_sigma_px[1] = 2.0;
  const JudgedMap judged = c.Judge();
  const auto map = CalibrateMap(judged, c.sheet.axes);
  ASSERT_TRUE(map.has_value());
  const auto it = std::ranges::find_if(map->curves, [&](const Curve& curve) {
    return curve.role == CurveRole::kSpeedLine && std::abs(curve.points_px.front().x - level.points.front().x) < 1e-9;
  });
  ASSERT_NE(it, map->curves.end());
  const std::size_t middle = it->sigma.size() / 2;
  EXPECT_NEAR(it->sigma[middle].x, 50 * 0.1 / kSide, 1e-6);
  // The front runs level, the back falls steeply.
  EXPECT_NEAR(it->sigma.front().x, 50 * 2.0 / kSide, 50 * 0.05 / kSide);
  EXPECT_LT(it->sigma.front().y, 3 * 0.3 / kSide);
  EXPECT_GT(it->sigma.back().y, 3 * 1.0 / kSide);
}

TEST(CalibrateMap, PixelsBecomeAxisValuesWithTheirUncertainty) {
  Compressor c;
  const JudgedMap judged = c.Judge();
  const auto map = CalibrateMap(judged, c.sheet.axes);
  ASSERT_TRUE(map.has_value());
  ASSERT_EQ(map->curves.size(), judged.curves.size());
  for (const Curve& curve : map->curves) {
    ASSERT_EQ(curve.points.size(), curve.points_px.size());
    ASSERT_EQ(curve.points.size(), curve.sigma.size());
    for (std::size_t i = 0; i < curve.points.size(); ++i) {
      EXPECT_NEAR(curve.points[i].x, 50 * curve.points_px[i].x / kSide, 1e-9);
      EXPECT_NEAR(curve.points[i].y, 1 + 3 * (1 - curve.points_px[i].y / kSide), 1e-9);
      EXPECT_NEAR(curve.sigma[i].x, 50 * 0.1 / kSide, 1e-6);  // a tenth of a pixel
      EXPECT_NEAR(curve.sigma[i].y, 3 * 0.1 / kSide, 1e-6);
    }
    EXPECT_TRUE(!curve.needs_review || !curve.reasons.empty());
  }
}

// What a person settled is doubted no more; what a person took away is missed.
TEST(DoubtTheWhole, FollowsTheCurvesAsTheyAre) {
  JudgedMap map;
  map.kind = MapKind::kCompressor;
  map.curves.resize(4);
  map.curves[0].role = map.curves[1].role = CurveRole::kSpeedLine;
  map.curves[2].role = CurveRole::kSurgeLine;
  map.curves[3].role = CurveRole::kEfficiencyIsland;
  for (JudgedCurve& curve : map.curves) curve.confidence = 1.0;
  map.curves[3].confidence = 0.1;
  map.curves[3].reasons = {"its shape is odd"};
  JudgedMap doubted = map;
  DoubtTheWhole(doubted);
  EXPECT_THAT(doubted.report.doubts, ElementsAre(HasSubstr("island")));
  map.curves[3].confidence = 1.0;
  map.curves[3].reasons.clear();
  JudgedMap settled = map;
  DoubtTheWhole(settled);
  EXPECT_THAT(settled.report.doubts, IsEmpty());
  map.curves.erase(map.curves.begin() + 2);
  DoubtTheWhole(map);
  EXPECT_THAT(map.report.doubts, ElementsAre(HasSubstr("no surge line")));
}

}  // namespace
}  // namespace islebook
