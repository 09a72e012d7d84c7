#include "digitizer/axes/frame_find.h"

#include <cmath>

#include <gtest/gtest.h>

#include "digitizer/axes/furniture.h"
#include "digitizer/axes/long_lines.h"

namespace islebook {
namespace {

// Chains as the ridge tracer gives them: about a pixel apart.
struct Sheet2 {
  RidgesFound ridges;
  std::vector<Word> words;
  double turn = 0.0;  // radians, about (500, 400)
  ImagePoint At(double x, double y) const {
    const double dx = x - 500, dy = y - 400;
    return {500 + dx * std::cos(turn) - dy * std::sin(turn), 400 + dx * std::sin(turn) + dy * std::cos(turn)};
  }
  void Line(double x0, double y0, double x1, double y1, double mass = 2.0, double bow = 0.0) {
    RidgeChain chain;
    const double length = std::hypot(x1 - x0, y1 - y0);
    const int n = static_cast<int>(length);
    for (int i = 0; i <= n; ++i) {
      const double t = static_cast<double>(i) / n, b = 4 * t * (1 - t) * bow;
      chain.points.push_back(At(x0 + (x1 - x0) * t + b * (y1 - y0) / length, y0 + (y1 - y0) * t + b * (x1 - x0) / length));
    }
    chain.strength.assign(chain.points.size(), 50.0F);
    chain.length_px = length;
    chain.ink_mass = mass;
    ridges.chains.push_back(chain);
  }
  void Box(double x0, double y0, double x1, double y1, double mass = 2.0, double bow = 0.0) {
    Line(x0, y0, x1, y0, mass, bow);
    Line(x0, y1, x1, y1, mass, bow);
    Line(x0, y0, x0, y1, mass);
    Line(x1, y0, x1, y1, mass);
  }
  void Number(double x, double y) {
    Word w;
    w.center = At(x, y);
    w.angle_deg = turn * 57.29578;
    w.width_px = 24;
    w.height_px = 12;
    w.glyphs = {cv::Rect(0, 0, 8, 12), cv::Rect(0, 0, 8, 12)};
    words.push_back(w);
  }
  // Numbers below and to the left of a frame.
  void Numbers(double x0, double y0, double x1, double y1, int n) {
    for (int i = 0; i <= n; ++i) {
      Number(x0 + (x1 - x0) * i / n, y1 + 18);
      Number(x0 - 22, y1 + (y0 - y1) * i / n);
    }
  }
  FramesFound Find() const {
    LongLineOptions o;
    o.longer_side_px = 1000;
    o.min_length_px = 40;
    const LongLines lines = FindLongLines(ridges, Page{}, o);
    FrameFindOptions f;
    f.min_side_px = 150;
    f.digit_height_px = 12;
    return FindFrames(lines, words, f);
  }
  void ExpectFrame(const FrameCandidate& f, double x0, double y0, double x1, double y1, double tolerance = 0.6) const {
    const ImagePoint want[4] = {At(x0, y0), At(x1, y0), At(x1, y1), At(x0, y1)};
    for (int i = 0; i < 4; ++i) {
      EXPECT_NEAR(f.corners[i].x, want[i].x, tolerance) << "corner " << i;
      EXPECT_NEAR(f.corners[i].y, want[i].y, tolerance) << "corner " << i;
    }
  }
};

TEST(FrameFind, TheFrameAmongBorderLegendScaleLineAndCurves) {
  for (const double turn : {0.0, 0.04, -0.2}) {
    Sheet2 s;
    s.turn = turn;
    s.Box(20, 20, 980, 780);         // border of the sheet
    s.Box(150, 100, 850, 600);       // the plot
    s.Box(680, 480, 830, 580, 1.0);  // a legend
    s.Line(150, 700, 850, 700);      // a second scale below
    s.Line(180, 560, 500, 180);      // a surge line
    s.Line(400, 250, 800, 255, 2.0, 20);
    s.Numbers(150, 100, 850, 600, 7);
    const FramesFound found = s.Find();
    ASSERT_FALSE(found.frames.empty()) << turn;
    s.ExpectFrame(found.frames.front(), 150, 100, 850, 600);
    EXPECT_EQ(found.frames.size(), 1u);
    ASSERT_EQ(found.boxes.size(), 1u);
    s.ExpectFrame(found.boxes.front(), 680, 480, 830, 580);
  }
}

TEST(FrameFind, AGridsFrameIsItsOutermostLines) {
  Sheet2 s;
  s.turn = 0.03;
  for (int i = 0; i <= 7; ++i) s.Line(150 + 100 * i, 100, 150 + 100 * i, 600, i % 7 == 0 ? 2.0 : 0.5);
  for (int i = 0; i <= 5; ++i) {
    // Sides broken by crossings.
    for (int k = 0; k < 7; ++k) s.Line(153 + 100 * k, 100 + 100 * i, 247 + 100 * k, 100 + 100 * i, i % 5 == 0 ? 2.0 : 0.5);
  }
  s.Numbers(150, 100, 850, 600, 7);
  const FramesFound found = s.Find();
  ASSERT_FALSE(found.frames.empty());
  s.ExpectFrame(found.frames.front(), 150, 100, 850, 600);
  EXPECT_TRUE(found.boxes.empty());
}

TEST(FrameFind, SidesMayBow) {
  Sheet2 s;
  s.Box(150, 100, 850, 600, 2.0, 9.0);
  s.Numbers(150, 100, 850, 600, 7);
  const FramesFound found = s.Find();
  ASSERT_FALSE(found.frames.empty());
  s.ExpectFrame(found.frames.front(), 150, 100, 850, 600, 1.0);
}

TEST(FrameFind, TwoPanelsOneAboveTheOther) {
  Sheet2 s;
  s.Box(150, 60, 850, 360);
  s.Box(150, 440, 850, 740);
  s.Numbers(150, 60, 850, 360, 6);
  s.Numbers(150, 440, 850, 740, 6);
  const FramesFound found = s.Find();
  ASSERT_EQ(found.frames.size(), 2u);
}

TEST(FrameFind, BareAxes) {
  Sheet2 s;
  s.Line(150, 600, 850, 600);
  s.Line(150, 100, 150, 600);
  s.Line(200, 500, 600, 200);
  s.Numbers(150, 100, 850, 600, 7);
  const FramesFound found = s.Find();
  ASSERT_FALSE(found.frames.empty());
  EXPECT_EQ(found.frames.front().lines[kTop], -1);
  s.ExpectFrame(found.frames.front(), 150, 100, 850, 600, 12.0);
}

TEST(FrameFind, NothingInAPictureWithoutLines) {
  Sheet2 s;
  EXPECT_TRUE(s.Find().frames.empty());
  s.Line(100, 100, 140, 130);
  EXPECT_TRUE(s.Find().frames.empty());
}

TEST(Furniture, GridIsFurnitureAndACurveThatTouchesItIsNot) {
  Sheet2 s;
  s.Box(150, 100, 850, 600);                                                        // 0..3
  for (int i = 1; i < 7; ++i) s.Line(150 + 100 * i, 105, 150 + 100 * i, 595, 0.5);  // 4..9
  for (int i = 1; i < 5; ++i) s.Line(155, 100 + 100 * i, 845, 100 + 100 * i, 0.5);  // 10..13
  s.Line(420, 200.6, 480, 200.4, 2.2);                                              // 14: the flat top of an island on a grid line
  s.Line(300, 201, 350, 200, 0.5);                                                  // 15: a piece of the grid line itself
  s.Line(200, 550, 600, 150, 2.0);                                                  // 16: a curve
  s.Line(900, 50, 960, 400, 2.0);                                                   // 17: outside
  const FrameMapping frame = FrameMapping::FromCorners({{{150, 100}, {850, 100}, {850, 600}, {150, 600}}});
  FrameCandidate candidate;
  MarksFound marks;
  for (int i = 1; i < 7; ++i) marks.grid_u.push_back({.t = i / 7.0, .grid = true});
  for (int i = 1; i < 5; ++i) marks.grid_v.push_back({.t = i / 5.0, .grid = true});
  const std::vector<bool> furniture = MarkFurniture(s.ridges, {{&frame, &candidate, &marks}}, {});
  for (int i = 0; i <= 13; ++i) EXPECT_TRUE(furniture[i]) << i;
  EXPECT_FALSE(furniture[14]);
  EXPECT_TRUE(furniture[15]);
  EXPECT_FALSE(furniture[16]);
  EXPECT_TRUE(furniture[17]);
}

}  // namespace
}  // namespace islebook
