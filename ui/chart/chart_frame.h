#pragma once
// Where the parts of a chart stand: the plots, the title and the key, and the way from axis values to the drawing and back.

#include <vector>

#include <QPointF>
#include <QRectF>

#include "mapstore/map/performance_map.h"
#include "ui/chart/chart.h"

namespace islebook {

struct ChartPanel {
  QRectF plot;  // in the units of the area that was laid out
  Axis x, y;    // with the shown span as min and max
  bool is_efficiency = false;
  bool shows_x = true;  // numbers and title under it

  QPointF At(Point2 value) const;
  Point2 ValueAt(QPointF place) const;
};

struct ChartFrame {
  double unit = 1.0;  // area units per chart unit (chart_look.h)
  QRectF title;
  QRectF key;                      // empty: none
  std::vector<ChartPanel> panels;  // main plot first; empty where the map has no axes
};

// Scale of the drawing: area units per chart unit.
double ChartUnit(const QRectF& area, const ChartOptions& options);

// `key_height` in chart units. The result is in area units.
ChartFrame LayOutChart(const QRectF& area, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options, double key_height);

// Where DrawChart puts everything with these options: for reading values under a cursor.
ChartFrame FrameOfChart(const QRectF& area, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options);

}  // namespace islebook
