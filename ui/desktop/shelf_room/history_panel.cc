#include "ui/desktop/shelf_room/history_panel.h"

#include <algorithm>

#include <QAction>
#include <QComboBox>
#include <QLabel>
#include <QListWidget>
#include <QToolButton>
#include <QVBoxLayout>

#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/flow_layout.h"
#include "ui/desktop/shelf_room/shelf_rows.h"

namespace islebook {
namespace {

QString Text(const std::string& text) { return QString::fromStdString(text); }

}  // namespace

HistoryPanel::HistoryPanel(QWidget* room, QWidget* parent) : QWidget(parent) {
  list_ = new QListWidget(this);
  list_->setObjectName("history");
  list_->setAccessibleName(tr("History; one revision shows that state, two show what changed"));
  list_->setSelectionMode(QAbstractItemView::ExtendedSelection);
  list_->setWordWrap(true);
  list_->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  list_->setAlternatingRowColors(true);
  list_->setMinimumHeight(120);
  list_->setMinimumWidth(100);
  changes_ = new QLabel(this);
  changes_->setObjectName("changes");
  changes_->setWordWrap(true);
  changes_->setTextFormat(Qt::PlainText);
  changes_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  changes_->hide();
  branches_ = new QLabel(this);
  branches_->setObjectName("branches");
  branches_->setWordWrap(true);
  branches_->setTextFormat(Qt::PlainText);
  branches_->hide();
  branch_ = new QComboBox(this);
  branch_->setObjectName("branch_choice");
  branch_->setAccessibleName(tr("Branch to merge"));
  branch_->hide();
  previous_ = MakeDeed(room, {"shelf.previous", tr("Last change"), QKeySequence("Ctrl+D"), tr("islebook shelf diff NAME")});
  revert_ = MakeDeed(room, {"shelf.revert", tr("Go back to it"), QKeySequence("Ctrl+R"), tr("islebook shelf revert NAME@REVISION")});
  merge_ = MakeDeed(room, {"shelf.merge", tr("Merge branch"), QKeySequence("Ctrl+M"), tr("islebook shelf merge NAME BRANCH")});

  auto* heading = new QLabel(tr("History"), this);
  heading->setProperty("heading", true);
  heading->setContentsMargins(0, 8, 0, 0);
  heading->setBuddy(list_);
  auto* rows = new QVBoxLayout(this);
  rows->setContentsMargins(0, 0, 0, 0);
  rows->setSpacing(4);
  rows->addWidget(heading);
  rows->addWidget(branches_);
  rows->addWidget(branch_);
  rows->addWidget(list_, 1);
  auto* bar = new QWidget(this);
  auto* deeds = new FlowLayout(bar);
  deeds->setContentsMargins(0, 0, 0, 0);
  QToolButton* merge = DeedButton(merge_, this);
  merge->setVisible(false);
  for (QToolButton* button : {DeedButton(previous_, this), DeedButton(revert_, this), merge}) deeds->addWidget(button);
  rows->addWidget(bar);
  connect(merge_, &QAction::changed, merge, [this, merge] { merge->setVisible(merge_->isEnabled()); });
  rows->addWidget(changes_);

  connect(list_, &QListWidget::itemSelectionChanged, this, &HistoryPanel::TakeChoice);
  connect(previous_, &QAction::triggered, this, [this] {
    if (history_.revisions.size() < 2) return;
    const QSignalBlocker hold(list_);
    list_->clearSelection();
    for (int i = 0; i < list_->count(); ++i) {
      const QString id = list_->item(i)->data(Qt::UserRole).toString();
      list_->item(i)->setSelected(id == Text(history_.revisions[0].id) ||
                                  (!history_.revisions[0].parents.empty() && id == Text(history_.revisions[0].parents.front())));
    }
    TakeChoice();
  });
  connect(revert_, &QAction::triggered, this, [this] {
    if (const QStringList chosen = Chosen(); chosen.size() == 1) emit RevertAsked(chosen.front());
  });
  connect(merge_, &QAction::triggered, this, [this] {
    if (branch_->currentIndex() >= 0) emit MergeAsked(branch_->currentText());
  });
  Show({});
}

void HistoryPanel::Show(const MapHistory& history) {
  const QStringList chosen = history.name == history_.name ? Chosen() : QStringList();
  history_ = history;
  setEnabled(!history.name.isEmpty());
  {
    const QSignalBlocker hold(list_);
    list_->clear();
    const auto add = [&](const RevisionRecord& revision, const QString& where) {
      QString words = QStringLiteral("%1 \u00b7 %2").arg(TimeWords(revision.time), Text(revision.author));
      if (!where.isEmpty()) words += QStringLiteral(" \u00b7 ") + where;
      if (!revision.message.empty()) words += QLatin1Char('\n') + Text(revision.message).simplified();
      auto* item = new QListWidgetItem(words, list_);
      item->setData(Qt::UserRole, Text(revision.id));
      item->setToolTip(Text(revision.id.substr(0, 12)));
      item->setSelected(chosen.contains(Text(revision.id)));
    };
    for (std::size_t i = 0; i < history.branch_revisions.size(); ++i)
      for (const RevisionRecord& revision : history.branch_revisions[i]) add(revision, Text(history.branches[i + 1].name));
    for (const RevisionRecord& revision : history.revisions) add(revision, {});
  }
  ShowBranches();
  previous_->setEnabled(history.revisions.size() > 1);
  revert_->setEnabled(false);
  const QStringList now = Chosen();
  revert_->setEnabled(now.size() == 1 && !history.revisions.empty() && now.front() != Text(history.revisions.front().id));
  if (chosen.isEmpty()) ShowChanges({}, false);
  if (now != chosen) TakeChoice();
}

void HistoryPanel::ShowBranches() {
  const QString chosen = branch_->currentText();
  QStringList words, names;
  for (std::size_t i = 1; i < history_.branches.size(); ++i) {
    const std::size_t ahead = i - 1 < history_.branch_revisions.size() ? history_.branch_revisions[i - 1].size() : 0;
    names << Text(history_.branches[i].name);
    words << Counted(static_cast<qint64>(ahead), tr("Branch \u201c%2\u201d: %1 revision of its own"),
                     tr("Branch \u201c%2\u201d: %1 revisions of its own"))
                 .arg(names.back());
  }
  branches_->setText(words.join(QLatin1Char('\n')));
  branches_->setVisible(!words.isEmpty());
  branch_->clear();
  branch_->addItems(names);
  if (const auto again = names.indexOf(chosen); again >= 0) branch_->setCurrentIndex(static_cast<int>(again));
  branch_->setVisible(names.size() > 1);
  merge_->setEnabled(!names.isEmpty());
}

void HistoryPanel::ShowChanges(const QStringList& changes, bool compared) {
  changes_->setText(changes.join(QLatin1Char('\n')));
  changes_->setVisible(compared && !changes.isEmpty());
}

QStringList HistoryPanel::Chosen() const {
  QList<int> rows;
  for (const QListWidgetItem* item : list_->selectedItems()) rows << list_->row(item);
  std::sort(rows.begin(), rows.end(), std::greater<>());  // the latest stands on top
  QStringList ids;
  for (int row : rows) ids << list_->item(row)->data(Qt::UserRole).toString();
  return ids;
}

void HistoryPanel::TakeChoice() {
  const QStringList chosen = Chosen();
  const QString head = history_.revisions.empty() ? QString() : Text(history_.revisions.front().id);
  revert_->setEnabled(chosen.size() == 1 && chosen.front() != head);
  if (chosen.size() >= 2)
    emit DifferenceAsked(chosen.front(), chosen.back());
  else if (chosen.size() == 1 && chosen.front() != head)
    emit StateAsked(chosen.front());
  else
    emit HeadAsked();
}

}  // namespace islebook
