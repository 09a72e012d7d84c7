#pragma once
// The big chart. It is drawn in the clerk's thread and kept; only what follows the mouse is drawn anew.

#include <memory>

#include <QImage>
#include <QWidget>

#include "ui/desktop/shelf_room/shelf_clerk.h"
#include "ui/desktop/shelf_room/shown_chart.h"

namespace islebook {

class Workplace;

class MapChart : public QWidget {
  Q_OBJECT

 public:
  MapChart(Workplace& workplace, ShelfClerk& clerk, QWidget* parent);

  // Null: `words` stand in the middle instead.
  void Show(std::shared_ptr<const ShownChart> chart, const QString& words = {});
  const ShownChart* shown() const { return chart_.get(); }
  const std::shared_ptr<const ShownChart>& shared() const { return chart_; }
  const QString& words() const { return words_; }
  // The picture of what is shown is there.
  bool IsDrawn() const { return chart_ != nullptr && drawn_ == chart_ && !picture_.isNull(); }
  const ChartFrame& frame() const { return frame_; }

  QSize sizeHint() const override { return {640, 560}; }

 signals:
  void Read(const Reading& reading);  // under the cursor
  void Left();
  void Drawn();
  // The chart is dragged out of the window: whoever listens carries out what others can take.
  void DragBegun(const QPixmap& look);

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void leaveEvent(QEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;

 private:
  void Redraw();
  void PointAt(QPointF place);
  const ChartPanel* PanelAt(QPointF place) const;

  Workplace& workplace_;
  ShelfClerk& clerk_;
  std::shared_ptr<const ShownChart> chart_, drawn_;
  QString words_;
  QImage picture_;
  ChartFrame frame_;
  std::optional<QPointF> cursor_;
  Reading reading_;
  QPoint pressed_;
};

}  // namespace islebook
