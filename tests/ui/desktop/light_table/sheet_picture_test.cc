// The picture pyramid: whatever the view, a place of the sheet is drawn where it belongs.

#include <QImage>
#include <QPainter>

#include <gtest/gtest.h>

#include "ui/desktop/light_table/sheet_picture.h"

namespace islebook {
namespace {

// White with one dark block of 64 x 64 px at (512, 256).
QImage Marked() {
  QImage image(1600, 1200, QImage::Format_RGB32);
  image.fill(Qt::white);
  QPainter(&image).fillRect(512, 256, 64, 64, Qt::black);
  return image;
}

TEST(SheetPicture, EveryLevelShowsThePlaceWhereItIs) {
  const SheetPicture picture(Marked());
  EXPECT_EQ(picture.sheet_size(), QSize(1600, 1200));
  for (const double scale : {0.08, 0.13, 0.3, 0.5, 0.7, 1.0, 2.0}) {
    QImage shown(static_cast<int>(1600 * scale), static_cast<int>(1200 * scale), QImage::Format_RGB32);
    shown.fill(Qt::red);
    QPainter painter(&shown);
    picture.Draw(painter, QRectF(0, 0, shown.width(), shown.height()), QRectF(0, 0, shown.width() / scale, shown.height() / scale), 1.0);
    painter.end();
    double x = 0.0, y = 0.0, dark = 0.0;
    for (int row = 0; row < shown.height(); ++row)
      for (int column = 0; column < shown.width(); ++column) {
        const double ink = 255 - qGray(shown.pixel(column, row));
        x += ink * (column + 0.5), y += ink * (row + 0.5), dark += ink;
      }
    ASSERT_GT(dark, 0.0) << scale;
    EXPECT_NEAR(x / dark / scale, 544.0, 0.6 / scale) << scale;
    EXPECT_NEAR(y / dark / scale, 288.0, 0.6 / scale) << scale;
    EXPECT_NEAR(dark / 255.0 / (scale * scale), 64.0 * 64.0, 0.06 * 64 * 64 + 3 * 64 / scale * 0.5) << scale;
  }
}

TEST(SheetPicture, APictureAtTwiceTheSheetsSizeIsDrawnInItsPlace) {
  const SheetPicture picture(Marked(), 2.0);
  EXPECT_EQ(picture.sheet_size(), QSize(800, 600));
  QImage shown(800, 600, QImage::Format_RGB32);
  QPainter painter(&shown);
  picture.Draw(painter, QRectF(0, 0, 800, 600), QRectF(0, 0, 800, 600), 1.0);
  painter.end();
  EXPECT_LT(qGray(shown.pixel(272, 144)), 40);
  EXPECT_GT(qGray(shown.pixel(240, 144)), 215);
}

}  // namespace
}  // namespace islebook
