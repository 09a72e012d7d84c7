#include "ui/chart/strip.h"

#include <algorithm>
#include <cmath>

#include <QFontMetricsF>
#include <QPainter>
#include <QPainterPath>
#include <QString>

#include "ui/chart/chart_look.h"
#include "ui/chart/said.h"
#include "ui/chart/ticks.h"

namespace islebook {
namespace {

QFont Sized(Print print, double height) {
  QFont font = ChartFont(print);
  font.setPixelSize(std::max(1, static_cast<int>(std::lround(height))));
  return font;
}

// As large as the width allows.
QFont TitleFont(const std::string& text, double size, double width) {
  const double wanted = QFontMetricsF(Sized(Print::kTitle, 1.1 * size)).horizontalAdvance(Said(text));
  return Sized(Print::kTitle, 1.1 * size * std::min(1.0, width / std::max(wanted, 1.0)));
}

QString Words(const std::string& text) { return Said(text); }

// Words at the right ends of lines, moved apart so that none covers another.
std::vector<double> MovedApart(std::vector<double> wanted, double step) {
  std::vector<std::size_t> order(wanted.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return wanted[a] < wanted[b]; });
  for (int round = 0; round < 50; ++round)
    for (std::size_t i = 1; i < order.size(); ++i) {
      double &above = wanted[order[i - 1]], &below = wanted[order[i]];
      const double missing = step - (below - above);
      if (missing <= 0) continue;
      above -= 0.5 * missing;
      below += 0.5 * missing;
    }
  return wanted;
}

}  // namespace

void DrawStrip(QPainter& painter, const QRectF& area, const std::vector<StripLine>& lines, const StripOptions& options) {
  const ChartLook look = options.night ? ChartLook::Night() : ChartLook::Day();
  const double size = options.text_size, unit = size / kBodySize;
  painter.save();
  painter.setRenderHint(QPainter::Antialiasing);
  painter.fillRect(area, look.paper);
  const QFont body = Sized(Print::kBody, size), small = Sized(Print::kSmall, 0.85 * size),
              title = TitleFont(options.title, size, area.width() - 0.8 * size);
  const QFontMetricsF metrics(small);
  double left_x = 1e300, right_x = -1e300, low = options.from_zero ? 0.0 : 1e300, high = -1e300, widest = 0.0;
  for (const StripLine& line : lines) {
    widest = std::max(widest, metrics.horizontalAdvance(Words(line.words)));
    for (const Point2& point : line.points) {
      left_x = std::min(left_x, point.x);
      right_x = std::max(right_x, point.x);
      low = std::min(low, point.y);
      high = std::max(high, point.y);
    }
  }
  const double top = area.top() + (options.title.empty() ? 0.6 : 2.2) * size;
  if (!options.title.empty()) {
    painter.setFont(title);
    painter.setPen(look.ink);
    painter.drawText(QRectF(area.left() + 0.4 * size, area.top(), area.width(), 1.8 * size), Qt::AlignLeft | Qt::AlignVCenter, Words(options.title));
  }
  if (!(right_x >= left_x && high >= low)) {
    painter.setFont(body);
    painter.setPen(look.faint_ink);
    painter.drawText(area, Qt::AlignCenter, QStringLiteral("No point to draw."));
    painter.restore();
    return;
  }
  const AxisSpan x = RoundOutward(left_x, right_x > left_x ? right_x : left_x + 1, AxisScale::kLinear, 6);
  const AxisSpan y = RoundOutward(low, high > low ? high * 1.03 : low + 1, AxisScale::kLinear, 5);
  const Ticks x_ticks = PlaceTicks(x.min, x.max, AxisScale::kLinear, 6), y_ticks = PlaceTicks(y.min, y.max, AxisScale::kLinear, 5);
  double numbers = 0.0;
  for (const double tick : y_ticks.major) numbers = std::max(numbers, metrics.horizontalAdvance(Words(NumberOnChart(tick, y_ticks.decimals))));
  const QRectF plot(area.left() + numbers + 2.6 * size, top, area.width() - numbers - widest - 4.4 * size, area.bottom() - top - 3.4 * size);
  const auto at = [&](const Point2& point) {
    return QPointF(plot.left() + (point.x - x.min) / (x.max - x.min) * plot.width(),
                   plot.bottom() - (point.y - y.min) / (y.max - y.min) * plot.height());
  };
  painter.setFont(small);
  for (const double tick : x_ticks.major) {
    const double place = at({tick, y.min}).x();
    painter.setPen(QPen(look.grid, kHairWidth * unit));
    painter.drawLine(QPointF(place, plot.top()), QPointF(place, plot.bottom()));
    painter.setPen(look.ink);
    painter.drawText(QRectF(place - 5 * size, plot.bottom() + 0.25 * size, 10 * size, 1.2 * size), Qt::AlignHCenter | Qt::AlignTop,
                     Words(NumberOnChart(tick, x_ticks.decimals)));
  }
  for (const double tick : y_ticks.major) {
    const double place = at({x.min, tick}).y();
    painter.setPen(QPen(look.grid, kHairWidth * unit));
    painter.drawLine(QPointF(plot.left(), place), QPointF(plot.right(), place));
    painter.setPen(look.ink);
    painter.drawText(QRectF(plot.left() - 20 * size, place - size, 19.6 * size, 2 * size), Qt::AlignRight | Qt::AlignVCenter,
                     Words(NumberOnChart(tick, y_ticks.decimals)));
  }
  if (options.chosen_x && *options.chosen_x >= x.min && *options.chosen_x <= x.max) {
    const double place = at({*options.chosen_x, y.min}).x();
    painter.setPen(QPen(look.ochre, 3.4 * unit));
    painter.drawLine(QPointF(place, plot.top()), QPointF(place, plot.bottom()));
  }
  painter.setPen(QPen(look.ink, kHairWidth * 1.4 * unit));
  painter.setBrush(Qt::NoBrush);
  painter.drawRect(plot);
  painter.setFont(small);
  painter.drawText(QRectF(plot.left(), plot.bottom() + 1.6 * size, plot.width(), 1.5 * size), Qt::AlignCenter, Words(options.x_words));
  painter.save();
  painter.translate(area.left() + 0.9 * size, plot.center().y());
  painter.rotate(-90);
  painter.drawText(QRectF(-plot.height(), -0.8 * size, 2 * plot.height(), 1.6 * size), Qt::AlignCenter, Words(options.y_words));
  painter.restore();

  std::vector<double> ends;
  for (const StripLine& line : lines) ends.push_back(line.points.empty() ? plot.bottom() : at(line.points.back()).y());
  ends = MovedApart(ends, 1.15 * size);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const StripLine& line = lines[i];
    if (line.points.empty()) continue;
    const QColor color = Mix(line.limit ? look.oxide : look.ink, look.paper, 1.0 - line.lightness);
    QPen pen(color, kSpeedWidth * 1.2 * unit);
    if (line.limit) pen.setDashPattern({5, 2.5});
    pen.setCapStyle(Qt::FlatCap);
    painter.setPen(pen);
    QPainterPath path(at(line.points.front()));
    for (const Point2& point : line.points) path.lineTo(at(point));
    painter.setBrush(Qt::NoBrush);
    painter.drawPath(path);
    painter.setBrush(look.paper);
    painter.setPen(QPen(color, kSpeedWidth * unit));
    for (const Point2& point : line.points) painter.drawEllipse(at(point), 3.2 * unit, 3.2 * unit);
    painter.setPen(line.limit ? look.oxide_print : look.ink);
    painter.setFont(small);
    const double last = at(line.points.back()).x();
    painter.drawText(QRectF(std::max(last, plot.right()) + 0.5 * size, ends[i] - size, widest + 2 * size, 2 * size), Qt::AlignLeft | Qt::AlignVCenter,
                     Words(line.words));
  }
  painter.restore();
}

