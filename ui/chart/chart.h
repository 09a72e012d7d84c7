#pragma once
// One drawing of a performance map, for window, SVG, PNG and PDF. No widgets: anything that has a QPainter can be drawn on.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include <QRectF>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"
#include "ui/chart/ticks.h"

class QPainter;

namespace islebook {

// An operating point, in the map's own axis units.
struct ChartPoint {
  Point2 at;
  std::optional<double> efficiency;  // on a turbine's efficiency panel, in that axis's unit
  std::string words;                 // stands in the key beside the number; may be empty
  bool off_map = false;              // drawn in the limit's color
  bool chosen = false;
  int number = 0;  // on its disc and in the key; 0: its place in the order given, from 1
};

// An operating line from low to high engine speed.
struct ChartLine {
  std::vector<Point2> points;
  std::string words;       // stands at its end ("sea level", "2,500 m"); may be empty
  double lightness = 0.0;  // 0 full ink .. 0.8: for altitudes
};

// A curve as it was before, in the map's own axis units: a thin dashed line under the points.
struct ChartTrace {
  std::vector<Point2> points;
  bool closed = false;
  bool on_efficiency = false;  // of a turbine's efficiency panel
};

struct ChartOverlay {
  std::vector<ChartPoint> points;
  std::vector<ChartLine> lines;
  std::vector<ChartTrace> traces;
};

inline int NumberOf(const ChartOverlay& overlay, std::size_t point) {
  return overlay.points[point].number > 0 ? overlay.points[point].number : static_cast<int>(point) + 1;
}

struct ChartOptions {
  bool night = false;
  bool show_title = true;
  bool show_doubts = true;       // halos, flags and their list
  bool show_key = true;          // words of points and doubts under the chart
  double text_size = 0.0;        // height of body print in painter units; 0: from the size of the drawing
  std::string caption;           // second line under the title; empty: kind and source
  std::optional<AxisSpan> x, y;  // shown span in axis units; nullopt: all curves and points
  Result<void> Check() const;
};

// Draws into `area` of the painter, over everything below it. The map may be without curves or axes: the drawing then says so.
// A QGuiApplication must exist.
void DrawChart(QPainter& painter, const QRectF& area, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options);

}  // namespace islebook
