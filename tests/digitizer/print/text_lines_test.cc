#include <gtest/gtest.h>

#include "digitizer/print/print.h"

namespace islebook {
namespace {

Word Make(double x, double y, double width, double height, double angle = 0.0, std::size_t glyphs = 3) {
  Word w;
  w.center = {x, y};
  w.width_px = width;
  w.height_px = height;
  w.angle_deg = angle;
  w.glyphs.assign(glyphs, cv::Rect(static_cast<int>(x - width / 2), static_cast<int>(y - height / 2),
                                   static_cast<int>(width / static_cast<double>(glyphs)), static_cast<int>(height)));
  return w;
}

TEST(TextLines, WordsOfOneBaseLineGoTogetherInOrder) {
  const std::vector<Word> words = {Make(160, 50, 60, 10), Make(100, 50, 40, 10), Make(300, 50, 40, 10), Make(100, 70, 40, 10), Make(215, 51, 36, 10)};
  const auto lines = GroupIntoLines(words, 1.2);
  ASSERT_EQ(lines.size(), 3U);
  EXPECT_EQ(lines[0], (std::vector<std::size_t>{1, 0, 4}));
  EXPECT_EQ(lines[1], (std::vector<std::size_t>{2}));
  EXPECT_EQ(lines[2], (std::vector<std::size_t>{3}));
}

TEST(TextLines, TurnedWordsRunUp) {
  const std::vector<Word> words = {Make(40, 100, 50, 10, -90.0), Make(40, 160, 50, 10, -90.0)};
  const auto lines = GroupIntoLines(words, 1.2);
  ASSERT_EQ(lines.size(), 1U);
  EXPECT_EQ(lines[0], (std::vector<std::size_t>{1, 0}));
}

TEST(TextLines, JoinedWordSpansItsParts) {
  const Word whole = JoinWords({Make(100, 50, 40, 10), Make(160, 50, 60, 12)});
  EXPECT_NEAR(whole.width_px, 110.0, 1e-9);
  EXPECT_NEAR(whole.center.x, 135.0, 1e-9);
  EXPECT_EQ(whole.glyphs.size(), 6U);
  EXPECT_NEAR(whole.height_px, 12.0, 0.1);
  EXPECT_TRUE(JoinWords({}).glyphs.empty());
}

}  // namespace
}  // namespace islebook
