#include "ui/chart/chart_axes.h"

#include <algorithm>

#include <QFontMetricsF>
#include <QPainter>

#include "ui/chart/chart_words.h"
#include "ui/chart/said.h"
#include "ui/chart/ticks.h"

namespace islebook {
namespace {

QString Text(const std::string& s) { return QString::fromStdString(s); }

}  // namespace

void DrawChartTitle(QPainter& painter, const QRectF& area, const std::string& title, const std::string& caption, const ChartLook& look) {
  const auto fitted = [&](const std::string& text, Print print) {
    return QFontMetricsF(ChartFont(print)).elidedText(Text(text), Qt::ElideRight, area.width());
  };
  painter.setPen(look.ink);
  painter.setFont(ChartFont(Print::kTitle));
  painter.drawText(QPointF(area.left(), area.top() + 30), fitted(title, Print::kTitle));
  painter.setPen(look.faint_ink);
  painter.setFont(ChartFont(Print::kSmall));
  painter.drawText(QPointF(area.left(), area.top() + 60), fitted(caption, Print::kSmall));
}

QStringList AxisTitle(const Axis& axis, const std::optional<ReferenceConditions>& reference, double width) {
  const QFontMetricsF metrics(ChartFont(Print::kBody));
  QStringList lines{Said(QuantityWords(axis.quantity))};
  if (const QString unit = Text(UnitWords(axis.unit)); !unit.isEmpty()) lines[0] += QStringLiteral(", ") + unit;
  if (IsCorrected(axis.quantity)) lines << Said(reference ? ReferenceWords(*reference) : "reference conditions not stated");
  if (const QString whole = lines.join(QStringLiteral(", ")); metrics.horizontalAdvance(whole) <= width) lines = {whole};
  for (QString& line : lines) line = metrics.elidedText(line, Qt::ElideRight, width);
  return lines;
}

void DrawAxes(QPainter& painter, const ChartPanel& panel, const std::optional<ReferenceConditions>& reference, const ChartLook& look) {
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
  const double width = plot.width() + 60;
  // Words wider than the plot begin further left, over the numbers.
  const QString up = metrics.elidedText(AxisTitle(panel.y, reference, 1e5).front(), Qt::ElideRight, plot.right() + 30);
  painter.drawText(QPointF(std::clamp(plot.right() + 30 - metrics.horizontalAdvance(up), 4.0, plot.left() - 9), plot.top() - 18), up);
  if (!panel.shows_x) return;
  for (double v : x.major) {
    const QString text = number(v, x, panel.x.scale);
    painter.drawText(QPointF(at_x(v) - metrics.horizontalAdvance(text) / 2, plot.bottom() + 15 + metrics.capHeight()), text);
  }
  double y_title = plot.bottom() + 42 + metrics.capHeight();
  for (const QString& line : AxisTitle(panel.x, reference, width)) {
    painter.drawText(QPointF(plot.right() - metrics.horizontalAdvance(line), y_title), line);
    y_title += kTitleLine;
  }
}

ChartPanel InChartUnits(const ChartPanel& panel, const QRectF& area, double unit) {
  ChartPanel scaled = panel;
  scaled.plot = QRectF((panel.plot.topLeft() - area.topLeft()) / unit, panel.plot.size() / unit);
  return scaled;
}

QRectF InChartUnits(const QRectF& rect, const QRectF& area, double unit) { return {(rect.topLeft() - area.topLeft()) / unit, rect.size() / unit}; }

}  // namespace islebook
