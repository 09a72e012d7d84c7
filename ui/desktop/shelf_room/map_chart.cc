#include "ui/desktop/shelf_room/map_chart.h"

#include <algorithm>

#include <QApplication>
#include <QKeyEvent>
#include <QMouseEvent>
#include <QPainter>
#include <QPixmap>

#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

constexpr double kTextSize = 13.0;  // px, of body print

}  // namespace

MapChart::MapChart(Workplace& workplace, ShelfClerk& clerk, QWidget* parent) : QWidget(parent), workplace_(workplace), clerk_(clerk) {
  setObjectName("shelf_chart");
  setAccessibleName(tr("Chart"));
  setAccessibleDescription(tr("The arrow keys move a cursor whose reading stands on the right"));
  setMouseTracking(true);
  setFocusPolicy(Qt::StrongFocus);
  setMinimumSize(320, 260);
  connect(&workplace_, &Workplace::LookChanged, this, &MapChart::Redraw);
}

void MapChart::Show(std::shared_ptr<const ShownChart> chart, const QString& words) {
  chart_ = std::move(chart);
  words_ = words;
  cursor_.reset();
  emit Left();
  if (chart_ == nullptr) {
    picture_ = {};
    drawn_ = nullptr;
    setAccessibleName(words.isEmpty() ? tr("Chart") : words);
    update();
    return;
  }
  QStringList names;
  for (const ShownMap& map : chart_->maps) names << QString::fromStdString(map.name);
  setAccessibleName(tr("Chart of %1").arg(names.join(QStringLiteral(", "))));
  Redraw();
}

void MapChart::Redraw() {
  if (chart_ == nullptr || width() < 10 || height() < 10) {
    update();
    return;
  }
  const auto chart = chart_;
  const QSize size = this->size();
  const double scale = devicePixelRatioF();
  const bool night = workplace_.night();
  clerk_.Do(this, QStringLiteral("chart"), [this, chart, size, scale, night](ClerkDesk&) -> ShelfClerk::Outcome {
    QImage picture(size * scale, QImage::Format_RGB32);
    picture.setDevicePixelRatio(scale);
    const QRectF area(QPointF(0, 0), QSizeF(size));
    QPainter painter(&picture);
    chart->Draw(painter, area, night, kTextSize);
    painter.end();
    const ChartFrame frame = chart->Frame(area, night, kTextSize);
    return [this, chart, picture, frame] {
      if (chart != chart_) return;
      picture_ = picture;
      frame_ = frame;
      drawn_ = chart;
      update();
      emit Drawn();
    };
  });
}

void MapChart::paintEvent(QPaintEvent*) {
  QPainter painter(this);
  const ChartLook& look = workplace_.look().chart;
  painter.fillRect(rect(), look.paper);
  if (chart_ == nullptr || picture_.isNull()) {
    painter.setPen(look.faint_ink);
    painter.drawText(rect().adjusted(40, 40, -40, -40), Qt::AlignCenter | Qt::TextWordWrap, words_);
  } else {
    painter.drawImage(QRectF(QPointF(0, 0), picture_.deviceIndependentSize()), picture_);
  }
  if (cursor_ && drawn_ == chart_) {
    if (const ChartPanel* panel = PanelAt(*cursor_)) {
      painter.setPen(QPen(look.ochre, 1.0, Qt::DashLine));
      painter.drawLine(QPointF(panel->plot.left(), cursor_->y()), QPointF(panel->plot.right(), cursor_->y()));
      painter.drawLine(QPointF(cursor_->x(), panel->plot.top()), QPointF(cursor_->x(), panel->plot.bottom()));
      painter.setRenderHint(QPainter::Antialiasing);
      painter.setPen(QPen(reading_.off_map ? look.oxide : look.ink, 2.0));
      painter.setBrush(look.paper);
      painter.drawEllipse(*cursor_, 4.5, 4.5);
    }
  }
  if (hasFocus()) {
    painter.setRenderHint(QPainter::Antialiasing, false);
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(look.ochre, 2));
    painter.drawRect(rect().adjusted(1, 1, -1, -1));
  }
}

void MapChart::resizeEvent(QResizeEvent*) { Redraw(); }

const ChartPanel* MapChart::PanelAt(QPointF place) const {
  const auto found = std::find_if(frame_.panels.begin(), frame_.panels.end(), [&](const ChartPanel& panel) { return panel.plot.contains(place); });
  return found == frame_.panels.end() ? nullptr : &*found;
}

void MapChart::PointAt(QPointF place) {
  const ChartPanel* panel = chart_ != nullptr && drawn_ == chart_ ? PanelAt(place) : nullptr;
  if (panel == nullptr) {
    if (cursor_) {
      cursor_.reset();
      emit Left();
      update();
    }
    return;
  }
  cursor_ = place;
  reading_ = ReadAt(*chart_, *panel, panel->ValueAt(place));
  emit Read(reading_);
  update();
}

void MapChart::mouseMoveEvent(QMouseEvent* event) {
  if (event->buttons().testFlag(Qt::LeftButton) && chart_ != nullptr &&
      (event->position().toPoint() - pressed_).manhattanLength() >= QApplication::startDragDistance()) {
    emit DragBegun(QPixmap::fromImage(picture_));
    return;
  }
  PointAt(event->position());
}

void MapChart::mousePressEvent(QMouseEvent* event) {
  pressed_ = event->position().toPoint();
  QWidget::mousePressEvent(event);
}

void MapChart::leaveEvent(QEvent*) {
  if (!cursor_) return;
  cursor_.reset();
  emit Left();
  update();
}

void MapChart::keyPressEvent(QKeyEvent* event) {
  const double step = event->modifiers().testFlag(Qt::ShiftModifier) ? 20.0 : 2.0;
  QPointF move;
  switch (event->key()) {
    case Qt::Key_Left: move = {-step, 0}; break;
    case Qt::Key_Right: move = {step, 0}; break;
    case Qt::Key_Up: move = {0, -step}; break;
    case Qt::Key_Down: move = {0, step}; break;
    default: QWidget::keyPressEvent(event); return;
  }
  if (frame_.panels.empty() || drawn_ != chart_) return;
  const QRectF plot = cursor_ && PanelAt(*cursor_) ? PanelAt(*cursor_)->plot : frame_.panels.front().plot;
  QPointF place = cursor_.value_or(plot.center()) + (cursor_ ? move : QPointF());
  place = {std::clamp(place.x(), plot.left(), plot.right() - 0.01), std::clamp(place.y(), plot.top(), plot.bottom() - 0.01)};
  PointAt(place);
}

}  // namespace islebook
