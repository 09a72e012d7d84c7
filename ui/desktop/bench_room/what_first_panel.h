#pragma once
// What to change first: a goal and a point, the changes ranked as a table and as bars; one of them can be taken into the case.

#include <memory>
#include <optional>

#include <QWidget>

#include "mapstore/bench/what_first.h"
#include "ui/desktop/bench_room/bench_worker.h"

class QComboBox;
class QLabel;
class QProgressBar;
class QPushButton;
class QTableWidget;

namespace islebook {

class StripView;
class Workplace;

class WhatFirstPanel : public QWidget {
  Q_OBJECT

 public:
  WhatFirstPanel(Workplace& workplace, QWidget* parent);

  // The case as it stands worked out; what was found for another one stays, marked as of before.
  void ShowCase(std::shared_ptr<const BenchOutcome> outcome);
  void ChoosePoint(int point);
  void Find();
  void Stop();
  // The chosen change into the case.
  void TakeChosen();
  const WhatFirst* found() const { return found_.get(); }
  Goal goal() const;
  int point() const;

 signals:
  void Take(const islebook::RankedChange& change);
  void Said(const QString& words);
  void Asked();  // goal or point changed

 private:
  void Fill();
  void SetBusy(bool busy);

  Workplace& workplace_;
  WhatFirstWorker* worker_;
  std::shared_ptr<const BenchOutcome> outcome_;
  std::shared_ptr<const WhatFirst> found_;
  QComboBox* goal_;
  QComboBox* point_;
  QPushButton* find_;
  QPushButton* stop_;
  QPushButton* take_;
  QProgressBar* progress_;
  QLabel* line_;
  QTableWidget* table_;
  StripView* bars_;
};

}  // namespace islebook
