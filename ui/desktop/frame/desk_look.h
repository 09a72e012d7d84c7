#pragma once
// How the window looks, by day and by night: the chart's paper, ink and spot colors, and what panels need besides.

#include <QColor>
#include <QPalette>
#include <QString>

#include "ui/chart/chart_look.h"

namespace islebook {

struct DeskLook {
  ChartLook chart;
  QColor panel;   // strip and facts column: one step from the paper
  QColor edge;    // hairlines between panels
  QColor chosen;  // ground of the chosen row: a breath of ochre
  static DeskLook Of(bool night);
};

QPalette DeskPalette(const DeskLook& look);
QString DeskStyle(const DeskLook& look);

}  // namespace islebook
