#include "ui/chart/key_block.h"
#include "ui/chart/said.h"

#include <algorithm>

#include <QFontMetricsF>
#include <QPainter>

namespace islebook {
namespace {

constexpr double kLine = 26.0;  // from base line to base line
constexpr double kSignWidth = 38.0;
constexpr double kGutter = 30.0;
constexpr std::size_t kMostDoubts = 8;

void DrawCentered(QPainter& painter, QPointF center, const QString& text) {
  const QFontMetricsF metrics(painter.font());
  painter.drawText(QPointF(center.x() - metrics.horizontalAdvance(text) / 2, center.y() + metrics.capHeight() / 2), text);
}

}  // namespace

QStringList WrapWords(const QString& words, Print print, double width) {
  const QFontMetricsF metrics(ChartFont(print));
  QStringList lines;
  QString line;
  for (QString word : words.split(u' ', Qt::SkipEmptyParts)) {
    const QString longer = line.isEmpty() ? word : line + u' ' + word;
    if (metrics.horizontalAdvance(longer) <= width) {
      line = longer;
      continue;
    }
    if (!line.isEmpty()) lines << line;
    while (metrics.horizontalAdvance(word) > width && word.size() > 1) {  // a word longer than the line
      qsizetype fit = word.size() - 1;
      while (fit > 1 && metrics.horizontalAdvance(word.left(fit)) > width) --fit;
      lines << word.left(fit);
      word = word.mid(fit);
    }
    line = word;
  }
  if (!line.isEmpty()) lines << line;
  return lines;
}

void DrawDisc(QPainter& painter, QPointF center, int number, bool off_map, bool chosen, const ChartLook& look) {
  painter.setPen(QPen(look.paper, 2.5));
  painter.setBrush(off_map ? look.paper : look.ink);
  painter.drawEllipse(center, kDiscRadius + 1, kDiscRadius + 1);
  if (off_map) {
    painter.setPen(QPen(look.oxide, 2.6));
    painter.drawEllipse(center, kDiscRadius - 0.5, kDiscRadius - 0.5);
  }
  if (chosen) {
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(look.ochre, 4.0));
    painter.drawEllipse(center, kDiscRadius + 3, kDiscRadius + 3);
  }
  painter.setPen(off_map ? look.oxide_print : look.paper);
  painter.setFont(ChartFont(Print::kDisc));
  DrawCentered(painter, center, QString::number(number));
}

void DrawFlag(QPainter& painter, QPointF center, int number, const ChartLook& look) {
  painter.setPen(QPen(look.oxide, 1.6, Qt::DashLine));
  painter.setBrush(look.paper);
  painter.drawRect(QRectF(center.x() - kFlagHalf, center.y() - kFlagHalf, 2 * kFlagHalf, 2 * kFlagHalf));
  painter.setPen(look.oxide_print);
  painter.setFont(ChartFont(Print::kDisc));
  DrawCentered(painter, center, QString::number(number));
}

KeyBlock PlanKey(double width, const ChartOverlay& overlay, const std::vector<ChartDoubt>& doubts, const ChartOptions& options) {
  KeyBlock key;
  if (!options.show_key) return key;
  std::size_t count = 0;
  for (const ChartPoint& p : overlay.points) count += !p.words.empty();
  const std::size_t shown_doubts = options.show_doubts ? std::min(doubts.size(), kMostDoubts) : 0;
  count += shown_doubts;
  if (count == 0) return key;
  key.columns = width > 900 && count > 1 ? 2 : 1;
  key.column_width = (width - kGutter * (key.columns - 1)) / key.columns;
  const double words_width = key.column_width - kSignWidth;
  for (std::size_t i = 0; i < overlay.points.size(); ++i) {
    const ChartPoint& p = overlay.points[i];
    if (p.words.empty()) continue;
    key.entries.push_back({NumberOf(overlay, i), false, p.off_map, p.chosen, WrapWords(QString::fromStdString(p.words), Print::kSmall, words_width)});
  }
  for (std::size_t i = 0; i < shown_doubts; ++i)
    key.entries.push_back({doubts[i].number, true, false, false, WrapWords(Said(doubts[i].words), Print::kSmall, words_width)});
  if (options.show_doubts && doubts.size() > shown_doubts)
    key.entries.push_back(
        {0, true, false, false, {Said(QStringLiteral("and %1 more doubts, listed in the map's document").arg(doubts.size() - shown_doubts))}});
  // Entries run across the columns, row by row.
  for (std::size_t i = 0; i < key.entries.size(); i += key.columns) {
    qsizetype lines = 1;
    for (std::size_t c = 0; c < static_cast<std::size_t>(key.columns) && i + c < key.entries.size(); ++c)
      lines = std::max(lines, key.entries[i + c].lines.size());
    key.height += kLine * lines + 9;
  }
  key.height += 10;
  return key;
}

void DrawKey(QPainter& painter, const QRectF& area, const KeyBlock& key, const ChartLook& look) {
  if (key.height <= 0) return;
  painter.setPen(QPen(look.grid, kHairWidth));
  painter.drawLine(area.topLeft(), area.topRight());
  double y = area.top() + 10;
  for (std::size_t i = 0; i < key.entries.size(); i += key.columns) {
    qsizetype lines = 1;
    for (std::size_t c = 0; c < static_cast<std::size_t>(key.columns) && i + c < key.entries.size(); ++c) {
      const KeyEntry& entry = key.entries[i + c];
      lines = std::max(lines, entry.lines.size());
      const double x = area.left() + c * (key.column_width + kGutter);
      const QPointF sign(x + kDiscRadius + 2, y + kLine / 2 + 1);
      if (entry.number > 0 && entry.is_doubt)
        DrawFlag(painter, sign, entry.number, look);
      else if (entry.number > 0)
        DrawDisc(painter, sign, entry.number, entry.off_map, entry.chosen, look);
      painter.setFont(ChartFont(Print::kSmall));
      painter.setPen(look.ink);
      const QFontMetricsF metrics(painter.font());
      for (qsizetype l = 0; l < entry.lines.size(); ++l)
        painter.drawText(QPointF(x + kSignWidth, y + kLine * l + kLine / 2 + metrics.capHeight() / 2 + 1), entry.lines[l]);
    }
    y += kLine * lines + 9;
  }
}

}  // namespace islebook
