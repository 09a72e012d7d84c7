// The bench's deeds: their words, keys and twins on the command line.

#include <algorithm>

#include <QAbstractButton>
#include <QAction>
#include <QApplication>
#include <QClipboard>
#include <QImage>
#include <QMimeData>
#include <QPainter>
#include <QSlider>
#include <QStackedWidget>
#include <QTabBar>
#include <QTabWidget>
#include <QTextDocument>

#include "ui/desktop/bench_room/altitude_bar.h"
#include "ui/desktop/bench_room/bench_outputs.h"
#include "ui/desktop/bench_room/bench_room.h"
#include "ui/desktop/bench_room/case_document.h"
#include "ui/desktop/bench_room/case_form.h"
#include "ui/desktop/bench_room/case_text.h"
#include "ui/desktop/bench_room/map_view.h"
#include "ui/desktop/bench_room/verdict_table.h"
#include "ui/desktop/bench_room/what_first_panel.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/file_question.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {

QAction* BenchRoom::AddDeed(const char* id, const QString& words, const QString& key, const QString& twin) {
  return MakeDeed(this, {QString::fromLatin1(id), words, QKeySequence(key), twin});
}

// A deed that a button in the room does too; the button may come and go.
void BenchRoom::AddButtonDeed(const char* id, const QString& words, const QString& key, const QString& twin, const char* button) {
  connect(AddDeed(id, words, key, twin), &QAction::triggered, this, [this, button, words] {
    // The form's own work while the case is shown as text.
    auto* in_form = form_->findChild<QAbstractButton*>(QLatin1String(button));
    if (in_form != nullptr && in_form->isEnabled() && !in_form->isHidden() && pages_->currentWidget() == work_)
      in_form->click();
    else if (!PressButton(this, QLatin1String(button)))
      workplace().Say(tr("%1: there is nothing to do that with now.").arg(words));
  });
}

