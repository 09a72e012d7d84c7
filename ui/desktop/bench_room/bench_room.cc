#include "ui/desktop/bench_room/bench_room.h"

#include <cmath>

#include <QAction>
#include <QApplication>
#include <QClipboard>
#include <QDateTime>
#include <QFileInfo>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QMimeData>
#include <QPainter>
#include <QPointer>
#include <QPushButton>
#include <QScrollArea>
#include <QSettings>
#include <QSplitter>
#include <QStackedWidget>
#include <QTabBar>
#include <QTabWidget>
#include <QTextBrowser>
#include <QTextDocument>
#include <QTimer>
#include <QToolButton>
#include <QVBoxLayout>

#include "ui/chart/said.h"
#include "ui/desktop/bench_room/altitude_bar.h"
#include "ui/desktop/bench_room/bench_facts.h"
#include "ui/desktop/bench_room/bench_outputs.h"
#include "ui/desktop/bench_room/case_document.h"
#include "ui/desktop/bench_room/case_form.h"
#include "ui/desktop/bench_room/case_text.h"
#include "ui/desktop/bench_room/example_case.h"
#include "ui/desktop/bench_room/map_view.h"
#include "ui/desktop/bench_room/strip_view.h"
#include "ui/desktop/bench_room/verdict_table.h"
#include "ui/desktop/bench_room/what_first_panel.h"
#include "ui/desktop/frame/carried.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/facts_column.h"
#include "ui/desktop/frame/file_question.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/report/pressure_strip.h"

