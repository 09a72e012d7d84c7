#include "digitizer/proof/proof.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "digitizer/axes/plot_frame.h"
#include "digitizer/proof/pen.h"
#include "digitizer/proof/png_writer.h"
#include "digitizer/proof/stage_pictures.h"
#include "mapstore/map/curve_words.h"

namespace islebook {
namespace {

Sheet BlankSheet(int width, int height) {
  Sheet sheet;
  sheet.file = "sheet.png";
  sheet.pixels = cv::Mat3b(height, width, cv::Vec3b(255, 255, 255));
  return sheet;
}

PerformanceMap MapOn(int width, int height) {
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  map.title = "Alder 52";
  map.needs_review = {"reference conditions are not printed"};
  auto line = [&](CurveRole role, double y) {
    Curve curve;
    curve.role = role;
    for (int i = 0; i <= 50; ++i) {
      curve.points_px.push_back({width * (0.2 + 0.012 * i), height * y});
      curve.points.push_back({0.1 * i, y});
      curve.sigma.push_back({0.01, 0.01});
    }
    return curve;
  };
  map.curves = {line(CurveRole::kSpeedLine, 0.3), line(CurveRole::kEfficiencyIsland, 0.5)};
  map.curves[0].value = 90000;
  map.curves[0].unit = "rpm";
  map.curves[1].needs_review = true;
  map.curves[1].reasons = {"no label was read for it", "it runs under a label"};
  return map;
}

bool HasColor(const cv::Mat3b& picture, const cv::Rect& where, const cv::Scalar& color) {
  for (const cv::Vec3b& p : picture(where & cv::Rect({0, 0}, picture.size())))
    if (std::abs(p[0] - color[0]) + std::abs(p[1] - color[1]) + std::abs(p[2] - color[2]) < 25) return true;
  return false;
}

TEST(Proof, DoubtsAreNumberedSheetFirst) {
  const auto doubts = ListDoubts(MapOn(1000, 800));
  ASSERT_EQ(doubts.size(), 2U);
  EXPECT_EQ(doubts[0].number, 1);
  EXPECT_FALSE(doubts[0].curve.has_value());
  EXPECT_EQ(doubts[1].number, 2);
  EXPECT_EQ(doubts[1].curve, 1U);
  EXPECT_EQ(doubts[1].text, "efficiency island: no label was read for it; it runs under a label");
}

TEST(Proof, AReasonThatManyCurvesShareIsSaidOnce) {
  PerformanceMap map = MapOn(1000, 800);
  map.needs_review.clear();
  map.curves.clear();
  for (int i = 0; i < 6; ++i) {
    Curve curve;
    curve.role = CurveRole::kSpeedLine;
    curve.needs_review = i != 2;
    if (i != 2) curve.reasons = {"no label was read for it"};
    if (i == 4) curve.reasons.push_back("The 90,000 rpm speed line crosses it.");
    map.curves.push_back(curve);
  }
  const auto lines = DoubtLines(map);
  ASSERT_EQ(lines.size(), 2U);
  EXPECT_EQ(lines[0].numbers, "4");
  EXPECT_EQ(lines[0].text, "speed line: the 90,000 rpm speed line crosses it");
  EXPECT_EQ(lines[1].numbers, "1-5");
  EXPECT_EQ(lines[1].text, "5 curves: no label was read for it");
}

TEST(Proof, ASummaryCountsThingsNotLines) {
  PerformanceMap map = MapOn(1000, 800);
  map.needs_review.assign(4, "the x axis is in doubt");
  map.curves.clear();
  for (int i = 0; i < 9; ++i) {
    Curve curve;
    curve.role = CurveRole::kSpeedLine;
    curve.needs_review = true;
    curve.reasons = {"no label was read for it", "its own reason " + std::to_string(i)};
    map.curves.push_back(curve);
  }
  // Four of the sheet, nine curves with a reason of their own each, and a line for the reason that they share.
  ASSERT_EQ(DoubtLines(map).size(), 14U);
  const FirstDoubts first = FirstDoubtLines(map, 6);
  EXPECT_EQ(first.lines.size(), 6U);
  EXPECT_EQ(first.doubts_left, 7U);
  const FirstDoubts most = FirstDoubtLines(map, 12);
  EXPECT_EQ(most.lines.size(), 12U);
  EXPECT_EQ(most.doubts_left, 1U);
  // One line more is said, not counted.
  EXPECT_EQ(FirstDoubtLines(map, 13).lines.size(), 14U);
  EXPECT_EQ(FirstDoubtLines(map, 13).lines_left, 0U);
  // What is left may be reasons of curves that are named already.
  for (std::size_t i = 0; i < 3; ++i) map.curves[i].reasons.push_back("it has a kink");
  const FirstDoubts reasons = FirstDoubtLines(map, 13);
  EXPECT_EQ(reasons.lines_left, 2U);
  EXPECT_EQ(reasons.doubts_left, 0U);
}

TEST(Proof, WhatTheSheetsDoubtRepeatsOfTheCurvesIsSaidOnce) {
  PerformanceMap map = MapOn(1000, 800);
  map.needs_review = {std::string(kPiecesDoubt) + ": the shape of the 0.74 efficiency island is in doubt", "no surge line was found"};
  const auto lines = DoubtLines(map);
  ASSERT_EQ(lines.size(), 3U);
  EXPECT_EQ(lines[0].text, "a curve may be missing or in pieces; the lines of its curves say where");
  EXPECT_EQ(lines[1].text, "no surge line was found");
  EXPECT_EQ(ListDoubts(map)[0].text, map.needs_review[0]);  // whole in the document and in JSON
}

// A person reads a place on the proof off the scales at its edges, in pixels of the sheet, whatever the proof's own size.
TEST(Proof, ScalesInSheetPixelsAlongTheEdges) {
  for (const cv::Size size : {cv::Size(600, 450), cv::Size(1600, 1200), cv::Size(4032, 3024)}) {
    const cv::Mat3b proof = DrawProof(BlankSheet(size.width, size.height), MapOn(size.width, size.height));
    const double scale = static_cast<double>(proof.cols) / size.width;
    const auto ticks = [&](double along, bool across) {
      const int at = static_cast<int>(std::lround((along + 0.5) * scale));
      return HasColor(proof, across ? cv::Rect(at - 1, 2, 3, 3) : cv::Rect(2, at - 1, 3, 3), look::kFaint);
    };
    const double step = size.width == 600 ? 50 : size.width == 1600 ? 100 : 500;
    for (const bool across : {true, false}) {
      EXPECT_TRUE(ticks(step, across)) << size;
      EXPECT_TRUE(ticks(2 * step, across)) << size;
      EXPECT_FALSE(ticks(1.1 * step, across)) << size;
    }
  }
}

TEST(Proof, ReasonsJoinWithoutStrayPeriods) {
  PerformanceMap map = MapOn(1000, 800);
  map.curves[1].reasons = {"The island crosses the 0.70 efficiency island.", "it has a kink", "PR is not printed."};
  EXPECT_EQ(ListDoubts(map)[1].text, "efficiency island: the island crosses the 0.70 efficiency island; it has a kink; PR is not printed");
}

// A bowed page: the frame is drawn along the bow, away from the straight line between its corners.
TEST(Proof, TheFrameFollowsTheMapping) {
  PerformanceMap map = MapOn(1000, 800);
  const std::array<ImagePoint, 4> corners = {ImagePoint{100, 100}, ImagePoint{900, 100}, ImagePoint{900, 700}, ImagePoint{100, 700}};
  std::vector<double> parameters = FrameMapping::FromCorners(corners).parameters();
  parameters[frame_parameter::kBowV] = 0.2;  // a twentieth of the height at the middle
  const FrameMapping bowed = FrameMapping::FromParameters(parameters);
  map.calibration.emplace();
  for (std::size_t k = 0; k < 4; ++k) map.calibration->frame_px[k] = {bowed.Corners()[k].x, bowed.Corners()[k].y};
  map.calibration->parameters = parameters;
  const cv::Mat3b proof = DrawProof(BlankSheet(1000, 800), map);
  const double scale = proof.cols / 1000.0;
  const ImagePoint top = bowed.ImageFromFrame({0.5, 1.0});
  ASSERT_GT(std::abs(top.y - 100), 20.0);
  const auto along = [&](double y) {
    return cv::Rect(static_cast<int>(450 * scale), static_cast<int>(y * scale) - 4, static_cast<int>(100 * scale), 9);
  };
  // A thin line is pale with smoothing; nothing else on the sheet is yellow.
  const auto yellow = [&](const cv::Rect& where) {
    int count = 0;
    for (const cv::Vec3b& p : proof(where)) count += p[2] - p[0] > 60;
    return count;
  };
  EXPECT_GT(yellow(along(top.y)), 20);
  EXPECT_EQ(yellow(along(100)), 0);
}

// The value of a line goes where the sheet is bare, if there is such a place at its end.
TEST(Proof, ValuesKeepOffThePrint) {
  Sheet sheet = BlankSheet(1000, 800);
  PerformanceMap map = MapOn(1000, 800);
  map.curves.resize(1);
  const Point2 end = map.curves[0].points_px.back();
  const cv::Rect print(static_cast<int>(end.x) - 70, static_cast<int>(end.y) + 6, 140, 26);
  for (int y = print.y; y < print.br().y; y += 4) cv::Mat(sheet.pixels, cv::Rect(print.x, y, print.width, 2)).setTo(cv::Scalar(0, 0, 0));
  const cv::Mat3b with = DrawProof(sheet, map);
  map.curves[0].value.reset();
  const cv::Mat3b without = DrawProof(sheet, map);
  const double scale = with.cols / 1000.0;
  const cv::Rect there(static_cast<int>(print.x * scale), static_cast<int>(print.y * scale), static_cast<int>(print.width * scale),
                       static_cast<int>(print.height * scale));
  int changed = 0;
  for (int y = there.y; y < there.br().y; ++y)
    for (int x = there.x; x < there.br().x; ++x) changed += with(y, x) != without(y, x);
  EXPECT_LT(changed, there.area() / 20);
}

TEST(Proof, NamesAndSummariesAreInTheTradesWords) {
  PerformanceMap map = MapOn(1000, 800);
  EXPECT_EQ(NameOfCurve(map.curves[0]), "speed line 90,000 rpm");
  EXPECT_EQ(SummaryOf(map), "compressor: 1 speed line, 1 efficiency island");
  EXPECT_EQ(SummaryOf(PerformanceMap{}), "no map of a known kind: no curves");
  map.x = Axis{Quantity::kCorrectedMassFlow, "kg/s", AxisScale::kLinear, 0.0, 1.0};
  EXPECT_EQ(SummaryOf(map), "compressor: 1 speed line, 1 efficiency island; it states no reference conditions");
  map.reference_conditions = ReferenceConditions{298.0, 100000.0, ReferenceConditions::Basis::kPrinted};
  EXPECT_EQ(SummaryOf(map), "compressor: 1 speed line, 1 efficiency island");
}

TEST(Proof, CurvesStandWhereTheyWereFoundOnSheetsOfAnySize) {
  for (const cv::Size size : {cv::Size(600, 450), cv::Size(1600, 1200), cv::Size(4032, 3024)}) {
    const cv::Mat3b proof = DrawProof(BlankSheet(size.width, size.height), MapOn(size.width, size.height));
    EXPECT_LE(std::max(proof.cols, 1), 2801);
    EXPECT_GE(proof.cols, 1400);
    const double scale = static_cast<double>(proof.cols) / size.width;
    const int sheet_rows = static_cast<int>(size.height * scale);
    EXPECT_GT(proof.rows, sheet_rows) << "the doubts are listed below the sheet";
    auto around = [&](double y) { return cv::Rect(static_cast<int>(proof.cols * 0.25), static_cast<int>(sheet_rows * y) - 3, 12, 7); };
    EXPECT_TRUE(HasColor(proof, around(0.3), look::kInk)) << size;
    EXPECT_TRUE(HasColor(proof, around(0.5), look::kSea)) << size;
    EXPECT_FALSE(HasColor(proof, around(0.4), look::kInk)) << size;
    // The flag of the doubtful curve.
    EXPECT_TRUE(HasColor(proof,
                         cv::Rect(static_cast<int>(proof.cols * 0.38), static_cast<int>(sheet_rows * 0.48), static_cast<int>(proof.cols * 0.04),
                                  static_cast<int>(sheet_rows * 0.04)),
                         look::kOxide));
  }
}

TEST(Proof, PlainTextKeepsWhatTheFontLacks) {
  EXPECT_EQ(PlainText("85 \xC2\xB0"
                      "F"),
            "85  deg F");
  EXPECT_EQ(PlainText("m\xC2\xB3/s"), "m3/s");
  EXPECT_EQ(PlainText("a\xE6\xBC\xA2"
                      "b"),
            "a?b");
  EXPECT_EQ(PlainText("cut \xE6"), "cut ?");
}

TEST(Proof, PngsReadBackAsTheyWere) {
  cv::Mat3b picture(70, 90);
  for (int y = 0; y < picture.rows; ++y)
    for (int x = 0; x < picture.cols; ++x)
      picture(y, x) = cv::Vec3b(static_cast<std::uint8_t>(x * 2), static_cast<std::uint8_t>(y * 3), static_cast<std::uint8_t>(x ^ y));
  const auto sheet = DecodeSheet(EncodePng(picture), "round.png");
  ASSERT_TRUE(sheet.has_value()) << sheet.error().message;
  EXPECT_EQ(cv::norm(sheet->pixels, picture, cv::NORM_INF), 0.0);
  EXPECT_EQ(EncodePng(picture), EncodePng(picture));
}

TEST(Proof, StagesThatAreDoneAreDrawn) {
  StageResults stages;
  EXPECT_TRUE(DrawStages(BlankSheet(800, 600), stages).empty());
  stages.page = FlattenPage(BlankSheet(800, 600)).value();
  const auto pictures = DrawStages(BlankSheet(800, 600), stages);
  ASSERT_EQ(pictures.size(), 1U);
  EXPECT_EQ(pictures[0].name, "1-page");
  EXPECT_FALSE(pictures[0].picture.empty());
}

}  // namespace
}  // namespace islebook
