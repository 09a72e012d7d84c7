#include "tests/support/chart_drawing.h"

#include <algorithm>
#include <cmath>

#include <QFontMetricsF>

namespace islebook::paint {
namespace {

QString Q(const std::string& text) { return QString::fromStdString(text); }

double WidestNumber(const AxisPlan& axis, const NumberForm& form, const QFont& font) {
  double width = 0;
  for (double v : axis.major)
    width = std::max(width, QFontMetricsF(font).horizontalAdvance(
                                Q(axis.axis.scale == AxisScale::kLog ? PrintShort(v, form) : PrintNumber(v, axis.decimals, form))));
  return width;
}

}  // namespace

QFont ChartDrawing::PageFont(const SheetStyle& style, double size, bool bold, bool slanted) {
  QFont font(style.font);
  font.setPointSizeF(size);  // the page is painted at 72 dots per inch: points are page units
  font.setHintingPreference(QFont::PreferNoHinting);
  font.setBold(bold || style.bold_print);
  font.setItalic(slanted);
  return font;
}

QPen ChartDrawing::PenOf(const LineLook& look) {
  QPen pen(look.color, look.width, Qt::SolidLine, Qt::FlatCap, Qt::RoundJoin);
  const double w = look.width;
  switch (look.dash) {
    case Dash::kSolid: break;
    case Dash::kDashed: pen.setDashPattern({11 / w, 6 / w}); break;
    case Dash::kDotted: pen.setDashPattern({1.4, 2.0}); break;
    case Dash::kDashDot: pen.setDashPattern({12 / w, 5 / w, 2.2 / w, 5 / w}); break;
  }
  return pen;
}

void ChartDrawing::Text(QPointF base, const QString& text, Qt::Alignment align, const QFont& font, const QColor& color) {
  painter_.setFont(font);
  painter_.setPen(color);
  const QFontMetricsF metrics(font);
  const double width = metrics.horizontalAdvance(text);
  QPointF at = base;
  if (align & Qt::AlignHCenter) at.rx() -= width / 2;
  if (align & Qt::AlignRight) at.rx() -= width;
  if (align & Qt::AlignVCenter) at.ry() += metrics.capHeight() / 2;
  if (align & Qt::AlignTop) at.ry() += metrics.capHeight();
  painter_.drawText(at, text);
}

void ChartDrawing::TextOnEnd(QPointF at, const QString& text, const QFont& font, const QColor& color) {
  painter_.save();
  painter_.translate(at);
  painter_.rotate(-90);
  Text({0, 0}, text, Qt::AlignHCenter | Qt::AlignVCenter, font, color);
  painter_.restore();
}

void ChartDrawing::LayOut(const QRectF& area) {
  area_ = area;
  const QFont ticks = PageFont(style_, style_.tick_size);
  efficiency_panel_ = plan_.efficiency && style_.efficiency_place == EfficiencyPlace::kPanel;
  const bool second_axis = plan_.efficiency && style_.efficiency_place == EfficiencyPlace::kSecondAxis;
  double number_width = style_.y_numbers_on_end ? style_.tick_size : WidestNumber(plan_.y, style_.numbers, ticks);
  if (efficiency_panel_) number_width = std::max(number_width, WidestNumber(*plan_.efficiency, style_.numbers, ticks));
  const double tick = 12, title = style_.title_size * 1.9;
  const double left = number_width + tick + 14 + (style_.upright_y_title ? 0 : title);
  double right = 0.03 * area.width() + style_.tick_size;
  if (style_.numbers_on_right && style_.frame == FrameShape::kBox) right += number_width + tick;
  if (second_axis) right = WidestNumber(*plan_.efficiency, style_.numbers, ticks) + tick + 14 + title;
  double top = style_.upright_y_title ? style_.title_size * 2.0 : style_.title_size * 0.8;
  if (style_.head) top += style_.head_size * 1.7;
  if (plan_.top) top += style_.tick_size * 2 + style_.title_size * 1.8;
  const double bottom =
      (style_.x_numbers_on_end ? style_.tick_size + WidestNumber(plan_.x, style_.numbers, ticks) : style_.tick_size * 2.1) + style_.title_size * 1.9;
  QRectF plot = area.adjusted(left, top, -right, -bottom);
  // Whole page units, as drawing programs like it, or anywhere.
  if (random_.Chance(0.7)) plot = QRectF(std::round(plot.left()), std::round(plot.top()), std::round(plot.width()), std::round(plot.height()));
  if (efficiency_panel_) {
    const double gap = style_.upright_y_title ? style_.title_size * 2.4 : 26;
    const double upper = std::round((plot.height() - gap) * random_.Between(0.4, 0.5));
    efficiency_frame_ = {QRectF(plot.left(), plot.top(), plot.width(), upper), &plan_.x, &*plan_.efficiency};
    plot.setTop(plot.top() + upper + gap);
  }
  main_ = {plot, &plan_.x, &plan_.y};
  if (second_axis) efficiency_frame_ = {plot, &plan_.x, &*plan_.efficiency};
}

void ChartDrawing::Draw(const QRectF& area) {
  LayOut(area);
  DrawGround(main_);
  DrawBands();
  DrawGrid(main_);
  if (efficiency_panel_) DrawGrid(efficiency_frame_);
  DrawCurves();
  DrawMarkers();
  DrawFrame(main_, true, plan_.efficiency && !efficiency_panel_ ? &*plan_.efficiency : nullptr);
  if (efficiency_panel_) DrawFrame(efficiency_frame_, false, nullptr);
  DrawTitles();
  DrawNotes();
  if (style_.legend) DrawLegend();
  LabelSpeedLines();
  LabelTurbineLines();
  LabelIslands();
}

void ChartDrawing::DrawGround(const Frame& frame) {
  if (style_.ground.isValid()) painter_.fillRect(frame.plot, style_.ground);
}

void ChartDrawing::DrawGrid(const Frame& frame) {
  if (style_.grid == GridKind::kNone) return;
  const QRectF& plot = frame.plot;
  const auto vertical = [&](double v) {
    const double x = frame.At({v, frame.y->axis.min}).x();
    painter_.drawLine(QPointF(x, plot.top()), QPointF(x, plot.bottom()));
  };
  const auto horizontal = [&](double v) {
    const double y = frame.At({frame.x->axis.min, v}).y();
    painter_.drawLine(QPointF(plot.left(), y), QPointF(plot.right(), y));
  };
  QPen pen(style_.grid_color, style_.grid_width, Qt::SolidLine, Qt::FlatCap);
  if (style_.grid == GridKind::kPaper) {  // the paper's own lines, finer than the axes' ticks
    const double pitch = plot.width() / (10.0 * std::max<std::size_t>(frame.x->major.size() - 1, 1));
    for (int pass = 0; pass < 2; ++pass) {
      pen.setWidthF(pass ? 1.5 : 0.7);
      painter_.setPen(pen);
      for (int k = 0; plot.left() + k * pitch <= plot.right() + 0.1; ++k)
        if ((k % 10 == 0) == (pass == 1))
          painter_.drawLine(QPointF(plot.left() + k * pitch, plot.top()), QPointF(plot.left() + k * pitch, plot.bottom()));
      for (int k = 0; plot.bottom() - k * pitch >= plot.top() - 0.1; ++k)
        if ((k % 10 == 0) == (pass == 1))
          painter_.drawLine(QPointF(plot.left(), plot.bottom() - k * pitch), QPointF(plot.right(), plot.bottom() - k * pitch));
    }
    return;
  }
  if (style_.grid == GridKind::kFine) {
    pen.setWidthF(style_.grid_width * 0.6);
    painter_.setPen(pen);
    for (double v : frame.x->minor) vertical(v);
    for (double v : frame.y->minor) horizontal(v);
    pen.setWidthF(style_.grid_width);
  }
  if (style_.grid == GridKind::kMajorDotted) pen.setDashPattern({1.5, 3.5});
  if (style_.grid == GridKind::kMajorDashed) pen.setDashPattern({7, 5});
  painter_.setPen(pen);
  if (style_.grid != GridKind::kRows)
    for (double v : frame.x->major) vertical(v);
  for (double v : frame.y->major) horizontal(v);
}

void ChartDrawing::DrawTicks(const QRectF& plot, const AxisPlan& axis, Qt::Edge edge, bool with_numbers) {
  const QFont font = PageFont(style_, style_.tick_size);
  const bool flat = edge == Qt::BottomEdge || edge == Qt::TopEdge;
  const double outward = edge == Qt::BottomEdge || edge == Qt::RightEdge ? 1 : -1;
  const double long_tick = 11, short_tick = 6;
  double out = 0, in = 0;
  if (style_.ticks == TickSide::kOutside || style_.ticks == TickSide::kAcross) out = 1;
  if (style_.ticks == TickSide::kInside || style_.ticks == TickSide::kAcross) in = 1;
  painter_.setPen(QPen(style_.ink, std::max(style_.frame_width * 0.8, 1.0), Qt::SolidLine, Qt::FlatCap));
  const auto draw = [&](double v, double length) {
    const double part = axis.Part(v);
    if (part < -1e-6 || part > 1 + 1e-6) return;
    if (flat) {
      const double x = plot.left() + part * plot.width(), y = edge == Qt::BottomEdge ? plot.bottom() : plot.top();
      painter_.drawLine(QPointF(x, y + outward * out * length), QPointF(x, y - outward * in * length));
    } else {
      const double y = plot.bottom() - part * plot.height(), x = edge == Qt::LeftEdge ? plot.left() : plot.right();
      painter_.drawLine(QPointF(x + outward * out * length, y), QPointF(x - outward * in * length, y));
    }
  };
  if (style_.ticks != TickSide::kNone) {
    for (double v : axis.major) draw(v, long_tick);
    if (style_.minor_ticks)
      for (double v : axis.minor) draw(v, short_tick);
  }
  if (!with_numbers) return;
  const double gap = out * long_tick + 7;
  for (double v : axis.major) {
    const double part = axis.Part(v);
    if (part < -1e-6 || part > 1 + 1e-6) continue;
    const QString text = Q(axis.axis.scale == AxisScale::kLog ? PrintShort(v, style_.numbers) : PrintNumber(v, axis.decimals, style_.numbers));
    if (flat) {
      const double x = plot.left() + part * plot.width();
      if (edge == Qt::BottomEdge && style_.x_numbers_on_end)
        TextOnEnd({x, plot.bottom() + gap + 0.5 * QFontMetricsF(font).horizontalAdvance(text)}, text, font, style_.ink);
      else if (edge == Qt::BottomEdge)
        Text({x, plot.bottom() + gap}, text, Qt::AlignHCenter | Qt::AlignTop, font, style_.ink);
      else
        Text({x, plot.top() - gap}, text, Qt::AlignHCenter, font, style_.ink);
    } else {
      const double y = plot.bottom() - part * plot.height();
      if (edge == Qt::LeftEdge && style_.y_numbers_on_end)
        TextOnEnd({plot.left() - gap - 0.5 * QFontMetricsF(font).capHeight(), y}, text, font, style_.ink);
      else if (edge == Qt::LeftEdge)
        Text({plot.left() - gap, y}, text, Qt::AlignRight | Qt::AlignVCenter, font, style_.ink);
      else
        Text({plot.right() + gap, y}, text, Qt::AlignLeft | Qt::AlignVCenter, font, style_.ink);
    }
  }
}

void ChartDrawing::DrawFrame(const Frame& frame, bool numbers_below, const AxisPlan* right) {
  const QRectF& plot = frame.plot;
  painter_.setPen(QPen(style_.ink, style_.frame_width, Qt::SolidLine, Qt::SquareCap, Qt::MiterJoin));
  painter_.setBrush(Qt::NoBrush);
  if (style_.frame == FrameShape::kBox) {
    painter_.drawRect(plot);
  } else if (style_.frame == FrameShape::kBareL) {
    painter_.drawLine(plot.bottomLeft(), plot.bottomRight());
    painter_.drawLine(plot.bottomLeft(), plot.topLeft());
    if (right) painter_.drawLine(plot.bottomRight(), plot.topRight());
  }
  DrawTicks(plot, *frame.x, Qt::BottomEdge, numbers_below);
  DrawTicks(plot, *frame.y, Qt::LeftEdge, true);
  if (right) DrawTicks(plot, *right, Qt::RightEdge, true);
  if (style_.frame != FrameShape::kBox) return;
  if (plan_.top)
    DrawTicks(plot, *plan_.top, Qt::TopEdge, true);
  else if (style_.ticks == TickSide::kInside)
    DrawTicks(plot, *frame.x, Qt::TopEdge, false);
  if (!right && (style_.ticks == TickSide::kInside || style_.numbers_on_right)) DrawTicks(plot, *frame.y, Qt::RightEdge, style_.numbers_on_right);
}

void ChartDrawing::DrawTitles() {
  const QFont font = PageFont(style_, style_.title_size, false, style_.slanted_title);
  const QRectF& plot = main_.plot;
  const QRectF whole = efficiency_panel_ ? plot.united(efficiency_frame_.plot) : plot;
  Text({plot.center().x(), area_.bottom() - style_.title_size * 0.5}, Q(plan_.x.title), Qt::AlignHCenter, font, style_.ink);
  const auto side = [&](const QRectF& beside, const std::string& title) {
    if (style_.upright_y_title) {
      Text({beside.left() - 30, beside.top() - style_.title_size * 0.9 - (plan_.top ? style_.tick_size * 2 : 0)}, Q(title), Qt::AlignLeft, font,
           style_.ink);
      return;
    }
    painter_.save();
    painter_.translate(area_.left() + style_.title_size * 0.9, beside.center().y());
    painter_.rotate(-90);
    Text({0, 0}, Q(title), Qt::AlignHCenter | Qt::AlignVCenter, font, style_.ink);
    painter_.restore();
  };
  side(plot, plan_.y.title);
  if (efficiency_panel_) side(efficiency_frame_.plot, plan_.efficiency->title);
  if (plan_.efficiency && !efficiency_panel_) {
    painter_.save();
    painter_.translate(area_.right() - style_.title_size * 0.8, plot.center().y());
    painter_.rotate(random_.Chance(0.5) ? -90 : 90);
    Text({0, 0}, Q(plan_.efficiency->title), Qt::AlignHCenter | Qt::AlignVCenter, font, style_.ink);
    painter_.restore();
  }
  double head = area_.top() + style_.head_size;
  if (style_.head)
    Text({random_.Chance(0.7) ? whole.center().x() : whole.center().x() - 0.12 * whole.width(), head}, Q(plan_.truth.title), Qt::AlignHCenter,
         PageFont(style_, style_.head_size, true), style_.ink);
  if (plan_.top)
    Text({plot.center().x(), plot.top() - style_.tick_size * 1.4 - style_.title_size * 0.9 - 8}, Q(plan_.top->title), Qt::AlignHCenter, font,
         style_.ink);
  if (!style_.head) plan_.truth.title.clear();
}

void ChartDrawing::DrawBands() {
  if (!style_.bands || !plan_.efficiency_at) return;
  const int kCells = 260;
  const double span = plan_.high_speed - plan_.low_speed;
  std::vector<double> levels = plan_.levels;
  std::ranges::sort(levels);
  const double hue = random_.Pick({0.08, 0.33, 0.55, 0.14});
  painter_.setRenderHint(QPainter::Antialiasing, false);
  for (int i = 0; i < kCells; ++i) {
    for (int k = 0; k < kCells; ++k) {
      const double s0 = static_cast<double>(i) / kCells, s1 = (i + 1.15) / kCells, n0 = plan_.low_speed + span * k / kCells,
                   n1 = plan_.low_speed + span * std::min(1.0, (k + 1.15) / kCells);
      const double value = plan_.efficiency_at((s0 + s1) / 2, (n0 + n1) / 2);
      const auto band = static_cast<double>(std::ranges::upper_bound(levels, value) - levels.begin()) / static_cast<double>(levels.size());
      const QColor color = QColor::fromHsvF(static_cast<float>(hue), static_cast<float>(0.06 + 0.5 * band), static_cast<float>(0.99 - 0.12 * band));
      painter_.setPen(QPen(color, 0));
      painter_.setBrush(color);
      const auto at = [&](double s, double n) { return main_.At(plan_.place_at(std::min(s, 1.0), n)); };
      painter_.drawPolygon(QPolygonF({at(s0, n0), at(s1, n0), at(s1, n1), at(s0, n1)}));
    }
  }
  painter_.setRenderHint(QPainter::Antialiasing, true);
}

QPolygonF ChartDrawing::LineOf(std::size_t index) const {
  const TrueCurve& curve = plan_.truth.curves[index];
  const Frame& frame = FrameOf(curve);
  QPolygonF line;
  for (const Point2& p : curve.points) line << frame.At(p);
  if (curve.closed) line << line.front();
  return line;
}

QColor ChartDrawing::ColorOf(std::size_t index) const {
  const TrueCurve& curve = plan_.truth.curves[index];
  switch (curve.role) {
    case CurveRole::kEfficiencyIsland: {
      if (!style_.island_colors) return style_.island.color;
      static const QColor kColors[] = {QColor(237, 125, 49), QColor(112, 173, 71),  QColor(165, 105, 189), QColor(91, 155, 213),
                                       QColor(190, 144, 0),  QColor(120, 120, 120), QColor(38, 138, 130)};
      const auto rank =
          std::ranges::find_if(plan_.levels, [&](double l) { return std::abs(l - *curve.value) < 1e-9 || std::abs(l * 100 - *curve.value) < 1e-6; }) -
          plan_.levels.begin();
      return kColors[static_cast<std::size_t>(rank) % std::size(kColors)];
    }
    case CurveRole::kSurgeLine: return style_.surge_line.color == QColor(Qt::black) ? style_.ink : style_.surge_line.color;
    case CurveRole::kChokeLine: return style_.choke.color == QColor(Qt::black) ? style_.ink : style_.choke.color;
    case CurveRole::kEfficiencyLine: return style_.efficiency.color;
    default: return style_.speed.color;
  }
}

void ChartDrawing::DrawCurves() {
  painter_.setBrush(Qt::NoBrush);
  const auto draw = [&](CurveRole role, LineLook look) {
    for (std::size_t i = 0; i < plan_.truth.curves.size(); ++i) {
      if (plan_.truth.curves[i].role != role) continue;
      look.color = ColorOf(i);
      painter_.setPen(PenOf(look));
      painter_.drawPolyline(LineOf(i));
    }
  };
  // Islands too short to be drawn are not part of the sheet.
  for (std::size_t i = plan_.truth.curves.size(); i-- > 0;) {
    if (plan_.truth.curves[i].role != CurveRole::kEfficiencyIsland) continue;
    const QPolygonF line = LineOf(i);
    double length = 0;
    for (int k = 0; k + 1 < line.size(); ++k) length += std::hypot(line[k + 1].x() - line[k].x(), line[k + 1].y() - line[k].y());
    if (length >= 5 * style_.label_size) continue;
    plan_.truth.curves.erase(plan_.truth.curves.begin() + static_cast<std::ptrdiff_t>(i));
    plan_.labels.erase(plan_.labels.begin() + static_cast<std::ptrdiff_t>(i));
  }
  for (std::size_t i = 0; i < plan_.truth.curves.size(); ++i) lines_.push_back(LineOf(i));
  draw(CurveRole::kEfficiencyIsland, style_.island);
  draw(CurveRole::kEfficiencyLine, style_.efficiency);
  draw(CurveRole::kSpeedLine, style_.speed);
  draw(CurveRole::kFlowLine, style_.speed);
  draw(CurveRole::kChokeLine, style_.choke);
  LineLook surge = style_.surge_line;
  if (style_.surge == SurgeLook::kDashed) surge.dash = Dash::kDashed;
  if (style_.surge == SurgeLook::kPlain) surge.width = std::min(surge.width, style_.speed.width * 1.15);
  if (style_.surge == SurgeLook::kPlain || style_.surge == SurgeLook::kHatched) surge.dash = Dash::kSolid;
  draw(CurveRole::kSurgeLine, surge);
  if (style_.surge != SurgeLook::kHatched) return;
  for (std::size_t i = 0; i < plan_.truth.curves.size(); ++i) {
    if (plan_.truth.curves[i].role != CurveRole::kSurgeLine) continue;
    const QPolygonF line = LineOf(i);
    painter_.setPen(QPen(ColorOf(i), 1.3));
    double walked = 0, next = 8;
    for (int k = 0; k + 1 < line.size(); ++k) {
      const QPointF step = line[k + 1] - line[k];
      const double length = std::hypot(step.x(), step.y());
      walked += length;
      if (walked < next || length <= 0) continue;
      next += 13;
      const QPointF along = step / length, left(along.y(), -along.x());
      painter_.drawLine(line[k + 1], line[k + 1] + left * 14 - along * 9);
    }
  }
}

void ChartDrawing::DrawMarkers() {
  if (style_.markers == Marker::kNone) return;
  const double r = 4.5;
  for (const std::vector<Point2>& line : plan_.marker_places) {
    for (const Point2& p : line) {
      const QPointF at = main_.At(p);
      painter_.setPen(QPen(style_.speed.color, 1.4));
      painter_.setBrush(style_.markers == Marker::kDisc ? QBrush(style_.speed.color) : QBrush(Ground()));
      if (style_.markers == Marker::kSquare)
        painter_.drawRect(QRectF(at.x() - r, at.y() - r, 2 * r, 2 * r));
      else if (style_.markers == Marker::kCross)
        painter_.drawLine(at - QPointF(r, r), at + QPointF(r, r)), painter_.drawLine(at - QPointF(r, -r), at + QPointF(r, -r));
      else
        painter_.drawEllipse(at, r, r);
    }
  }
  painter_.setBrush(Qt::NoBrush);
}

void ChartDrawing::Locate(double scale) {
  const auto pixel = [scale](QPointF p) { return Point2{p.x() * scale - 0.5, p.y() * scale - 0.5}; };
  const auto corners = [&](const QRectF& plot) {
    return std::array<Point2, 4>{pixel(plot.topLeft()), pixel(plot.topRight()), pixel(plot.bottomRight()), pixel(plot.bottomLeft())};
  };
  plan_.truth.frame_px = corners(main_.plot);
  if (efficiency_panel_) plan_.truth.efficiency_frame_px = corners(efficiency_frame_.plot);
  plan_.truth.line_width_px = style_.speed.width * scale;
  for (TrueCurve& curve : plan_.truth.curves) {
    const Frame& frame = FrameOf(curve);
    curve.points_px.clear();
    for (const Point2& p : curve.points) curve.points_px.push_back(pixel(frame.At(p)));
    Thin(curve, 0.008);
  }
}

}  // namespace islebook::paint
