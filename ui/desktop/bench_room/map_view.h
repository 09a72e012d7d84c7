#pragma once
// One compressor's or turbine's map in the window with the engine's points on it. What follows the mouse (the reading's cross, the chosen point's ring) is drawn over a kept picture.

#include <memory>
#include <optional>

#include <QPixmap>
#include <QWidget>

#include "mapstore/answers/askable_map.h"
#include "mapstore/map/performance_map.h"
#include "ui/chart/chart.h"
#include "ui/chart/chart_frame.h"

namespace islebook {

class Workplace;

class MapView : public QWidget {
  Q_OBJECT

 public:
  MapView(Workplace& workplace, QWidget* parent);

  // `askable` may be null: then the map answers no questions.
  void SetContent(std::shared_ptr<const PerformanceMap> map, ChartOverlay overlay, std::shared_ptr<const AskableMap> askable, const QString& stage);
  void Choose(int point);  // of the case, from 0; -1: none
  int chosen() const { return chosen_; }

  // The reading's place in the map's axis units; nullopt: none. As a mouse or the arrow keys set it.
  std::optional<Point2> place() const { return place_; }
  void SetPlace(std::optional<Point2> place);
  std::optional<MapAnswer> reading() const { return reading_; }
  const AskableMap* askable() const { return askable_.get(); }
  const PerformanceMap* map() const { return map_.get(); }
  const ChartOverlay& overlay() const { return overlay_; }
  const QString& stage() const { return stage_; }
  // Where a value stands in the widget; null before there is a map.
  std::optional<QPointF> PlaceOnScreen(Point2 value) const;
  // The chart as it is drawn, for the clipboard.
  QImage Picture(int width, int height) const;
  ChartOptions Options() const;

  QSize minimumSizeHint() const override { return {240, 220}; }
  QSize sizeHint() const override { return {420, 380}; }

 signals:
  void PointChosen(int point);
  void Read(islebook::MapView* view);  // the reading or its place changed
  void Entered(islebook::MapView* view);
  void DragBegun(const QPixmap& look);  // out of the window

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void leaveEvent(QEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void focusInEvent(QFocusEvent* event) override;
  void focusOutEvent(QFocusEvent* event) override;

 private:
  QRectF Area() const;
  void Draw();
  void Follow(QPointF at);
  int PointNear(QPointF at) const;  // its place in the overlay; -1: none
  int PlaceOf(int point) const;     // likewise, of a point of the case
  void PaintReading(QPainter& painter) const;

  Workplace& workplace_;
  std::shared_ptr<const PerformanceMap> map_;
  std::shared_ptr<const AskableMap> askable_;
  ChartOverlay overlay_;
  QString stage_;
  QPixmap picture_;  // null: to be drawn anew
  ChartFrame frame_;
  int chosen_ = -1;
  int dragged_ = -1;  // the point whose place is carried about
  bool pressed_ = false;
  bool held_ = false;  // the reading stays where it was put when the mouse leaves
  std::optional<Point2> place_;
  std::optional<MapAnswer> reading_;
};

}  // namespace islebook
