#include "ui/chart/chart.h"

#include <algorithm>
#include <cmath>

#include <QFontMetricsF>
#include <QPainter>

#include "ui/chart/chart_axes.h"
#include "ui/chart/chart_frame.h"
#include "ui/chart/chart_look.h"
#include "ui/chart/chart_words.h"
#include "ui/chart/curve_marks.h"
#include "ui/chart/key_block.h"
#include "ui/chart/said.h"

namespace islebook {
namespace {

std::string Counted(int count, const char* one, const char* many) {
  return Said(std::to_string(count) + " " + (count == 1 ? one : many)).toStdString();
}

std::string Caption(const PerformanceMap& map) {
  int speed = 0, islands = 0, flow = 0, efficiency = 0;
  for (const Curve& curve : map.curves) {
    speed += curve.role == CurveRole::kSpeedLine;
    islands += curve.role == CurveRole::kEfficiencyIsland;
    flow += curve.role == CurveRole::kFlowLine;
    efficiency += curve.role == CurveRole::kEfficiencyLine;
  }
  std::string words = Said(std::string(!map.kind                           ? "Chart of unknown kind"
                                       : *map.kind == MapKind::kCompressor ? "Compressor map"
                                                                           : "Turbine map"))
                          .toStdString();
  const auto add = [&](const std::string& part) { words += " \u00b7 " + part; };
  if (speed) add(Counted(speed, "speed line", "speed lines"));
  if (islands) add(Counted(islands, "efficiency contour", "efficiency contours"));
  if (flow) add(Counted(flow, "flow line", "flow lines"));
  if (efficiency) add(Counted(efficiency, "efficiency line", "efficiency lines"));
  if (map.source && !map.source->file.empty()) add(Said("from " + map.source->file).toStdString());
  return words;
}

double KeyWidth(const QRectF& area, double unit) { return (area.width() - 74 * unit) / unit; }

}  // namespace

Result<void> ChartOptions::Check() const {
  if (text_size < 0 || !std::isfinite(text_size))
    return Fail(ErrorCode::kInvalidArgument, "The chart's text size must be zero or more.", "text_size");
  for (const auto& span : {x, y})
    if (span && !(span->max > span->min))
      return Fail(ErrorCode::kInvalidArgument, "A chart's span must run from a smaller to a larger value.", "span");
  return {};
}

ChartFrame FrameOfChart(const QRectF& area, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options) {
  if (area.width() <= 0 || area.height() <= 0) return {};
  const double unit = ChartUnit(area, options);
  return LayOutChart(area, map, overlay, options, PlanKey(KeyWidth(area, unit), overlay, NumberDoubts(map), options).height);
}

void DrawChart(QPainter& painter, const QRectF& area, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options) {
  if (area.width() <= 0 || area.height() <= 0) return;
  const ChartLook look = options.night ? ChartLook::Night() : ChartLook::Day();
  const std::vector<ChartDoubt> doubts = NumberDoubts(map);
  const double unit = ChartUnit(area, options);
  const KeyBlock key = PlanKey(KeyWidth(area, unit), overlay, doubts, options);
  const ChartFrame frame = LayOutChart(area, map, overlay, options, key.height);

  painter.save();
  painter.setRenderHints(QPainter::Antialiasing | QPainter::TextAntialiasing);
  painter.translate(area.topLeft());
  painter.scale(unit, unit);
  painter.fillRect(QRectF(0, 0, area.width() / unit, area.height() / unit), look.paper);
  if (options.show_title)
    DrawChartTitle(painter, InChartUnits(frame.title, area, unit), map.title.empty() ? Said(std::string("Untitled map")).toStdString() : map.title,
                   options.caption.empty() ? Caption(map) : options.caption, look);
  for (const ChartPanel& placed : frame.panels) {
    const ChartPanel panel = InChartUnits(placed, area, unit);
    DrawAxes(painter, panel, map.reference_conditions, look);
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
