#pragma once
// The paper of a chart before any curve: title, axes with ticks and words, grid. In chart units. For this folder's own use.

#include <optional>
#include <string>

#include <QRectF>
#include <QStringList>

#include "ui/chart/chart_frame.h"
#include "ui/chart/chart_look.h"

class QPainter;

namespace islebook {

void DrawChartTitle(QPainter& painter, const QRectF& area, const std::string& title, const std::string& caption, const ChartLook& look);
// The words of an axis in one line, or in two where they are wider than `width`: what it shows, and what that is corrected to.
QStringList AxisTitle(const Axis& axis, const std::optional<ReferenceConditions>& reference, double width);
constexpr double kTitleLine = 26.0;  // from one line of an axis's words to the next

void DrawAxes(QPainter& painter, const ChartPanel& panel, const std::optional<ReferenceConditions>& reference, const ChartLook& look);

// From area units to chart units, the area's corner being the origin.
ChartPanel InChartUnits(const ChartPanel& panel, const QRectF& area, double unit);
QRectF InChartUnits(const QRectF& rect, const QRectF& area, double unit);

}  // namespace islebook
