// Maps laid over each other, and maps as small pictures.

#include "ui/chart/comparison_chart.h"

#include <gtest/gtest.h>
#include <QImage>
#include <QPainter>

#include "tests/support/gui_application.h"
#include "tests/support/sheet_painter.h"
#include "ui/chart/chart_look.h"
#include "ui/chart/map_picture.h"

namespace islebook {
namespace {

PerformanceMap Painted(const std::string& style, std::uint64_t seed) {
  paint::NeedGuiApplication();
  return paint::PaintStyle(style, seed, 1.0).maps[0].AsMap("sheet.png");
}

int PixelsLike(const QImage& image, const QColor& color) {
  int count = 0;
  for (int y = 0; y < image.height(); ++y)
    for (int x = 0; x < image.width(); ++x) {
      const QColor at = image.pixelColor(x, y);
      count += std::abs(at.red() - color.red()) + std::abs(at.green() - color.green()) + std::abs(at.blue() - color.blue()) < 24;
    }
  return count;
}

QImage Drawn(const std::vector<ComparedMap>& maps, bool night) {
  QImage image(1000, 740, QImage::Format_RGB32);
  QPainter painter(&image);
  ChartOptions options;
  options.night = night;
  DrawComparison(painter, QRectF(0, 0, 1000, 740), maps, options);
  return image;
}

TEST(ComparisonChartTest, TheFrameHoldsEveryMap) {
  const auto maps = PrepareComparison({"a", "b"}, {Painted("ledger", 3), Painted("ledger", 8)});
  ASSERT_TRUE(maps) << maps.error().message;
  const ChartFrame frame = FrameOfComparison(QRectF(0, 0, 1000, 740), *maps, {});
  ASSERT_EQ(frame.panels.size(), 1u);
  for (const ComparedMap& map : *maps)
    for (const Curve& curve : map.on_axes.map.curves)
      for (const Point2& p : curve.points) EXPECT_TRUE(frame.panels[0].plot.adjusted(-1, -1, 1, 1).contains(frame.panels[0].At(p)));
}

TEST(ComparisonChartTest, PatternsTellMapsApartNotColors) {
  const PerformanceMap map = Painted("ledger", 3);
  const auto twice = PrepareComparison({"a", "b"}, {map, map});
  ASSERT_TRUE(twice);
  std::vector<ComparedMap> second = {(*twice)[1], (*twice)[1]};
  for (Curve& curve : second[0].on_axes.map.curves) curve.points.clear();  // only the dashed one is left
  std::vector<ComparedMap> first = {(*twice)[0], (*twice)[0]};
  for (Curve& curve : first[1].on_axes.map.curves) curve.points.clear();
  for (const bool night : {false, true}) {
    const QColor oxide = (night ? ChartLook::Night() : ChartLook::Day()).oxide;
    const int solid = PixelsLike(Drawn(first, night), oxide), dashed = PixelsLike(Drawn(second, night), oxide);
    EXPECT_GT(solid, 300);
    EXPECT_GT(dashed, solid / 3);
    EXPECT_LT(dashed, solid * 9 / 10);
  }
}

TEST(ComparisonChartTest, OneMapOrSevenAreNoComparison) {
  const PerformanceMap map = Painted("ledger", 3);
  EXPECT_FALSE(PrepareComparison({"a"}, {map}));
  EXPECT_FALSE(PrepareComparison({"a", "b", "c", "d", "e", "f", "g"}, {map, map, map, map, map, map, map}));
}

TEST(MapPictureTest, ShowsTheSurgeLineAndBearsAnEmptyMap) {
  paint::NeedGuiApplication();
  QImage picture(104, 78, QImage::Format_RGB32), empty = picture;
  {
    QPainter painter(&picture);
    DrawMapPicture(painter, QRectF(0, 0, 104, 78), Painted("ledger", 3), false);
    QPainter other(&empty);
    DrawMapPicture(other, QRectF(0, 0, 104, 78), {}, false);
  }
  EXPECT_GT(PixelsLike(picture, ChartLook::Day().oxide), 10);
  EXPECT_EQ(PixelsLike(empty, ChartLook::Day().oxide), 0);
  EXPECT_GT(PixelsLike(empty, ChartLook::Day().paper), 7000);
}

}  // namespace
}  // namespace islebook
