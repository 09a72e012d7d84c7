#pragma once
// The key under a chart: what the numbered discs and flags stand for, in columns.

#include <vector>

#include <QRectF>
#include <QString>
#include <QStringList>

#include "ui/chart/chart.h"
#include "ui/chart/chart_look.h"
#include "ui/chart/chart_words.h"

class QPainter;

namespace islebook {

struct KeyEntry {
  int number = 0;  // 0: no sign before the words
  bool is_doubt = false;
  bool off_map = false;
  bool chosen = false;
  QStringList lines;  // wrapped
};

struct KeyBlock {
  std::vector<KeyEntry> entries;
  int columns = 1;
  double column_width = 0.0;
  double height = 0.0;  // chart units; 0: nothing to say
};

KeyBlock PlanKey(double width, const ChartOverlay& overlay, const std::vector<ChartDoubt>& doubts, const ChartOptions& options);
void DrawKey(QPainter& painter, const QRectF& area, const KeyBlock& key, const ChartLook& look);

// The signs, centered: a point's disc and a doubt's square flag.
void DrawDisc(QPainter& painter, QPointF center, int number, bool off_map, bool chosen, const ChartLook& look);
void DrawFlag(QPainter& painter, QPointF center, int number, const ChartLook& look);
inline constexpr double kDiscRadius = 13.0;
inline constexpr double kFlagHalf = 11.0;

// Words broken into lines no wider than `width`.
QStringList WrapWords(const QString& words, Print print, double width);

}  // namespace islebook
