// Ridges against drawings whose centers are known exactly.
// Accuracy bounds: a ridge filter of one Gaussian locates a clean line to some hundredths of a pixel (C. Steger, IEEE PAMI 20(2), 1998,
// reports 0.02-0.1 px; the figure is from memory).

#include "digitizer/ridges/ridges.h"

#include <algorithm>
#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

// Ink whose darkness at each pixel is the part of it that the shape covers, by 8 x 8 samples.
template <typename Covers>
Page Draw(int width, int height, Covers covers) {
  Page page;
  page.ink = cv::Mat1b(height, width);
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x) {
      int inside = 0;
      for (int sy = 0; sy < 8; ++sy)
        for (int sx = 0; sx < 8; ++sx) inside += covers(x - 0.5 + (sx + 0.5) / 8, y - 0.5 + (sy + 0.5) / 8);
      page.ink(y, x) = static_cast<unsigned char>(inside * 255 / 64);
    }
  page.extent = {0, 0, width, height};
  return page;
}

std::vector<double> CircleErrors(double line_width, double noise) {
  const double cx = 150.3, cy = 149.6, radius = 110.2;
  Page page = Draw(300, 300, [&](double x, double y) { return std::abs(std::hypot(x - cx, y - cy) - radius) < line_width / 2; });
  if (noise > 0) {
    cv::RNG rng(7);
    for (int y = 0; y < page.ink.rows; ++y)
      for (int x = 0; x < page.ink.cols; ++x) page.ink(y, x) = cv::saturate_cast<unsigned char>(page.ink(y, x) + rng.gaussian(noise));
    page.noise = noise;
  }
  std::vector<double> errors;
  const auto found = TraceRidges(page);
  EXPECT_TRUE(found.has_value());
  for (const RidgeChain& chain : found->chains) {
    if (chain.length_px < 60) continue;
    for (const ImagePoint& p : chain.points) errors.push_back(std::abs(std::hypot(p.x - cx, p.y - cy) - radius));
  }
  std::sort(errors.begin(), errors.end());
  return errors;
}

TEST(Ridges, CentersOfACircleOfAnyWidthLieWithinHundredthsOfAPixel) {
  for (double width : {1.0, 2.0, 3.0, 4.0, 6.0}) {
    const std::vector<double> errors = CircleErrors(width, 0);
    ASSERT_GT(errors.size(), 600u) << width;
    EXPECT_LT(errors[errors.size() / 2], 0.05) << width;
    EXPECT_LT(errors[errors.size() * 95 / 100], 0.12) << width;
  }
}

TEST(Ridges, NoiseCostsLittle) {
  const std::vector<double> errors = CircleErrors(3.0, 10.0);
  ASSERT_GT(errors.size(), 600u);
  EXPECT_LT(errors[errors.size() / 2], 0.08);
}

TEST(Ridges, ThickStrokesHaveOneCenter) {
  const Page page = Draw(200, 120, [](double x, double y) { return x > 20 && x < 180 && std::abs(y - 60.3) < 7; });
  const auto found = TraceRidges(page);
  ASSERT_TRUE(found.has_value());
  int long_chains = 0;
  for (const RidgeChain& chain : found->chains) {
    if (chain.length_px < 80) continue;
    ++long_chains;
    EXPECT_NEAR(chain.points[chain.points.size() / 2].y, 60.3, 0.1);
    EXPECT_NEAR(chain.ink_mass, 14.0, 1.0);
  }
  EXPECT_EQ(long_chains, 1);
}

TEST(Ridges, InkMassIsWidthTimesBlacknessWhateverTheBlur) {
  for (double blur : {0.0, 1.5}) {
    Page page = Draw(200, 100, [](double, double y) { return std::abs(y - 50.2) < 1.5; });
    if (blur > 0) cv::GaussianBlur(page.ink, page.ink, {}, blur);
    const auto found = TraceRidges(page);
    ASSERT_TRUE(found.has_value());
    ASSERT_FALSE(found->chains.empty());
    EXPECT_NEAR(found->chains.front().ink_mass, 3.0, 0.35) << blur;
  }
}

