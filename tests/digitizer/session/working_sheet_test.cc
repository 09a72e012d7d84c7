#include "digitizer/working_sheet.h"

#include <variant>

#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>

#include "digitizer/axes/plot_frame.h"

namespace islebook {
namespace {

std::shared_ptr<const Sheet> Blank(int width, int height) {
  auto sheet = std::make_shared<Sheet>();
  sheet->pixels = cv::Mat3b(height, width, cv::Vec3b(255, 255, 255));
  return sheet;
}

TEST(WorkingSheet, OnlySmallPicturesAreEnlarged) {
  EXPECT_EQ(PrepareWorkingSheet(Blank(3000, 2000)).scale, 1.0);
  const WorkingSheet small = PrepareWorkingSheet(Blank(700, 500));
  EXPECT_EQ(small.sheet->pixels.cols, 1400);
  EXPECT_EQ(small.sheet->pixels.rows, 1000);
  EXPECT_EQ(small.scale, 2.0);
}

TEST(WorkingSheet, AScannedPageIsWorkedOnAtItsOwnResolution) {
  auto page = std::make_shared<Sheet>(*Blank(2400, 1800));
  page->dpi = 300.0;
  page->scan = PageScan{cv::Mat3b(1200, 1600, cv::Vec3b(255, 255, 255)), 2.0 / 3.0};
  const WorkingSheet work = PrepareWorkingSheet(page);
  EXPECT_EQ(work.sheet->pixels.size(), cv::Size(1600, 1200));
  EXPECT_DOUBLE_EQ(work.sheet->dpi, 200.0);
  // The scan's corner is the page's corner.
  const Point2 corner = SheetFromWorking({1599.5, 1199.5}, work);
  EXPECT_NEAR(corner.x, 2399.5, 1e-9);
  EXPECT_NEAR(corner.y, 1799.5, 1e-9);
  // A small one is enlarged besides.
  page->scan = PageScan{cv::Mat3b(600, 800, cv::Vec3b(255, 255, 255)), 1.0 / 3.0};
  const WorkingSheet small = PrepareWorkingSheet(page);
  EXPECT_EQ(small.sheet->pixels.cols, 1600);
  EXPECT_DOUBLE_EQ(small.scale, 2.0 / 3.0);
}

// The center of gravity of a dot in the enlarged picture, brought back, is where the dot is on the sheet.
TEST(WorkingSheet, PlacesComeBackWhereTheyAreOnTheSheet) {
  auto sheet = std::make_shared<Sheet>(*Blank(640, 480));
  sheet->pixels(200, 310) = {0, 0, 0};
  const WorkingSheet work = PrepareWorkingSheet(sheet);
  cv::Mat1d dark;
  cv::Mat1b gray;
  cv::cvtColor(work.sheet->pixels, gray, cv::COLOR_BGR2GRAY);
  gray.convertTo(dark, CV_64F, -1.0, 255.0);
  const cv::Moments m = cv::moments(dark);
  PerformanceMap map;
  map.curves.emplace_back();
  map.curves[0].points_px = {{m.m10 / m.m00, m.m01 / m.m00}};
  ToSheetPixels(map, work);
  EXPECT_NEAR(map.curves[0].points_px[0].x, 310.0, 0.02);
  EXPECT_NEAR(map.curves[0].points_px[0].y, 200.0, 0.02);
}

TEST(WorkingSheet, TheCalibrationMapsSheetPixelsAfterward) {
  const FrameMapping working = FrameMapping::FromCorners({{{101, 51}, {901, 61}, {891, 651}, {99, 641}}});
  PerformanceMap map;
  map.calibration.emplace();
  map.calibration->parameters = working.parameters();
  map.calibration->residual_px = 0.2;
  ToSheetPixels(map, WorkingSheet{nullptr, 2.0, 0, 500, 400});
  const FrameMapping sheet = FrameMapping::FromParameters(map.calibration->parameters);
  const FramePoint a = working.FrameFromImage({400.5, 300.5}), b = sheet.FrameFromImage({200.0, 150.0});
  EXPECT_NEAR(a.u, b.u, 1e-12);
  EXPECT_NEAR(a.v, b.v, 1e-12);
  EXPECT_DOUBLE_EQ(map.calibration->residual_px, 0.1);
}

// A dot's place in the turned picture, brought back, is where it is on the sheet; so is the same place by way of the calibration.
TEST(WorkingSheet, ATurnedSheetsPlacesComeBack) {
  for (const int turns : {1, 2, 3}) {
    for (const int width : {640, 1640}) {
      auto sheet = std::make_shared<Sheet>(*Blank(width, 480));
      sheet->pixels(200, 310) = {0, 0, 0};
      const WorkingSheet work = PrepareWorkingSheet(sheet, turns);
      cv::Mat1b gray;
      cv::cvtColor(work.sheet->pixels, gray, cv::COLOR_BGR2GRAY);
      cv::Mat1d dark;
      gray.convertTo(dark, CV_64F, -1.0, 255.0);
      const cv::Moments m = cv::moments(dark);
      const Point2 dot{m.m10 / m.m00, m.m01 / m.m00};
      FrameMapping working = FrameMapping::FromCorners({{{31, 51}, {801, 61}, {791, 451}, {29, 441}}});
      std::vector<double> parameters = working.parameters();
      parameters[frame_parameter::kLens] = -0.04;
      parameters[frame_parameter::kCenterX] = work.sheet->pixels.cols / 2.0 - 3.0;
      parameters[frame_parameter::kCenterY] = work.sheet->pixels.rows / 2.0 + 5.0;
      working = FrameMapping::FromParameters(parameters);
      PerformanceMap map;
      map.curves.emplace_back();
      map.curves[0].points_px = {dot};
      map.calibration.emplace();
      map.calibration->parameters = parameters;
      ToSheetPixels(map, work);
      EXPECT_NEAR(map.curves[0].points_px[0].x, 310.0, 0.02) << turns;
      EXPECT_NEAR(map.curves[0].points_px[0].y, 200.0, 0.02) << turns;
      const FramePoint there = working.FrameFromImage({dot.x, dot.y});
      const FramePoint here =
          FrameMapping::FromParameters(map.calibration->parameters).FrameFromImage({map.curves[0].points_px[0].x, map.curves[0].points_px[0].y});
      EXPECT_NEAR(there.u, here.u, 1e-9) << turns;
      EXPECT_NEAR(there.v, here.v, 1e-9) << turns;
    }
  }
}

TEST(WorkingSheet, EveryPlaceOfARecipeIsMoved) {
  const auto recipe = ParseRecipe(R"({"recipe": 1, "corrections": [
    {"do": "set_frame", "corners_px": [[10, 10], [90, 10], [90, 70], [10, 70]]},
    {"do": "set_axis", "axis": "x", "unit": "kg/s", "panel_px": [10, 10]},
    {"do": "add_curve", "role": "surge_line", "points_px": [[10, 10], [20, 10]]},
    {"do": "trace_curve", "role": "surge_line", "through_px": [[10, 10], [20, 10]]},
    {"do": "cut_curve", "curve": {"near_px": [10, 10]}},
    {"do": "join_curves", "curve": {"near_px": [10, 10]}, "with": {"near_px": [10, 10]}},
    {"do": "delete_curve", "curve": {"near_px": [10, 10]}},
    {"do": "relabel_curve", "curve": {"near_px": [10, 10]}, "value": 0.7, "unit": "1"},
    {"do": "set_role", "curve": {"near_px": [10, 10]}, "role": "surge_line"},
    {"do": "accept_curve", "curve": {"near_px": [10, 10]}},
    {"do": "set_title", "title": "Rowan 83"}]})");
  ASSERT_TRUE(recipe.has_value()) << recipe.error().message;
  const WorkingSheet work{nullptr, 2.0, 0, 500, 400};
  const std::string moved = WriteRecipe(ToWorkingPixels(*recipe, work));
  EXPECT_EQ(moved.find("10,"), std::string::npos) << moved;
  EXPECT_NE(moved.find("20.5"), std::string::npos);
  EXPECT_EQ(ToSheetPixels(ToWorkingPixels(*recipe, work), work), *recipe);
  for (const int turns : {1, 2, 3}) {
    const WorkingSheet turned{nullptr, 2.0, turns, 500, 400};
    EXPECT_EQ(ToSheetPixels(ToWorkingPixels(*recipe, turned), turned), *recipe) << turns;
  }
}

}  // namespace
}  // namespace islebook
