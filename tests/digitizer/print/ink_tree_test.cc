#include "digitizer/print/ink_tree.h"

#include <gtest/gtest.h>
#include <opencv2/core.hpp>

namespace islebook {
namespace {

// A dark square and a pale line that touches it.
cv::Mat1b SquareOnLine() {
  cv::Mat1b ink(20, 30, static_cast<std::uint8_t>(0));
  ink.row(10).colRange(2, 28).setTo(60);
  ink(cv::Rect(10, 6, 5, 5)).setTo(220);
  return ink;
}

TEST(InkTree, BlobsNestAndMeasureTrue) {
  const cv::Mat1b ink = SquareOnLine();
  const InkTree tree(ink, {0, 0, 30, 20}, {30, 100});
  ASSERT_EQ(tree.blobs(0).size(), 1U);
  ASSERT_EQ(tree.blobs(1).size(), 1U);
  const InkBlob& all = tree.blobs(0)[0];
  EXPECT_EQ(all.box, cv::Rect(2, 6, 26, 5));
  EXPECT_EQ(all.area, 26 + 5 * 4);
  EXPECT_EQ(all.peak, 220);
  EXPECT_EQ(all.row_runs, 5);
  EXPECT_EQ(all.column_runs, 26);  // every column is one piece
  const InkBlob& square = tree.blobs(1)[0];
  EXPECT_EQ(square.box, cv::Rect(10, 6, 5, 5));
  EXPECT_EQ(square.parent, 0);
  ASSERT_EQ(tree.Children(0, 0).size(), 1U);
  EXPECT_EQ(tree.RunsOf(1, 0).size(), 5U);
}

TEST(InkTree, CornersTouch) {
  cv::Mat1b ink(6, 6, static_cast<std::uint8_t>(0));
  for (int i = 0; i < 5; ++i) ink(i, i) = 200;
  ink(0, 4) = 200;
  const InkTree tree(ink, {0, 0, 6, 6}, {50});
  EXPECT_EQ(tree.blobs(0).size(), 2U);
}

TEST(InkTree, ABranchingShapeIsOneBlob) {
  // A comb whose teeth meet only in the last row.
  cv::Mat1b ink(9, 21, static_cast<std::uint8_t>(0));
  for (int x = 0; x < 21; x += 4) ink.col(x).setTo(255);
  ink.row(8).setTo(255);
  const InkTree tree(ink, {0, 0, 21, 9}, {10});
  ASSERT_EQ(tree.blobs(0).size(), 1U);
  EXPECT_EQ(tree.blobs(0)[0].area, cv::countNonZero(ink));
}

TEST(InkTree, KeepsToTheExtent) {
  cv::Mat1b ink(40, 40, static_cast<std::uint8_t>(255));
  const InkTree tree(ink, {10, 12, 7, 5}, {10});
  ASSERT_EQ(tree.blobs(0).size(), 1U);
  EXPECT_EQ(tree.blobs(0)[0].box, cv::Rect(10, 12, 7, 5));
  EXPECT_TRUE(tree.Row(0, 3).empty());
}

}  // namespace
}  // namespace islebook
