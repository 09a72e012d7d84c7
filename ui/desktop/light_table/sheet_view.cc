#include "ui/desktop/light_table/sheet_view.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <QKeyEvent>
#include <QMouseEvent>
#include <QPainter>
#include <QPainterPath>
#include <QTransform>
#include <QWheelEvent>

namespace islebook {
namespace {

constexpr double kMargin = 14.0;       // screen px around a sheet that is shown whole
constexpr double kLargest = 24.0;      // screen px per sheet px
constexpr double kWheelStep = 1.2;     // a notch of the wheel
constexpr double kKeyStep = 60.0;      // screen px by which the arrows move the sheet
constexpr double kCrossStep = 6.0;     // and the cross; with Shift 1
constexpr double kDragBegins = 4.0;    // screen px; less is a click
constexpr double kCornerReach = 14.0;  // screen px
constexpr double kLoupeRadius = 110.0, kLoupeTimes = 4.0;
constexpr int kSettleMs = 130;       // the hand rests
constexpr double kJudgeScale = 0.9;  // screen px per sheet px at which a curve can be judged

QPointF Clamped(QPointF p, QSize size) { return {std::clamp(p.x(), -0.5, size.width() - 0.5), std::clamp(p.y(), -0.5, size.height() - 0.5)}; }

}  // namespace

SheetView::SheetView(QWidget* parent) : QWidget(parent) {
  setObjectName("sheet_view");
  setFocusPolicy(Qt::StrongFocus);
  setMouseTracking(true);
  setMinimumSize(240, 200);
  setAttribute(Qt::WA_OpaquePaintEvent);
  settle_.setSingleShot(true);
  settle_.setInterval(kSettleMs);
  connect(&settle_, &QTimer::timeout, this, [this] { update(); });
}

void SheetView::SetLook(const DeskLook& look) {
  look_ = look;
  ShowAnew();
}

void SheetView::SetPicture(SheetPicture picture) {
  picture_ = std::move(picture);
  flattened_.reset();
  marks_.Clear();
  chosen_.reset();
  places_.clear();
  cross_ = QPointF(picture_.sheet_size().width() / 2.0, picture_.sheet_size().height() / 2.0);
  layer_.Forget();
  ShowWhole();
}

void SheetView::SetFlattened(std::optional<SheetPicture> picture) {
  flattened_ = std::move(picture);
  ShowAnew();
}

void SheetView::MarksChanged() { ShowAnew(); }

// What is shown has changed, not only its place.
void SheetView::ShowAnew() {
  layer_.Forget();
  update();
}

void SheetView::SetChosen(std::optional<std::size_t> curve) {
  chosen_ = curve;
  ShowAnew();
}

void SheetView::SetTool(TableTool tool) {
  tool_ = tool;
  places_.clear();
  held_corner_.reset();
  key_corner_ = 0;
  if (tool != TableTool::kChoose && !rect().contains(ScreenFromSheet(cross_).toPoint())) cross_ = SheetFromScreen(rect().center());
  setCursor(tool == TableTool::kChoose ? Qt::ArrowCursor : Qt::CrossCursor);
  update();
}

void SheetView::DropPlaces() {
  places_.clear();
  update();
}

QTransform SheetView::Transform() const {
  // A pixel's center is a whole number, its outer corner half a pixel less.
  return QTransform(scale_, 0, 0, scale_, origin_.x() + 0.5 * scale_, origin_.y() + 0.5 * scale_);
}
QPointF SheetView::ScreenFromSheet(QPointF place) const { return Transform().map(place); }
QPointF SheetView::SheetFromScreen(QPointF place) const { return (place - origin_) / scale_ - QPointF(0.5, 0.5); }

void SheetView::ShowWhole() {
  const QSize size = picture_.sheet_size();
  whole_ = true;
  if (picture_.empty()) return update();
  scale_ = std::min({(width() - 2 * kMargin) / size.width(), (height() - 2 * kMargin) / size.height(), kLargest});
  scale_ = std::max(scale_, 1e-3);
  origin_ = QPointF((width() - size.width() * scale_) / 2, (height() - size.height() * scale_) / 2);
  update();
}

void SheetView::ShowPixels() { ScaleAt(rect().center(), 1.0 / devicePixelRatioF() / scale_); }
void SheetView::Enlarge(double times) { ScaleAt(tool_ == TableTool::kChoose ? QPointF(rect().center()) : ScreenFromSheet(cross_), times); }

void SheetView::Center(const QRectF& part) {
  if (picture_.empty()) return;
  whole_ = false;
  // A sheet that is shown much smaller than it is gets closer, as long as the whole of the part still fits.
  const double fits = std::min(width() / std::max(part.width() + 40.0, 1.0), height() / std::max(part.height() + 40.0, 1.0));
  scale_ = std::clamp(std::max(scale_, std::min(kJudgeScale, fits)), 1e-3, std::max(fits, scale_));
  origin_ = QPointF(rect().center()) - (part.center() + QPointF(0.5, 0.5)) * scale_;
  KeepInView();
  Moved();
}

void SheetView::ShowMarks(bool on) {
  marks_on_ = on;
  ShowAnew();
}

void SheetView::ShowLoupe(bool on) {
  loupe_on_ = on;
  update();
}

void SheetView::ScaleAt(QPointF screen, double times) {
  if (picture_.empty()) return;
  const QSize size = picture_.sheet_size();
  const double smallest = 0.5 * std::min({static_cast<double>(width()) / size.width(), static_cast<double>(height()) / size.height(), 1.0});
  const double scale = std::clamp(scale_ * times, smallest, kLargest);
  origin_ = screen - (screen - origin_) * (scale / scale_);
  scale_ = scale;
  whole_ = false;
  settle_.start();
  KeepInView();
  Moved();
}

// Some of the sheet always stays in sight.
void SheetView::KeepInView() {
  const QSizeF size = QSizeF(picture_.sheet_size()) * scale_;
  const double keep_x = std::min(size.width(), width() * 0.35), keep_y = std::min(size.height(), height() * 0.35);
  origin_.setX(std::clamp(origin_.x(), keep_x - size.width(), width() - keep_x));
  origin_.setY(std::clamp(origin_.y(), keep_y - size.height(), height() - keep_y));
}

void SheetView::Moved() {
  if (tool_ != TableTool::kChoose) emit Hovered(cross_);
  update();
}

void SheetView::resizeEvent(QResizeEvent* event) {
  QWidget::resizeEvent(event);
  if (picture_.empty()) return;
  if (whole_)
    ShowWhole();
  else
    KeepInView();
}

// Of `view` the `part`, to which the painter is clipped: pictures are drawn as if all were, so that parts fit together without a seam.
void SheetView::PaintSheet(QPainter& painter, const QRectF& view, const QRectF& part, const QTransform& screen_from_sheet, bool rough) const {
  const QSize size = picture_.sheet_size();
  const QRectF all = screen_from_sheet.mapRect(QRectF(-0.5, -0.5, size.width(), size.height()));
  const QRectF target = all.intersected(view);
  if (target.isEmpty()) return;
  const double scale = screen_from_sheet.m11();
  const QRectF sheet_part((target.topLeft() - all.topLeft()) / scale, target.size() / scale);
  (flattened_ ? *flattened_ : picture_).Draw(painter, target, sheet_part, devicePixelRatioF(), rough);
  // Over the sheet lies tracing paper, on which the curves are drawn; at night it is less bright.
  const ChartLook day = ChartLook::Day();
  if (marks_on_) {
    QColor veil = day.paper;
    veil.setAlpha(look_.chart.night ? 90 : 110);
    painter.fillRect(target, veil);
  }
  if (look_.chart.night) painter.fillRect(target, QColor(0, 0, 0, 46));
  if (marks_on_) marks_.Draw(painter, screen_from_sheet, part, chosen_, day, rough);
  painter.setBrush(Qt::NoBrush);
  painter.setPen(QPen(look_.edge, 1));
  painter.drawRect(all);
}

void SheetView::PaintTool(QPainter& painter) const {
  if (tool_ == TableTool::kChoose) return;
  const ChartLook day = ChartLook::Day();
  painter.setRenderHint(QPainter::Antialiasing);
  const auto ring = [&](QPointF at, double radius, const QColor& color) {
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(day.paper, 4.5));
    painter.drawEllipse(at, radius, radius);
    painter.setPen(QPen(color, 2.2));
    painter.drawEllipse(at, radius, radius);
  };
  if (tool_ == TableTool::kCorners) {
    QPolygonF frame;
    for (const QPointF& corner : corners_) frame << ScreenFromSheet(corner);
    painter.setPen(QPen(day.ochre, 1.6, Qt::DashLine));
    painter.setBrush(Qt::NoBrush);
    painter.drawPolygon(frame);
    for (int i = 0; i < 4; ++i) ring(frame[i], i == held_corner_.value_or(key_corner_) ? 9.0 : 6.0, day.ochre);
    return;
  }
  for (std::size_t i = 0; i < places_.size(); ++i) {
    const QPointF at = ScreenFromSheet(places_[i]);
    if (i > 0) {
      painter.setPen(QPen(day.ochre, 1.4, Qt::DashLine));
      painter.drawLine(ScreenFromSheet(places_[i - 1]), at);
    }
    ring(at, 5.0, day.ochre);
  }
  if (hasFocus()) {
    const QPointF at = ScreenFromSheet(cross_);
    for (const auto& [color, line_width] : {std::pair(day.paper, 3.0), std::pair(day.ink, 1.2)}) {
      painter.setPen(QPen(color, line_width));
      for (const QPointF& arm : {QPointF(1, 0), QPointF(-1, 0), QPointF(0, 1), QPointF(0, -1)}) painter.drawLine(at + arm * 4, at + arm * 14);
    }
  }
}