namespace islebook {
namespace {

constexpr int kAskAfter = 60;    // ms of quiet before the case is worked out
constexpr int kKeepAfter = 800;  // ms of quiet before it is kept against a crash
constexpr double kStripPrint = 11.0;
constexpr int kReadingHeight = 172;  // px: it must not push what is below it about

}  // namespace

BenchRoom::BenchRoom(Workplace& workplace, QWidget* parent)
    : Room(workplace, parent),
      document_(new CaseDocument(this)),
      worker_(new BenchWorker(workplace.shelf_file(), this)),
      outputs_(new BenchOutputs(this)),
      examples_(new ExampleOpener(workplace, this)),
      unfinished_(workplace.work_folder()),
      ask_soon_(new QTimer(this)),
      keep_soon_(new QTimer(this)) {
  setObjectName("bench_room");
  ask_soon_->setSingleShot(true);
  ask_soon_->setInterval(kAskAfter);
  keep_soon_->setSingleShot(true);
  keep_soon_->setInterval(kKeepAfter);
  connect(ask_soon_, &QTimer::timeout, this, &BenchRoom::Ask);
  connect(keep_soon_, &QTimer::timeout, this, &BenchRoom::Keep);
  MakeDeeds();
  pages_ = new QStackedWidget(this);
  start_ = MakeStart();
  work_ = MakeWork();
  pages_->addWidget(start_);
  pages_->addWidget(work_);
  auto* middle = new QWidget(this);
  auto* rows = new QVBoxLayout(middle);
  rows->setContentsMargins(0, 0, 0, 0);
  rows->setSpacing(0);
  OfferUnfinished();
  rows->addWidget(offer_);
  rows->addWidget(pages_, 1);
  SetWork(middle);
  MakeFacts();

  connect(worker_, &BenchWorker::Done, this, &BenchRoom::TakeOutcome);
  connect(document_, &CaseDocument::Changed, this, &BenchRoom::Touched);
  connect(document_, &CaseDocument::FileChanged, this, &BenchRoom::ShowFile);
  connect(document_, &CaseDocument::Refused, &workplace, qOverload<const QString&>(&Workplace::Complain));
  connect(document_->document(), &QTextDocument::undoAvailable, undo_, &QAction::setEnabled);
  connect(document_->document(), &QTextDocument::redoAvailable, redo_, &QAction::setEnabled);
  connect(outputs_, &BenchOutputs::Written, &workplace, &Workplace::Say);
  connect(outputs_, &BenchOutputs::Failed, &workplace, qOverload<const QString&>(&Workplace::Complain));
  connect(examples_, &ExampleOpener::Progress, &workplace, &Workplace::Say);
  connect(examples_, &ExampleOpener::Failed, &workplace, qOverload<const QString&>(&Workplace::Complain));
  connect(examples_, &ExampleOpener::Ready, this, [this](const QString& text) {
    document_->Take(text, {}, false);
    pages_->setCurrentWidget(work_);
    TakeKeyboard();
    this->workplace().Say(tr("The example is a copy: change what you like, save it under a name of your own."));
  });
  connect(&workplace, &Workplace::ShelfChanged, this, [this] {
    worker_->ForgetMaps();
    OfferMaps();
    if (!document_->IsEmpty()) ask_soon_->start();
  });
  connect(&workplace, &Workplace::UnitsChanged, this, [this] {
    if (!document_->IsEmpty()) ask_soon_->start();
  });
  connect(&workplace, &Workplace::LookChanged, this, [this] {
    ShowPoint();
    ShowReading(entered_);
  });
  connect(&workplace, &Workplace::BenchAsked, this, &BenchRoom::TakeMap);
  OfferMaps();
  ShowFile();
  undo_->setEnabled(false);
  redo_->setEnabled(false);
  facts().SetTopLine(tr("No case on the bench"));
}

BenchRoom::~BenchRoom() { disconnect(document_, nullptr, this, nullptr); }

QWidget* BenchRoom::MakeStart() {
  auto* page = new QWidget(this);
  page->setObjectName("bench_start");
  auto* rows = new QVBoxLayout(page);
  rows->setContentsMargins(48, 48, 48, 48);
  rows->setSpacing(10);
  rows->setAlignment(Qt::AlignTop | Qt::AlignLeft);
  auto* words = new QLabel(tr("A case is an engine, the air it breathes, its compressors and the points to check.\nThe bench says where each point "
                              "lies on each map, and how far it is from surge, choke and the speed limit."),
                           page);
  words->setWordWrap(true);
  words->setMinimumWidth(420);
  rows->addWidget(words);
  auto* row = new QHBoxLayout;
  row->setAlignment(Qt::AlignLeft);
  row->addWidget(DeedButton(new_, page));
  row->addWidget(DeedButton(open_, page));
  rows->addLayout(row);
  if (const QString last = workplace().habits().value("bench/case").toString(); QFileInfo::exists(last)) {
    auto* again = new QPushButton(tr("Go on with %1").arg(QFileInfo(last).fileName()), page);
    again->setObjectName("last_case");
    again->setToolTip(QStringLiteral("islebook bench %1").arg(last));
    connect(again, &QPushButton::clicked, this, [this, last] { OpenCase(last); });
    rows->addWidget(again, 0, Qt::AlignLeft);
  }
  const std::vector<ExampleCase> cases = FindExampleCases();
  if (!cases.empty()) {
    auto* heading = new QLabel(tr("Or begin with an example of Tarnside Engine Works"), page);
    heading->setProperty("heading", true);
    rows->addSpacing(14);
    rows->addWidget(heading);
  }
  int number = 0;
  for (const ExampleCase& example : cases) {
    QAction* deed = MakeDeed(page, {QStringLiteral("bench.example_%1").arg(++number), example.title,
                                    QKeySequence(QStringLiteral("Alt+%1").arg(number)), tr("islebook bench %1").arg(example.file)});
    connect(deed, &QAction::triggered, this, [this, example] { OpenExample(example.file); });
    QToolButton* button = DeedButton(deed, page);
    button->setObjectName("example_" + QFileInfo(example.file).baseName());
    button->setProperty("framed", true);
    rows->addWidget(button, 0, Qt::AlignLeft);
  }
  return page;
}

QWidget* BenchRoom::MakeWork() {
  auto* split = new QSplitter(Qt::Horizontal, this);
  split->setObjectName("bench_split");
  split->setHandleWidth(1);
  split->setChildrenCollapsible(false);
  case_panel_ = MakeCase();
  split->addWidget(case_panel_);
  auto* halves = new QSplitter(Qt::Vertical, this);
  halves->setHandleWidth(1);
  halves->setChildrenCollapsible(false);
  halves->addWidget(MakeCharts());
  below_ = new QTabWidget(this);
  below_->setObjectName("bench_below");
  below_->setAccessibleName(tr("Verdicts, and what to change first"));
  below_->setDocumentMode(true);
  verdicts_ = new VerdictTable(workplace(), this);
  what_first_ = new WhatFirstPanel(workplace(), this);
  below_->addTab(verdicts_, tr("Verdicts"));
  below_->addTab(what_first_, tr("What to change first"));
  halves->addWidget(below_);
  halves->setStretchFactor(0, 3);
  halves->setStretchFactor(1, 1);
  halves->setSizes({560, 210});
  split->addWidget(halves);
  split->setStretchFactor(1, 1);
  split->setSizes({372, 700});
  connect(verdicts_, &VerdictTable::PointChosen, this, &BenchRoom::ChoosePoint);
  connect(what_first_, &WhatFirstPanel::Asked, this, &BenchRoom::ShowTwins);
  connect(what_first_, &WhatFirstPanel::Take, this, [this](const RankedChange& change) {
    std::vector<CaseValue> values = change.takes;
    // A point's own value would hide the change.
    for (const CaseValue& value : change.takes)
      if (value.place.section == "air_path")
        for (std::size_t i = 0; i < document_->Count("point"); ++i)
          if (!document_->Written({"point", i, value.place.key}).isEmpty()) values.push_back({{"point", i, value.place.key}, value.written});
    if (document_->SetAll(values)) workplace().Say(tr("Taken into the case: %1. Undo takes it back.").arg(QString::fromStdString(change.words)));
  });
  return split;
}

QWidget* BenchRoom::MakeCase() {
  auto* panel = new QWidget(this);
  panel->setObjectName("case_panel");
  auto* rows = new QVBoxLayout(panel);
  rows->setContentsMargins(0, 6, 0, 0);
  rows->setSpacing(4);
  case_name_ = new QLabel(panel);
  case_name_->setObjectName("case_name");
  case_name_->setProperty("heading", true);
  case_name_->setContentsMargins(10, 0, 10, 0);
  rows->addWidget(case_name_);
  auto* deeds = new QHBoxLayout;
  deeds->setContentsMargins(6, 0, 6, 0);
  deeds->setSpacing(0);
  for (QAction* deed : {new_, open_, save_, undo_, redo_}) deeds->addWidget(DeedButton(deed, panel));
  deeds->addStretch(1);
  rows->addLayout(deeds);
  wrong_line_ = new QPushButton(panel);
  wrong_line_->setObjectName("wrong_line");
  wrong_line_->setAccessibleName(tr("Go to the line that is wrong"));
  wrong_line_->setFlat(true);
  wrong_line_->hide();
  auto* wrong_words = new QLabel(wrong_line_);
  wrong_words->setObjectName("wrong_words");
  wrong_words->setProperty("limit", true);
  wrong_words->setWordWrap(true);
  wrong_words->setAttribute(Qt::WA_TransparentForMouseEvents);
  auto* wrong_row = new QVBoxLayout(wrong_line_);
  wrong_row->addWidget(wrong_words);
  rows->addWidget(wrong_line_);
  tabs_ = new QTabWidget(panel);
  tabs_->setObjectName("case_tabs");
  tabs_->setAccessibleName(tr("The case, as a form or as its text"));
  tabs_->setDocumentMode(true);
  form_ = new CaseForm(*document_, workplace(), panel);
  text_ = new CaseText(workplace(), panel);
  text_->setDocument(document_->document());
  tabs_->addTab(form_, tr("Form"));
  tabs_->addTab(text_, tr("Text"));
  rows->addWidget(tabs_, 1);
  connect(wrong_line_, &QPushButton::clicked, this, [this] {
    if (!failed_) return;
    tabs_->setCurrentWidget(text_);
    text_->GoToLine(failed_->error_line);
    text_->setFocus();
  });
  return panel;
}

QWidget* BenchRoom::MakeCharts() {
  auto* charts = new QWidget(this);
  auto* rows = new QVBoxLayout(charts);
  rows->setContentsMargins(0, 0, 0, 0);
  rows->setSpacing(0);
  altitude_ = new AltitudeBar(*document_, workplace(), charts);
  connect(altitude_, &AltitudeBar::Said, &workplace(), &Workplace::Say);
  rows->addWidget(altitude_);
  auto* halves = new QSplitter(Qt::Vertical, charts);
  halves->setHandleWidth(1);
  halves->setChildrenCollapsible(false);
  sides_ = new QTabBar(charts);
  sides_->setObjectName("bench_sides");
  sides_->setAccessibleName(tr("Compressor maps or turbine maps"));
  sides_->addTab(tr("Compressors"));
  sides_->addTab(tr("Turbines"));
  sides_->setDrawBase(false);
  sides_->hide();
  rows->addWidget(sides_);
  map_rows_ = new QStackedWidget(charts);
  for (QSplitter** row : {&map_row_, &turbine_row_}) {
    *row = new QSplitter(Qt::Horizontal, map_rows_);
    (*row)->setHandleWidth(1);
    (*row)->setChildrenCollapsible(false);
    map_rows_->addWidget(*row);
  }
  connect(sides_, &QTabBar::currentChanged, map_rows_, &QStackedWidget::setCurrentIndex);
  halves->addWidget(map_rows_);
  strip_ = new StripView(workplace(), charts);
  strip_->setObjectName("pressure_strip");
  strip_->setAccessibleName(tr("Boost and drive pressure over engine speed"));
  halves->addWidget(strip_);
  halves->setStretchFactor(0, 3);
  halves->setStretchFactor(1, 1);
  halves->setSizes({420, 150});
  rows->addWidget(halves, 1);
  return charts;
}

void BenchRoom::MakeFacts() {
  reading_ = new QLabel(this);
  reading_->setTextFormat(Qt::RichText);
  reading_->setWordWrap(true);
  reading_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  reading_->setAlignment(Qt::AlignLeft | Qt::AlignTop);
  reading_->setObjectName("reading");
  reading_->setFixedHeight(kReadingHeight);
  notes_ = new QTextBrowser(this);
  notes_->setObjectName("bench_notes");
  notes_->setFrameShape(QFrame::NoFrame);
  notes_->setStyleSheet("QTextBrowser { border: none; background: transparent; }");
  auto* out = new QWidget(this);
  auto* grid = new QGridLayout(out);
  grid->setContentsMargins(0, 0, 0, 0);
  grid->setSpacing(2);
  int place = 0;
  for (QAction* deed : {report_, print_, charts_, data_, copy_table_, copy_picture_}) {
    QToolButton* button = DeedButton(deed, out);
    button->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
    grid->addWidget(button, place / 2, place % 2);
    ++place;
  }
  facts().AddSection(tr("Read on the map"), reading_);
  facts().AddSection(tr("The chosen point, and notes"), notes_, 1);
  facts().AddSection(tr("Out"), out);
  ShowReading(nullptr);
}

void BenchRoom::OfferUnfinished() {
  offer_ = new QWidget(this);
  offer_->setObjectName("unfinished");
  auto* row = new QHBoxLayout(offer_);
  row->setContentsMargins(12, 6, 12, 6);
  offer_words_ = new QLabel(offer_);
  offer_words_->setWordWrap(true);
  auto* take = new QPushButton(tr("Go on with it"), offer_);
  take->setObjectName("unfinished_take");
  auto* drop = new QPushButton(tr("Drop it"), offer_);
  drop->setObjectName("unfinished_drop");
  row->addWidget(offer_words_, 1);
  row->addWidget(take);
  row->addWidget(drop);
  const std::optional<KeptCase> kept = unfinished_.TakeOver();
  offer_->setVisible(kept.has_value());
  if (!kept) return;
  offer_words_->setText(tr("A case was left unfinished on %1: %2.").arg(kept->time, kept->file.isEmpty() ? tr("a new case") : kept->file));
  connect(take, &QPushButton::clicked, this, [this, kept = *kept] {
    offer_->hide();
    document_->Take(kept.text, kept.file, true);
    pages_->setCurrentWidget(work_);
  });
  connect(drop, &QPushButton::clicked, this, [this] {
    offer_->hide();
    unfinished_.Drop();
    if (document_->IsUnsaved()) Keep();
  });
}

QStringList BenchRoom::TakeFiles(const QStringList& files) {
  QStringList left;
  QString last;
  for (const QString& file : files) {
    if (file.endsWith(QStringLiteral(".toml"), Qt::CaseInsensitive))
      last = file;
    else
      left << file;
  }
  if (!last.isEmpty()) {
    OpenCase(last);
    emit ShowMe();
  }
  return left;
}

bool BenchRoom::MayClose() {
  if (document_->IsUnsaved()) Keep();  // offered again at the next start
  return true;
}

void BenchRoom::Enter() {
  OfferMaps();
  TakeKeyboard();
}

// Deeds' keys work while the keyboard is within the room.
void BenchRoom::TakeKeyboard() {
  if (QWidget* there = QApplication::focusWidget(); there != nullptr && isAncestorOf(there) && there->isVisible()) return;
  if (pages_->currentWidget() == work_)
    verdicts_->setFocus();
  else if (auto* first = start_->findChild<QToolButton*>())
    first->setFocus();
}

void BenchRoom::Touched() {
  if (document_->IsEmpty()) return;
  ask_soon_->start();
  if (document_->IsUnsaved()) keep_soon_->start();
}

void BenchRoom::Keep() {
  if (!document_->IsUnsaved() || offer_->isVisible()) return;
  if (!unfinished_.Keep(document_->Text(), document_->file()))
    workplace().Complain(tr("The case cannot be kept against a crash: the folder %1 cannot be written.")
                             .arg(QString::fromStdString(workplace().work_folder().string())));
}

void BenchRoom::Ask() {
  asked_ =
      worker_->Ask({0, document_->Text().toStdString(), document_->Name().toStdString(), document_->Folder().toStdString(), workplace().units()});
}

void BenchRoom::TakeOutcome(const std::shared_ptr<const BenchOutcome>& outcome) {
  if (outcome->number != asked_) return;  // an older case's
  if (outcome->error) {
    failed_ = outcome;
    ShowError();
  } else {
    failed_.reset();
    outcome_ = outcome;
    ShowResult();
  }
  emit Worked();
}

void BenchRoom::ShowError() {
  const Error& error = *failed_->error;
  const QString message = QString::fromStdString(error.message);
  const QString where = failed_->error_line > 0 ? tr("Line %1: %2").arg(failed_->error_line).arg(message) : message;
  auto* words = wrong_line_->findChild<QLabel*>("wrong_words");
  words->setText(where);
  wrong_line_->setAccessibleName(where);
  wrong_line_->setVisible(true);
  wrong_line_->setMinimumHeight(words->heightForWidth(case_panel_->width() - 30) + 16);
  text_->MarkLine(failed_->error_line, message);
  form_->MarkLine(failed_->error_line);
  facts().SetTopLine(failed_->error_line > 0 ? tr("Line %1 of the case is wrong; the charts show the case before it").arg(failed_->error_line)
                                             : tr("The case cannot be worked out"),
                     true);
}

void BenchRoom::ShowResult() {
  const BenchOutcome& out = *outcome_;
  wrong_line_->hide();
  text_->MarkLine(0, {});
  form_->MarkLine(0);
  facts().SetTopLine(Said(out.result.summary), out.result.grade == Grade::kOver);
  form_->ShowAssumed(out.result.asked.assumed);
  if (!ask_soon_->isActive()) altitude_->Show(out.result);  // else it holds a newer value already
  FitViews(maps_, map_row_, out.overlays.size(), "map_%1");
  for (std::size_t i = 0; i < out.overlays.size(); ++i)
    maps_[i]->SetContent(out.bench->compressors()[i].map, out.overlays[i], out.askable[i], QString::fromStdString(out.result.asked.stages[i].name));
  FitViews(turbine_maps_, turbine_row_, out.turbines.size(), "turbine_map_%1");
  for (std::size_t i = 0; i < out.turbines.size(); ++i)
    turbine_maps_[i]->SetContent(out.turbines[i].map, out.turbines[i].overlay, out.turbines[i].askable,
                                 tr("%1, turbine").arg(QString::fromStdString(out.turbines[i].stage)));
  sides_->setVisible(!out.turbines.empty());
  if (out.turbines.empty()) sides_->setCurrentIndex(0);
  what_first_->ShowCase(outcome_);
  verdicts_->Show(out.result);  // chooses a point
  ShowTwins();
}

// As many views as there are maps.
void BenchRoom::FitViews(std::vector<MapView*>& views, QSplitter* row, std::size_t count, const char* name) {
  while (views.size() < count) {
    auto* view = new MapView(workplace(), row);
    view->setObjectName(QString::fromLatin1(name).arg(views.size() + 1));
    row->addWidget(view);
    views.push_back(view);
    connect(view, &MapView::PointChosen, this, [this](int point) { verdicts_->ChoosePoint(point); });
    connect(view, &MapView::Read, this, &BenchRoom::ShowReading);
    connect(view, &MapView::Entered, this, [this](MapView* one) { entered_ = one; });
    connect(view, &MapView::DragBegun, this, [this, view](const QPixmap& look) {
      auto* carried = new Carried([view = QPointer(view)] { return view ? view->Picture(1600, 1180) : QImage(); });
      carried->setText(verdicts_->AsText());
      carried->setHtml(verdicts_->AsHtml());
      CarryOut(view, carried, look);
    });
  }
  for (std::size_t i = 0; i < views.size(); ++i) views[i]->setVisible(i < count);
}

void BenchRoom::ChoosePoint(int point) {
  chosen_ = point;
  for (const auto* views : {&maps_, &turbine_maps_})
    for (MapView* view : *views) view->Choose(point);
  what_first_->ChoosePoint(point);
  ShowPoint();
  if (!outcome_) return;
  strip_->SetDrawing([outcome = outcome_, point](QPainter& painter, const QRectF& area, bool night) {
    StripOptions options = PressureStrip(outcome->result);
    options.text_size = kStripPrint;
    options.night = night;
    if (point >= 0) options.chosen_x = outcome->result.points[static_cast<std::size_t>(point)].input.speed_rev_s * 60;
    DrawStrip(painter, area, PressureLines(outcome->result), options);
  });
  ShowTwins();
}

void BenchRoom::ShowPoint() {
  const DeskLook& look = workplace().look();
  if (!outcome_) return notes_->clear();
  const auto points = static_cast<int>(outcome_->result.points.size());
  const QString time =
      tr("%1 worked out in %2 ms.").arg(points == 1 ? tr("1 point") : tr("%1 points").arg(points)).arg(std::lround(outcome_->milliseconds));
  notes_->setHtml(PointHtml(outcome_->result, chosen_, look) + NotesHtml(outcome_->result, look) +
                  QStringLiteral("<p style='color:%1'>%2</p>").arg(look.chart.faint_ink.name(), time));
}

void BenchRoom::ShowReading(MapView* view) {
  if (view != nullptr && view->place()) entered_ = view;
  reading_->setText(ReadingHtml(view != nullptr && view->reading() ? view : entered_, workplace().units(), workplace().look()));
}

void BenchRoom::ShowFile() {
  case_name_->setText(document_->IsUnsaved() ? tr("%1, not saved").arg(document_->Name()) : document_->Name());
  case_name_->setToolTip(document_->file());
  save_->setEnabled(document_->IsUnsaved() || document_->file().isEmpty());
  if (!document_->IsUnsaved() && !offer_->isVisible()) unfinished_.Drop();
  ShowTwins();
}

void BenchRoom::OfferMaps() {
  QStringList compressors, turbines;
  if (const auto shelf = workplace().OpenShelf())
    if (const auto list = (*shelf)->List())
      for (const ShelfEntry& entry : *list) (entry.kind == "turbine" ? turbines : compressors) << QString::fromStdString(entry.name);
  form_->OfferMaps(compressors, turbines);
}

void BenchRoom::AskWhereTo(const QString& title, const QString& kinds, const QString& ending, std::function<void(const QString& file)> then) {
  const QFileInfo file(document_->file());
  const QString start = document_->file().isEmpty() ? QStringLiteral("case") + ending : file.absolutePath() + '/' + file.completeBaseName() + ending;
  AskForFile(this, {.title = title, .start = start, .kinds = kinds, .to_write = true},
             [then = std::move(then)](const QStringList& files) { then(files.front()); });
}

void BenchRoom::WriteReport(const QString& file) {
  if (outcome_) outputs_->Write(outcome_, file, true);
}
void BenchRoom::WriteCharts(const QString& file) {
  if (outcome_) outputs_->Write(outcome_, file, false);
}
void BenchRoom::WriteData(const QString& file) {
  if (outcome_) outputs_->Write(outcome_, file, false);
}

}  // namespace islebook
