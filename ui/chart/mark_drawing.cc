// The marks of a plot, drawn in the order in which they may cover each other.

#include <algorithm>
#include <cmath>
#include <numbers>

#include <QFontMetricsF>
#include <QPainter>
#include <QPainterPath>

#include "ui/chart/curve_marks.h"
#include "ui/chart/key_block.h"

namespace islebook {
namespace {

constexpr double kHatchStep = 11.0;
constexpr double kHatchLength = 14.0;

// The pieces of a line outside a box.
std::vector<QPolygonF> CutAt(const QPolygonF& line, const LabelBox& box) {
  const double angle = box.angle_deg * std::numbers::pi / 180, cosine = std::cos(angle), sine = std::sin(angle);
  const auto inside = [&](QPointF p) {
    p -= box.center;
    return std::abs(p.x() * cosine + p.y() * sine) < box.size.width() / 2 && std::abs(-p.x() * sine + p.y() * cosine) < box.size.height() / 2;
  };
  std::vector<QPolygonF> pieces;
  QPolygonF piece;
  const auto finish = [&] {
    if (piece.size() > 1) pieces.push_back(piece);
    piece.clear();
  };
  for (int i = 0; i < line.size(); ++i) {
    if (i > 0) {
      // Fine steps find where the line enters and leaves, well under a line's width.
      const QPointF from = line[i - 1], step = line[i] - from;
      const int count = std::max(1, static_cast<int>(std::ceil(std::hypot(step.x(), step.y()) / 0.5)));
      for (int k = 1; k < count; ++k) {
        const QPointF p = from + step * (static_cast<double>(k) / count);
        const bool in = inside(p);
        if (in && !piece.isEmpty()) {
          piece << from + step * (static_cast<double>(k - 1) / count);
          finish();
        } else if (!in && piece.isEmpty()) {
          piece << p;
        }
      }
    }
    if (inside(line[i]))
      finish();
    else
      piece << line[i];
  }
  finish();
  return pieces;
}

void DrawHatch(QPainter& painter, const QPolygonF& line, const ChartLook& look) {
  painter.setPen(QPen(look.oxide, 1.3, Qt::SolidLine, Qt::FlatCap));
  double next = kHatchStep / 2, walked = 0.0;
  for (int i = 0; i + 1 < line.size(); ++i) {
    const QPointF step = line[i + 1] - line[i];
    const double length = std::hypot(step.x(), step.y());
    if (length <= 0) continue;
    const QPointF along = step / length, left(along.y(), -along.x());
    const QPointF stroke = left * (kHatchLength * 0.82) - along * (kHatchLength * 0.58);
    while (next <= walked + length) {
      const QPointF foot = line[i] + along * (next - walked);
      painter.drawLine(foot, foot + stroke);
      next += kHatchStep;
    }
    walked += length;
  }
}

void DrawHalo(QPainter& painter, const QPolygonF& line, const ChartLook& look) {
  QPainterPath path;
  path.addPolygon(line);
  QPainterPathStroker stroker;
  stroker.setWidth(15);
  stroker.setJoinStyle(Qt::RoundJoin);
  stroker.setCapStyle(Qt::RoundCap);
  stroker.setCurveThreshold(0.2);
  painter.setBrush(Qt::NoBrush);
  QPen pen(look.oxide, 1.5, Qt::CustomDashLine, Qt::FlatCap);
  pen.setDashPattern({5, 4});
  painter.setPen(pen);
  painter.drawPath(stroker.createStroke(path).simplified());
}

void DrawTurned(QPainter& painter, const PlacedLabel& label) {
  painter.setFont(ChartFont(label.print));
  painter.setPen(label.color);
  const QFontMetricsF metrics(painter.font());
  painter.save();
  painter.translate(label.box.center);
  if (label.box.angle_deg != 0) painter.rotate(label.box.angle_deg);
  painter.drawText(QPointF(-metrics.horizontalAdvance(label.text) / 2, metrics.capHeight() / 2), label.text);
  painter.restore();
}

}  // namespace

void DrawMarks(QPainter& painter, const PlotMarks& marks, const ChartLook& look) {
  // Paper behind every label: it covers the grid only, curves come later.
  painter.setPen(Qt::NoPen);
  painter.setBrush(look.paper);
  for (const PlacedLabel& label : marks.labels) painter.drawPolygon(label.box.Corners());
  painter.setBrush(Qt::NoBrush);

  painter.save();
  painter.setClipRect(marks.plot);
  if (!marks.flags.empty()) {
    for (const DrawnCurve& drawn : marks.curves)
      if (drawn.curve->needs_review) DrawHalo(painter, drawn.line, look);
  }

  const auto in_order = [&](CurveRole role, auto&& draw) {
    for (std::size_t i = 0; i < marks.curves.size(); ++i)
      if (marks.curves[i].curve->role == role) draw(i, marks.curves[i]);
  };
  const auto pieces_of = [&](std::size_t index, const DrawnCurve& drawn) {
    for (const PlacedLabel& label : marks.labels)
      if (label.on_line == static_cast<std::ptrdiff_t>(index)) return CutAt(drawn.line, label.box);
    return std::vector<QPolygonF>{drawn.line};
  };
  const auto pen = [](const QColor& color, double width, Qt::PenStyle style = Qt::SolidLine) {
    return QPen(color, width, style, Qt::RoundCap, Qt::RoundJoin);
  };

  in_order(CurveRole::kOther, [&](std::size_t, const DrawnCurve& drawn) {
    painter.setPen(pen(look.faint_ink, kIslandWidth, Qt::DashLine));
    painter.drawPolyline(drawn.line);
  });
  in_order(CurveRole::kEfficiencyIsland, [&](std::size_t i, const DrawnCurve& drawn) {
    painter.setPen(pen(look.sea, look.night ? kIslandWidth * 1.25 : kIslandWidth));
    for (const QPolygonF& piece : pieces_of(i, drawn)) painter.drawPolyline(piece);
  });
  for (CurveRole role : {CurveRole::kSpeedLine, CurveRole::kFlowLine}) {
    in_order(role, [&](std::size_t, const DrawnCurve& drawn) {
      painter.setPen(pen(look.ink, kSpeedWidth));
      painter.drawPolyline(drawn.line);
    });
  }
  in_order(CurveRole::kEfficiencyLine, [&](std::size_t, const DrawnCurve& drawn) {
    painter.setPen(pen(look.sea, kSpeedWidth));
    painter.drawPolyline(drawn.line);
  });
  in_order(CurveRole::kChokeLine, [&](std::size_t, const DrawnCurve& drawn) {
    QPen dots(look.ink, kChokeWidth, Qt::CustomDashLine, Qt::RoundCap, Qt::RoundJoin);
    dots.setDashPattern({0.01, 2.4});
    painter.setPen(dots);
    painter.drawPolyline(drawn.line);
  });
  in_order(CurveRole::kSurgeLine, [&](std::size_t, const DrawnCurve& drawn) {
    DrawHatch(painter, drawn.line, look);
    painter.setPen(pen(look.oxide, kSurgeWidth));
    painter.drawPolyline(drawn.line);
  });
  painter.restore();

  for (const PlacedLabel& label : marks.labels) {
    if (label.leader.size() == 2) {
      painter.setPen(QPen(look.faint_ink, kHairWidth));
      painter.drawLine(label.leader[0], label.leader[1]);
    }
    DrawTurned(painter, label);
  }
  for (const PlacedFlag& flag : marks.flags) DrawFlag(painter, flag.center, flag.number, look);
}

void DrawOverlay(QPainter& painter, const ChartPanel& panel, const ChartOverlay& overlay, const ChartLook& look) {
  painter.save();
  painter.setClipRect(panel.plot.adjusted(-20, -20, 20, 20));
  for (const ChartTrace& trace : overlay.traces) {
    if (trace.on_efficiency != panel.is_efficiency || trace.points.size() < 2) continue;
    QPolygonF drawn;
    for (const Point2& p : trace.points) drawn << panel.At(p);
    if (trace.closed) drawn << drawn.front();
    painter.setBrush(Qt::NoBrush);
    QPen pen(look.ochre, 2.4, Qt::CustomDashLine, Qt::FlatCap, Qt::RoundJoin);
    pen.setDashPattern({4, 3});
    painter.setPen(pen);
    painter.drawPolyline(drawn);
  }
  if (!panel.is_efficiency) {
    for (const ChartLine& line : overlay.lines) {
      if (line.points.size() < 2) continue;
      QPolygonF drawn;
      for (const Point2& p : line.points) drawn << panel.At(p);
      const QColor ink = Mix(look.ink, look.paper, 1.0 - std::clamp(line.lightness, 0.0, 0.8));
      const QPointF tip = drawn.back();
      QPointF way = tip - drawn[drawn.size() - 2];
      way /= std::max(std::hypot(way.x(), way.y()), 1e-9);
      const QPointF across(-way.y(), way.x());
      QPolygonF shaft = drawn;
      shaft.back() = tip - way * 10;
      painter.setBrush(Qt::NoBrush);
      painter.setPen(QPen(look.paper, 10, Qt::SolidLine, Qt::FlatCap, Qt::RoundJoin));
      painter.drawPolyline(shaft);
      painter.setPen(QPen(ink, 6, Qt::SolidLine, Qt::FlatCap, Qt::RoundJoin));
      painter.drawPolyline(shaft);
      painter.setPen(QPen(look.paper, 2));
      painter.setBrush(ink);
      painter.drawPolygon(QPolygonF({tip + way * 8, tip - way * 14 + across * 11, tip - way * 14 - across * 11}));
    }
  }
  for (std::size_t i = 0; i < overlay.points.size(); ++i) {
    const ChartPoint& p = overlay.points[i];
    if (panel.is_efficiency && !p.efficiency) continue;
    DrawDisc(painter, panel.At(panel.is_efficiency ? Point2{p.at.x, *p.efficiency} : p.at), NumberOf(overlay, i), p.off_map, p.chosen, look);
  }
  painter.restore();
}

}  // namespace islebook