void BenchRoom::MakeDeeds() {
  new_ = AddDeed("bench.new", tr("New"), "Ctrl+N", tr("a new text file, as mapstore/bench/CASE_FILE.md describes it"));
  open_ = AddDeed("bench.open", tr("Open"), "Ctrl+O", "islebook bench CASE.toml");
  save_ = AddDeed("bench.save", tr("Save"), "Ctrl+S", tr("the case is a text file"));
  save_as_ = AddDeed("bench.save_as", tr("Save under a name"), "Ctrl+Shift+S", tr("the case is a text file"));
  undo_ = AddDeed("bench.undo", tr("Undo"), "Ctrl+Z", tr("the case is a text file"));
  redo_ = AddDeed("bench.redo", tr("Redo"), "Ctrl+Shift+Z", tr("the case is a text file"));
  report_ = AddDeed("bench.report", tr("Report (PDF)"), "Ctrl+R", "islebook bench CASE --pdf FILE");
  print_ = AddDeed("bench.print", tr("Print"), "Ctrl+P", "islebook bench CASE --pdf FILE && lp FILE");
  charts_ = AddDeed("bench.charts", tr("Charts"), "Ctrl+Shift+G", "islebook bench CASE --svg FILE --png FILE");
  data_ = AddDeed("bench.data", tr("Data (JSON)"), "Ctrl+J", "islebook bench CASE --json > FILE");
  copy_table_ = AddDeed("bench.copy_table", tr("Copy table"), "Ctrl+Shift+C", "islebook bench CASE");
  copy_picture_ = AddDeed("bench.copy_picture", tr("Copy picture"), "Ctrl+Shift+I", "islebook bench CASE --png FILE");
  find_first_ = AddDeed("bench.what_first", tr("What to change first"), "F7", "islebook bench CASE --what-first GOAL --point NAME");
  worst_ = AddDeed("bench.worst", tr("Go to the worst point"), "F8", tr("the report's first line"));
  flip_ = AddDeed("bench.flip", tr("Form or text"), "F6", tr("for the eye only"));
  hide_case_ = AddDeed("bench.hide_case", tr("Hide or show the case"), "F9", tr("for the eye only"));
  const QString in_the_file = tr("the case is a text file");
  AddButtonDeed("bench.add_point", tr("Add an operating point"), "Ctrl+Shift+A", tr("[[point]] in the case file"), "add_point");
  AddButtonDeed("bench.remove_point", tr("Remove the chosen operating point"), "Ctrl+Shift+X", in_the_file, "remove_point");
  AddButtonDeed("bench.add_stage", tr("Add a stage behind the last"), "Ctrl+Shift+L", tr("[[stage]] in the case file"), "add_stage");
  AddButtonDeed("bench.fan", tr("Fan from sea level"), "Ctrl+Shift+F", tr("altitude = [\"0 m\", \"750 m\", \"1500 m\"] in the case file"),
                "altitude_fan");
  AddButtonDeed("bench.wrong_line", tr("Go to the line that is wrong"), "F4", tr("the line that islebook bench names"), "wrong_line");
  AddButtonDeed("bench.take_change", tr("Take the chosen change into the case"), "Ctrl+T", in_the_file, "what_first_take");
  AddButtonDeed("bench.stop_search", tr("Stop the search for what to change first"), "Shift+F7", tr("Ctrl+C while islebook bench runs"),
                "what_first_stop");
  AddButtonDeed("bench.go_on", tr("Go on with the case that was left unfinished"), "Ctrl+G", in_the_file, "unfinished_take");
  AddButtonDeed("bench.put_away", tr("Drop the case that was left unfinished"), "Ctrl+Shift+D", in_the_file, "unfinished_drop");
  connect(AddDeed("bench.remove_stage", tr("Remove the chosen stage"), "Ctrl+Shift+K", in_the_file), &QAction::triggered, this, [this] {
    if (document_->Count("stage") > 1)
      document_->RemoveSection("stage", static_cast<std::size_t>(form_->chosen_stage()));
    else
      workplace().Say(tr("A case has one stage at least."));
  });
  connect(AddDeed("bench.altitude", tr("To the altitude"), "F2", tr("altitude in the case file")), &QAction::triggered, this,
          [this] { altitude_->slider()->setFocus(Qt::ShortcutFocusReason); });
  connect(AddDeed("bench.turbines", tr("Compressor maps or turbine maps"), "F5", tr("for the eye only; islebook chart MAP draws either")),
          &QAction::triggered, this, [this] {
            if (sides_->isVisibleTo(this))
              sides_->setCurrentIndex(1 - sides_->currentIndex());
            else
              workplace().Say(tr("The case has no turbine map: give a stage one, and it is shown."));
          });
  connect(AddDeed("bench.read_map", tr("Read on the next map with the arrow keys"), "F3", "islebook ask MAP --flow F --pressure-ratio P"),
          &QAction::triggered, this, &BenchRoom::EnterNextMap);

  connect(new_, &QAction::triggered, this, [this] {
    QString first = QStringLiteral("?");
    if (const auto shelf = workplace().OpenShelf())
      if (const auto list = (*shelf)->List())
        for (const ShelfEntry& entry : *list)
          if (entry.kind == "compressor" && first == QLatin1String("?")) first = QString::fromStdString(entry.name);
    NewCase(first);
  });
  connect(open_, &QAction::triggered, this, [this] {
    AskForFile(this, {tr("Open a case"), document_->Folder(), tr("Cases (*.toml)")}, [this](const QStringList& files) { OpenCase(files.front()); });
  });
  const auto save_as = [this] { AskWhereTo(tr("Save the case"), tr("Cases (*.toml)"), ".toml", [this](const QString& file) { SaveCase(file); }); };
  connect(save_, &QAction::triggered, this, [this, save_as] {
    if (document_->file().isEmpty())
      save_as();
    else
      SaveCase(document_->file());
  });
  connect(save_as_, &QAction::triggered, this, save_as);
  connect(undo_, &QAction::triggered, this, [this] { document_->document()->undo(); });
  connect(redo_, &QAction::triggered, this, [this] { document_->document()->redo(); });
  connect(report_, &QAction::triggered, this, [this] {
    if (!outcome_) return;
    AskWhereTo(tr("The report"), tr("PDF (*.pdf)"), ".pdf", [this](const QString& file) { WriteReport(file); });
  });
  connect(print_, &QAction::triggered, this, [this] {
    if (outcome_) outputs_->Print(outcome_, this);
  });
  connect(charts_, &QAction::triggered, this, [this] {
    if (!outcome_) return;
    AskWhereTo(tr("The charts"), tr("SVG (*.svg);;PNG (*.png);;PDF (*.pdf)"), ".svg", [this](const QString& file) { WriteCharts(file); });
  });
  connect(data_, &QAction::triggered, this, [this] {
    if (!outcome_) return;
    AskWhereTo(tr("The data"), tr("JSON (*.json)"), ".json", [this](const QString& file) { WriteData(file); });
  });
  connect(copy_table_, &QAction::triggered, this, [this] {
    auto* carried = new QMimeData;
    carried->setText(verdicts_->AsText());
    carried->setHtml(verdicts_->AsHtml());
    QApplication::clipboard()->setMimeData(carried);
    workplace().Say(tr("The verdict table is on the clipboard."));
  });
  connect(copy_picture_, &QAction::triggered, this, [this] {
    if (!outcome_ || maps_.empty()) return;
    const MapView* view = entered_ != nullptr && entered_->isVisible() ? entered_ : maps_.front();
    QApplication::clipboard()->setImage(view->Picture(1600, 1180));
    workplace().Say(tr("The map of %1 is on the clipboard.").arg(view->stage()));
  });
  connect(find_first_, &QAction::triggered, this, [this] {
    below_->setCurrentWidget(what_first_);
    what_first_->Find();
  });
  connect(worst_, &QAction::triggered, this, [this] {
    if (outcome_ && outcome_->result.worst_point >= 0) verdicts_->ChoosePoint(outcome_->result.worst_point, outcome_->result.worst_stage);
  });
  connect(flip_, &QAction::triggered, this, [this] {
    const bool to_text = tabs_->currentWidget() == form_;
    tabs_->setCurrentIndex(to_text ? 1 : 0);
    if (to_text) text_->setFocus();
  });
  connect(hide_case_, &QAction::triggered, this, [this] { case_panel_->setVisible(!case_panel_->isVisible()); });
}

