#include "ui/desktop/frame/carried.h"

#include <utility>

#include <QDrag>
#include <QPixmap>
#include <QWidget>

#include "mapstore/parcel/cell_table.h"
#include "mapstore/parcel/curve_tables.h"

namespace islebook {
namespace {

constexpr char kImage[] = "application/x-qt-image";  // QMimeData's own word; the platform makes image/png of it
constexpr int kLookWidth = 220;                      // px

QString Text(const std::string& text) { return QString::fromStdString(text); }

}  // namespace

QStringList Carried::formats() const {
  QStringList formats = QMimeData::formats();
  if (draw_ && !formats.contains(QLatin1String(kImage))) formats << QLatin1String(kImage);
  return formats;
}

QVariant Carried::retrieveData(const QString& type, QMetaType preferred) const {
  if (type != QLatin1String(kImage) || !draw_) return QMimeData::retrieveData(type, preferred);
  if (drawn_.isNull()) drawn_ = draw_();
  return drawn_;
}

void PutCurveTable(QMimeData& data, const PerformanceMap& map, const std::string& name, const std::string& revision) {
  const std::string csv = CurvesAsCsv(map, {name, revision});
  const Result<CellTable> table = ReadCsv(csv);
  data.setData(QStringLiteral("text/csv"), QByteArray::fromStdString(csv));
  if (!table) return;
  QString lines, html = QStringLiteral("<meta charset=\"utf-8\"><table>");
  for (const CellRow& row : table->rows) {
    QStringList cells;
    html += QStringLiteral("<tr>");
    for (const Cell& cell : row.cells) {
      cells << Text(cell.text).replace(QLatin1Char('\t'), QLatin1Char(' ')).replace(QLatin1Char('\n'), QLatin1Char(' '));
      html += QStringLiteral("<td>") + Text(cell.text).toHtmlEscaped() + QStringLiteral("</td>");
    }
    html += QStringLiteral("</tr>");
    lines += cells.join(QLatin1Char('\t')) + QLatin1Char('\n');
  }
  data.setText(lines);
  data.setHtml(html + QStringLiteral("</table>"));
}

void CarryOut(QWidget* from, QMimeData* carried, const QPixmap& look) {
  auto* drag = new QDrag(from);
  drag->setMimeData(carried);
  if (!look.isNull()) drag->setPixmap(look.scaledToWidth(kLookWidth, Qt::SmoothTransformation));
  drag->exec(Qt::CopyAction);
}

}  // namespace islebook
