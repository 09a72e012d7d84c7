#include "digitizer/proof/proof.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "digitizer/proof/pen.h"
#include "digitizer/proof/png_writer.h"
#include "digitizer/proof/stage_pictures.h"

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

TEST(Proof, NamesAndSummariesAreInTheTradesWords) {
  const PerformanceMap map = MapOn(1000, 800);
  EXPECT_EQ(NameOfCurve(map.curves[0]), "speed line 90000 rpm");
  EXPECT_EQ(SummaryOf(map), "compressor: 1 speed line, 1 efficiency island");
  EXPECT_EQ(SummaryOf(PerformanceMap{}), "no map of a known kind: no curves");
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