// The keyboard goes from map to map.
void BenchRoom::EnterNextMap() {
  std::vector<MapView*> shown;
  for (const auto* views : {&maps_, &turbine_maps_})
    for (MapView* view : *views)
      if (view->isVisibleTo(this)) shown.push_back(view);
  if (shown.empty()) return workplace().Say(tr("There is no map on the bench yet."));
  const auto now = std::ranges::find_if(shown, [](const MapView* view) { return view->hasFocus(); });
  (now == shown.end() || now + 1 == shown.end() ? shown.front() : *(now + 1))->setFocus(Qt::ShortcutFocusReason);
}

void BenchRoom::ShowTwins() {
  if (what_first_ == nullptr) return;  // while the room is being made
  const QString name = document_->file().isEmpty()       ? QStringLiteral("CASE.toml")
                       : document_->file().contains(' ') ? '"' + document_->file() + '"'
                                                         : document_->file();
  SetTwin(open_, QStringLiteral("islebook bench %1").arg(name));
  SetTwin(report_, QStringLiteral("islebook bench %1 --pdf FILE").arg(name));
  SetTwin(charts_, QStringLiteral("islebook bench %1 --svg FILE --png FILE").arg(name));
  SetTwin(data_, QStringLiteral("islebook bench %1 --json > FILE").arg(name));
  SetTwin(find_first_, QStringLiteral("islebook bench %1 --what-first %2 --point %3")
                           .arg(name, QString::fromLatin1(DefinitionOf(what_first_->goal()).name))
                           .arg(std::max(what_first_->point(), 0) + 1));
}

}  // namespace islebook
