#pragma once
// The look of a chart: paper, ink and spot colors, letter sizes and line widths. Lengths are in chart units: body print is 20 units high.

#include <QColor>
#include <QFont>
#include <QPen>

namespace islebook {

struct ChartLook {
  QColor paper{"#FBF9F4"};
  QColor ink{"#1D2B33"};
  QColor oxide{"#B2502D"};
  QColor sea{"#0B6E75"};
  QColor ochre{"#C58B00"};
  QColor grid;       // ink, thinned with paper
  QColor faint_ink;  // ink for second-rank words
  QColor sea_print;  // islands' numbers: dark enough to read on this paper
  QColor oxide_print;
  bool night = false;

  static ChartLook Day();
  static ChartLook Night();
};

inline constexpr double kBodySize = 20.0;  // chart units, nominal height of body print
inline constexpr double kTitleWidth = 2.0;
inline constexpr double kSpeedWidth = 2.2;
inline constexpr double kIslandWidth = 1.5;
inline constexpr double kSurgeWidth = 4.6;
inline constexpr double kChokeWidth = 2.6;
inline constexpr double kHairWidth = 1.0;

enum class Print { kTitle, kBody, kSmall, kLabel, kDisc };
// No hinting, so that screen, picture and paper set the same widths.
QFont ChartFont(Print print);

// `top` over `bottom` at the given part (0..1) as a solid color: no transparency, which printers and old viewers treat unevenly.
QColor Mix(const QColor& top, const QColor& bottom, double part);

}  // namespace islebook
