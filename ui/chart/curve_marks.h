#pragma once
// The marks of one plot: curves in their trade's signs, their labels, doubts, and the overlay. In chart units.

#include <vector>

#include <QPolygonF>
#include <QRectF>
#include <QString>

#include "ui/chart/chart.h"
#include "ui/chart/chart_frame.h"
#include "ui/chart/chart_look.h"
#include "ui/chart/chart_words.h"
#include "ui/chart/label_layout.h"

class QPainter;

namespace islebook {

struct DrawnCurve {
  const Curve* curve = nullptr;
  std::size_t index = 0;  // in the map
  QPolygonF line;         // closed islands repeat their first point
  double length = 0.0;
};

struct PlacedLabel {
  LabelBox box;
  QString text;
  Print print = Print::kLabel;
  QColor color;
  std::ptrdiff_t on_line = -1;  // index into the drawn curves: the line is interrupted under the label
  std::vector<QPointF> leader;  // hairline from the curve to a label that had to stand off; may be empty
};

struct PlacedFlag {
  QPointF center;
  int number = 0;
};

// Everything of one plot, placed and ready to draw.
struct PlotMarks {
  QRectF plot;
  std::vector<DrawnCurve> curves;
  std::vector<PlacedLabel> labels;
  std::vector<PlacedFlag> flags;
};

PlotMarks PlaceMarks(const ChartPanel& panel, const PerformanceMap& map, const ChartOverlay& overlay, const std::vector<ChartDoubt>& doubts,
                     const ChartOptions& options, const ChartLook& look);
void DrawMarks(QPainter& painter, const PlotMarks& marks, const ChartLook& look);
void DrawOverlay(QPainter& painter, const ChartPanel& panel, const ChartOverlay& overlay, const ChartLook& look);

}  // namespace islebook
