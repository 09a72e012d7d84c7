// What print hides of a line, and the pieces of line left over behind print.

#include "digitizer/curves/hidden_ways.h"

#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/curves/left_over.h"

namespace islebook {
namespace {

constexpr int kWidth = 400, kHeight = 200;

double Bow(double x) { return 100 - 0.001 * (x - 200) * (x - 200); }

struct Paper {
  cv::Mat1b ink = cv::Mat1b::zeros(kHeight, kWidth), cover = cv::Mat1b::zeros(kHeight, kWidth);
};

Path Drawn(double from, double to) {
  Path path;
  for (double x = from; x <= to; x += 1) path.points.push_back({{x, Bow(x)}, false});
  path.inked_px = to - from;
  path.ink_mass = 1.0;
  path.level = 200;
  return path;
}

// The last px before and behind a label lean aside, and so does the bridge between them.
TEST(SmoothHiddenWays, ALeaningBridgeFollowsTheLineOnBothSides) {
  Paper paper;
  cv::rectangle(paper.cover, cv::Rect(180, 60, 40, 80), 255, cv::FILLED);
  std::vector<Path> paths{Drawn(50, 350)};
  for (PathPoint& p : paths[0].points) {
    if (p.at.x > 172 && p.at.x < 180) p.at.y += 0.5 * (p.at.x - 172);
    if (p.at.x < 180 || p.at.x > 220) continue;
    p.bridged = true;
    p.at.y += 4 * (220 - p.at.x) / 40;
  }
  SmoothHiddenWays(paths, paper.ink, paper.cover);
  for (const PathPoint& p : paths[0].points) EXPECT_NEAR(p.at.y, Bow(p.at.x), 1.1) << p.at.x;
}

TEST(SmoothHiddenWays, AGapOnBarePaperStaysAsItWasJoined) {
  Paper paper;
  std::vector<Path> paths{Drawn(50, 350)};
  for (PathPoint& p : paths[0].points)
    if (p.at.x >= 180 && p.at.x <= 220) p = {{p.at.x, p.at.y + 3}, true};
  SmoothHiddenWays(paths, paper.ink, paper.cover);
  EXPECT_NEAR(paths[0].points[150].at.y, Bow(200) + 3, 0.1);
}

Stroke Piece(double from, double to, double off) {
  Stroke piece;
  for (double x = from; x <= to; x += 1) piece.points.push_back({x, Bow(x) + off});
  piece.length_px = to - from;
  piece.ink_mass = 1.0;
  return piece;
}

TEST(AttachTails, APieceBehindALabelGoesToTheLineThatItCarriesOn) {
  Paper paper;
  cv::rectangle(paper.cover, cv::Rect(260, 40, 45, 120), 255, cv::FILLED);
  std::vector<Path> paths{Drawn(50, 258)};
  AttachTails({Piece(308, 325, 0)}, paper.ink, paper.cover, 1.0, paths);
  ASSERT_NEAR(paths[0].points.back().at.x, 325, 0.1);
  for (const PathPoint& p : paths[0].points) EXPECT_NEAR(p.at.y, Bow(p.at.x), 1.5) << p.at.x;
}

TEST(AttachTails, AShortPathBehindALabelIsTheLastPieceOfTheLineBeforeIt) {
  Paper paper;
  cv::rectangle(paper.cover, cv::Rect(260, 40, 45, 120), 255, cv::FILLED);
  std::vector<Path> paths{Drawn(50, 258), Drawn(308, 345)};
  AttachTails({}, paper.ink, paper.cover, 1.0, paths);
  ASSERT_EQ(paths.size(), 1u);
  EXPECT_NEAR(paths[0].points.back().at.x, 345, 0.1);
  for (const PathPoint& p : paths[0].points) EXPECT_NEAR(p.at.y, Bow(p.at.x), 1.5) << p.at.x;
  // A heavier one is another line's.
  paths = {Drawn(50, 258), Drawn(308, 345)};
  paths[1].ink_mass = 1.45;
  AttachTails({}, paper.ink, paper.cover, 1.0, paths);
  EXPECT_EQ(paths.size(), 2u);
}

TEST(AttachTails, APieceAcrossBarePaperIsLeft) {
  Paper paper;
  std::vector<Path> paths{Drawn(50, 258)};
  AttachTails({Piece(308, 325, 0)}, paper.ink, paper.cover, 1.0, paths);
  EXPECT_NEAR(paths[0].points.back().at.x, 258, 0.1);
}

}  // namespace
}  // namespace islebook
