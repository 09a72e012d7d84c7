#include "ui/chart/chart_look.h"

#include <QStringList>

namespace islebook {

QColor Mix(const QColor& top, const QColor& bottom, double part) {
  const auto mix = [part](int a, int b) { return static_cast<int>(a * part + b * (1 - part) + 0.5); };
  return {mix(top.red(), bottom.red()), mix(top.green(), bottom.green()), mix(top.blue(), bottom.blue())};
}

ChartLook ChartLook::Day() {
  ChartLook look;
  look.grid = Mix(look.ink, look.paper, 0.13);
  look.faint_ink = Mix(look.ink, look.paper, 0.72);
  look.sea_print = look.sea;
  look.oxide_print = look.oxide;
  return look;
}

ChartLook ChartLook::Night() {
  ChartLook look;
  look.night = true;
  look.paper = QColor("#14191D");
  look.ink = QColor("#E8E4DA");
  look.grid = Mix(look.ink, look.paper, 0.14);
  look.faint_ink = Mix(look.ink, look.paper, 0.72);
  // Small print in the spot colors is too dim on blue-black: it takes ink, the line keeps the color.
  look.sea_print = Mix(look.ink, look.sea, 0.6);
  look.oxide_print = Mix(look.ink, look.oxide, 0.45);
  return look;
}

QFont ChartFont(Print print) {
  QFont font;
  font.setFamilies({QStringLiteral("DejaVu Sans"), QStringLiteral("sans-serif")});
  font.setHintingPreference(QFont::PreferNoHinting);
  font.setKerning(true);
  switch (print) {
    case Print::kTitle:
      font.setPixelSize(30);
      font.setWeight(QFont::Bold);
      break;
    case Print::kBody: font.setPixelSize(20); break;
    case Print::kSmall: font.setPixelSize(17); break;
    case Print::kLabel: font.setPixelSize(18); break;
    case Print::kDisc:
      font.setPixelSize(15);
      font.setWeight(QFont::Bold);
      break;
  }
  return font;
}

}  // namespace islebook
