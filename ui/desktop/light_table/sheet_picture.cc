#include "ui/desktop/light_table/sheet_picture.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <utility>

#include <QPainter>
#include <QTransform>

#include "digitizer/session.h"

namespace islebook {
namespace {

constexpr int kSmallestSide = 128;   // px; a further half would never be shown
constexpr double kPixelsShow = 3.0;  // from here on a person wants to see the pixels themselves

// The mean of four neighbors; an odd last row or column goes into the half before it.
QImage Half(const QImage& image) {
  QImage half(std::max(1, image.width() / 2), std::max(1, image.height() / 2), QImage::Format_RGB32);
  for (int y = 0; y < half.height(); ++y) {
    const auto* above = reinterpret_cast<const QRgb*>(image.constScanLine(2 * y));
    const auto* below = reinterpret_cast<const QRgb*>(image.constScanLine(std::min(2 * y + 1, image.height() - 1)));
    auto* to = reinterpret_cast<QRgb*>(half.scanLine(y));
    for (int x = 0; x < half.width(); ++x) {
      const QRgb a = above[2 * x], b = above[2 * x + 1], c = below[2 * x], d = below[2 * x + 1];
      const QRgb red_blue = ((a & 0xFF00FFU) + (b & 0xFF00FFU) + (c & 0xFF00FFU) + (d & 0xFF00FFU) + 0x20002U) >> 2U;
      const QRgb green = ((a & 0xFF00U) + (b & 0xFF00U) + (c & 0xFF00U) + (d & 0xFF00U) + 0x200U) >> 2U;
      to[x] = 0xFF000000U | (red_blue & 0xFF00FFU) | (green & 0xFF00U);
    }
  }
  return half;
}

// From rows of blue, green, red; the bytes may go away afterwards.
QImage FromBgr(const unsigned char* bytes, int width, int height, std::size_t stride) {
  return QImage(bytes, width, height, static_cast<qsizetype>(stride), QImage::Format_BGR888).convertToFormat(QImage::Format_RGB32);
}

}  // namespace

SheetPicture::SheetPicture(QImage upright, double scale) : scale_(scale) {
  if (upright.isNull()) return;
  if (upright.format() != QImage::Format_RGB32) upright = upright.convertToFormat(QImage::Format_RGB32);
  sheet_size_ = QSize(static_cast<int>(std::lround(upright.width() / scale)), static_cast<int>(std::lround(upright.height() / scale)));
  levels_.push_back(std::move(upright));
  while (std::max(levels_.back().width(), levels_.back().height()) > 2 * kSmallestSide &&
         std::min(levels_.back().width(), levels_.back().height()) > 1)
    levels_.push_back(Half(levels_.back()));
}

void SheetPicture::Draw(QPainter& painter, const QRectF& target, const QRectF& sheet_part, double dpr, bool rough) const {
  if (levels_.empty() || sheet_part.width() <= 0.0 || target.width() <= 0.0) return;
  const double device_per_picture_px = target.width() * dpr / (sheet_part.width() * scale_);
  std::size_t level = 0;
  for (double shown = device_per_picture_px; shown <= 0.5 && level + 1 < levels_.size(); shown *= 2.0) ++level;
  const QImage& image = levels_[level];
  const double to_x = static_cast<double>(image.width()) / sheet_size_.width(), to_y = static_cast<double>(image.height()) / sheet_size_.height();
  const QRectF part(sheet_part.x() * to_x, sheet_part.y() * to_y, sheet_part.width() * to_x, sheet_part.height() * to_y);
  painter.setRenderHint(QPainter::SmoothPixmapTransform, !rough && device_per_picture_px < kPixelsShow);
  painter.drawImage(target, image, part);
}

SheetPicture PictureOf(const Sheet& sheet) {
  if (sheet.pixels.empty()) return {};
  return SheetPicture(FromBgr(sheet.pixels.data, sheet.pixels.cols, sheet.pixels.rows, sheet.pixels.step));
}

SheetPicture FlattenedPictureOf(const Session& session) {
  const auto& page = session.stages().page;
  if (!page || page->color.empty()) return {};
  QImage image = FromBgr(page->color.data, page->color.cols, page->color.rows, page->color.step);
  if (const int turns = session.work().quarter_turns; turns != 0) image = image.transformed(QTransform().rotate(-90.0 * turns));
  return SheetPicture(std::move(image), session.work().scale);
}

}  // namespace islebook
