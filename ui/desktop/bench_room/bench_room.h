#pragma once
// The bench: a case edited live, its engine's points on the maps of its compressors, verdicts, what to change first, the report.

#include <functional>
#include <memory>
#include <vector>

#include "ui/desktop/bench_room/bench_worker.h"
#include "ui/desktop/bench_room/unfinished_case.h"
#include "ui/desktop/frame/room.h"

class QAction;
class QLabel;
class QPushButton;
class QSplitter;
class QStackedWidget;
class QTabBar;
class QTabWidget;
class QTextBrowser;
class QTimer;
class QVBoxLayout;

namespace islebook {

class AltitudeBar;
class BenchOutputs;
class CaseDocument;
class CaseForm;
class CaseText;
class ExampleOpener;
class MapView;
class StripView;
class VerdictTable;
class WhatFirstPanel;

class BenchRoom : public Room {
  Q_OBJECT

 public:
  BenchRoom(Workplace& workplace, QWidget* parent);
  ~BenchRoom() override;

  QString Words() const override { return tr("Bench"); }
  QString Icon() const override { return QStringLiteral("bench"); }
  QStringList TakeFiles(const QStringList& files) override;
  bool MayClose() override;
  void Enter() override;

  // What a deed does once it has a file.
  void OpenCase(const QString& file);
  void OpenExample(const QString& file);
  bool SaveCase(const QString& file);
  void WriteReport(const QString& file);
  void WriteCharts(const QString& file);
  void WriteData(const QString& file);

  CaseDocument& document() const { return *document_; }
  std::shared_ptr<const BenchOutcome> outcome() const { return outcome_; }
  const std::vector<MapView*>& maps() const { return maps_; }
  const std::vector<MapView*>& turbine_maps() const { return turbine_maps_; }

 signals:
  void Worked();  // the newest request is answered, with a result or an error

 private:
  QWidget* MakeStart();
  QWidget* MakeWork();
  QWidget* MakeCase();
  QWidget* MakeCharts();
  void MakeFacts();
  void MakeDeeds();
  QAction* AddDeed(const char* id, const QString& words, const QString& key, const QString& twin);
  void AddButtonDeed(const char* id, const QString& words, const QString& key, const QString& twin, const char* button);
  void EnterNextMap();
  void OfferUnfinished();
  void TakeKeyboard();
  void NewCase(const QString& compressor);
  void TakeMap(const QString& name);
  void Touched();
  void Ask();
  void TakeOutcome(const std::shared_ptr<const BenchOutcome>& outcome);
  void ShowError();
  void ShowResult();
  void FitViews(std::vector<MapView*>& views, QSplitter* row, std::size_t count, const char* name);
  void ChoosePoint(int point);
  void ShowReading(MapView* view);
  void ShowPoint();
  void ShowFile();
  void OfferMaps();
  void ShowTwins();
  void AskWhereTo(const QString& title, const QString& kinds, const QString& ending, std::function<void(const QString& file)> then);
  void Keep();

  CaseDocument* document_;
  BenchWorker* worker_;
  BenchOutputs* outputs_;
  ExampleOpener* examples_;
  UnfinishedCase unfinished_;
  QTimer* ask_soon_;
  QTimer* keep_soon_;
  std::shared_ptr<const BenchOutcome> outcome_;  // the last that was worked out
  std::shared_ptr<const BenchOutcome> failed_;   // newer than that, and wrong
  quint64 asked_ = 0;
  int chosen_ = -1;

  QStackedWidget* pages_ = nullptr;
  QWidget* start_ = nullptr;
  QWidget* work_ = nullptr;
  QWidget* case_panel_ = nullptr;
  QWidget* offer_ = nullptr;
  QLabel* offer_words_ = nullptr;
  QLabel* case_name_ = nullptr;
  QPushButton* wrong_line_ = nullptr;
  QTabWidget* tabs_ = nullptr;
  CaseForm* form_ = nullptr;
  CaseText* text_ = nullptr;
  AltitudeBar* altitude_ = nullptr;
  QTabBar* sides_ = nullptr;  // compressors or turbines
  QStackedWidget* map_rows_ = nullptr;
  QSplitter *map_row_ = nullptr, *turbine_row_ = nullptr;
  std::vector<MapView*> maps_, turbine_maps_;
  MapView* entered_ = nullptr;
  StripView* strip_ = nullptr;
  QTabWidget* below_ = nullptr;
  VerdictTable* verdicts_ = nullptr;
  WhatFirstPanel* what_first_ = nullptr;
  QLabel* reading_ = nullptr;
  QTextBrowser* notes_ = nullptr;
  QAction *new_ = nullptr, *open_ = nullptr, *save_ = nullptr, *save_as_ = nullptr, *undo_ = nullptr, *redo_ = nullptr;
  QAction *report_ = nullptr, *print_ = nullptr, *charts_ = nullptr, *data_ = nullptr, *copy_table_ = nullptr, *copy_picture_ = nullptr;
  QAction *find_first_ = nullptr, *worst_ = nullptr, *flip_ = nullptr, *hide_case_ = nullptr;
};

}  // namespace islebook
