// A picture of a view that is shifted shows what one painted anew shows.

#include <QImage>
#include <QPainter>

#include <gtest/gtest.h>

#include "ui/desktop/light_table/sheet_layer.h"

namespace islebook {
namespace {

// Something that looks different everywhere, at whole places of the sheet.
struct Pattern {
  QPointF origin;
  int painted = 0;       // px
  bool roughly = false;  // the last time
  void operator()(QPainter& painter, const QRectF& part, bool rough) {
    painted += static_cast<int>(part.width() * part.height());
    roughly = rough;
    for (int y = static_cast<int>(part.top()); y < part.bottom(); ++y)
      for (int x = static_cast<int>(part.left()); x < part.right(); ++x) {
        const int u = x - static_cast<int>(origin.x()), v = y - static_cast<int>(origin.y());
        painter.fillRect(x, y, 1, 1, QColor((u * 7) & 255, (v * 5) & 255, (u * v) & 255));
      }
  }
};

constexpr QSize kView(160, 120);

QImage Fresh(QPointF origin) {
  SheetLayer layer;
  Pattern pattern{origin};
  return layer.Of(kView, 1.0, 1.0, origin, false, std::ref(pattern)).toImage();
}

TEST(SheetLayerTest, AShiftPaintsOnlyWhatComesIntoSight) {
  SheetLayer layer;
  Pattern pattern;
  layer.Of(kView, 1.0, 1.0, {0, 0}, false, std::ref(pattern));
  EXPECT_EQ(pattern.painted, 160 * 120);
  QPointF origin;
  for (const QPointF& step : {QPointF(12, 0), QPointF(0, -9), QPointF(-30, 17), QPointF(5, 5)}) {
    origin += step;
    pattern.origin = origin;
    pattern.painted = 0;
    const QImage moved = layer.Of(kView, 1.0, 1.0, origin, true, std::ref(pattern)).toImage();
    EXPECT_LE(pattern.painted, 160 * 120 / 2);
    EXPECT_EQ(moved, Fresh(origin)) << step.x() << ", " << step.y();
    EXPECT_TRUE(layer.is_rough());
  }
  // The hand rests: once more, well.
  pattern.painted = 0;
  layer.Of(kView, 1.0, 1.0, origin, false, std::ref(pattern));
  EXPECT_EQ(pattern.painted, 160 * 120);
  EXPECT_FALSE(pattern.roughly);
  EXPECT_FALSE(layer.is_rough());
  pattern.painted = 0;
  layer.Of(kView, 1.0, 1.0, origin, true, std::ref(pattern));
  EXPECT_EQ(pattern.painted, 0) << "nothing has changed";
}

TEST(SheetLayerTest, FarShiftsPartsOfPixelsOtherScalesAndNewContentArePaintedAnew) {
  SheetLayer layer;
  Pattern pattern;
  const auto all = [&](double scale, QPointF origin, QSize size = kView) {
    pattern.painted = 0;
    pattern.origin = origin;
    layer.Of(size, 1.0, scale, origin, true, std::ref(pattern));
    return pattern.painted == size.width() * size.height();
  };
  EXPECT_TRUE(all(1.0, {0, 0}));
  EXPECT_FALSE(pattern.roughly) << "the first time well";
  EXPECT_TRUE(all(1.0, {120, 0}));
  EXPECT_TRUE(all(1.0, {120.5, 0}));
  EXPECT_TRUE(all(1.1, {120.5, 0}));
  EXPECT_TRUE(pattern.roughly);
  EXPECT_TRUE(all(1.1, {120.5, 0}, QSize(100, 90)));
  EXPECT_FALSE(all(1.1, {121.5, 0}, QSize(100, 90)));
  layer.Forget();
  EXPECT_TRUE(all(1.1, {121.5, 0}, QSize(100, 90)));
}

}  // namespace
}  // namespace islebook
