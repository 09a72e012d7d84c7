#pragma once
// A drawing of lines or bars in the window, kept as a picture until its content or size changes.

#include <functional>

#include <QPixmap>
#include <QWidget>

class QPainter;

namespace islebook {

class Workplace;

class StripView : public QWidget {
  Q_OBJECT

 public:
  using Drawing = std::function<void(QPainter&, const QRectF&, bool night)>;
  StripView(Workplace& workplace, QWidget* parent);
  void SetDrawing(Drawing drawing);
  QSize minimumSizeHint() const override { return {200, 110}; }
  QSize sizeHint() const override { return {420, 170}; }

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent*) override { picture_ = {}; }

 private:
  Workplace& workplace_;
  Drawing drawing_;
  QPixmap picture_;
};

}  // namespace islebook
