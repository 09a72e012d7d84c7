#pragma once
// A strip: a few quantities over one axis, as lines with their words at the end. For boost and drive pressure over engine speed.

#include <optional>
#include <string>
#include <vector>

#include <QRectF>

#include "mapstore/map/performance_map.h"

class QPainter;

namespace islebook {

struct StripLine {
  std::vector<Point2> points;  // from low to high x
  std::string words;           // at its end
  bool limit = false;          // in the limit's color, dashed: drive pressure
  double lightness = 0.0;      // 0 full ink .. 0.8: for altitudes
};

struct StripOptions {
  std::string x_words, y_words;  // quantity and unit
  std::string title;             // above; may be empty
  double text_size = 10.0;       // height of body print in painter units
  bool night = false;
  bool from_zero = true;           // of the y axis
  std::optional<double> chosen_x;  // marked by a line from top to bottom
};

// Draws into `area` over everything below it. With no point to draw it says so. A QGuiApplication must exist.
void DrawStrip(QPainter& painter, const QRectF& area, const std::vector<StripLine>& lines, const StripOptions& options);

// One bar a row, from the middle line outward, the words on its left: what a change brings.
struct StripBar {
  std::string words;
  double value = 0.0;       // to the right of the middle line above 0
  std::string value_words;  // at the bar's end
  bool estimated = false;   // drawn hollow
};
// The height that so many rows want at this size of print.
double BarsHeight(std::size_t rows, double text_size);
void DrawBars(QPainter& painter, const QRectF& area, const std::vector<StripBar>& bars, const StripOptions& options);

}  // namespace islebook
