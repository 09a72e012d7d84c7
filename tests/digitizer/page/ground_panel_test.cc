#include "digitizer/page/ground_panel.h"

#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "digitizer/page/page.h"

namespace islebook {
namespace {

// A panel from (left, top) to (right, bottom), in px of pixel centers, its edges between pixels as areas cover them, turned by `lean` radians.
cv::Mat3b PanelPicture(double left, double top, double right, double bottom, int page, int ground, double lean = 0.0) {
  cv::Mat1f fine(4 * 700, 4 * 900, static_cast<float>(page));
  const double c = std::cos(lean), s = std::sin(lean), cx = 0.5 * (left + right), cy = 0.5 * (top + bottom);
  for (int y = 0; y < fine.rows; ++y)
    for (int x = 0; x < fine.cols; ++x) {
      const double px = (x + 0.5) / 4.0 - 0.5 - cx, py = (y + 0.5) / 4.0 - 0.5 - cy;
      const double u = c * px + s * py + cx, v = -s * px + c * py + cy;
      if (u > left && u < right && v > top && v < bottom) fine(y, x) = static_cast<float>(ground);
    }
  cv::Mat1f gray;
  cv::resize(fine, gray, {900, 700}, 0, 0, cv::INTER_AREA);
  cv::Mat1b bytes;
  gray.convertTo(bytes, CV_8U);
  cv::Mat3b picture;
  cv::cvtColor(bytes, picture, cv::COLOR_GRAY2BGR);
  return picture;
}

TEST(GroundPanelTest, CornersOfATintToAFractionOfAPixel) {
  for (const double lean : {0.0, 0.02}) {
    const double left = 120.25, top = 60.5, right = 800.75, bottom = 610.0;
    const cv::Mat3b picture = PanelPicture(left, top, right, bottom, 255, 228, lean);
    const auto panel = FindGroundPanel(picture, picture);
    ASSERT_TRUE(panel) << lean;
    EXPECT_FALSE(panel->dark);
    const double cx = 0.5 * (left + right), cy = 0.5 * (top + bottom), c = std::cos(lean), s = std::sin(lean);
    const double us[] = {left, right, right, left}, vs[] = {top, top, bottom, bottom};
    for (std::size_t i = 0; i < 4; ++i) {
      const double x = c * (us[i] - cx) - s * (vs[i] - cy) + cx, y = s * (us[i] - cx) + c * (vs[i] - cy) + cy;
      EXPECT_NEAR(panel->corners[i].x, x, 0.12) << lean << " corner " << i;
      EXPECT_NEAR(panel->corners[i].y, y, 0.12) << lean << " corner " << i;
    }
  }
}

TEST(GroundPanelTest, ADarkPanelIsTurnedLight) {
  cv::Mat3b picture = PanelPicture(120, 60, 800, 610, 255, 40);
  cv::line(picture, {200, 500}, {700, 200}, cv::Scalar(240, 240, 240), 2, cv::LINE_AA);
  const auto panel = FindGroundPanel(picture, picture);
  ASSERT_TRUE(panel);
  EXPECT_TRUE(panel->dark);
  Sheet sheet;
  sheet.pixels = picture;
  const auto page = FlattenPage(sheet);
  ASSERT_TRUE(page);
  EXPECT_FALSE(page->inverted);
  EXPECT_TRUE(page->paper.empty());  // the panel is no page on a desk
  EXPECT_GT(page->ink(350, 450), 150);
  EXPECT_LT(page->ink(300, 200), 20);
  EXPECT_LT(page->ink(30, 450), 20);
}

TEST(GroundPanelTest, LinesOfBarePaperShowAsLight) {
  cv::Mat3b picture = PanelPicture(120, 60, 800, 610, 255, 225);
  cv::line(picture, {120, 300}, {800, 300}, cv::Scalar(255, 255, 255), 2);
  Sheet sheet;
  sheet.pixels = picture;
  const auto page = FlattenPage(sheet);
  ASSERT_TRUE(page && page->panel);
  ASSERT_FALSE(page->light.empty());
  EXPECT_GT(page->light(300, 400), 150);
  EXPECT_LT(page->light(350, 400), 30);
}

TEST(GroundPanelTest, NoPanelOnPlainOrShadedPaper) {
  EXPECT_FALSE(FindGroundPanel(cv::Mat3b(700, 900, cv::Vec3b(250, 250, 250)), cv::Mat3b(700, 900, cv::Vec3b(250, 250, 250))));
  cv::Mat3b shaded(700, 900);
  for (int y = 0; y < 700; ++y)
    for (int x = 0; x < 900; ++x) {
      const double far = std::hypot((x - 500) / 300.0, (y - 350) / 200.0);
      const auto level = static_cast<unsigned char>(std::clamp(200.0 + 50.0 * far, 0.0, 250.0));
      shaded(y, x) = {level, level, level};
    }
  EXPECT_FALSE(FindGroundPanel(shaded, shaded));
}

}  // namespace
}  // namespace islebook
