// Ends that belong together though something speaks against it: print that led them astray, a line that they touch, a wrong turn at a crossing; and crumbs
// that belong to nothing.

#include "digitizer/curves/joining.h"

#include <cmath>
#include <functional>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/curves/along_lines.h"
#include "digitizer/curves/loose_ends.h"
#include "digitizer/curves/untangle.h"

namespace islebook {
namespace {

constexpr int kWidth = 1200, kHeight = 700;
using Height = std::function<double(double)>;

struct Paper {
  Page page;
  JoinField field;
  Paper() {
    page.ink = cv::Mat1b::zeros(kHeight, kWidth);
    field.page = &page;
    field.cover = cv::Mat1b::zeros(kHeight, kWidth);
    field.frame_width_px = kWidth;
  }
  void Draw(const Height& y, double from, double to, int width) {
    for (double x = from; x < to; x += 0.5)
      cv::circle(page.ink, cv::Point(cvRound(16 * x), cvRound(16 * y(x))), 8 * width, 255, cv::FILLED, cv::LINE_AA, 4);
  }
};

Stroke Piece(const Height& y, double from, double to, double mass = 2.0) {
  Stroke s;
  for (double x = from; x <= to; x += 1) s.points.push_back({x, y(x)});
  s.length_px = PathLength(s.points);
  s.ink_mass = mass;
  s.level = 255;
  return s;
}

Path Line(const Height& y, double from, double to, double mass = 2.0) {
  Path p;
  for (double x = from; x <= to; x += 1) p.points.push_back({{x, y(x)}, false});
  p.inked_px = to - from;
  p.ink_mass = mass;
  p.level = 255;
  return p;
}

double Bow(double x) { return 300 - 0.0006 * (x - 500) * (x - 500); }

TEST(JoinStrokes, AnEndThatPrintLedAstrayIsJoinedWithoutItsLastPixels) {
  Paper paper;
  cv::rectangle(paper.field.cover, cv::Rect(390, 250, 60, 100), 255, cv::FILLED);
  Stroke left = Piece(Bow, 150, 400), right = Piece(Bow, 440, 700);
  for (ImagePoint& p : left.points)
    if (p.x > 390) p.y += 0.55 * (p.x - 390);
  const std::vector<Path> paths = JoinStrokes({left, right}, paper.field);
  ASSERT_EQ(paths.size(), 1u);
  for (const PathPoint& p : paths[0].points) EXPECT_NEAR(p.at.y, Bow(p.at.x), 1.5) << p.at.x;
}

TEST(JoinStrokes, APadWhosePrintHasWornAwayIsBridgedWhereBothSidesAreOneLine) {
  Paper paper;
  paper.Draw(Bow, 150, 400, 2);
  paper.Draw(Bow, 427, 700, 2);
  EXPECT_EQ(JoinStrokes({Piece(Bow, 150, 400), Piece(Bow, 427, 700)}, paper.field).size(), 1u);
  // Two lines that do not quite face each other stay two.
  const auto beside = [](double x) { return Bow(x) + 7; };
  EXPECT_EQ(JoinStrokes({Piece(Bow, 150, 400), Piece(beside, 427, 700)}, paper.field).size(), 2u);
}

// An island that touches a heavier line for 60 px, 1 px from its center at the nearest.
TEST(JoinAlongLines, AnIslandThatTouchesALineIsOne) {
  Paper paper;
  const auto base = [](double x) { return 300 + 0.1 * (x - 600); };
  const auto island = [&](double x) { return base(x) + 1 + 0.004 * (x - 600) * (x - 600); };
  paper.Draw(base, 100, 1100, 5);
  paper.Draw(island, 450, 750, 2);
  std::vector<Path> paths{Line(base, 100, 1100, 5.0), Line(island, 450, 582), Line(island, 618, 750)};
  JoinAlongLines(paths, paper.page.ink, 150);
  ASSERT_EQ(paths.size(), 2u);
  for (const PathPoint& p : paths[1].points) EXPECT_NEAR(p.at.y, island(p.at.x), 0.8) << p.at.x;
}

TEST(JoinAlongLines, OneThatGoesThroughTheLineStaysTwo) {
  Paper paper;
  const auto base = [](double x) { return 300 + 0.1 * (x - 600); };
  const auto island = [&](double x) { return base(x) - 5 + 0.004 * (x - 600) * (x - 600); };
  paper.Draw(base, 100, 1100, 5);
  paper.Draw(island, 450, 750, 2);
  std::vector<Path> paths{Line(base, 100, 1100, 5.0), Line(island, 450, 565), Line(island, 635, 750)};
  JoinAlongLines(paths, paper.page.ink, 150);
  EXPECT_EQ(paths.size(), 3u);
}

TEST(CutBareStretches, DotsOfAWornGridAreTakenOffALine) {
  Paper paper;
  paper.Draw(Bow, 150, 500, 3);
  Path line = Line(Bow, 150, 500, 3.0);
  for (double x = 501; x < 620; x += 1) line.points.push_back({{x, 400 - x}, std::fmod(x, 20.0) >= 4.0});
  std::vector<Path> paths{line};
  CutBareStretches(paths, paper.page.ink, paper.field.cover, 1.0);
  EXPECT_NEAR(paths[0].points.back().at.x, 500, 6);
  EXPECT_NEAR(paths[0].points.front().at.x, 150, 0.1);
}

TEST(CutBareStretches, WhatLiesBeyondBarePaperIsAnotherLine) {
  Paper paper;
  paper.Draw(Bow, 150, 500, 3);
  paper.Draw(Bow, 620, 720, 3);
  Path line = Line(Bow, 150, 720, 3.0);
  for (PathPoint& p : line.points) p.bridged = p.at.x > 500 && p.at.x < 620 && std::fmod(p.at.x, 20.0) >= 4.0;
  std::vector<Path> paths{line};
  CutBareStretches(paths, paper.page.ink, paper.field.cover, 1.0);
  ASSERT_EQ(paths.size(), 2u);
  EXPECT_NEAR(paths[0].points.back().at.x, 500, 6);
  EXPECT_NEAR(paths[1].points.front().at.x, 620, 6);
}

TEST(CutBareStretches, WhatPrintMayHideStays) {
  Paper paper;
  paper.Draw(Bow, 150, 400, 3);
  paper.Draw(Bow, 460, 500, 3);
  cv::rectangle(paper.field.cover, cv::Rect(395, 250, 70, 100), 255, cv::FILLED);
  Path line = Line(Bow, 150, 500, 3.0);
  for (PathPoint& p : line.points) p.bridged = p.at.x > 400 && p.at.x < 460;
  std::vector<Path> paths{line};
  CutBareStretches(paths, paper.page.ink, paper.field.cover, 1.0);
  EXPECT_NEAR(paths[0].points.back().at.x, 500, 0.1);
}

TEST(DropGridLines, AShortLineOnAGridLineIsNone) {
  Panel panel;
  panel.frame = FrameMapping::FromCorners({ImagePoint{0, 0}, ImagePoint{1000, 0}, ImagePoint{1000, 500}, ImagePoint{0, 500}});
  panel.grid_v = {0.4};
  const auto wavy = [](double x) { return 300 + 2 * std::sin(x / 9); };
  const auto through = [](double x) { return 300 + 0.2 * (x - 250); };
  std::vector<Path> paths{Line(wavy, 200, 330), Line(through, 200, 330)};
  DropGridLines(panel, 1.0, paths);
  ASSERT_EQ(paths.size(), 1u);
  EXPECT_NEAR(paths[0].points.front().at.y, 290, 0.1);
}

// A speed line and an island cross at a shallow angle beside a label, which hides the island's other part; the two were joined to each other.
TEST(SetWrongTurnsRight, TheHeavierLineGoesOnAsItself) {
  Paper paper;
  const auto speed = [](double x) { return 300 + 0.0004 * (x - 300) * (x - 300); };
  const double at = 600, meet = speed(at);
  const auto island = [&](double x) { return meet - 0.55 * (x - at); };
  paper.Draw(speed, 300, 800, 4);
  paper.Draw(island, at, 900, 2);
  Path wrong = Line(speed, 300, at - 5, 4.0);
  for (double x = at + 5; x < 900; x += 1) wrong.points.push_back({{x, island(x)}, false});
  wrong.inked_px = static_cast<double>(wrong.points.size());
  std::vector<Path> paths{wrong, Line(speed, at + 6, 800, 4.0)};
  ASSERT_TRUE(SetWrongTurnsRight(paths, paper.field));
  ASSERT_EQ(paths.size(), 2u);
  double farthest = 0;
  for (const PathPoint& p : paths[0].points) {
    EXPECT_NEAR(p.at.y, speed(p.at.x), 1.5);
    farthest = std::max(farthest, p.at.x);
  }
  EXPECT_NEAR(farthest, 800, 1);
  for (const PathPoint& p : paths[1].points) EXPECT_NEAR(p.at.y, island(p.at.x), 0.5);
}

// A speed line touches an island and was led around it: in, once around, and on.
TEST(SetWrongTurnsRight, ALoopAtATouchIsAnIslandOfItsOwn) {
  Paper paper;
  const auto speed = [](double x) { return 300 + 0.0002 * (x - 300) * (x - 300); };
  const double touch = 600, y = speed(touch);
  Path wrong = Line(speed, 300, touch - 10, 4.0);
  for (double a = 0.12; a < 2 * M_PI - 0.12; a += 0.008) {
    // From the touch at the bottom to the right and up, against the clock.
    const ImagePoint p{touch + 160 * std::sin(a), y - 110 + 110 * std::cos(a)};
    cv::circle(paper.page.ink, {cvRound(p.x), cvRound(p.y)}, 1, 255, cv::FILLED);
    wrong.points.push_back({p, false});
  }
  for (double x = touch + 10; x < 800; x += 1) wrong.points.push_back({{x, speed(x)}, false});
  paper.Draw(speed, 300, 800, 4);
  wrong.inked_px = static_cast<double>(wrong.points.size());
  std::vector<Path> paths{wrong};
  ASSERT_TRUE(SetWrongTurnsRight(paths, paper.field));
  ASSERT_EQ(paths.size(), 2u);
  for (const PathPoint& p : paths[0].points) EXPECT_NEAR(p.at.y, speed(p.at.x), 2.0) << p.at.x;
  EXPECT_TRUE(paths[1].closed);
}

// An island that ends on a speed line is nothing of the kind.
TEST(SetWrongTurnsRight, AnEndAtASmoothLineChangesNothing) {
  Paper paper;
  const auto speed = [](double x) { return 300 + 0.0004 * (x - 300) * (x - 300); };
  const auto island = [&](double x) { return speed(600) + 0.2 * (x - 600); };
  paper.Draw(speed, 300, 800, 4);
  paper.Draw(island, 400, 600, 2);
  std::vector<Path> paths{Line(speed, 300, 800, 4.0), Line(island, 400, 592)};
  EXPECT_FALSE(SetWrongTurnsRight(paths, paper.field));
}

}  // namespace
}  // namespace islebook
