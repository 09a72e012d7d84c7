#include "digitizer/page/page.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace islebook {
namespace {

constexpr int kFine = 4;  // drawn at four times the size, then averaged: edges as a lens gives them

// Lines of known place on a page, as the sheet would show them without any light.
struct Drawn {
  cv::Mat3b picture;
  cv::Mat1b lines;  // 255 where a line's middle runs
};

Drawn DrawLines(cv::Size size, cv::Scalar paper, cv::Scalar ink, cv::Scalar grid) {
  cv::Mat3b fine(size.height * kFine, size.width * kFine);
  fine.setTo(paper);
  Drawn drawn;
  drawn.lines = cv::Mat1b::zeros(size);
  auto line = [&](cv::Point from, cv::Point to, const cv::Scalar& color, int width) {
    cv::line(fine, from * kFine, to * kFine, color, width * kFine, cv::LINE_AA);
    cv::line(drawn.lines, from, to, cv::Scalar(255), 1);
  };
  for (int x = size.width / 6; x < size.width * 5 / 6; x += size.width / 12) line({x, size.height / 6}, {x, size.height * 5 / 6}, grid, 1);
  line({size.width / 6, size.height / 6}, {size.width * 5 / 6, size.height * 5 / 6}, ink, 3);
  line({size.width / 6, size.height * 5 / 6}, {size.width * 5 / 6, size.height / 4}, ink, 2);
  cv::resize(fine, drawn.picture, size, 0, 0, cv::INTER_AREA);
  return drawn;
}

Sheet SheetOf(const cv::Mat3b& pixels) {
  Sheet sheet;
  sheet.file = "drawn";
  sheet.pixels = pixels;
  return sheet;
}

void AddNoise(cv::Mat3b& picture, double sigma, std::uint64_t seed) {
  cv::RNG random(seed);
  cv::Mat3s noise(picture.size());
  random.fill(noise, cv::RNG::NORMAL, 0.0, sigma);
  cv::Mat3s sum;
  picture.convertTo(sum, CV_16S);
  sum += noise;
  sum.convertTo(picture, CV_8U);
}

// Multiplies by a light that falls off to one side and by a shadow with a soft edge.
void Shade(cv::Mat3b& picture, double shadow, double edge_px) {
  for (int y = 0; y < picture.rows; ++y) {
    for (int x = 0; x < picture.cols; ++x) {
      const double fall = 1.0 - 0.35 * x / picture.cols;
      const double side = (x + 0.6 * y - 0.75 * picture.cols) / edge_px;
      const double light = fall * (1.0 - shadow / (1.0 + std::exp(-side)));
      for (int c = 0; c < 3; ++c) picture(y, x)[c] = cv::saturate_cast<std::uint8_t>(picture(y, x)[c] * light * (c == 0 ? 0.85 : 1.0));
    }
  }
}

// Ink on bare paper (well away from any line) and along the lines.
struct Levels {
  double bare_mean = 0.0, bare_high = 0.0, line_low = 0.0;  // mean; 99.9 % of bare paper; the 10 % weakest of the lines
};

Levels LevelsOf(const cv::Mat1b& ink, const cv::Mat1b& lines, const cv::Mat1b& where) {
  cv::Mat1b near_lines;
  cv::dilate(lines, near_lines, cv::getStructuringElement(cv::MORPH_RECT, {13, 13}));
  cv::Mat1b peak;
  cv::dilate(ink, peak, cv::getStructuringElement(cv::MORPH_RECT, {3, 3}));
  std::vector<std::uint8_t> bare, on_line;
  double sum = 0.0;
  for (int y = 0; y < ink.rows; ++y) {
    for (int x = 0; x < ink.cols; ++x) {
      if (!where.empty() && where(y, x) == 0) continue;
      if (lines(y, x) != 0) on_line.push_back(peak(y, x));
      if (near_lines(y, x) == 0) bare.push_back(ink(y, x)), sum += ink(y, x);
    }
  }
  auto part = [](std::vector<std::uint8_t>& v, double p) {
    const auto at = v.begin() + static_cast<std::ptrdiff_t>(p * static_cast<double>(v.size() - 1));
    std::nth_element(v.begin(), at, v.end());
    return static_cast<double>(*at);
  };
  return {sum / static_cast<double>(bare.size()), part(bare, 0.999), on_line.empty() ? 0.0 : part(on_line, 0.10)};
}

TEST(Page, LightShadowAndTintAreDividedOut) {
  Drawn drawn = DrawLines({1600, 1200}, {235, 245, 250}, {40, 30, 30}, {190, 190, 190});
  for (const double edge : {60.0, 20.0, 8.0}) {
    cv::Mat3b lit = drawn.picture.clone();
    Shade(lit, 0.45, edge);
    AddNoise(lit, 2.0, 5);
    const auto page = FlattenPage(SheetOf(lit));
    ASSERT_TRUE(page.has_value()) << page.error().message;
    const Levels levels = LevelsOf(page->ink, drawn.lines, page->paper);
    EXPECT_LT(levels.bare_mean, 3.0) << "shadow edge " << edge;
    EXPECT_LT(levels.bare_high, 22.0) << "shadow edge " << edge;
    EXPECT_GT(levels.line_low, 35.0) << "thin gray lines fade, shadow edge " << edge;
    EXPECT_FALSE(page->inverted);
  }
}

TEST(Page, ColorsOfInkCountByTheirContrastToThePaper) {
  struct Case {
    const char* name;
    cv::Scalar ink;  // BGR
  };
  for (const Case& c : {Case{"yellow", {60, 215, 245}}, Case{"light blue", {240, 200, 140}}, Case{"pink", {190, 150, 250}},
                        Case{"light green", {140, 225, 150}}, Case{"red", {30, 30, 210}}}) {
    Drawn drawn = DrawLines({1200, 900}, {255, 255, 255}, c.ink, {215, 215, 215});
    const auto page = FlattenPage(SheetOf(drawn.picture));
    ASSERT_TRUE(page.has_value());
    // Along the wide line only.
    cv::Mat1b wide = cv::Mat1b::zeros(drawn.lines.size());
    cv::line(wide, {200, 150}, {1000, 750}, cv::Scalar(255), 1);
    EXPECT_GT(LevelsOf(page->ink, wide, {}).line_low, 60.0) << c.name;
  }
}

TEST(Page, PaperIsFoundOnADeskAndTheDeskIsNoInk) {
  std::mt19937_64 random(7);
  for (int trial = 0; trial < 4; ++trial) {
    const cv::Size size(1600, 1200);
    // A desk: coarse and fine grain, colored.
    cv::Mat3b desk(size);
    cv::Mat3f coarse(size.height / 60 + 2, size.width / 60 + 2), grain;
    cv::RNG rng(static_cast<std::uint64_t>(100 + trial));
    rng.fill(coarse, cv::RNG::NORMAL, cv::Scalar(70, 95, 120), cv::Scalar(16, 16, 16));
    cv::resize(coarse, grain, size, 0, 0, cv::INTER_CUBIC);
    grain.convertTo(desk, CV_8U);
    AddNoise(desk, 6.0, static_cast<std::uint64_t>(trial));
    // The page, tilted.
    Drawn drawn = DrawLines({1100, 800}, {240, 245, 250}, {40, 30, 30}, {170, 170, 170});
    std::uniform_real_distribution<double> off(-60.0, 60.0);
    std::vector<cv::Point2f> from{{0, 0}, {1100, 0}, {1100, 800}, {0, 800}}, to;
    for (const cv::Point2f& p : from) to.push_back({p.x + 250 + static_cast<float>(off(random)), p.y + 200 + static_cast<float>(off(random))});
    if (trial == 3)
      for (cv::Point2f& p : to) p.x -= 320;  // the left of the page is cut off by the picture's edge
    const cv::Mat h = cv::getPerspectiveTransform(from, to);
    cv::Mat3b photo = desk.clone(), warped;
    cv::warpPerspective(drawn.picture, warped, h, size, cv::INTER_LINEAR);
    cv::Mat1b on(drawn.picture.size(), std::uint8_t{255}), paper;
    cv::warpPerspective(on, paper, h, size, cv::INTER_NEAREST);
    warped.copyTo(photo, paper);
    cv::GaussianBlur(photo, photo, {0, 0}, 1.0);
    Shade(photo, 0.3, 40.0);
    const auto page = FlattenPage(SheetOf(photo));
    ASSERT_TRUE(page.has_value());
    ASSERT_FALSE(page->paper.empty()) << "trial " << trial;
    // Not a pixel of desk counts as paper, and hardly any paper is lost but a rim.
    cv::Mat1b inner, outer;
    cv::erode(paper, inner, cv::getStructuringElement(cv::MORPH_RECT, {71, 71}), {-1, -1}, 1, cv::BORDER_CONSTANT, cv::Scalar(255));
    cv::dilate(paper, outer, cv::getStructuringElement(cv::MORPH_RECT, {3, 3}));
    EXPECT_EQ(cv::countNonZero(page->paper & ~outer), 0) << "trial " << trial;
    EXPECT_EQ(cv::countNonZero(inner & ~page->paper), 0) << "trial " << trial;
    EXPECT_EQ(cv::countNonZero(page->ink & ~page->paper), 0) << "trial " << trial;
    EXPECT_TRUE((page->extent & cv::Rect(0, 0, size.width, size.height)) == page->extent);
  }
}

TEST(Page, WholePicturesHaveNoOutline) {
  Drawn scan = DrawLines({1600, 1200}, {240, 243, 246}, {30, 30, 30}, {200, 200, 200});
  AddNoise(scan.picture, 2.0, 3);
  const auto page = FlattenPage(SheetOf(scan.picture));
  ASSERT_TRUE(page.has_value());
  EXPECT_TRUE(page->paper.empty());
  EXPECT_EQ(page->extent, cv::Rect(0, 0, 1600, 1200));
  // A chart cut out at its frame, print up to all four edges.
  cv::Mat3b tight = scan.picture(cv::Rect(270, 205, 1050, 790)).clone();
  cv::rectangle(tight, {2, 2}, {tight.cols - 3, tight.rows - 3}, cv::Scalar(20, 20, 20), 2);
  const auto cut = FlattenPage(SheetOf(tight));
  ASSERT_TRUE(cut.has_value());
  EXPECT_TRUE(cut->paper.empty()) << cut->report.notes.front();
}

TEST(Page, LightLinesOnDarkGroundAreTurned) {
  Drawn dark = DrawLines({1200, 900}, {48, 34, 30}, {235, 235, 235}, {95, 85, 80});
  const auto page = FlattenPage(SheetOf(dark.picture));
  ASSERT_TRUE(page.has_value());
  EXPECT_TRUE(page->inverted);
  const Levels levels = LevelsOf(page->ink, dark.lines, {});
  EXPECT_LT(levels.bare_mean, 2.0);
  EXPECT_GT(levels.line_low, 25.0);
}

TEST(Page, BilevelCopiesStayWhatTheyAre) {
  Drawn drawn = DrawLines({1200, 900}, {255, 255, 255}, {0, 0, 0}, {0, 0, 0});
  cv::Mat1b gray;
  cv::cvtColor(drawn.picture, gray, cv::COLOR_BGR2GRAY);
  cv::Mat1b bilevel = gray > 128;
  cv::Mat3b picture;
  cv::cvtColor(bilevel, picture, cv::COLOR_GRAY2BGR);
  const auto page = FlattenPage(SheetOf(picture));
  ASSERT_TRUE(page.has_value());
  for (int y = 0; y < bilevel.rows; ++y)
    for (int x = 0; x < bilevel.cols; ++x) ASSERT_EQ(page->ink(y, x) > 128, bilevel(y, x) == 0) << x << ", " << y;
}

TEST(Page, NoiseAndBlurAreEstimated) {
  for (const double blur : {0.7, 1.2, 1.8}) {
    for (const double noise : {2.0, 5.0}) {
      // Wide bars, so that an edge's height is known.
      cv::Mat3b fine(900 * kFine, 1200 * kFine, cv::Vec3b(225, 225, 225)), picture;
      for (int x = 100; x < 1100; x += 60)
        cv::rectangle(fine, {x * kFine, 100 * kFine}, {(x + 14) * kFine, 800 * kFine}, cv::Scalar(20, 20, 20), cv::FILLED);
      cv::GaussianBlur(fine, fine, {0, 0}, blur * kFine);
      cv::resize(fine, picture, {1200, 900}, 0, 0, cv::INTER_AREA);
      AddNoise(picture, noise, 11);
      const auto page = FlattenPage(SheetOf(picture));
      ASSERT_TRUE(page.has_value());
      EXPECT_NEAR(page->blur_px, blur, 0.3 * blur + 0.1);
      // Three channels average: luminance noise is sigma * sqrt(0.299^2 + 0.587^2 + 0.114^2) = 0.669 sigma, against paper of 225 on a scale of 255.
      EXPECT_NEAR(page->noise, 0.669 * noise * 255 / 225, 0.35 * noise);
    }
  }
}

TEST(Page, TheSameTwice) {
  Drawn drawn = DrawLines({1600, 1200}, {235, 245, 250}, {40, 30, 30}, {190, 190, 190});
  Shade(drawn.picture, 0.4, 30.0);
  const auto a = FlattenPage(SheetOf(drawn.picture)), b = FlattenPage(SheetOf(drawn.picture));
  ASSERT_TRUE(a.has_value() && b.has_value());
  EXPECT_EQ(cv::norm(a->ink, b->ink, cv::NORM_INF), 0.0);
  EXPECT_EQ(cv::norm(a->color, b->color, cv::NORM_INF), 0.0);
}

TEST(Page, NothingInNothingOut) {
  const auto page = FlattenPage(SheetOf({}));
  ASSERT_FALSE(page.has_value());
  EXPECT_EQ(page.error().code, ErrorCode::kNoPage);
  EXPECT_FALSE(PageOptions{.paper_scale = 0.0}.Check().has_value());
  EXPECT_TRUE(FlattenPage(SheetOf(cv::Mat3b(64, 64, cv::Vec3b(255, 255, 255)))).has_value());
  EXPECT_TRUE(FlattenPage(SheetOf(cv::Mat3b(64, 2000, cv::Vec3b(0, 0, 0)))).has_value());
}

}  // namespace
}  // namespace islebook
