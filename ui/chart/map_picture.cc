#include "ui/chart/map_picture.h"

#include <algorithm>

#include <QPainter>
#include <QPolygonF>

#include "ui/chart/chart_frame.h"
#include "ui/chart/chart_look.h"

namespace islebook {
namespace {

struct Span {
  double min = 1e300, max = -1e300;
  void Add(double v) { min = std::min(min, v), max = std::max(max, v); }
};

// The panel that holds the curves of one kind, with a little air.
ChartPanel PanelOf(const PerformanceMap& map, const QRectF& plot, bool efficiency) {
  Span x, y;
  for (const Curve& curve : map.curves) {
    for (const Point2& p : curve.points) {
      x.Add(p.x);  // both panels share the x axis
      if ((curve.role == CurveRole::kEfficiencyLine) == efficiency) y.Add(p.y);
    }
  }
  ChartPanel panel;
  panel.plot = plot;
  panel.is_efficiency = efficiency;
  panel.x = *map.x;
  panel.y = efficiency && map.efficiency ? *map.efficiency : *map.y;
  if (x.min < x.max) panel.x.min = x.min, panel.x.max = x.max;
  if (y.min < y.max) panel.y.min = y.min, panel.y.max = y.max;
  for (Axis* axis : {&panel.x, &panel.y}) {
    if (!(axis->min > 0)) axis->scale = AxisScale::kLinear;
    if (!(axis->max > axis->min)) axis->max = axis->min + 1;
  }
  return panel;
}

}  // namespace

void DrawMapPicture(QPainter& painter, const QRectF& area, const PerformanceMap& map, bool night) {
  const ChartLook look = night ? ChartLook::Night() : ChartLook::Day();
  painter.save();
  painter.setRenderHint(QPainter::Antialiasing);
  painter.fillRect(area, look.paper);
  const double air = std::min(area.width(), area.height()) * 0.07;
  const QRectF room = area.adjusted(air, air, -air, -air);
  painter.setPen(QPen(look.grid, 1.0));
  painter.drawLine(room.bottomLeft(), room.bottomRight());
  painter.drawLine(room.bottomLeft(), room.topLeft());
  if (!map.x || !map.y || map.curves.empty()) {
    painter.restore();
    return;
  }
  const bool two =
      map.efficiency && std::any_of(map.curves.begin(), map.curves.end(), [](const Curve& c) { return c.role == CurveRole::kEfficiencyLine; });
  const QRectF plot = room.adjusted(air * 0.6, air * 0.3, -air * 0.3, -air * 0.6);
  const double upper = two ? plot.height() * 0.42 : 0.0;
  const ChartPanel main = PanelOf(map, plot.adjusted(0, two ? upper + air : 0, 0, 0), false);
  const ChartPanel efficiency = two ? PanelOf(map, QRectF(plot.topLeft(), QSizeF(plot.width(), upper)), true) : main;
  const double scale = std::max(area.height() / 80.0, 0.6);
  const auto draw = [&](const Curve& curve, const QPen& pen) {
    if (curve.points.size() < 2) return;
    const ChartPanel& panel = curve.role == CurveRole::kEfficiencyLine ? efficiency : main;
    QPolygonF line;
    line.reserve(static_cast<qsizetype>(curve.points.size()) + 1);
    for (const Point2& p : curve.points) line << panel.At(p);
    if (curve.closed) line << line.front();
    painter.setPen(pen);
    painter.drawPolyline(line);
  };
  const auto all = [&](CurveRole role, const QPen& pen) {
    for (const Curve& curve : map.curves)
      if (curve.role == role) draw(curve, pen);
  };
  const auto pen = [&](const QColor& color, double width, Qt::PenStyle style = Qt::SolidLine) {
    return QPen(color, width * scale, style, Qt::RoundCap, Qt::RoundJoin);
  };
  all(CurveRole::kOther, pen(look.faint_ink, 0.7, Qt::DashLine));
  all(CurveRole::kEfficiencyIsland, pen(look.sea, 0.8));
  all(CurveRole::kEfficiencyLine, pen(look.sea, 1.0));
  all(CurveRole::kSpeedLine, pen(look.ink, 1.0));
  all(CurveRole::kFlowLine, pen(look.ink, 1.0));
  all(CurveRole::kChokeLine, pen(look.ink, 1.0, Qt::DotLine));
  all(CurveRole::kSurgeLine, pen(look.oxide, 2.0));
  painter.restore();
}

}  // namespace islebook