void SheetView::PaintLoupe(QPainter& painter) const {
  const QPointF at = mouse_ && tool_ == TableTool::kChoose ? *mouse_
                     : tool_ == TableTool::kChoose         ? QPointF(rect().center())
                                                           : ScreenFromSheet(cross_);
  const QRectF glass(at.x() - kLoupeRadius, at.y() - kLoupeRadius, 2 * kLoupeRadius, 2 * kLoupeRadius);
  const double scale = std::min(scale_ * kLoupeTimes, kLargest * 2);
  const QPointF place = SheetFromScreen(at);
  const QTransform transform(scale, 0, 0, scale, at.x() - place.x() * scale, at.y() - place.y() * scale);
  painter.save();
  QPainterPath round;
  round.addEllipse(glass);
  painter.setClipPath(round);
  painter.fillRect(glass, look_.chart.paper);
  PaintSheet(painter, glass, glass, transform, false);
  painter.restore();
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setBrush(Qt::NoBrush);
  painter.setPen(QPen(look_.chart.ink, 2.0));
  painter.drawEllipse(glass);
  painter.setPen(QPen(ChartLook::Day().oxide, 1.0));
  painter.drawLine(at - QPointF(10, 0), at - QPointF(3, 0));
  painter.drawLine(at + QPointF(3, 0), at + QPointF(10, 0));
  painter.drawLine(at - QPointF(0, 10), at - QPointF(0, 3));
  painter.drawLine(at + QPointF(0, 3), at + QPointF(0, 10));
}