double BarsHeight(std::size_t rows, double text_size) { return (static_cast<double>(rows) * 1.7 + 3.2) * text_size; }

void DrawBars(QPainter& painter, const QRectF& area, const std::vector<StripBar>& bars, const StripOptions& options) {
  const ChartLook look = options.night ? ChartLook::Night() : ChartLook::Day();
  const double size = options.text_size, unit = size / kBodySize, row = 1.7 * size;
  painter.save();
  painter.setRenderHint(QPainter::Antialiasing);
  painter.fillRect(area, look.paper);
  painter.setFont(TitleFont(options.title, size, area.width() - 0.8 * size));
  painter.setPen(look.ink);
  painter.drawText(QRectF(area.left() + 0.4 * size, area.top(), area.width(), 1.8 * size), Qt::AlignLeft | Qt::AlignVCenter, Words(options.title));
  const QFont small = Sized(Print::kSmall, 0.85 * size);
  painter.setFont(small);
  const QFontMetricsF metrics(small);
  double words = 0.0, values = 0.0, most = 0.0;
  for (const StripBar& bar : bars) {
    words = std::max(words, metrics.horizontalAdvance(Words(bar.words)));
    values = std::max(values, metrics.horizontalAdvance(Words(bar.value_words)));
    most = std::max(most, std::abs(bar.value));
  }
  words = std::min(words, 0.55 * area.width());
  const double left = area.left() + words + 1.2 * size, right = area.right() - 0.6 * size, middle = 0.5 * (left + right);
  const double reach = std::max(0.5 * (right - left) - values - 0.8 * size, size), top = area.top() + 2.2 * size;
  painter.setPen(QPen(look.ink, kHairWidth * 1.4 * unit));
  painter.drawLine(QPointF(middle, top), QPointF(middle, top + row * static_cast<double>(bars.size())));
  for (std::size_t i = 0; i < bars.size(); ++i) {
    const StripBar& bar = bars[i];
    const double y = top + row * static_cast<double>(i), length = most > 0.0 ? bar.value / most * reach : 0.0;
    painter.setPen(look.ink);
    painter.drawText(QRectF(area.left() + 0.4 * size, y, words, row), Qt::AlignRight | Qt::AlignVCenter,
                     metrics.elidedText(Words(bar.words), Qt::ElideRight, words));
    const QColor color = bar.value < 0.0 ? look.oxide : look.sea;
    const QRectF body = QRectF(QPointF(middle, y + 0.35 * size), QPointF(middle + length, y + row - 0.35 * size)).normalized();
    painter.setPen(QPen(color, kIslandWidth * unit));
    painter.setBrush(bar.estimated ? QBrush(Qt::NoBrush) : QBrush(Mix(color, look.paper, 0.75)));
    if (std::abs(length) > 0.5 * unit) painter.drawRect(body);
    painter.setPen(look.ink);
    const bool to_left = bar.value < 0.0;
    const QRectF place(to_left ? body.left() - values - 1.2 * size : body.right() + 0.4 * size, y, values + 0.8 * size, row);
    painter.drawText(place, (to_left ? Qt::AlignRight : Qt::AlignLeft) | Qt::AlignVCenter, Words(bar.value_words));
  }
  painter.restore();
}

}  // namespace islebook
