#pragma once
// The sheet with the curves over it, kept as a picture of the view. A view that only moves is shifted, and only what comes into sight is painted; while a person moves
// or enlarges, it is painted roughly, and well as soon as the hand rests.

#include <functional>

#include <QPixmap>
#include <QPointF>
#include <QSize>

class QPainter;
class QRectF;

namespace islebook {

class SheetLayer {
 public:
  // Paints a part of the view, whole; roughly: without what may wait until the hand rests.
  using Paint = std::function<void(QPainter& painter, const QRectF& part, bool rough)>;

  // What it shows has changed.
  void Forget() { picture_ = {}; }

  // `scale`, `origin`: of the sheet in the view. With `rough` the picture may be a rough one, without it never is.
  const QPixmap& Of(QSize size, double dpr, double scale, QPointF origin, bool rough, const Paint& paint);
  bool is_rough() const { return is_rough_; }

 private:
  void PaintAll(bool rough, const Paint& paint);
  bool Shift(QPointF by, const Paint& paint);

  QPixmap picture_;
  QSize size_;
  double dpr_ = 1.0, scale_ = 0.0;
  QPointF origin_;
  bool is_rough_ = false;
};

}  // namespace islebook
