#include "ui/desktop/light_table/sheet_layer.h"

#include <cmath>
#include <cstdlib>

#include <QPainter>
#include <QRegion>

namespace islebook {
namespace {

constexpr double kWhole = 1e-6;  // px: so near to whole pixels a shift is one
constexpr double kWorth = 0.6;   // of the view that stays: below that all is painted anew

}  // namespace

void SheetLayer::PaintAll(bool rough, const Paint& paint) {
  picture_ = QPixmap((QSizeF(size_) * dpr_).toSize());
  picture_.setDevicePixelRatio(dpr_);
  QPainter painter(&picture_);
  paint(painter, QRectF(QPointF(0, 0), QSizeF(size_)), rough);
  is_rough_ = rough;
}

// False: not by whole pixels, or so far that little would be left.
bool SheetLayer::Shift(QPointF by, const Paint& paint) {
  const QPointF device = by * dpr_;
  const int dx = static_cast<int>(std::lround(device.x())), dy = static_cast<int>(std::lround(device.y()));
  if (std::abs(device.x() - dx) > kWhole || std::abs(device.y() - dy) > kWhole) return false;
  if (std::abs(dx) > (1.0 - kWorth) * picture_.width() || std::abs(dy) > (1.0 - kWorth) * picture_.height()) return false;
  QRegion exposed;
  picture_.scroll(dx, dy, picture_.rect(), &exposed);
  QPainter painter(&picture_);
  for (const QRect& rect : exposed) {
    const QRectF part(QPointF(rect.topLeft()) / dpr_, QSizeF(rect.size()) / dpr_);
    painter.setClipRect(part);
    paint(painter, part, true);
  }
  is_rough_ = true;
  return true;
}

const QPixmap& SheetLayer::Of(QSize size, double dpr, double scale, QPointF origin, bool rough, const Paint& paint) {
  const bool same_view = !picture_.isNull() && size == size_ && dpr == dpr_;
  const bool same_scale = same_view && scale == scale_;
  const QPointF by = origin - origin_;
  size_ = size;
  dpr_ = dpr;
  scale_ = scale;
  origin_ = origin;
  if (!same_view) {
    PaintAll(false, paint);
  } else if (same_scale && by.isNull()) {
    if (is_rough_ && !rough) PaintAll(false, paint);
  } else if (!(rough && same_scale && Shift(by, paint))) {
    PaintAll(rough, paint);
  }
  return picture_;
}

}  // namespace islebook