void SheetView::paintEvent(QPaintEvent*) {
  QPainter painter(this);
  if (picture_.empty()) {
    painter.fillRect(rect(), look_.panel);
    painter.setPen(look_.chart.faint_ink);
    QFont font = painter.font();
    font.setPixelSize(16);
    painter.setFont(font);
    painter.drawText(rect().adjusted(40, 40, -40, -40), Qt::AlignCenter | Qt::TextWordWrap, empty_words_);
  } else {
    const QTransform transform = Transform();
    painter.drawPixmap(0, 0,
                       layer_.Of(size(), devicePixelRatioF(), scale_, origin_, settle_.isActive(), [&](QPainter& on, const QRectF& part, bool rough) {
                         on.fillRect(part, look_.panel);
                         PaintSheet(on, rect(), part, transform, rough);
                       }));
    PaintTool(painter);
    if (loupe_on_) PaintLoupe(painter);
  }
  if (hasFocus()) {
    painter.setRenderHint(QPainter::Antialiasing, false);
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(look_.chart.ochre, 2));
    painter.drawRect(rect().adjusted(1, 1, -1, -1));
  }
}

void SheetView::wheelEvent(QWheelEvent* event) {
  const double notches = event->angleDelta().y() / 120.0;
  if (notches != 0.0) ScaleAt(event->position(), std::pow(kWheelStep, notches));
  event->accept();
}

std::optional<int> SheetView::CornerAt(QPointF screen) const {
  for (int i = 0; i < 4; ++i) {
    const QPointF off = ScreenFromSheet(corners_[static_cast<std::size_t>(i)]) - screen;
    if (std::hypot(off.x(), off.y()) <= kCornerReach) return i;
  }
  return std::nullopt;
}

void SheetView::mousePressEvent(QMouseEvent* event) {
  if (picture_.empty() || (event->button() != Qt::LeftButton && event->button() != Qt::MiddleButton)) return;
  pressed_ = event->position();
  dragged_from_ = origin_;
  dragging_ = event->button() == Qt::MiddleButton || space_held_;
  if (tool_ == TableTool::kCorners && !dragging_) held_corner_ = CornerAt(event->position());
  if (held_corner_) key_corner_ = *held_corner_;
  update();
}

