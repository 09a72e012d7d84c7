#pragma once
// A map's history as readable lines. One chosen: that state is shown; two: what changed between them.

#include <vector>

#include <QWidget>

#include "mapstore/shelf/shelf.h"

class QAction;
class QComboBox;
class QLabel;
class QListWidget;

namespace islebook {

struct MapHistory {
  QString name;                                               // empty: no map
  std::vector<RevisionRecord> revisions;                      // the main line, latest first
  std::vector<ShelfBranch> branches;                          // the main line first
  std::vector<std::vector<RevisionRecord>> branch_revisions;  // of each branch but the first, those that the main line has not
  bool removed = false;
};

class HistoryPanel : public QWidget {
  Q_OBJECT

 public:
  // The deeds' keys work anywhere in `room`.
  HistoryPanel(QWidget* room, QWidget* parent);

  // What is chosen stays while the map is the same and has it.
  void Show(const MapHistory& history);
  const MapHistory& history() const { return history_; }
  // Where two states are compared: what changed beside the curves, in sentences.
  void ShowChanges(const QStringList& changes, bool compared);
  // The chosen revisions' ids, the earlier first; none: the head is shown.
  QStringList Chosen() const;

 signals:
  void HeadAsked();
  void StateAsked(const QString& id);
  void DifferenceAsked(const QString& before, const QString& after);
  void RevertAsked(const QString& id);
  void MergeAsked(const QString& branch);

 private:
  void TakeChoice();
  void ShowBranches();

  MapHistory history_;
  QListWidget* list_;
  QLabel *changes_, *branches_;
  QComboBox* branch_;  // the one to merge, where there are several
  QAction *revert_, *merge_, *previous_;
};

}  // namespace islebook
