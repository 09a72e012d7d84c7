#pragma once
// The calibrated chart beside the sheet. Drawn in a thread of its own, since a map with many labels takes a while; until then the last one stands.

#include <memory>
#include <optional>

#include <QPixmap>
#include <QThreadPool>
#include <QWidget>

#include "mapstore/map/performance_map.h"
#include "ui/chart/chart_frame.h"
#include "ui/desktop/frame/desk_look.h"

namespace islebook {

class ChartView : public QWidget {
  Q_OBJECT

 public:
  explicit ChartView(QWidget* parent);

  void SetLook(const DeskLook& look);
  void SetMap(std::shared_ptr<const PerformanceMap> map);  // null: none
  void SetChosen(std::optional<std::size_t> curve);
  std::optional<std::size_t> chosen() const { return chosen_; }
  // The chart for the clipboard or another program: on paper, with its title and its doubts. Any thread.
  static QImage Picture(const PerformanceMap& map);
  bool drawing() const { return drawn_ != asked_; }  // a drawing is on its way

 signals:
  void CurveChosen(const std::optional<std::size_t>& curve);
  void DragBegun(const QPixmap& look);  // out of the window

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;

 private:
  void Redraw();
  void Take(int number, const QImage& image, const ChartFrame& frame);
  QPolygonF LineOf(const Curve& curve) const;

  DeskLook look_;
  std::shared_ptr<const PerformanceMap> map_;
  std::optional<std::size_t> chosen_;
  QPixmap chart_;
  std::optional<QPointF> pressed_;
  ChartFrame frame_;
  int asked_ = 0, drawn_ = 0;  // numbers of drawings
  QThreadPool pool_;           // one thread; last, so that it has ended before what it uses goes
};

}  // namespace islebook
