#include "ui/desktop/bench_room/what_first_panel.h"

#include <algorithm>

#include <QComboBox>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QPainter>
#include <QProgressBar>
#include <QPushButton>
#include <QSplitter>
#include <QTableWidget>
#include <QVBoxLayout>

#include "mapstore/bench/goal_words.h"
#include "ui/chart/said.h"
#include "ui/desktop/bench_room/strip_view.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/report/bench_report.h"

namespace islebook {

WhatFirstPanel::WhatFirstPanel(Workplace& workplace, QWidget* parent)
    : QWidget(parent),
      workplace_(workplace),
      worker_(new WhatFirstWorker(workplace.shelf_file(), this)),
      goal_(new QComboBox(this)),
      point_(new QComboBox(this)),
      find_(new QPushButton(tr("Find"), this)),
      stop_(new QPushButton(tr("Stop"), this)),
      take_(new QPushButton(tr("Take into the case"), this)),
      progress_(new QProgressBar(this)),
      line_(new QLabel(this)),
      table_(new QTableWidget(this)),
      bars_(new StripView(workplace, this)) {
  setObjectName("what_first");
  goal_->setObjectName("what_first_goal");
  goal_->setAccessibleName(tr("Goal"));
  for (const GoalDefinition& goal : GoalDefinitions()) goal_->addItem(islebook::Said(QString::fromUtf8(goal.words)), QString::fromLatin1(goal.name));
  goal_->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  goal_->setMinimumContentsLength(16);
  point_->setObjectName("what_first_point");
  point_->setAccessibleName(tr("At the point"));
  point_->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  point_->setMinimumContentsLength(10);
  find_->setObjectName("what_first_find");
  stop_->setObjectName("what_first_stop");
  take_->setObjectName("what_first_take");
  progress_->setObjectName("what_first_progress");
  progress_->setAccessibleName(tr("Changes worked out"));
  line_->setObjectName("what_first_line");
  line_->setProperty("faint", true);
  line_->setWordWrap(true);
  table_->setObjectName("what_first_table");
  table_->setAccessibleName(tr("Changes, best first"));
  table_->setSelectionBehavior(QAbstractItemView::SelectRows);
  table_->setSelectionMode(QAbstractItemView::SingleSelection);
  table_->setEditTriggers(QAbstractItemView::NoEditTriggers);
  table_->setTabKeyNavigation(false);
  table_->setShowGrid(false);
  table_->setWordWrap(false);
  table_->verticalHeader()->hide();
  table_->verticalHeader()->setDefaultSectionSize(22);
  table_->horizontalHeader()->setDefaultAlignment(Qt::AlignLeft | Qt::AlignVCenter);
  table_->horizontalHeader()->setHighlightSections(false);
  bars_->setObjectName("what_first_bars");
  bars_->setAccessibleName(tr("What each change brings, as bars"));

  auto* rows = new QVBoxLayout(this);
  rows->setContentsMargins(8, 6, 8, 6);
  auto* asked = new QHBoxLayout;
  asked->addWidget(goal_, 2);
  asked->addWidget(new QLabel(tr("at"), this));
  asked->addWidget(point_, 1);
  asked->addWidget(find_);
  asked->addWidget(stop_);
  asked->addWidget(progress_, 1);
  progress_->setMinimumWidth(60);
  rows->addLayout(asked);
  auto* told = new QHBoxLayout;
  told->addWidget(line_, 1);
  told->addWidget(take_);
  rows->addLayout(told);
  auto* halves = new QSplitter(Qt::Horizontal, this);
  halves->addWidget(table_);
  halves->addWidget(bars_);
  halves->setStretchFactor(0, 3);
  halves->setStretchFactor(1, 2);
  rows->addWidget(halves, 1);

  connect(find_, &QPushButton::clicked, this, &WhatFirstPanel::Find);
  connect(stop_, &QPushButton::clicked, this, &WhatFirstPanel::Stop);
  connect(take_, &QPushButton::clicked, this, &WhatFirstPanel::TakeChosen);
  connect(table_, &QTableWidget::cellDoubleClicked, this, &WhatFirstPanel::TakeChosen);
  connect(table_, &QTableWidget::itemSelectionChanged, this, [this] {
    const int row = table_->currentRow();
    const bool known = found_ && row >= 0 && row < static_cast<int>(found_->changes.size());
    take_->setEnabled(known && !found_->changes[static_cast<std::size_t>(row)].takes.empty());
    take_->setToolTip(known && !take_->isEnabled() ? tr("No map describes this wheel: digitize one of that size and it can be chosen.") : QString());
  });
  connect(goal_, &QComboBox::activated, this, &WhatFirstPanel::Asked);
  connect(point_, &QComboBox::activated, this, &WhatFirstPanel::Asked);
  connect(worker_, &WhatFirstWorker::Progress, this, [this](int done, int all) {
    progress_->setRange(0, all);
    progress_->setValue(done);
  });
  connect(worker_, &WhatFirstWorker::Found, this, [this](std::shared_ptr<const WhatFirst> found) {
    found_ = std::move(found);
    SetBusy(false);
    Fill();
  });
  connect(worker_, &WhatFirstWorker::Failed, this, [this](const QString& words, bool stopped) {
    SetBusy(false);
    line_->setText(stopped ? tr("Stopped.") : words);
  });
  connect(&workplace_, &Workplace::UnitsChanged, this, &WhatFirstPanel::Fill);
  SetBusy(false);
  Fill();
}

Goal WhatFirstPanel::goal() const { return ParseGoal(goal_->currentData().toString().toStdString()).value_or(Goal::kPower); }
int WhatFirstPanel::point() const { return point_->currentIndex(); }

void WhatFirstPanel::ShowCase(std::shared_ptr<const BenchOutcome> outcome) {
  outcome_ = std::move(outcome);
  const int kept = std::max(point_->currentIndex(), 0);
  QStringList names;
  for (const PointResult& point : outcome_->result.points) names << QString::fromStdString(point.name);
  QStringList shown;
  for (int i = 0; i < point_->count(); ++i) shown << point_->itemText(i);
  if (shown != names) {
    point_->clear();
    point_->addItems(names);
    point_->setCurrentIndex(std::min(kept, static_cast<int>(names.size()) - 1));
  }
  if (found_) line_->setText(tr("Found for the case as it was before; find again for the case as it is."));
  find_->setEnabled(!names.isEmpty() && !worker_->IsBusy());
}

void WhatFirstPanel::ChoosePoint(int point) {
  if (point >= 0 && point < point_->count() && !worker_->IsBusy()) point_->setCurrentIndex(point);
}

void WhatFirstPanel::SetBusy(bool busy) {
  find_->setEnabled(!busy && point_->count() > 0);
  stop_->setVisible(busy);
  progress_->setVisible(busy);
  if (busy) {
    progress_->setRange(0, 0);
    take_->setEnabled(false);
  }
}

void WhatFirstPanel::Find() {
  if (!outcome_ || point_->currentIndex() < 0) return;
  found_.reset();
  Fill();
  line_->setText(tr("Trying the maps on the shelf and other sizes, one change at a time."));
  SetBusy(true);
  worker_->Start({*outcome_->bench, static_cast<std::size_t>(point_->currentIndex()), goal()});
}

void WhatFirstPanel::Stop() { worker_->Stop(); }

void WhatFirstPanel::TakeChosen() {
  const int row = table_->currentRow();
  if (!found_ || row < 0 || row >= static_cast<int>(found_->changes.size())) return;
  const RankedChange& change = found_->changes[static_cast<std::size_t>(row)];
  if (change.takes.empty()) {
    line_->setText(tr("No map describes this wheel: digitize one of that size and it can be chosen."));
    return;
  }
  emit Take(change);
}

void WhatFirstPanel::Fill() {
  const UnitHabit units = workplace_.units();
  table_->clear();
  table_->setColumnCount(4);
  table_->setHorizontalHeaderLabels({tr("Change"), tr("Then"), tr("Gain"), tr("Ends where")});
  table_->setRowCount(0);
  take_->setEnabled(false);
  if (!found_) {
    line_->setText(tr(
        "One thing at a time is changed: wheels on the shelf, their size, wastegate, vanes, cooler, split. Best first; of equal gain the cheaper."));
    bars_->hide();
    return;
  }
  for (const RankedChange& change : found_->changes) {
    const int row = table_->rowCount();
    table_->insertRow(row);
    const QStringList cells{islebook::Said(change.words) + (change.estimated ? tr(" (estimated)") : QString()),
                            change.value ? QString::fromStdString(GoalValueWords(found_->goal, *change.value, units)) : tr("holds nowhere"),
                            islebook::Said(GainWords(*found_, change, units)), islebook::Said(change.limited_by)};
    for (int column = 0; column < 4; ++column) {
      auto* cell = new QTableWidgetItem(cells[column]);
      cell->setToolTip(cells[column]);
      table_->setItem(row, column, cell);
    }
  }
  table_->resizeColumnsToContents();
  table_->setColumnWidth(0, std::min(table_->columnWidth(0), 300));
  QString words = tr("%1: %2 now, ended by: %3.")
                      .arg(QString::fromStdString(found_->point),
                           found_->now ? QString::fromStdString(GoalValueWords(found_->goal, *found_->now, units)) : tr("holds nowhere"),
                           islebook::Said(found_->limited_by));
  if (!found_->left_out.empty()) words += tr(" Left out: %1").arg(islebook::Said(found_->left_out.front()));
  line_->setText(words);
  if (table_->rowCount() > 0) table_->selectRow(0);
  bars_->setVisible(!ChangeBars(*found_, units).empty());  // where it holds nowhere now, nothing has a gain
  bars_->SetDrawing([found = found_, units](QPainter& painter, const QRectF& area, bool night) {
    StripOptions options;
    options.night = night;
    options.text_size = 12.0;
    std::vector<StripBar> bars = ChangeBars(*found, units);
    const auto fit = static_cast<std::size_t>(std::max(area.height() / (1.7 * options.text_size) - 2.0, 1.0));
    if (bars.size() > fit) bars.resize(fit);
    DrawBars(painter, area, bars, options);
  });
}

}  // namespace islebook
