#pragma once
// The maps of the shelf as rows of a list.

#include <functional>
#include <vector>

#include <QAbstractListModel>
#include <QStringList>

#include "mapstore/shelf/shelf.h"

namespace islebook {

struct ShelfRow {
  QString name, kind, title, wheel;
  QString revision;  // of the head
  QString time;      // "2025-03-14 09:26"
  QStringList tags;
  qint64 revisions = 0;  // 0: not counted
  int branches = 0;
  bool has_sheet = false;
  QString found;  // why a search lists it; may be empty
  bool operator==(const ShelfRow&) const = default;
};

ShelfRow RowOf(const ShelfEntry& entry);
ShelfRow RowOf(const FoundMap& found);
// "52 / 70.5 mm, Fellside Rotors Alder 52"; empty where nothing is known.
QString WheelLine(const std::optional<WheelData>& wheel);
// "1 map", "12 maps": the number put in the words that suit it.
inline QString Counted(qint64 count, const QString& one, const QString& many) { return (count == 1 ? one : many).arg(count); }
// A revision's time as people read it.
QString TimeWords(const std::string& time);

class ShelfRows : public QAbstractListModel {
  Q_OBJECT

 public:
  enum Role { kRow = Qt::UserRole, kLetter };
  using QAbstractListModel::QAbstractListModel;

  // Rows that stay in their place are changed in place, so that a view keeps what is chosen; otherwise the list is made anew.
  void SetRows(std::vector<ShelfRow> rows);
  const std::vector<ShelfRow>& rows() const { return rows_; }
  // -1: not listed.
  int RowNamed(const QString& name) const;
  // The letters of the maps that are compared, in their order.
  void SetLetters(const QStringList& names);

  int rowCount(const QModelIndex& parent = {}) const override;
  QVariant data(const QModelIndex& index, int role) const override;
  Qt::ItemFlags flags(const QModelIndex& index) const override;
  QStringList mimeTypes() const override;
  QMimeData* mimeData(const QModelIndexList& indexes) const override;

  // What maps become that are dragged out of the window.
  void SetMover(std::function<QMimeData*(const QStringList& names)> mover) { mover_ = std::move(mover); }

 private:
  std::vector<ShelfRow> rows_;
  QStringList lettered_;
  std::function<QMimeData*(const QStringList& names)> mover_;
};

}  // namespace islebook

Q_DECLARE_METATYPE(islebook::ShelfRow)
