#include "ui/chart/chart.h"

#include <algorithm>
#include <cmath>

#include <QFontMetricsF>
#include <QPainter>

#include "ui/chart/chart_frame.h"
#include "ui/chart/chart_look.h"
#include "ui/chart/chart_words.h"
#include "ui/chart/curve_marks.h"
#include "ui/chart/key_block.h"

namespace islebook {
namespace {

QString Text(const std::string& s) { return QString::fromStdString(s); }

std::string Counted(int count, const char* one, const char* many) { return std::to_string(count) + " " + (count == 1 ? one : many); }

std::string Caption(const PerformanceMap& map) {
  int speed = 0, islands = 0, flow = 0, efficiency = 0;
  for (const Curve& curve : map.curves) {
    speed += curve.role == CurveRole::kSpeedLine;
    islands += curve.role == CurveRole::kEfficiencyIsland;
    flow += curve.role == CurveRole::kFlowLine;
    efficiency += curve.role == CurveRole::kEfficiencyLine;
  }
  std::string words = !map.kind ? "Chart of unknown kind" : *map.kind == MapKind::kCompressor ? "Compressor map" : "Turbine map";
  const auto add = [&](const std::string& part) { words += " \u00b7 " + part; };
  if (speed) add(Counted(speed, "speed line", "speed lines"));
  if (islands) add(Counted(islands, "efficiency contour", "efficiency contours"));
  if (flow) add(Counted(flow, "flow line", "flow lines"));
  if (efficiency) add(Counted(efficiency, "efficiency line", "efficiency lines"));
  if (map.source && !map.source->file.empty()) add("from " + map.source->file);
  return words;
}

void DrawTitle(QPainter& painter, const QRectF& area, const PerformanceMap& map, const ChartOptions& options, const ChartLook& look) {
  const auto fitted = [&](const QString& text, Print print) {
    return QFontMetricsF(ChartFont(print)).elidedText(text, Qt::ElideRight, area.width());
  };
  painter.setPen(look.ink);
  painter.setFont(ChartFont(Print::kTitle));
  painter.drawText(QPointF(area.left(), area.top() + 30),
                   fitted(map.title.empty() ? QStringLiteral("Untitled map") : Text(map.title), Print::kTitle));
  painter.setPen(look.faint_ink);
  painter.setFont(ChartFont(Print::kSmall));
  painter.drawText(QPointF(area.left(), area.top() + 60), fitted(Text(options.caption.empty() ? Caption(map) : options.caption), Print::kSmall));
}

void DrawAxes(QPainter& painter, const ChartPanel& panel, const PerformanceMap& map, const ChartLook& look) {
  const QRectF& plot = panel.plot;
  const auto count = [](double length, double each) { return std::clamp(static_cast<int>(length / each), 3, 12); };
  const Ticks x = PlaceTicks(panel.x.min, panel.x.max, panel.x.scale, count(plot.width(), 125));
  const Ticks y = PlaceTicks(panel.y.min, panel.y.max, panel.y.scale, count(plot.height(), panel.is_efficiency ? 70 : 78));
  const auto at_x = [&](double v) { return panel.At({v, panel.y.min}).x(); };
  const auto at_y = [&](double v) { return panel.At({panel.x.min, v}).y(); };

  painter.setPen(QPen(look.grid, kHairWidth, Qt::SolidLine, Qt::FlatCap));
  for (double v : x.major) painter.drawLine(QPointF(at_x(v), plot.top()), QPointF(at_x(v), plot.bottom()));
  for (double v : y.major) painter.drawLine(QPointF(plot.left(), at_y(v)), QPointF(plot.right(), at_y(v)));

  painter.setPen(QPen(look.ink, 1.2, Qt::SolidLine, Qt::FlatCap));
  for (double v : x.minor) painter.drawLine(QPointF(at_x(v), plot.bottom()), QPointF(at_x(v), plot.bottom() + 5));
  for (double v : y.minor) painter.drawLine(QPointF(plot.left(), at_y(v)), QPointF(plot.left() - 5, at_y(v)));
  painter.setPen(QPen(look.ink, 1.6, Qt::SolidLine, Qt::FlatCap));
  for (double v : x.major) painter.drawLine(QPointF(at_x(v), plot.bottom()), QPointF(at_x(v), plot.bottom() + 9));
  for (double v : y.major) painter.drawLine(QPointF(plot.left(), at_y(v)), QPointF(plot.left() - 9, at_y(v)));
  painter.setPen(QPen(look.ink, 1.8, Qt::SolidLine, Qt::SquareCap));
  painter.drawLine(plot.bottomLeft(), plot.bottomRight());
  painter.drawLine(plot.bottomLeft(), plot.topLeft());

  painter.setFont(ChartFont(Print::kBody));
  painter.setPen(look.ink);
  const QFontMetricsF metrics(painter.font());
  const auto number = [](double v, const Ticks& ticks, AxisScale scale) {
    return Text(scale == AxisScale::kLog ? ValueOnChart(v) : NumberOnChart(v, ticks.decimals));
  };
  for (double v : y.major) {
    const QString text = number(v, y, panel.y.scale);
    painter.drawText(QPointF(plot.left() - 15 - metrics.horizontalAdvance(text), at_y(v) + metrics.capHeight() / 2), text);
  }
  const auto words = [&](const Axis& axis) {
    return QFontMetricsF(ChartFont(Print::kBody)).elidedText(Text(AxisWords(axis, map.reference_conditions)), Qt::ElideRight, plot.width() + 60);
  };
  painter.drawText(QPointF(plot.left() - 9, plot.top() - 18), words(panel.y));
  if (!panel.shows_x) return;
  for (double v : x.major) {
    const QString text = number(v, x, panel.x.scale);
    painter.drawText(QPointF(at_x(v) - metrics.horizontalAdvance(text) / 2, plot.bottom() + 15 + metrics.capHeight()), text);
  }
  const QString title = words(panel.x);
  painter.drawText(QPointF(plot.right() - metrics.horizontalAdvance(title), plot.bottom() + 42 + metrics.capHeight()), title);
}

ChartPanel InChartUnits(const ChartPanel& panel, const QRectF& area, double unit) {
  ChartPanel scaled = panel;
  scaled.plot = QRectF((panel.plot.topLeft() - area.topLeft()) / unit, panel.plot.size() / unit);
  return scaled;
}

QRectF InChartUnits(const QRectF& rect, const QRectF& area, double unit) { return {(rect.topLeft() - area.topLeft()) / unit, rect.size() / unit}; }

}  // namespace

Result<void> ChartOptions::Check() const {
  if (text_size < 0 || !std::isfinite(text_size))
    return Fail(ErrorCode::kInvalidArgument, "The chart's text size must be zero or more.", "text_size");
  for (const auto& span : {x, y})
    if (span && !(span->max > span->min))
      return Fail(ErrorCode::kInvalidArgument, "A chart's span must run from a smaller to a larger value.", "span");
  return {};
}

void DrawChart(QPainter& painter, const QRectF& area, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options) {
  if (area.width() <= 0 || area.height() <= 0) return;
  const ChartLook look = options.night ? ChartLook::Night() : ChartLook::Day();
  const std::vector<ChartDoubt> doubts = NumberDoubts(map);
  const double unit = ChartUnit(area, options);
  const KeyBlock key = PlanKey((area.width() - 74 * unit) / unit, overlay, doubts, options);
  const ChartFrame frame = LayOutChart(area, map, overlay, options, key.height);

  painter.save();
  painter.setRenderHints(QPainter::Antialiasing | QPainter::TextAntialiasing);
  painter.translate(area.topLeft());
  painter.scale(unit, unit);
  painter.fillRect(QRectF(0, 0, area.width() / unit, area.height() / unit), look.paper);
  if (options.show_title) DrawTitle(painter, InChartUnits(frame.title, area, unit), map, options, look);
  for (const ChartPanel& placed : frame.panels) {
    const ChartPanel panel = InChartUnits(placed, area, unit);
    DrawAxes(painter, panel, map, look);
    DrawMarks(painter, PlaceMarks(panel, map, overlay, doubts, options, look), look);
    DrawOverlay(painter, panel, overlay, look);
  }
  if (map.curves.empty()) {
    const QRectF middle =
        frame.panels.empty() ? QRectF(0, 0, area.width() / unit, area.height() / unit) : InChartUnits(frame.panels.front().plot, area, unit);
    painter.setFont(ChartFont(Print::kBody));
    painter.setPen(look.faint_ink);
    const QString text = frame.panels.empty() ? QStringLiteral("This map has no axes and no curves.") : QStringLiteral("This map has no curves.");
    painter.drawText(QPointF(middle.center().x() - QFontMetricsF(painter.font()).horizontalAdvance(text) / 2, middle.center().y()), text);
  }
  if (key.height > 0) DrawKey(painter, InChartUnits(frame.key, area, unit), key, look);
  painter.restore();
}

}  // namespace islebook
