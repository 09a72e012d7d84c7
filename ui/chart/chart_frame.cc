#include "ui/chart/chart_frame.h"

#include <algorithm>
#include <cmath>

#include <QFontMetricsF>
#include <QString>

#include "ui/chart/chart_axes.h"
#include "ui/chart/chart_look.h"
#include "ui/chart/ticks.h"

namespace islebook {
namespace {

struct Extent {
  double min = 1e300, max = -1e300;
  void Add(double v) {
    if (!std::isfinite(v)) return;
    min = std::min(min, v), max = std::max(max, v);
  }
  bool empty() const { return min > max; }
};

double Part(const Axis& axis, double value) {
  if (axis.scale == AxisScale::kLog && axis.min > 0) {
    if (value <= 0) return -1.0;
    return std::log(value / axis.min) / std::log(axis.max / axis.min);
  }
  return (value - axis.min) / (axis.max - axis.min);
}

double ValueOfPart(const Axis& axis, double part) {
  if (axis.scale == AxisScale::kLog && axis.min > 0) return axis.min * std::pow(axis.max / axis.min, part);
  return axis.min + part * (axis.max - axis.min);
}

bool IsRatio(Quantity q) {
  return q == Quantity::kPressureRatioTotalToTotal || q == Quantity::kPressureRatioTotalToStatic || q == Quantity::kExpansionRatioTotalToStatic ||
         q == Quantity::kExpansionRatioTotalToTotal;
}

// The span to show: all of the data with some air, from the quantity's natural floor where that is near.
Axis Shown(const Axis& axis, Extent data, double air_above, int about) {
  Axis shown = axis;
  if (data.empty()) data.Add(axis.min), data.Add(axis.max);
  const bool log = axis.scale == AxisScale::kLog && data.min > 0;
  if (!log) shown.scale = AxisScale::kLinear;
  double low = data.min, high = data.max;
  if (log) {
    high *= std::pow(high / low, air_above);
  } else {
    const double span = std::max(high - low, 1e-12);
    high += air_above * span;
    if (IsRatio(axis.quantity) && low >= 1.0 && low - 1.0 < span)
      low = 1.0;
    else if (low >= 0 &&
             low < (axis.quantity == Quantity::kEfficiencyTotalToStatic || axis.quantity == Quantity::kEfficiencyTotalToTotal ? 0.15 : 0.45) * high)
      low = 0.0;
    else
      low -= 0.04 * span;
  }
  const AxisSpan round = RoundOutward(low, high, shown.scale, about);
  shown.min = round.min, shown.max = round.max;
  if (IsRatio(axis.quantity) && data.min >= 1.0) shown.min = std::max(shown.min, 1.0);
  return shown;
}

double NumberWidth(const Axis& axis, int about) {
  const QFontMetricsF metrics(ChartFont(Print::kBody));
  const Ticks ticks = PlaceTicks(axis.min, axis.max, axis.scale, about);
  double width = 0.0;
  for (double v : ticks.major) width = std::max(width, metrics.horizontalAdvance(QString::fromStdString(NumberOnChart(v, ticks.decimals))));
  return width;
}

}  // namespace

QPointF ChartPanel::At(Point2 value) const {
  return {plot.left() + Part(x, value.x) * plot.width(), plot.bottom() - Part(y, value.y) * plot.height()};
}

Point2 ChartPanel::ValueAt(QPointF place) const {
  return {ValueOfPart(x, (place.x() - plot.left()) / plot.width()), ValueOfPart(y, (plot.bottom() - place.y()) / plot.height())};
}

double ChartUnit(const QRectF& area, const ChartOptions& options) {
  if (options.text_size > 0) return options.text_size / kBodySize;
  return std::max(std::sqrt(area.width() * area.height()) / 1390.0, 1e-6);
}

ChartFrame LayOutChart(const QRectF& area, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options, double key_height) {
  ChartFrame frame;
  frame.unit = ChartUnit(area, options);
  const double k = frame.unit;
  const QRectF room = area.adjusted(34 * k, 26 * k, -40 * k, -24 * k);
  frame.title = QRectF(room.left(), room.top(), room.width(), options.show_title ? 74 * k : 0.0);
  if (key_height > 0) frame.key = QRectF(room.left(), room.bottom() - key_height * k, room.width(), key_height * k);
  if (!map.x || !map.y) return frame;

  Extent x, y, efficiency;
  for (const Curve& curve : map.curves) {
    for (const Point2& p : curve.points) {
      x.Add(p.x);
      (curve.role == CurveRole::kEfficiencyLine ? efficiency : y).Add(p.y);
    }
  }
  for (const ChartPoint& p : overlay.points) {
    x.Add(p.at.x), y.Add(p.at.y);
    if (p.efficiency) efficiency.Add(*p.efficiency);
  }
  for (const ChartLine& line : overlay.lines)
    for (const Point2& p : line.points) x.Add(p.x), y.Add(p.y);

  const bool two_panels = !efficiency.empty() && map.efficiency.has_value();
  // What the numbers of the axis up leave to the words of the axis across, plus what those may stand out.
  const auto title_lines = AxisTitle(*map.x, map.reference_conditions, room.width() / k - 40).size();
  const double below = 62 + kTitleLine * static_cast<double>(title_lines - 1);
  const double top = frame.title.bottom() + 38 * k, bottom = (key_height > 0 ? frame.key.top() - 22 * k : room.bottom()) - below * k;
  const double between = 62 * k;
  const double height = std::max(bottom - top, 40 * k);
  const double upper = two_panels ? (height - between) * 0.42 : 0.0;
  const double lower = two_panels ? height - between - upper : height;

  const auto count = [k](double length, double each) { return std::clamp(static_cast<int>(length / (each * k)), 3, 12); };
  ChartPanel main;
  // A turbine's numbers stand to the right of its lines.
  const double air = map.kind == MapKind::kTurbine ? 150 * k / room.width() : 0.06;
  main.x = Shown(*map.x, x, air, count(room.width(), 125));
  main.y = Shown(*map.y, y, 0.05, count(lower, 78));
  if (options.x) main.x.min = options.x->min, main.x.max = options.x->max;
  if (options.y) main.y.min = options.y->min, main.y.max = options.y->max;
  ChartPanel second = main;
  if (two_panels) second.y = Shown(*map.efficiency, efficiency, 0.05, count(upper, 70));

  double left = NumberWidth(main.y, count(lower, 78));
  if (two_panels) left = std::max(left, NumberWidth(second.y, count(upper, 70)));
  const QRectF plots(room.left() + (left + 20) * k, top, room.width() - (left + 20) * k, height);
  main.plot = QRectF(plots.left(), plots.bottom() - lower, plots.width(), lower);
  frame.panels.push_back(main);
  if (two_panels) {
    second.plot = QRectF(plots.left(), plots.top(), plots.width(), upper);
    second.is_efficiency = true;
    second.shows_x = false;
    frame.panels.push_back(second);
  }
  return frame;
}

}  // namespace islebook
