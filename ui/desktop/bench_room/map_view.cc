#include "ui/desktop/bench_room/map_view.h"

#include <cmath>

#include <QKeyEvent>
#include <QMouseEvent>
#include <QPainter>

#include "mapstore/query/query_units.h"
#include "ui/desktop/bench_room/reading_words.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

constexpr double kTextSize = 11.0;  // px, body print
constexpr double kNear = 16.0;      // px: so near a click means a point
constexpr int kStep = 4;            // px: an arrow key's
constexpr int kBeyond = 12;         // px: dragged so far out of the view, the map is carried away

}  // namespace

MapView::MapView(Workplace& workplace, QWidget* parent) : QWidget(parent), workplace_(workplace) {
  setMouseTracking(true);
  setFocusPolicy(Qt::StrongFocus);
  setAttribute(Qt::WA_OpaquePaintEvent);
  connect(&workplace_, &Workplace::LookChanged, this, [this] {
    picture_ = {};
    update();
  });
}

void MapView::SetContent(std::shared_ptr<const PerformanceMap> map, ChartOverlay overlay, std::shared_ptr<const AskableMap> askable,
                         const QString& stage) {
  const bool other = map != map_;
  map_ = std::move(map);
  overlay_ = std::move(overlay);
  askable_ = std::move(askable);
  stage_ = stage;
  dragged_ = -1;
  setAccessibleName(tr("Map of %1 with the operating points").arg(stage_));
  setAccessibleDescription(tr("Arrow keys move the place that is read, Escape ends it."));
  picture_ = {};
  if (other) {
    place_.reset();
    held_ = false;
  }
  SetPlace(place_);
  update();
}

void MapView::Choose(int point) {
  if (point == chosen_) return;
  chosen_ = point;
  update();
}

void MapView::SetPlace(std::optional<Point2> place) {
  place_ = place;
  reading_.reset();
  if (place_ && askable_) {
    Question question;
    const bool ratio_along_x = RatioAlongX(*map_);
    const double flow = ratio_along_x ? place_->y : place_->x, ratio = ratio_along_x ? place_->x : place_->y;
    question.Set(askable_->is_turbine() ? QuestionValue::kExpansionRatio : QuestionValue::kPressureRatio, ratio);
    if (!askable_->is_turbine() || askable_->has_parameter()) question.Set(QuestionValue::kFlow, flow);
    reading_ = askable_->Ask(question);
  }
  emit Read(this);
  update();
}

ChartOptions MapView::Options() const {
  ChartOptions options;
  options.night = workplace_.night();
  options.show_doubts = false;
  options.show_key = false;
  options.text_size = kTextSize;
  options.caption = stage_.toStdString();
  return options;
}

QRectF MapView::Area() const { return QRectF(rect()); }

std::optional<QPointF> MapView::PlaceOnScreen(Point2 value) const {
  if (frame_.panels.empty()) return std::nullopt;
  return frame_.panels.front().At(value);
}

QImage MapView::Picture(int width, int height) const {
  QImage image(width, height, QImage::Format_RGB32);
  image.fill(workplace_.look().chart.paper);
  if (!map_) return image;
  ChartOptions options = Options();
  options.text_size = 0.0;
  options.show_key = true;
  options.night = false;  // a picture goes on paper
  QPainter painter(&image);
  DrawChart(painter, QRectF(image.rect()), *map_, overlay_, options);
  return image;
}

void MapView::Draw() {
  const double scale = devicePixelRatioF();
  picture_ = QPixmap((QSizeF(size()) * scale).toSize());
  picture_.setDevicePixelRatio(scale);
  picture_.fill(workplace_.look().chart.paper);
  frame_ = {};
  if (!map_) return;
  const ChartOptions options = Options();
  QPainter painter(&picture_);
  DrawChart(painter, Area(), *map_, overlay_, options);
  frame_ = LayOutChart(Area(), *map_, overlay_, options, 0.0);
}

