// Strips and bars: what is drawn, where, in which colors.

#include "ui/chart/strip.h"

#include <functional>

#include <gtest/gtest.h>
#include <QImage>
#include <QPainter>

#include "tests/support/gui_application.h"
#include "ui/chart/chart_look.h"

namespace islebook {
namespace {

class StripTest : public testing::Test {
 protected:
  void SetUp() override { paint::NeedGuiApplication(); }
};

using Draw = std::function<void(QPainter&, const QRectF&)>;

QImage Drawn(const Draw& draw) {
  QImage image(900, 500, QImage::Format_RGB32);
  image.fill(Qt::black);
  QPainter painter(&image);
  draw(painter, QRectF(0, 0, 900, 500));
  return image;
}

int Count(const QImage& image, const QColor& color, const QRect& within) {
  int count = 0;
  for (int y = within.top(); y <= within.bottom(); ++y)
    for (int x = within.left(); x <= within.right(); ++x) count += QColor(image.pixel(x, y)) == color ? 1 : 0;
  return count;
}

TEST_F(StripTest, LinesStandInTheirColorsAndKeepTheirOrder) {
  const ChartLook look = ChartLook::Day();
  std::vector<StripLine> lines(2);
  lines[0] = {{{1000, 0.5}, {2000, 1.2}}, "boost", false, 0.0};
  lines[1] = {{{1000, 0.8}, {2000, 2.0}}, "drive pressure", true, 0.0};
  const QImage image = Drawn([&](QPainter& painter, const QRectF& area) {
    DrawStrip(painter, area, lines, {.x_words = "Engine speed, rpm", .y_words = "bar", .text_size = 16});
  });
  EXPECT_GT(Count(image, look.oxide, image.rect()), 300);
  EXPECT_GT(Count(image, look.paper, image.rect()), 200000);
  EXPECT_EQ(Count(image, Qt::black, image.rect()), 0);
  // The higher pressure stands above: rows of the limit's color lie higher on the right.
  const QRect right(600, 0, 60, 500);
  const auto mean_row = [&](const QColor& color) {
    double sum = 0;
    int count = 0;
    for (int y = 0; y < 420; ++y)
      for (int x = right.left(); x <= right.right(); ++x)
        if (QColor(image.pixel(x, y)) == color) sum += y, ++count;
    EXPECT_GT(count, 0);
    return sum / count;
  };
  EXPECT_LT(mean_row(look.oxide), mean_row(look.ink));
}

TEST_F(StripTest, NothingToDrawIsSaid) {
  const QImage image = Drawn([](QPainter& painter, const QRectF& area) { DrawStrip(painter, area, {}, {.text_size = 16}); });
  const ChartLook look = ChartLook::Day();
  EXPECT_GT(Count(image, look.faint_ink, image.rect()), 20);
  // One point is a span of none: no crash, no black paper.
  const std::vector<StripLine> one{{{{1500, 0.0}}, "boost", false, 0.0}};
  EXPECT_EQ(Count(Drawn([&](QPainter& painter, const QRectF& area) { DrawStrip(painter, area, one, {.text_size = 16}); }), Qt::black, image.rect()),
            0);
}

TEST_F(StripTest, BarsPointTheWayOfTheirValue) {
  const ChartLook look = ChartLook::Day();
  const std::vector<StripBar> bars{
      {"larger turbine", 40, "+40 kW", false}, {"smaller port", -20, "-20 kW", false}, {"one size up", 30, "+30 kW", true}};
  const QImage image =
      Drawn([&](QPainter& painter, const QRectF& area) { DrawBars(painter, area, bars, {.title = "What to change first", .text_size = 16}); });
  const QColor gain = Mix(look.sea, look.paper, 0.75), loss = Mix(look.oxide, look.paper, 0.75);
  const int gains = Count(image, gain, image.rect()), losses = Count(image, loss, image.rect());
  EXPECT_GT(gains, 1000);
  EXPECT_NEAR(static_cast<double>(losses) / gains, 0.5, 0.08);  // half the length; the estimated one is hollow
  const auto mean_column = [&](const QColor& color) {
    double sum = 0;
    int count = 0;
    for (int y = 0; y < image.height(); ++y)
      for (int x = 0; x < image.width(); ++x)
        if (QColor(image.pixel(x, y)) == color) sum += x, ++count;
    return sum / std::max(count, 1);
  };
  EXPECT_GT(mean_column(gain), mean_column(loss) + 50);
}

}  // namespace
}  // namespace islebook