TEST(Ridges, DashesAreClaimedAndLettersAreNot) {
  // A dashed line at a slant, and a block of digits.
  Page page = Draw(400, 200, [](double x, double y) {
    const double along = x * std::cos(0.5) + y * std::sin(0.5), across = -x * std::sin(0.5) + y * std::cos(0.5);
    return std::abs(across + 40) < 1.4 && std::fmod(along + 1000, 17.0) < 11;
  });
  cv::putText(page.ink, "105000", {20, 180}, cv::FONT_HERSHEY_SIMPLEX, 0.7, 255, 2, cv::LINE_AA);
  const auto found = TraceRidges(page);
  ASSERT_TRUE(found.has_value());
  int on_line = 0, claimed_on_line = 0, claimed_off_line = 0;
  for (const RidgeChain& chain : found->chains) {
    const ImagePoint p = chain.points[chain.points.size() / 2];
    const bool line = std::abs(-p.x * std::sin(0.5) + p.y * std::cos(0.5) + 40) < 2;
    on_line += line;
    claimed_on_line += line && chain.is_dash;
    claimed_off_line += !line && chain.is_dash;
  }
  EXPECT_GE(on_line, 12);
  EXPECT_GE(claimed_on_line, on_line - 2);
  EXPECT_EQ(claimed_off_line, 0);
  EXPECT_GT(cv::countNonZero(found->dash_mask), 0);
}

// The last piece of a speed line between two dashed islands.
TEST(Ridges, ALongHeavyBarInLineWithDashesIsNone) {
  Page page = Draw(640, 100, [](double x, double y) {
    const bool bar = x > 309 && x < 358;
    if (!bar && x > 298 && x < 369) return false;
    return std::abs(y - 50) < (bar ? 2.4 : 1.25) && (bar || std::fmod(x, 17.0) < 11);
  });
  const auto found = TraceRidges(page);
  ASSERT_TRUE(found.has_value());
  int dashes = 0, bars = 0;
  for (const RidgeChain& chain : found->chains) {
    const bool bar = chain.length_px > 30;
    bars += bar;
    dashes += chain.is_dash;
    EXPECT_FALSE(bar && chain.is_dash);
  }
  EXPECT_EQ(bars, 1);
  EXPECT_GT(dashes, 25);
}

TEST(Ridges, ALoneBarBetweenTwoLabelsIsADashAndAGlyphInLineIsNot) {
  // Dashed lines; one of them is hidden but for a single bar (at x 288 to 299), and a "7" stands at its end.
  Page page = Draw(600, 200, [](double x, double y) {
    const bool bar = std::fmod(x + 1000, 17.0) < 11;
    if (std::abs(y - 40) < 1.2 || std::abs(y - 160) < 1.2) return bar && x > 20 && x < 580;
    return std::abs(y - 100) < 1.2 && bar && ((x > 20 && x < 240) || (x > 285 && x < 300) || (x > 345 && x < 520));
  });
  cv::line(page.ink, {528, 100}, {539, 100}, 255, 2, cv::LINE_AA);
  cv::line(page.ink, {539, 100}, {531, 120}, 255, 2, cv::LINE_AA);
  const auto found = TraceRidges(page);
  ASSERT_TRUE(found.has_value());
  int lone = 0, glyph = 0;
  for (const RidgeChain& chain : found->chains) {
    const ImagePoint p = chain.points[chain.points.size() / 2];
    if (std::abs(p.y - 100) < 3 && p.x > 285 && p.x < 303) lone += chain.is_dash;
    if (p.x > 524 && p.x < 545 && p.y > 95 && p.y < 125) glyph += chain.is_dash;
  }
  EXPECT_EQ(lone, 1);
  EXPECT_EQ(glyph, 0);
}

TEST(Ridges, SameChainsWhateverTheNumberOfThreads) {
  const Page page = Draw(300, 300, [](double x, double y) { return std::abs(std::hypot(x - 140, y - 150) - 100) < 1.3 || std::abs(x - y) < 1.2; });
  cv::setNumThreads(1);
  const auto one = TraceRidges(page);
  cv::setNumThreads(2);
  const auto two = TraceRidges(page);
  ASSERT_TRUE(one.has_value() && two.has_value());
  ASSERT_EQ(one->chains.size(), two->chains.size());
  for (std::size_t i = 0; i < one->chains.size(); ++i) {
    ASSERT_EQ(one->chains[i].points.size(), two->chains[i].points.size());
    for (std::size_t k = 0; k < one->chains[i].points.size(); ++k) EXPECT_EQ(one->chains[i].points[k].x, two->chains[i].points[k].x);
  }
}

TEST(Ridges, AbsurdOptionsAndEmptyPagesAreRefusedInWords) {
  RidgeOptions options;
  options.sigma_px = 50;
  EXPECT_FALSE(options.Check().has_value());
  EXPECT_FALSE(TraceRidges(Page{}).has_value());
  Page blank;
  blank.ink = cv::Mat1b(50, 50, static_cast<unsigned char>(0));
  blank.extent = {0, 0, 50, 50};
  const auto found = TraceRidges(blank);
  ASSERT_TRUE(found.has_value());
  EXPECT_TRUE(found->chains.empty());
}

}  // namespace
}  // namespace islebook
