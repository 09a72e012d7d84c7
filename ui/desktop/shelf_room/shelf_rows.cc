#include "ui/desktop/shelf_room/shelf_rows.h"

#include <algorithm>

#include <QMimeData>

#include "ui/chart/ticks.h"

namespace islebook {
namespace {

QString Text(const std::string& text) { return QString::fromStdString(text); }

QString Millimeters(double value) { return Text(ValueOnChart(value)); }

}  // namespace

QString TimeWords(const std::string& time) { return Text(time.substr(0, 16)).replace(QLatin1Char('T'), QLatin1Char(' ')); }

QString WheelLine(const std::optional<WheelData>& wheel) {
  if (!wheel) return {};
  QStringList parts;
  if (wheel->inducer_mm && wheel->exducer_mm)
    parts << ShelfRows::tr("%1 / %2 mm").arg(Millimeters(*wheel->inducer_mm), Millimeters(*wheel->exducer_mm));
  else if (wheel->inducer_mm)
    parts << ShelfRows::tr("inducer %1 mm").arg(Millimeters(*wheel->inducer_mm));
  else if (wheel->exducer_mm)
    parts << ShelfRows::tr("exducer %1 mm").arg(Millimeters(*wheel->exducer_mm));
  if (wheel->turbine_area_ratio) parts << ShelfRows::tr("A/R %1").arg(Text(ValueOnChart(*wheel->turbine_area_ratio)));
  const QString name = Text(wheel->maker.empty() || wheel->model.empty() ? wheel->maker + wheel->model : wheel->maker + " " + wheel->model);
  if (!name.isEmpty()) parts << name;
  return parts.join(QStringLiteral(", "));
}

ShelfRow RowOf(const ShelfEntry& entry) {
  ShelfRow row;
  row.name = Text(entry.name);
  row.kind = Text(entry.kind);
  row.title = Text(entry.title);
  std::optional<WheelData> wheel = entry.wheel;
  if (wheel && wheel->model == entry.name) wheel->model.clear();  // said once is enough
  row.wheel = WheelLine(wheel);
  row.revision = Text(entry.head.id);
  row.time = TimeWords(entry.head.time);
  for (const std::string& tag : entry.tags) row.tags << Text(tag);
  row.revisions = entry.revisions;
  row.branches = static_cast<int>(entry.branches.size());
  row.has_sheet = entry.sheet_on_shelf;
  return row;
}

ShelfRow RowOf(const FoundMap& found) {
  ShelfRow row;
  row.name = Text(found.name);
  row.kind = Text(found.kind);
  row.title = Text(found.title);
  row.wheel = WheelLine(found.wheel);
  row.revision = Text(found.head);
  row.time = TimeWords(found.time);
  for (const std::string& tag : found.tags) row.tags << Text(tag);
  row.found = Text(found.where).simplified();
  return row;
}

void ShelfRows::SetRows(std::vector<ShelfRow> rows) {
  const bool same_maps = rows.size() == rows_.size() &&
                         std::equal(rows.begin(), rows.end(), rows_.begin(), [](const ShelfRow& a, const ShelfRow& b) { return a.name == b.name; });
  if (!same_maps) {
    beginResetModel();
    rows_ = std::move(rows);
    endResetModel();
    return;
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (rows[i] == rows_[i]) continue;
    rows_[i] = std::move(rows[i]);
    const QModelIndex at = index(static_cast<int>(i));
    emit dataChanged(at, at);
  }
}

int ShelfRows::RowNamed(const QString& name) const {
  const auto found = std::find_if(rows_.begin(), rows_.end(), [&](const ShelfRow& row) { return row.name == name; });
  return found == rows_.end() ? -1 : static_cast<int>(found - rows_.begin());
}

void ShelfRows::SetLetters(const QStringList& names) {
  if (names == lettered_) return;
  lettered_ = names;
  if (!rows_.empty()) emit dataChanged(index(0), index(static_cast<int>(rows_.size()) - 1), {kLetter});
}

int ShelfRows::rowCount(const QModelIndex& parent) const { return parent.isValid() ? 0 : static_cast<int>(rows_.size()); }

QVariant ShelfRows::data(const QModelIndex& at, int role) const {
  if (!at.isValid() || at.row() >= rowCount()) return {};
  const ShelfRow& row = rows_[static_cast<std::size_t>(at.row())];
  switch (role) {
    case Qt::DisplayRole: return row.name;
    case kRow: return QVariant::fromValue(row);
    case kLetter: {
      const qsizetype place = lettered_.indexOf(row.name);
      return place < 0 || lettered_.size() < 2 ? QString() : QString(QChar(static_cast<char16_t>(u'A' + place)));
    }
    case Qt::AccessibleTextRole: {
      QStringList parts = {row.name, row.title, row.kind, row.wheel, row.tags.join(QStringLiteral(", ")), row.time, row.found};
      parts.removeAll(QString());
      return parts.join(QStringLiteral("; "));
    }
    default: return {};
  }
}

Qt::ItemFlags ShelfRows::flags(const QModelIndex& index) const {
  return QAbstractListModel::flags(index) | (index.isValid() ? Qt::ItemIsDragEnabled : Qt::NoItemFlags);
}

QStringList ShelfRows::mimeTypes() const { return {QStringLiteral("text/plain"), QStringLiteral("text/uri-list")}; }

QMimeData* ShelfRows::mimeData(const QModelIndexList& indexes) const {
  QStringList names;
  for (const QModelIndex& at : indexes) names << rows_[static_cast<std::size_t>(at.row())].name;
  QMimeData* data = mover_ ? mover_(names) : new QMimeData;
  data->setText(names.join(QLatin1Char('\n')));
  return data;
}

}  // namespace islebook
