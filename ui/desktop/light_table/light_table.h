#pragma once
// The light table: a sheet comes in, is read while the person watches, is put right where it is doubted, and goes onto the shelf as a map.

#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include <QHash>
#include <QThreadPool>
#include <QTimer>

#include "ui/desktop/frame/room.h"
#include "ui/desktop/light_table/sheet_view.h"
#include "ui/desktop/light_table/sheet_work.h"

class QAction;
class QComboBox;
class QHBoxLayout;
class QLabel;
class QProgressBar;
class QSpinBox;
class QVBoxLayout;

namespace islebook {

class AcceptForm;
class AxesFacts;
class Carried;
class ChartView;
class CurveFacts;
class DoubtsList;
class NoticeLine;
struct ChartDoubt;
struct Deed;

class LightTable : public Room {
  Q_OBJECT

 public:
  LightTable(Workplace& workplace, QWidget* parent);
  ~LightTable() override;

  QString Words() const override { return tr("Light table"); }
  QString Icon() const override { return QStringLiteral("light_table"); }
  QStringList TakeFiles(const QStringList& files) override;
  bool MayClose() override;
  void Enter() override;

  SheetWork& work() { return work_; }
  SheetView& view() { return *view_; }
  ChartView& chart() { return *chart_; }
  DoubtsList& doubts() { return *doubts_; }

  void OpenFile(const std::filesystem::path& file);
  void OpenFromShelf(const QString& spec);
  void Paste();
  bool SaveRecipe(const QString& file);
  void LoadRecipe(const QString& file);

 signals:
  void Accepted(const QString& name, const QString& revision);

 protected:
  void dragEnterEvent(QDragEnterEvent* event) override;
  void dropEvent(QDropEvent* event) override;

 private:
  // light_table.cc: the room and what it shows
  QWidget* MakeWork();
  QWidget* MakeToolRow();
  void MakeFacts();
  void Connect();
  void OfferUnfinished();
  void ShowSheet();
  void ShowMap();
  void ShowChosen();
  void ShowStage(const QString& stage, double part);
  void ShowTopLine();
  void ShowReading(const QPointF& place);
  void TakeLook();
  void Fail(const Error& error);
  void Accept();
  void OpenNext();

  // light_table_deeds.cc: what a person can do
  void MakeDeeds();
  QAction* AddDeed(const Deed& deed, const QString& short_words, std::function<void()> act);
  void TellTwins();
  void UseTool(TableTool tool);
  void TraceAnew();
  void TurnPage(int by);
  void Point(const QPointF& place);
  void EndTool();
  void TakeCorners(bool exact);
  void Visit(const ChartDoubt& doubt);
  void GoTo(std::size_t curve);
  void StepCurve(int by);
  void GiveRole(CurveRole role);
  void Relabel(std::optional<double> value, const QString& unit);
  void AcceptCurveAsItIs();
  void DeleteChosen();
  void Correct(CorrectionStep step, const QString& words);
  void ShowHint();
  std::unique_ptr<Carried> CarriedMap() const;
  std::optional<std::size_t> CurveAt(const QPointF& place) const;

  SheetWork work_;
  SheetView* view_ = nullptr;
  ChartView* chart_ = nullptr;
  AxesFacts* axes_ = nullptr;
  DoubtsList* doubts_ = nullptr;
  CurveFacts* curve_ = nullptr;
  AcceptForm* accept_ = nullptr;
  QHBoxLayout* tool_row_ = nullptr;
  QVBoxLayout* offers_ = nullptr;
  NoticeLine *progress_ = nullptr, *pages_ = nullptr, *maps_ = nullptr, *hint_ = nullptr, *waiting_line_ = nullptr;
  QProgressBar* bar_ = nullptr;
  QSpinBox* page_ = nullptr;
  QComboBox* map_choice_ = nullptr;
  QLabel* reading_ = nullptr;
  QHash<QString, QAction*> deeds_;
  QTimer slow_;  // a short piece of work needs no progress line
  QString stage_words_;
  CurveRole trace_role_ = CurveRole::kSpeedLine;
  bool anew_ = false;    // the chosen curve goes away for the one being traced
  QStringList waiting_;  // further sheets that came along
  QThreadPool pool_;     // last: ends before what it uses
};

}  // namespace islebook
