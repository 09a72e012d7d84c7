#include "ui/desktop/bench_room/strip_view.h"

#include <QPainter>

#include "ui/desktop/frame/workplace.h"

namespace islebook {

StripView::StripView(Workplace& workplace, QWidget* parent) : QWidget(parent), workplace_(workplace) {
  setAttribute(Qt::WA_OpaquePaintEvent);
  connect(&workplace_, &Workplace::LookChanged, this, [this] {
    picture_ = {};
    update();
  });
}

void StripView::SetDrawing(Drawing drawing) {
  drawing_ = std::move(drawing);
  picture_ = {};
  update();
}

void StripView::paintEvent(QPaintEvent*) {
  if (picture_.isNull()) {
    const double scale = devicePixelRatioF();
    picture_ = QPixmap((QSizeF(size()) * scale).toSize());
    picture_.setDevicePixelRatio(scale);
    picture_.fill(workplace_.look().chart.paper);
    if (drawing_) {
      QPainter painter(&picture_);
      drawing_(painter, QRectF(rect()), workplace_.night());
    }
  }
  QPainter(this).drawPixmap(0, 0, picture_);
}

}  // namespace islebook
