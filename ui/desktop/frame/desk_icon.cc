#include "ui/desktop/frame/desk_icon.h"

#include <QFile>
#include <QPainter>
#include <QPixmap>
#include <QSvgRenderer>

#include "ui/desktop/frame/desk_look.h"

// The drawings lie in a static library: they are there once somebody asks for them by name, which Qt wants done outside of any namespace.
static void NeedIcons() { Q_INIT_RESOURCE(icons); }

namespace islebook {
namespace {

// The colors that the drawings are made with.
constexpr char kInk[] = "#1D2B33";
constexpr char kOxide[] = "#B2502D";
constexpr char kSea[] = "#0B6E75";

}  // namespace

QIcon DeskIcon(const QString& name, const DeskLook& look) {
  NeedIcons();
  QFile file(QStringLiteral(":/icons/%1.svg").arg(name));
  if (!file.open(QIODevice::ReadOnly)) return {};
  QByteArray drawing = file.readAll();
  drawing.replace(kInk, look.chart.ink.name().toUtf8());
  drawing.replace(kOxide, look.chart.oxide_print.name().toUtf8());
  drawing.replace(kSea, look.chart.sea_print.name().toUtf8());
  QSvgRenderer renderer(drawing);
  QIcon icon;
  for (int size : {18, 20, 24, 36, 40, 48, 72}) {  // twice as large ones for screens of high density
    QPixmap pixmap(size, size);
    pixmap.fill(Qt::transparent);
    QPainter painter(&pixmap);
    renderer.render(&painter);
    painter.end();
    icon.addPixmap(pixmap);
  }
  return icon;
}

}  // namespace islebook
