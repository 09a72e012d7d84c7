#include "ui/desktop/frame/flow_layout.h"

#include <algorithm>

#include <QWidget>

namespace islebook {

FlowLayout::~FlowLayout() {
  for (QLayoutItem* item : items_) delete item;
}

QLayoutItem* FlowLayout::itemAt(int index) const { return index >= 0 && index < count() ? items_[static_cast<std::size_t>(index)] : nullptr; }

QLayoutItem* FlowLayout::takeAt(int index) {
  QLayoutItem* item = itemAt(index);
  if (item != nullptr) items_.erase(items_.begin() + index);
  return item;
}

void FlowLayout::setGeometry(const QRect& rect) {
  QLayout::setGeometry(rect);
  Place(rect, true);
}

QSize FlowLayout::sizeHint() const {
  int width = 0, height = 0;
  for (const QLayoutItem* item : items_) {
    if (item->isEmpty()) continue;
    width += item->sizeHint().width() + std::max(spacing(), 0);
    height = std::max(height, item->sizeHint().height());
  }
  const QMargins margins = contentsMargins();
  return {width + margins.left() + margins.right(), height + margins.top() + margins.bottom()};
}

QSize FlowLayout::minimumSize() const {
  QSize size;
  for (const QLayoutItem* item : items_)
    if (!item->isEmpty()) size = size.expandedTo(item->minimumSize());
  const QMargins margins = contentsMargins();
  return size + QSize(margins.left() + margins.right(), margins.top() + margins.bottom());
}

int FlowLayout::Place(const QRect& rect, bool move) const {
  const QMargins margins = contentsMargins();
  const QRect room = rect.marginsRemoved(margins);
  const int gap = std::max(spacing(), 0);
  int x = room.x(), y = room.y(), line = 0;
  for (QLayoutItem* item : items_) {
    if (item->isEmpty()) continue;
    const QSize size = item->sizeHint();
    if (x > room.x() && x + size.width() > room.x() + room.width()) {
      x = room.x();
      y += line + gap;
      line = 0;
    }
    if (move) item->setGeometry(QRect(QPoint(x, y), size));
    x += size.width() + gap;
    line = std::max(line, size.height());
  }
  return y + line - rect.y() + margins.bottom();
}

}  // namespace islebook