void SheetView::mouseMoveEvent(QMouseEvent* event) {
  mouse_ = event->position();
  if (picture_.empty()) return;
  const QPointF place = Clamped(SheetFromScreen(event->position()), picture_.sheet_size());
  if (tool_ != TableTool::kChoose && !dragging_) cross_ = place;
  if (pressed_) {
    const QPointF way = event->position() - *pressed_;
    if (held_corner_) {
      corners_[static_cast<std::size_t>(*held_corner_)] = place;
    } else if (dragging_ || std::hypot(way.x(), way.y()) >= kDragBegins) {
      dragging_ = true;
      whole_ = false;
      origin_ = dragged_from_ + way;
      settle_.start();
      KeepInView();
      setCursor(Qt::ClosedHandCursor);
    }
  }
  emit Hovered(place);
  if (pressed_ || loupe_on_ || tool_ != TableTool::kChoose) update();
}

void SheetView::mouseReleaseEvent(QMouseEvent* event) {
  if (!pressed_) return;
  pressed_.reset();
  setCursor(tool_ == TableTool::kChoose ? Qt::ArrowCursor : Qt::CrossCursor);
  if (std::exchange(held_corner_, std::nullopt)) {
    emit CornersMoved(event->modifiers().testFlag(Qt::ShiftModifier));
    return update();
  }
  if (std::exchange(dragging_, false)) return;
  PointAt(SheetFromScreen(event->position()));
}

void SheetView::mouseDoubleClickEvent(QMouseEvent*) {
  if (!picture_.empty()) emit Done();  // the first click has pointed already
}

void SheetView::leaveEvent(QEvent*) {
  mouse_.reset();
  if (loupe_on_) update();
}

void SheetView::PointAt(QPointF place) {
  if (tool_ == TableTool::kTrace || tool_ == TableTool::kJoin) places_.push_back(place);
  update();
  emit PointedAt(place);
}

// Arrows: the sheet, the cross, or the corner that the keyboard holds.
bool SheetView::StepByKey(const QKeyEvent& event) {
  QPointF step;
  switch (event.key()) {
    case Qt::Key_Left: step = {-1, 0}; break;
    case Qt::Key_Right: step = {1, 0}; break;
    case Qt::Key_Up: step = {0, -1}; break;
    case Qt::Key_Down: step = {0, 1}; break;
    default: return false;
  }
  const bool fine = event.modifiers().testFlag(Qt::ShiftModifier), far = event.modifiers().testFlag(Qt::ControlModifier);
  if (tool_ == TableTool::kChoose) {
    origin_ -= step * (fine ? kKeyStep / 6 : kKeyStep);
    whole_ = false;
    settle_.start();
    KeepInView();
    Moved();
    return true;
  }
  const QPointF move = step * ((fine ? 1.0 : far ? 10 * kCrossStep : kCrossStep) / scale_);
  QPointF& what = tool_ == TableTool::kCorners ? corners_[static_cast<std::size_t>(key_corner_)] : cross_;
  what = Clamped(what + move, picture_.sheet_size());
  if (!rect().adjusted(20, 20, -20, -20).contains(ScreenFromSheet(what).toPoint())) {
    origin_ -= move * scale_;
    whole_ = false;
  }
  cross_ = what;
  Moved();
  return true;
}

void SheetView::keyPressEvent(QKeyEvent* event) {
  if (picture_.empty()) return QWidget::keyPressEvent(event);
  if (StepByKey(*event)) return;
  switch (event->key()) {
    case Qt::Key_Plus:
    case Qt::Key_Equal: return Enlarge(kWheelStep * kWheelStep);
    case Qt::Key_Minus: return Enlarge(1.0 / (kWheelStep * kWheelStep));
    case Qt::Key_Space:
      if (!event->isAutoRepeat()) space_held_ = true;
      return;
    case Qt::Key_Return:
    case Qt::Key_Enter:
      if (tool_ == TableTool::kCorners) {
        emit CornersMoved(event->modifiers().testFlag(Qt::ShiftModifier));
      } else if (tool_ != TableTool::kChoose) {
        // The same place twice: enough.
        if (!places_.empty() && std::hypot(places_.back().x() - cross_.x(), places_.back().y() - cross_.y()) * scale_ < kDragBegins)
          emit Done();
        else
          PointAt(cross_);
      }
      return;
    case Qt::Key_P:
      if (tool_ != TableTool::kCorners) break;
      key_corner_ = (key_corner_ + 1) % 4;
      cross_ = corners_[static_cast<std::size_t>(key_corner_)];
      return Moved();
    default: break;
  }
  const QString text = event->text();
  if (text.size() == 1 && (text[0].isDigit() || text[0] == QLatin1Char('.')) && event->modifiers().testAnyFlags(Qt::ControlModifier) == false)
    return emit DigitTyped(text);
  QWidget::keyPressEvent(event);
}

void SheetView::keyReleaseEvent(QKeyEvent* event) {
  if (event->key() == Qt::Key_Space && !event->isAutoRepeat()) space_held_ = false;
  QWidget::keyReleaseEvent(event);
}

}  // namespace islebook
