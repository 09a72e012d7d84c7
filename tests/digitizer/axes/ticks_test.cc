#include "digitizer/axes/ticks.h"

#include <cmath>
#include <random>

#include <gtest/gtest.h>

namespace islebook {
namespace {

// A page with lines of Gaussian profile at exact places.
struct Painter {
  Page page;
  explicit Painter(int width, int height) { page.ink = cv::Mat1b(height, width, static_cast<unsigned char>(0)); }
  void Column(double x, double y0, double y1, double darkness, double sigma = 0.9, int dot = 0) {
    for (int y = static_cast<int>(std::ceil(y0)); y <= y1; ++y) {
      if (dot > 0 && (y / dot) % 3 != 0) continue;
      for (int k = static_cast<int>(x) - 5; k <= static_cast<int>(x) + 6; ++k)
        Add(k, y, darkness * std::exp(-(k - x) * (k - x) / (2 * sigma * sigma)));
    }
  }
  void Row(double y, double x0, double x1, double darkness, double sigma = 0.9) {
    for (int x = static_cast<int>(std::ceil(x0)); x <= x1; ++x) {
      for (int k = static_cast<int>(y) - 5; k <= static_cast<int>(y) + 6; ++k)
        Add(x, k, darkness * std::exp(-(k - y) * (k - y) / (2 * sigma * sigma)));
    }
  }
  void Noise(double sigma, unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<double> normal(0.0, sigma);
    for (int y = 0; y < page.ink.rows; ++y) {
      for (int x = 0; x < page.ink.cols; ++x) page.ink(y, x) = cv::saturate_cast<unsigned char>(page.ink(y, x) + normal(random));
    }
    page.noise = sigma;
  }

 private:
  void Add(int x, int y, double value) {
    if (x >= 0 && y >= 0 && x < page.ink.cols && y < page.ink.rows)
      page.ink(y, x) = cv::saturate_cast<unsigned char>(std::max<double>(page.ink(y, x), value));
  }
};

constexpr double kLeftX = 100.3, kRightX = 900.3, kTopY = 80.6, kBottomY = 680.6;

FrameMapping Frame() { return FrameMapping::FromCorners({{{kLeftX, kTopY}, {kRightX, kTopY}, {kRightX, kBottomY}, {kLeftX, kBottomY}}}); }

void PaintFrame(Painter* painter) {
  painter->Column(kLeftX, kTopY, kBottomY, 230);
  painter->Column(kRightX, kTopY, kBottomY, 230);
  painter->Row(kTopY, kLeftX, kRightX, 230);
  painter->Row(kBottomY, kLeftX, kRightX, 230);
}

TEST(Ticks, OutwardAndInwardTicksToATwentiethOfAPixel) {
  for (const bool inward : {false, true}) {
    Painter painter(1000, 760);
    PaintFrame(&painter);
    std::vector<double> places;
    for (int i = 1; i < 16; ++i) places.push_back(kLeftX + 800.0 * i / 16.0 + 0.37);
    for (double x : places) inward ? painter.Column(x, kBottomY - 9, kBottomY, 210) : painter.Column(x, kBottomY, kBottomY + 9, 210);
    painter.Noise(3.0, 5);
    const MarksFound marks = FindMarks(painter.page, Frame(), 2.0);
    for (double x : places) {
      const double t = (x - kLeftX) / 800.0;
      double off = 1.0;
      for (const Mark& m : marks.ticks[kBottom]) off = std::min(off, std::abs(m.t - t));
      EXPECT_LT(off * 800.0, 0.05) << x << (inward ? " inward" : " outward");
    }
    // No ticks are invented between them.
    EXPECT_LE(marks.ticks[kBottom].size(), places.size() + 2);
  }
}

TEST(Ticks, FaintAndDottedGridLinesAreSeenAndCurvesAreNot) {
  Painter painter(1000, 760);
  PaintFrame(&painter);
  std::vector<double> places;
  for (int i = 1; i < 8; ++i) places.push_back(kLeftX + 100.0 * i + 0.21);
  for (std::size_t i = 0; i < places.size(); ++i) painter.Column(places[i], kTopY, kBottomY, i % 2 == 0 ? 40 : 90, 0.8, i % 2 == 0 ? 0 : 2);
  // Upright parts of curves: a third of the height.
  painter.Column(550.0, 300, 500, 220, 1.2);
  painter.Column(347.0, 120, 330, 220, 1.2);
  painter.Noise(5.0, 7);
  const MarksFound marks = FindMarks(painter.page, Frame(), 2.0);
  ASSERT_EQ(marks.grid_u.size(), places.size());
  for (std::size_t i = 0; i < places.size(); ++i) EXPECT_NEAR(marks.grid_u[i].t * 800.0 + kLeftX, places[i], 0.12);
  EXPECT_TRUE(marks.grid_v.empty());
}

TEST(Ticks, NothingOnAnEmptyFrame) {
  Painter painter(1000, 760);
  PaintFrame(&painter);
  painter.Noise(6.0, 9);
  const MarksFound marks = FindMarks(painter.page, Frame(), 2.0);
  EXPECT_TRUE(marks.grid_u.empty());
  EXPECT_TRUE(marks.grid_v.empty());
  EXPECT_LE(marks.ticks[kBottom].size(), 2u);  // the upright sides run on into the corner
  EXPECT_TRUE(FindMarks(Page{}, Frame(), 2.0).grid_u.empty());
}

TEST(Ticks, PeaksAreCenteredWhateverTheirFlanks) {
  std::vector<double> profile(200, 10.0);
  for (int i = 0; i < 200; ++i) profile[i] += 80.0 * std::exp(-(i - 61.3) * (i - 61.3) / 8.0) + 40.0 * std::exp(-(i - 140.8) * (i - 140.8) / 18.0);
  const std::vector<Peak> peaks = FindPeaks(profile, 15.0, 40);
  ASSERT_EQ(peaks.size(), 2u);
  EXPECT_NEAR(peaks[0].at, 61.3, 0.05);
  EXPECT_NEAR(peaks[1].at, 140.8, 0.05);
  EXPECT_NEAR(peaks[0].height, 80.0, 2.0);
}

}  // namespace
}  // namespace islebook
