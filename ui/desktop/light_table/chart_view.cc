#include "ui/desktop/light_table/chart_view.h"

#include <cmath>
#include <utility>

#include <QApplication>
#include <QImage>
#include <QMouseEvent>
#include <QPainter>

#include "ui/chart/chart.h"

namespace islebook {
namespace {

constexpr double kReach = 9.0;      // px
constexpr double kTextSize = 11.0;  // px
constexpr int kPictureWidth = 1600, kPictureHeight = 1180;

bool IsEfficiency(const Curve& curve) { return curve.role == CurveRole::kEfficiencyLine; }

}  // namespace

ChartView::ChartView(QWidget* parent) : QWidget(parent) {
  setObjectName("chart_view");
  setMinimumSize(200, 160);
  pool_.setMaxThreadCount(1);
}

void ChartView::SetLook(const DeskLook& look) {
  look_ = look;
  Redraw();
}

void ChartView::SetMap(std::shared_ptr<const PerformanceMap> map) {
  map_ = std::move(map);
  chosen_.reset();
  Redraw();
}

void ChartView::SetChosen(std::optional<std::size_t> curve) {
  chosen_ = curve;
  update();
}

void ChartView::Redraw() {
  const int number = ++asked_;
  pool_.clear();  // drawings that nobody waits for any more
  if (!map_ || size().isEmpty()) {
    drawn_ = asked_;
    chart_ = {};
    frame_ = {};
    return update();
  }
  pool_.start([this, number, map = map_, size = size(), dpr = devicePixelRatioF(), night = look_.chart.night] {
    ChartOptions options;
    options.night = night;
    options.show_title = false;
    options.show_key = false;
    options.show_doubts = false;
    options.text_size = kTextSize;
    const QRectF area(QPointF(0, 0), QSizeF(size));
    QImage image(size * dpr, QImage::Format_RGB32);
    image.setDevicePixelRatio(dpr);
    QPainter painter(&image);
    DrawChart(painter, area, *map, {}, options);
    painter.end();
    const ChartFrame frame = LayOutChart(area, *map, {}, options, 0.0);
    QMetaObject::invokeMethod(this, [this, number, image, frame] { Take(number, image, frame); }, Qt::QueuedConnection);
  });
}

void ChartView::Take(int number, const QImage& image, const ChartFrame& frame) {
  if (number != asked_) return;
  drawn_ = number;
  chart_ = QPixmap::fromImage(image);
  frame_ = frame;
  update();
}

QPolygonF ChartView::LineOf(const Curve& curve) const {
  QPolygonF line;
  for (const ChartPanel& panel : frame_.panels) {
    if (frame_.panels.size() > 1 && panel.is_efficiency != IsEfficiency(curve)) continue;
    for (const Point2& p : curve.points) line << panel.At(p);
    if (curve.closed && !line.isEmpty()) line << line.front();
    break;
  }
  return line;
}

void ChartView::paintEvent(QPaintEvent*) {
  QPainter painter(this);
  painter.fillRect(rect(), look_.chart.paper);
  if (!map_) {
    painter.setPen(look_.chart.faint_ink);
    painter.drawText(rect().adjusted(20, 20, -20, -20), Qt::AlignCenter | Qt::TextWordWrap,
                     tr("The calibrated chart stands here once the sheet is read."));
    return;
  }
  if (chart_.isNull()) return;
  painter.drawPixmap(0, 0, chart_);
  if (!chosen_ || *chosen_ >= map_->curves.size()) return;
  painter.setRenderHint(QPainter::Antialiasing);
  QColor ochre = look_.chart.ochre;
  ochre.setAlpha(170);
  painter.setPen(QPen(ochre, 5.0, Qt::SolidLine, Qt::RoundCap, Qt::RoundJoin));
  painter.drawPolyline(LineOf(map_->curves[*chosen_]));
}

void ChartView::resizeEvent(QResizeEvent* event) {
  QWidget::resizeEvent(event);
  Redraw();
}

void ChartView::mouseMoveEvent(QMouseEvent* event) {
  if (!pressed_ || !event->buttons().testFlag(Qt::LeftButton) || chart_.isNull()) return;
  if ((event->position() - *pressed_).manhattanLength() < QApplication::startDragDistance()) return;
  pressed_.reset();
  emit DragBegun(chart_);
}

QImage ChartView::Picture(const PerformanceMap& map) {
  QImage image(kPictureWidth, kPictureHeight, QImage::Format_RGB32);
  QPainter painter(&image);
  DrawChart(painter, QRectF(image.rect()), map, {}, {});
  return image;
}

void ChartView::mousePressEvent(QMouseEvent* event) {
  pressed_ = event->position();
  if (!map_ || frame_.panels.empty()) return;
  std::optional<std::size_t> best;
  double nearest = kReach;
  for (std::size_t i = 0; i < map_->curves.size(); ++i) {
    const QPolygonF line = LineOf(map_->curves[i]);
    for (qsizetype k = 0; k < line.size(); ++k) {
      const QPointF off = line[k] - event->position();
      if (const double d = std::hypot(off.x(), off.y()); d < nearest) nearest = d, best = i;
    }
  }
  emit CurveChosen(best);
}

}  // namespace islebook