void MapView::paintEvent(QPaintEvent*) {
  if (picture_.isNull()) Draw();
  QPainter painter(this);
  painter.drawPixmap(0, 0, picture_);
  const ChartLook& look = workplace_.look().chart;
  painter.setRenderHint(QPainter::Antialiasing);
  if (!map_) {
    painter.setPen(look.faint_ink);
    painter.drawText(rect(), Qt::AlignCenter | Qt::TextWordWrap, tr("No map yet"));
  }
  if (const int chosen = PlaceOf(chosen_); chosen >= 0) {
    const ChartPoint& point = overlay_.points[static_cast<std::size_t>(chosen)];
    for (const ChartPanel& panel : frame_.panels) {
      if (panel.is_efficiency && !point.efficiency) continue;
      const QPointF at = panel.At(panel.is_efficiency ? Point2{point.at.x, *point.efficiency} : point.at);
      painter.setBrush(Qt::NoBrush);
      painter.setPen(QPen(look.paper, 6));
      painter.drawEllipse(at, 12, 12);
      painter.setPen(QPen(look.ochre, 3.4));
      painter.drawEllipse(at, 12, 12);
    }
  }
  PaintReading(painter);
  if (hasFocus()) {
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(look.ochre, 2));
    painter.drawRect(rect().adjusted(1, 1, -1, -1));
  }
}

void MapView::PaintReading(QPainter& painter) const {
  if (!place_ || frame_.panels.empty()) return;
  const ChartLook& look = workplace_.look().chart;
  const ChartPanel& panel = frame_.panels.front();
  const QPointF at = panel.At(*place_);
  painter.setPen(QPen(look.faint_ink, 1, Qt::DashLine));
  painter.drawLine(QPointF(panel.plot.left(), at.y()), QPointF(panel.plot.right(), at.y()));
  painter.drawLine(QPointF(at.x(), panel.plot.top()), QPointF(at.x(), panel.plot.bottom()));
  if (dragged_ >= 0) {
    painter.setPen(QPen(look.ochre, 2.4, Qt::DashLine));
    painter.drawLine(panel.At(overlay_.points[static_cast<std::size_t>(dragged_)].at), at);
  }
  painter.setPen(QPen(look.paper, 4));
  painter.setBrush(look.ochre);
  painter.drawEllipse(at, 6, 6);
  painter.setPen(QPen(look.ink, 1.4));
  painter.drawEllipse(at, 5, 5);
  if (!reading_ || !askable_) return;
  const QStringList lines = ReadingInShort(*reading_, *askable_, workplace_.units());
  QFont font = painter.font();
  font.setPixelSize(12);
  painter.setFont(font);
  const QFontMetricsF metrics(font);
  double width = 0.0;
  for (const QString& line : lines) width = std::max(width, metrics.horizontalAdvance(line));
  QRectF box(at.x() + 14, at.y() - 14 - metrics.height() * static_cast<double>(lines.size()) - 8, width + 12,
             metrics.height() * static_cast<double>(lines.size()) + 8);
  if (box.right() > rect().right() - 2) box.moveRight(at.x() - 14);
  if (box.left() < 2) box.moveLeft(2);
  if (box.top() < 2) box.moveTop(at.y() + 14);
  painter.setPen(QPen(reading_->inside ? look.ink : look.oxide, 1));
  painter.setBrush(look.paper);
  painter.drawRect(box);
  painter.setPen(look.ink);
  double y = box.top() + 4;
  for (const QString& line : lines) {
    painter.drawText(QRectF(box.left() + 6, y, box.width(), metrics.height()), Qt::AlignLeft | Qt::AlignVCenter, line);
    y += metrics.height();
  }
}

void MapView::resizeEvent(QResizeEvent*) { picture_ = {}; }

int MapView::PointNear(QPointF at) const {
  if (frame_.panels.empty()) return -1;
  int near = -1;
  double nearest = kNear;
  for (std::size_t i = 0; i < overlay_.points.size(); ++i) {
    const QPointF way = frame_.panels.front().At(overlay_.points[i].at) - at;
    const double distance = std::hypot(way.x(), way.y());
    if (distance < nearest) nearest = distance, near = static_cast<int>(i);
  }
  return near;
}

