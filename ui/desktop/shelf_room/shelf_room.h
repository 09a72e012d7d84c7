#pragma once
// The shelf: the library as a list, the chosen map as a big chart, what is known about it on the right.

#include <functional>
#include <memory>

#include <QUndoStack>

#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/flow_layout.h"
#include "ui/desktop/frame/room.h"
#include "ui/desktop/shelf_room/drawer.h"
#include "ui/desktop/shelf_room/exchange_pages.h"
#include "ui/desktop/shelf_room/history_panel.h"
#include "ui/desktop/shelf_room/map_chart.h"
#include "ui/desktop/shelf_room/map_facts_panel.h"
#include "ui/desktop/shelf_room/shelf_answers.h"
#include "ui/desktop/shelf_room/shelf_clerk.h"
#include "ui/desktop/shelf_room/shelf_list.h"
#include "ui/desktop/shelf_room/shelf_search.h"

class QAction;
class QCheckBox;
class QLabel;
class QPushButton;
class QTimer;

namespace islebook {

class ShelfRoom : public Room {
  Q_OBJECT

 public:
  ShelfRoom(Workplace& workplace, QWidget* parent);
  ~ShelfRoom() override;

  QString Words() const override { return tr("Shelf"); }
  QString Icon() const override { return QStringLiteral("shelf"); }
  // Parcels and tables are looked into, map documents go on the shelf.
  QStringList TakeFiles(const QStringList& files) override;
  void Enter() override;

  ShelfList& list() { return *list_; }
  MapChart& chart() { return *chart_; }
  Drawer& drawer() { return *drawer_; }
  HistoryPanel& history() { return *history_; }
  MapFactsPanel& map_facts() { return *map_facts_; }
  // Nothing is being read, searched, written or drawn: for tests and measurements.
  bool IsIdle() const;

 protected:
  void showEvent(QShowEvent* event) override;

 signals:
  void Listed();  // the list shows what was asked

 private:
  // shelf_room.cc: the room, searching and showing.
  QWidget* MakeLeft();
  QWidget* MakeMiddle();
  void MakeFacts();
  void MakeDrawer();
  void Search();
  void TakeFinding(Result<ShelfFinding> finding);
  void ShowChosen();
  void ShowFacts();
  void ShowState(const QString& id);
  void ShowDifference(const QString& before, const QString& after);
  void ShowOpened(Result<ShownChart>& opened);
  void ShowReading(const Reading& reading);
  void LookForChanges();
  void TopLine();

  // room_deeds.cc: what a person can do.
  void MakeDeeds();
  QAction* AddDeed(const Deed& deed, std::function<void()> does);
  // The one map that is chosen; empty: none or several, and the foot says what is missing.
  QString ChosenOne() const;
  // Writes in the clerk's thread, then everybody looks again. `words`: said at the foot when it is done.
  using Writing = std::function<Result<void>(Shelf&)>;
  void Write(const QString& name, const QString& words, Writing writing);
  // The same with a way back.
  void WriteUndoably(const QString& name, const QString& words, const Writing& there, const Writing& back);
  void SetWheel(const QString& name, const WheelData& before, const WheelData& after);
  void SetTag(const QString& name, const QString& tag, bool present);
  void AddNote(const QString& name, const QString& text);
  void SetRemoved(bool removed);
  void Revert(const QString& id);
  void Merge(const QString& name, const QString& branch, const MergeChoices& choices);
  void OpenExport();
  void Export(const QString& file);
  void OpenPack();
  void Pack(const QString& file);
  void LookInto(const QString& file);
  void Unpack(const QString& file);

  // room_exchange.cc: tables and keys.
  void MakeExchange();
  void LookIntoTable(const ImportOrder& order);
  void KeepTable();
  void OpenKeys();

  void CopyPicture();
  void CopyCurves();
  void PutOnTheShelf();

  ShelfClerk clerk_;   // quick: lists, reads, writes, draws
  ShelfClerk seeker_;  // slow: points and likeness, parcels, example maps
  QUndoStack undo_;
  ShelfSearch* search_;
  ShelfList* list_;
  MapChart* chart_;
  Drawer* drawer_;
  WritePage *export_, *pack_;
  ParcelPage* parcel_;
  MergePage* merge_;
  ImportPage* import_ = nullptr;
  KeysPage* keys_ = nullptr;
  QCheckBox* pack_sheets_;
  MapFactsPanel* map_facts_;
  HistoryPanel* history_;
  QLabel *remark_, *reading_, *empty_words_;
  QWidget* empty_;
  QPushButton* examples_;
  FlowLayout* deeds_;
  QTimer* watch_;
  quint64 searches_ = 0, openings_ = 0;
  std::int64_t changes_seen_ = -1;
  bool searching_ = false, opening_ = false;
  ShelfFinding finding_;
  QString wanted_;  // to be chosen as soon as it is listed
};

}  // namespace islebook
