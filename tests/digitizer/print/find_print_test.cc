#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "tests/digitizer/print/drawn_words.h"

namespace islebook {
namespace {

double AngleError(double a, double b) { return std::abs(std::remainder(a - b, 180.0)); }

// An upright sheet's usual company: without it a lone tilted word has no neighbors to be judged by.
void WriteAxis(WordSheet& sheet, double digit_height) {
  for (int i = 0; i <= 6; ++i) sheet.Write(std::to_string(i) + ".5", 60.0 + i * 90.0, 370.0, 0.0, digit_height);
}

TEST(FindPrint, WordsAtAnyTilt) {
  for (const double digit_height : {9.0, 14.0, 24.0}) {
    WordSheet sheet(1000, 400);
    WriteAxis(sheet, digit_height);
    const double angles[] = {-75.0, -40.0, -12.0, 7.0, 30.0, 62.0};
    for (int i = 0; i < 6; ++i) sheet.Write("105,000", 90.0 + i * 160.0, 110.0, angles[i], digit_height);
    for (int i = 0; i < 6; ++i) sheet.Write("0.74", 90.0 + i * 160.0, 260.0, angles[i], digit_height);
    const auto found = FindPrint(sheet.ToPage(0.6), {});
    ASSERT_TRUE(found);
    for (const DrawnWord& drawn : sheet.words()) {
      const Word* word = Nearest(*found, drawn);
      ASSERT_TRUE(word) << drawn.text << " at " << drawn.angle_deg << " degrees, " << digit_height << " px";
      EXPECT_LT(AngleError(word->angle_deg, drawn.angle_deg), 3.0) << drawn.text << " " << digit_height;
      EXPECT_NEAR(word->height_px, digit_height, 0.12 * digit_height + 1.0) << drawn.text << " at " << drawn.angle_deg;
    }
    EXPECT_EQ(found->words.size(), sheet.words().size());
    EXPECT_NEAR(found->digit_height_px, digit_height, 0.12 * digit_height + 1.0);
  }
}

TEST(FindPrint, LabelsOnPadsAndTheMaskKeepsOffTheCurve) {
  WordSheet sheet(700, 400);
  WriteAxis(sheet, 14.0);
  std::vector<ImagePoint> curve;
  for (int x = 40; x < 660; ++x) curve.push_back({static_cast<double>(x), 180.0 + 60.0 * std::sin(x / 120.0)});
  sheet.Line(curve, 2.0);
  const ImagePoint at = curve[300];
  sheet.Write("0.74", at.x, at.y, 0.0, 14.0, true);
  const auto found = FindPrint(sheet.ToPage(0.6), {});
  ASSERT_TRUE(found);
  ASSERT_TRUE(Nearest(*found, sheet.words().back()));
  // The curve's stubs end at the pad's edge, a sixth of a digit's height from the glyphs: none of their ink may be masked.
  int masked = 0;
  for (const ImagePoint& p : curve) {
    if (std::abs(p.x - at.x) < 22.0) continue;
    masked += found->mask(static_cast<int>(std::lround(p.y)), static_cast<int>(std::lround(p.x))) != 0;
  }
  EXPECT_EQ(masked, 0);
  // And the glyphs are covered.
  const Word* word = Nearest(*found, sheet.words().back());
  for (const cv::Rect& g : word->glyphs) EXPECT_GT(cv::countNonZero(found->mask(g)), g.area() * 6 / 10);
}

TEST(FindPrint, WhatIsNoPrint) {
  WordSheet sheet(700, 400);
  WriteAxis(sheet, 14.0);
  std::vector<ImagePoint> wave, second;
  for (int x = 40; x < 660; x += 2) {
    wave.push_back({static_cast<double>(x), 80.0 + 40.0 * std::sin(x / 90.0)});
    second.push_back({static_cast<double>(x), 180.0 + 40.0 * std::sin(x / 70.0)});
  }
  sheet.Line(wave, 1.5, "#000000", true);  // dashes
  sheet.Line(second, 1.5);                 // a curve with ring markers
  for (std::size_t i = 10; i < second.size(); i += 25) sheet.Ring(second[i].x, second[i].y, 4.5, 1.5);
  for (int x = 60; x < 640; x += 20) sheet.Line({{static_cast<double>(x), 290.0}, {static_cast<double>(x), 300.0}}, 1.2);  // ticks
  for (int x = 60; x < 640; x += 5)
    sheet.Line({{static_cast<double>(x), 320.0}, {static_cast<double>(x) + 2, 320.0}}, 1.0, "#777777");  // a dotted grid line
  const auto found = FindPrint(sheet.ToPage(0.5), {});
  ASSERT_TRUE(found);
  for (const Word& w : found->words)
    EXPECT_GT(w.center.y, 350.0) << "a word of " << w.glyphs.size() << " glyphs at " << w.center.x << ", " << w.center.y;
}

// Measured points so close that their rings touch one another: a speed line, not a word.
TEST(FindPrint, RingsStrungAlongALineAreNoWords) {
  WordSheet sheet(700, 400);
  WriteAxis(sheet, 24.0);
  std::vector<ImagePoint> line;
  for (int i = 0; i <= 60; ++i) {
    const double t = i / 60.0;
    line.push_back({150.0 + 380.0 * std::sin(1.5 * t), 80.0 + 210.0 * t * t});
  }
  sheet.Line(line, 4.0);
  for (std::size_t i = 0; i < line.size(); i += i < 30 ? 2 : 4) sheet.Ring(line[i].x, line[i].y, 7.5, 3.0);
  const auto found = FindPrint(sheet.ToPage(0.8), {});
  ASSERT_TRUE(found);
  for (const Word& w : found->words)
    for (const ImagePoint& p : line)
      EXPECT_GT(std::hypot(w.center.x - p.x, w.center.y - p.y), 8.0)
          << "a word of " << w.glyphs.size() << " glyphs at " << w.center.x << ", " << w.center.y;
}

TEST(FindPrint, ColoredAndPaleWordsCount) {
  WordSheet sheet(700, 400);
  WriteAxis(sheet, 14.0);
  sheet.Write("0.71", 200.0, 100.0, 0.0, 12.0, false, "#884ea0");
  sheet.Write("90,000", 400.0, 100.0, 0.0, 12.0, false, "#0b5345");
  sheet.Write("62%", 550.0, 100.0, 0.0, 12.0, false, "#9a8a30");
  const auto found = FindPrint(sheet.ToPage(0.7, 4.0), {});
  ASSERT_TRUE(found);
  for (const DrawnWord& drawn : sheet.words()) EXPECT_TRUE(Nearest(*found, drawn)) << drawn.text;
  // Purple has a and b of opposite signs in CIE Lab.
  const auto purple = Nearest(*found, {"0.71", {200.0, 100.0}, 0.0, 12.0});
  ASSERT_TRUE(purple);
  EXPECT_GT(purple->lab[1], 15.0F);
  EXPECT_LT(purple->lab[2], -10.0F);
}

TEST(FindPrint, AGridLineThroughAWord) {
  WordSheet sheet(700, 400);
  WriteAxis(sheet, 16.0);
  for (int y = 40; y < 340; y += 50) sheet.Line({{20.0, static_cast<double>(y)}, {680.0, static_cast<double>(y)}}, 1.5);
  for (int x = 25; x < 690; x += 93) sheet.Line({{static_cast<double>(x), 20.0}, {static_cast<double>(x), 340.0}}, 1.5);
  sheet.Write("108k", 250.0, 92.0, 0.0, 16.0);    // crossed near its middle
  sheet.Write("90000", 420.0, 185.0, 0.0, 16.0);  // touched near its base
  const auto found = FindPrint(sheet.ToPage(0.5), {});
  ASSERT_TRUE(found);
  EXPECT_TRUE(Nearest(*found, {"108k", {250.0, 92.0}, 0.0, 16.0}));
  EXPECT_TRUE(Nearest(*found, {"90000", {420.0, 185.0}, 0.0, 16.0}));
}

TEST(FindPrint, ABarePageHasNone) {
  WordSheet sheet(300, 200);
  const auto found = FindPrint(sheet.ToPage(0.5, 5.0), {});
  ASSERT_TRUE(found);
  EXPECT_TRUE(found->words.empty());
  EXPECT_FALSE(found->report.doubts.empty());
}

TEST(FindPrint, RefusesWhatMakesNoSense) {
  EXPECT_EQ(FindPrint(Page{}, {}).error().code, ErrorCode::kInvalidArgument);
  WordSheet sheet(100, 80);
  EXPECT_FALSE(FindPrint(sheet.ToPage(), cv::Mat1b(10, 10, static_cast<std::uint8_t>(0))));
  PrintOptions options;
  options.min_glyph_px = 0.0;
  EXPECT_FALSE(options.Check());
}

}  // namespace
}  // namespace islebook