int MapView::PlaceOf(int point) const {
  for (std::size_t i = 0; i < overlay_.points.size(); ++i)
    if (NumberOf(overlay_, i) == point + 1) return static_cast<int>(i);
  return -1;
}

void MapView::Follow(QPointF at) {
  if (frame_.panels.empty()) return;
  const ChartPanel& panel = frame_.panels.front();
  if (!panel.plot.adjusted(-6, -6, 6, 6).contains(at)) {
    if (!held_) SetPlace(std::nullopt);
    return;
  }
  const int near = dragged_ < 0 ? PointNear(at) : -1;
  SetPlace(near >= 0 ? overlay_.points[static_cast<std::size_t>(near)].at : panel.ValueAt(at));
}

void MapView::mousePressEvent(QMouseEvent* event) {
  emit Entered(this);
  if (event->button() != Qt::LeftButton) return;
  pressed_ = true;
  const int near = PointNear(event->position());
  if (near >= 0) {
    dragged_ = near;
    emit PointChosen(NumberOf(overlay_, static_cast<std::size_t>(near)) - 1);
  }
  held_ = true;
  if (near < 0) Follow(event->position());
}

void MapView::mouseMoveEvent(QMouseEvent* event) {
  if (event->buttons() == Qt::NoButton && held_) return;  // put down: it stays until the next click or Escape
  if (event->buttons().testFlag(Qt::LeftButton) && pressed_ && !rect().adjusted(-kBeyond, -kBeyond, kBeyond, kBeyond).contains(event->pos())) {
    pressed_ = held_ = false;
    dragged_ = -1;
    SetPlace(std::nullopt);
    if (map_) emit DragBegun(picture_);
    return;
  }
  Follow(event->position());
}

void MapView::mouseReleaseEvent(QMouseEvent* event) {
  if (event->button() != Qt::LeftButton) return;
  pressed_ = false;
  const bool dropped_where_taken = dragged_ >= 0 && PointNear(event->position()) == dragged_;
  dragged_ = -1;
  if (dropped_where_taken) held_ = false;
  update();
}

void MapView::leaveEvent(QEvent*) {
  if (!held_) SetPlace(std::nullopt);
}

void MapView::keyPressEvent(QKeyEvent* event) {
  const bool arrow = event->key() == Qt::Key_Left || event->key() == Qt::Key_Right || event->key() == Qt::Key_Up || event->key() == Qt::Key_Down;
  if (event->key() == Qt::Key_Escape && place_) {
    held_ = false;
    SetPlace(std::nullopt);
    return;
  }
  if (!arrow || frame_.panels.empty()) {
    QWidget::keyPressEvent(event);
    return;
  }
  const ChartPanel& panel = frame_.panels.front();
  QPointF at = panel.plot.center();
  if (place_)
    at = panel.At(*place_);
  else if (const int chosen = PlaceOf(chosen_); chosen >= 0)
    at = panel.At(overlay_.points[static_cast<std::size_t>(chosen)].at);
  const double step = event->modifiers() & Qt::ShiftModifier ? 1.0 : kStep;
  if (event->key() == Qt::Key_Left) at.rx() -= step;
  if (event->key() == Qt::Key_Right) at.rx() += step;
  if (event->key() == Qt::Key_Up) at.ry() -= step;
  if (event->key() == Qt::Key_Down) at.ry() += step;
  if (!panel.plot.adjusted(-6, -6, 6, 6).contains(at)) return;
  held_ = true;
  SetPlace(panel.ValueAt(at));
}

void MapView::focusInEvent(QFocusEvent* event) {
  emit Entered(this);
  QWidget::focusInEvent(event);
  update();
}

void MapView::focusOutEvent(QFocusEvent* event) {
  QWidget::focusOutEvent(event);
  update();
}

}  // namespace islebook
