#pragma once
// The list of maps: a small picture, the name, and what is known at a glance.

#include <QListView>
#include <QStyledItemDelegate>

#include "ui/desktop/shelf_room/map_pictures.h"
#include "ui/desktop/shelf_room/shelf_rows.h"

namespace islebook {

class Workplace;

class ShelfRowPainter : public QStyledItemDelegate {
  Q_OBJECT

 public:
  ShelfRowPainter(Workplace& workplace, MapPictures& pictures, QObject* parent);
  void paint(QPainter* painter, const QStyleOptionViewItem& option, const QModelIndex& index) const override;
  QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const override;

 private:
  Workplace& workplace_;
  MapPictures& pictures_;
};

class ShelfList : public QListView {
  Q_OBJECT

 public:
  ShelfList(Workplace& workplace, QWidget* parent);

  ShelfRows& rows() { return rows_; }
  MapPictures& pictures() { return pictures_; }
  // In the order of the list.
  QStringList ChosenNames() const;
  // Chooses those that are listed; false: none is.
  bool Choose(const QStringList& names);
  // New rows; what was chosen and is still listed stays chosen.
  void ShowRows(std::vector<ShelfRow> rows);

 signals:
  void ChosenChanged();

 protected:
  void selectionChanged(const QItemSelection& now, const QItemSelection& before) override;

 private:
  ShelfRows rows_;
  MapPictures pictures_;
  bool holding_ = false;  // rows change: what is chosen is put right before it is said
};

}  // namespace islebook
