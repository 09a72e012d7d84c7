// Lines that were drawn as thin filled shapes come back along their middle.

#include "digitizer/drawing/strips.h"

#include <cmath>

#include <gtest/gtest.h>

namespace islebook {
namespace {

Polyline Circle(double radius, int n) {
  Polyline line;
  line.closed = true;
  for (int i = 0; i < n; ++i) line.points.push_back({500 + radius * std::cos(2 * M_PI * i / n), 500 + radius * std::sin(2 * M_PI * i / n)});
  return line;
}

TEST(Strips, AThinRectangleIsALine) {
  const auto strips = FindStrips({{{{10, 20}, {210, 20}, {210, 23}, {10, 23}}, true}});
  ASSERT_EQ(strips.size(), 1U);
  EXPECT_NEAR(strips[0].width_px, 3.0, 0.1);
  double low = 1e9, high = -1e9;
  for (const ImagePoint& p : strips[0].middle.points) {
    if (p.x > 15 && p.x < 205) {
      EXPECT_NEAR(p.y, 21.5, 0.05);
    }
    low = std::min(low, p.x), high = std::max(high, p.x);
  }
  EXPECT_LT(low, 11.5);
  EXPECT_GT(high, 208.5);
}

TEST(Strips, ABentStripFollowsItsMiddle) {
  // An arc of 300 px radius, 4 px wide.
  Polyline outline;
  outline.closed = true;
  for (int i = 0; i <= 90; ++i) outline.points.push_back({302 * std::cos(i * M_PI / 180), 302 * std::sin(i * M_PI / 180)});
  for (int i = 90; i >= 0; --i) outline.points.push_back({298 * std::cos(i * M_PI / 180), 298 * std::sin(i * M_PI / 180)});
  const auto strips = FindStrips({outline});
  ASSERT_EQ(strips.size(), 1U);
  EXPECT_NEAR(strips[0].width_px, 4.0, 0.1);
  const auto& middle = strips[0].middle.points;
  for (std::size_t i = 5; i + 5 < middle.size(); ++i) EXPECT_NEAR(std::hypot(middle[i].x, middle[i].y), 300.0, 0.1);
}

TEST(Strips, ARingIsAClosedLine) {
  const auto strips = FindStrips({Circle(202, 300), Circle(198, 300)});
  ASSERT_EQ(strips.size(), 1U);
  EXPECT_TRUE(strips[0].middle.closed);
  EXPECT_NEAR(strips[0].width_px, 4.0, 0.1);
  for (const ImagePoint& p : strips[0].middle.points) EXPECT_NEAR(std::hypot(p.x - 500, p.y - 500), 200.0, 0.05);
}

TEST(Strips, AreasAreNone) {
  EXPECT_TRUE(FindStrips({Circle(100, 200)}).empty());
  EXPECT_TRUE(FindStrips({Circle(200, 300), Circle(100, 300)}).empty());
  EXPECT_TRUE(FindStrips({{{{0, 0}, {100, 0}, {100, 60}, {0, 60}}, true}}).empty());
  EXPECT_TRUE(FindStrips({{{{0, 0}, {40, 0}, {20, 30}}, true}}).empty());
  EXPECT_TRUE(FindStrips({}).empty());
}

}  // namespace
}  // namespace islebook
