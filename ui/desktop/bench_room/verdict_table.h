#pragma once
// Every point on every stage in a row: its grade, what limits it, the numbers with their uncertainty. The row chosen is the point chosen everywhere.

#include <QTableWidget>

#include "mapstore/bench/bench.h"

namespace islebook {

class Workplace;

class VerdictTable : public QTableWidget {
  Q_OBJECT

 public:
  VerdictTable(Workplace& workplace, QWidget* parent);

  // The point chosen stays chosen where there is one of that number, else the worst is.
  void Show(const BenchResult& result);
  void ChoosePoint(int point, int stage = -1);
  int ChosenPoint() const;
  // The whole table for a spreadsheet: cells with tabs between, and as HTML.
  QString AsText() const;
  QString AsHtml() const;

 signals:
  void PointChosen(int point);

 protected:
  // Dragged into a spreadsheet: the whole table.
  QStringList mimeTypes() const override;
  QMimeData* mimeData(const QList<QTableWidgetItem*>& items) const override;

 private:
  void Fill();

  Workplace& workplace_;
  BenchResult result_;
  bool filling_ = false;
  bool chosen_by_hand_ = false;
};

}  // namespace islebook
