#include "ui/desktop/shelf_room/shelf_room.h"

#include <algorithm>

#include <QApplication>
#include <QCheckBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QMimeData>
#include <QPushButton>
#include <QScrollArea>
#include <QSettings>
#include <QSplitter>
#include <QTimer>
#include <QVBoxLayout>

#include "ui/chart/chart_words.h"
#include "ui/desktop/frame/carried.h"
#include "ui/desktop/frame/facts_column.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/shelf_room/map_deeds.h"

namespace islebook {
namespace {

constexpr int kWatchEvery = 1500;  // ms

}  // namespace

ShelfRoom::ShelfRoom(Workplace& workplace, QWidget* parent)
    : Room(workplace, parent), clerk_(workplace.shelf_file()), seeker_(workplace.shelf_file()), watch_(new QTimer(this)) {
  setObjectName("shelf_room");
  auto* split = new QSplitter(Qt::Horizontal, this);
  split->setObjectName("shelf_split");
  split->addWidget(MakeLeft());
  split->addWidget(MakeMiddle());
  split->setStretchFactor(1, 1);
  split->setSizes({330, 740});
  split->setChildrenCollapsible(false);
  split->setHandleWidth(1);
  SetWork(split);
  MakeFacts();
  MakeDrawer();
  MakeDeeds();

  connect(search_, &ShelfSearch::Asked, this, &ShelfRoom::Search);
  connect(list_, &ShelfList::ChosenChanged, this, &ShelfRoom::ShowChosen);
  connect(chart_, &MapChart::Read, this, &ShelfRoom::ShowReading);
  connect(chart_, &MapChart::Left, this, [this] { reading_->setText(tr("Point at the chart, or move a cursor over it with the arrow keys.")); });
  connect(chart_, &MapChart::DragBegun, this, [this](const QPixmap& look) {
    const std::shared_ptr<const ShownChart> shown = chart_->shared();
    if (shown == nullptr || shown->maps.empty()) return;
    auto* carried = new Carried([shown] { return ChartPicture(*shown, false); });
    if (const ShownMap& map = shown->maps.front(); shown->maps.size() == 1) PutCurveTable(*carried, map.printed, map.name, map.revision);
    CarryOut(chart_, carried, look);
  });
  list_->rows().SetMover([this](const QStringList& names) -> QMimeData* {
    return new MapsOnTheMove(this->workplace().shelf_file(), this->workplace().work_folder() / "parcels", names);
  });
  connect(&workplace, &Workplace::ShelfChanged, this, [this](const QString&) { Search(); });
  connect(&workplace, &Workplace::UnitsChanged, this, &ShelfRoom::ShowChosen);
  connect(&workplace, &Workplace::LookChanged, this, [this] { list_->viewport()->update(); });
  connect(&workplace, &Workplace::ShelfAsked, this, [this](const QString& name) {
    wanted_ = name;
    search_->Clear();
    emit ShowMe();
  });
  watch_->setInterval(kWatchEvery);
  connect(watch_, &QTimer::timeout, this, &ShelfRoom::LookForChanges);
  watch_->start();
  wanted_ = workplace.habits().value("shelf/map").toString();
  Search();
}

ShelfRoom::~ShelfRoom() {
  const QStringList chosen = list_->ChosenNames();
  workplace().habits().setValue("shelf/map", chosen.size() == 1 ? chosen.front() : QString());
}

QWidget* ShelfRoom::MakeLeft() {
  auto* left = new QWidget(this);
  auto* rows = new QVBoxLayout(left);
  rows->setContentsMargins(0, 0, 0, 0);
  rows->setSpacing(0);
  search_ = new ShelfSearch(workplace(), this, left);
  list_ = new ShelfList(workplace(), left);
  list_->setFrameShape(QFrame::NoFrame);
  remark_ = new QLabel(left);
  remark_->setObjectName("shelf_remark");
  remark_->setWordWrap(true);
  remark_->setContentsMargins(10, 6, 10, 6);
  remark_->setTextFormat(Qt::PlainText);
  remark_->hide();
  empty_ = new QWidget(left);
  empty_->setObjectName("shelf_empty");
  auto* empty = new QVBoxLayout(empty_);
  empty->setContentsMargins(16, 16, 16, 16);
  empty->setSpacing(12);
  empty_words_ = new QLabel(
      tr("The shelf is empty. Drop a sheet (a picture or a PDF page of a map) or a parcel anywhere in the window, or begin with examples: eight "
         "invented wheels of Fellside Rotors. Do not build an engine on them."),
      empty_);
  empty_words_->setWordWrap(true);
  examples_ = new QPushButton(tr("Put the example shelf here"), empty_);
  examples_->setObjectName("shelf_examples");
  examples_->setProperty("main", true);
  examples_->setToolTip(tr("Digitizes the eight sheets that come with the program\nislebook shelf example"));
  connect(examples_, &QPushButton::clicked, this, &ShelfRoom::PutOnTheShelf);
  empty->addWidget(empty_words_);
  empty->addWidget(examples_, 0, Qt::AlignLeft);
  empty->addStretch(1);
  empty_->hide();
  rows->addWidget(search_);
  rows->addWidget(remark_);
  rows->addWidget(empty_, 1);
  rows->addWidget(list_, 1);
  return left;
}

QWidget* ShelfRoom::MakeMiddle() {
  auto* middle = new QWidget(this);
  middle->setObjectName("shelf_middle");
  auto* rows = new QVBoxLayout(middle);
  rows->setContentsMargins(0, 0, 0, 0);
  rows->setSpacing(0);
  auto* bar = new QWidget(middle);
  deeds_ = new FlowLayout(bar);
  deeds_->setContentsMargins(8, 6, 8, 6);
  deeds_->setSpacing(2);
  rows->addWidget(bar);
  drawer_ = new Drawer(middle);
  rows->addWidget(drawer_);
  chart_ = new MapChart(workplace(), clerk_, middle);
  rows->addWidget(chart_, 1);
  return middle;
}

void ShelfRoom::MakeFacts() {
  reading_ = new QLabel(&facts());
  reading_->setObjectName("shelf_reading");
  reading_->setWordWrap(true);
  reading_->setTextFormat(Qt::PlainText);
  reading_->setAlignment(Qt::AlignTop | Qt::AlignLeft);
  reading_->setMinimumHeight(reading_->fontMetrics().lineSpacing() * 7);
  reading_->setText(tr("Point at the chart, or move a cursor over it with the arrow keys."));
  facts().AddSection(tr("Under the cursor"), reading_);

  map_facts_ = new MapFactsPanel(&facts());
  history_ = new HistoryPanel(this, &facts());
  map_facts_->hide();
  history_->hide();
  auto* about = new QWidget(&facts());
  auto* rows = new QVBoxLayout(about);
  rows->setContentsMargins(0, 0, 6, 0);
  rows->addWidget(history_, 1);
  rows->addWidget(map_facts_);
  auto* scroll = new QScrollArea(&facts());
  scroll->setObjectName("shelf_about");
  scroll->setAccessibleName(tr("About the chosen map"));
  scroll->setWidgetResizable(true);
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  scroll->setWidget(about);
  scroll->setFocusPolicy(Qt::NoFocus);
  facts().AddSection({}, scroll, 1);
  connect(map_facts_, &MapFactsPanel::WheelEdited, this, &ShelfRoom::SetWheel);
  connect(map_facts_, &MapFactsPanel::TagEdited, this, &ShelfRoom::SetTag);
  connect(map_facts_, &MapFactsPanel::NoteAdded, this, &ShelfRoom::AddNote);
  connect(map_facts_, &MapFactsPanel::Refused, this, [this](const QString& words) { workplace().Complain(words); });
  connect(history_, &HistoryPanel::HeadAsked, this, &ShelfRoom::ShowChosen);
  connect(history_, &HistoryPanel::StateAsked, this, &ShelfRoom::ShowState);
  connect(history_, &HistoryPanel::DifferenceAsked, this, &ShelfRoom::ShowDifference);
  connect(history_, &HistoryPanel::RevertAsked, this, &ShelfRoom::Revert);
  connect(history_, &HistoryPanel::MergeAsked, this, [this](const QString& branch) { Merge(history_->history().name, branch, {}); });
}

void ShelfRoom::MakeDrawer() {
  export_ = new WritePage(QStringLiteral("export"), tr("Write to a file"), tr("Write"),
                          {{tr("Map document"), QStringLiteral(".map.json"), tr("islebook export NAME --document FILE")},
                           {tr("Curves, CSV"), QStringLiteral(".csv"), tr("islebook export NAME --curves FILE")},
                           {tr("Curves, spreadsheet"), QStringLiteral(".xlsx"), tr("islebook export NAME --spreadsheet FILE")},
                           {tr("Chart, SVG"), QStringLiteral(".svg"), tr("islebook chart NAME --svg FILE")},
                           {tr("Chart, picture"), QStringLiteral(".png"), tr("islebook chart NAME --png FILE")},
                           {tr("Chart, PDF"), QStringLiteral(".pdf"), tr("islebook chart NAME --pdf FILE")}},
                          drawer_);
  pack_ = new WritePage(QStringLiteral("pack"), tr("Pack the chosen maps into a parcel"), tr("Pack"),
                        {{tr("Parcel"), QStringLiteral(".zip"), tr("islebook parcel pack NAME...")}}, drawer_);
  pack_sheets_ = new QCheckBox(tr("With their sheets (leave out where pictures may not be passed on)"), pack_);
  pack_sheets_->setObjectName("pack_sheets");
  pack_sheets_->setChecked(true);
  pack_->AddOption(pack_sheets_);
  parcel_ = new ParcelPage(drawer_);
  merge_ = new MergePage(drawer_);
  for (QWidget* page : std::initializer_list<QWidget*>{export_, pack_, parcel_, merge_}) drawer_->AddPage(page);
  connect(export_, &WritePage::WriteAsked, this, &ShelfRoom::Export);
  connect(pack_, &WritePage::WriteAsked, this, &ShelfRoom::Pack);
  connect(parcel_, &ParcelPage::UnpackAsked, this, &ShelfRoom::Unpack);
  connect(parcel_, &ParcelPage::TrustAsked, this, [this](const QString& file) {
    const Result<QString> trusted = TrustParcelKey(file.toStdString());
    if (!trusted) {
      workplace().Complain(trusted.error());
      return;
    }
    workplace().Say(*trusted);
    LookInto(file);
  });
  connect(merge_, &MergePage::MergeDecided, this, &ShelfRoom::Merge);
  MakeExchange();
}

// The keys work from the first moment on.
void ShelfRoom::showEvent(QShowEvent* event) {
  Room::showEvent(event);
  const QWidget* focus = QApplication::focusWidget();
  if (focus == nullptr || !isAncestorOf(focus)) list_->setFocus();
}

void ShelfRoom::Enter() { list_->setFocus(); }

bool ShelfRoom::IsIdle() const {
  return !searching_ && !opening_ && clerk_.IsIdle() && seeker_.IsIdle() && (chart_->shown() == nullptr || chart_->IsDrawn());
}

void ShelfRoom::Search() {
  const ShelfQuestion question = search_->Question();
  const UnitHabit units = workplace().units();
  const quint64 number = ++searches_;
  searching_ = true;
  const bool slow = IsSlow(question);
  // Whichever clerk had the question before is told that it no longer counts.
  (slow ? clerk_ : seeker_).Do(this, QStringLiteral("search"), [](ClerkDesk&) -> ShelfClerk::Outcome { return {}; });
  search_->ShowProgress(slow ? tr("Asking the maps ...") : QString());
  (slow ? seeker_ : clerk_).Do(this, QStringLiteral("search"), [this, question, units, number](ClerkDesk& desk) -> ShelfClerk::Outcome {
    auto finding = std::make_shared<Result<ShelfFinding>>(Answer(desk, question, units, [this, number](double part) {
      if (number == searches_) search_->ShowProgress(tr("Bringing the index up to date: %1 %").arg(static_cast<int>(100 * part)));
    }));
    return [this, number, finding] {
      if (number == searches_) TakeFinding(std::move(*finding));
    };
  });
}

void ShelfRoom::TakeFinding(Result<ShelfFinding> finding) {
  searching_ = false;
  search_->ShowProgress({});
  if (!finding) {
    if (finding.error().code != ErrorCode::kCancelled) workplace().Complain(finding.error());
    emit Listed();
    return;
  }
  finding_ = std::move(*finding);
  search_->SetTags(finding_.tags);
  search_->MarkWrong(finding_.wrong_field);
  remark_->setText((finding_.wrong_field.isEmpty() ? finding_.remark : finding_.words).trimmed());
  remark_->setProperty("limit", !finding_.wrong_field.isEmpty());
  remark_->setVisible(!remark_->text().isEmpty());
  const bool empty = finding_.maps == 0 && search_->Question().AsksNothing();
  empty_->setVisible(empty);
  list_->setVisible(!empty);
  list_->ShowRows(std::move(finding_.rows));
  finding_.rows.clear();
  if (!wanted_.isEmpty() && list_->rows().RowNamed(wanted_) >= 0) {
    list_->Choose({wanted_});
    wanted_.clear();
  } else if (list_->ChosenNames().isEmpty() && list_->rows().rowCount() > 0) {
    list_->Choose({list_->rows().rows().front().name});
  } else if (const QStringList chosen = list_->ChosenNames(); chosen.size() == 1) {
    // The same map, perhaps in a newer state or with other facts.
    const ShelfRow& row = list_->rows().rows()[static_cast<std::size_t>(list_->rows().RowNamed(chosen.front()))];
    const auto& revisions = history_->history().revisions;
    if (history_->history().name == row.name && !revisions.empty() && QString::fromStdString(revisions.front().id) != row.revision)
      ShowChosen();
    else
      ShowFacts();
  }
  TopLine();
  emit Listed();
}

void ShelfRoom::ShowChosen() {
  const QStringList chosen = list_->ChosenNames();
  list_->rows().SetLetters(chosen.size() <= static_cast<qsizetype>(kMostCompared) ? chosen : QStringList());
  ShowFacts();
  const quint64 number = ++openings_;
  if (chosen.isEmpty()) {
    chart_->Show(nullptr, list_->rows().rowCount() == 0 ? QString() : tr("Choose a map on the left."));
    opening_ = false;
    TopLine();
    return;
  }
  std::vector<std::string> specs;
  for (const QString& name : chosen) specs.push_back(name.toStdString());
  const UnitHabit units = workplace().units();
  opening_ = true;
  clerk_.Do(this, QStringLiteral("open"), [this, specs, units, number](ClerkDesk& desk) -> ShelfClerk::Outcome {
    const Result<Shelf*> shelf = desk.OpenShelf();
    auto opened = std::make_shared<Result<ShownChart>>(shelf ? OpenShownChart(**shelf, specs, units) : std::unexpected(shelf.error()));
    return [this, opened, number] {
      if (number != openings_) return;
      history_->ShowChanges({}, false);
      ShowOpened(*opened);
    };
  });
}

void ShelfRoom::ShowState(const QString& id) {
  const std::string spec = history_->history().name.toStdString() + "@" + id.toStdString();
  const UnitHabit units = workplace().units();
  const quint64 number = ++openings_;
  opening_ = true;
  clerk_.Do(this, QStringLiteral("open"), [this, spec, units, number](ClerkDesk& desk) -> ShelfClerk::Outcome {
    const Result<Shelf*> shelf = desk.OpenShelf();
    auto opened = std::make_shared<Result<ShownChart>>(shelf ? OpenShownChart(**shelf, {spec}, units) : std::unexpected(shelf.error()));
    if (*opened)
      (*opened)->caption =
          tr("An earlier state: revision %1").arg(QString::fromStdString((*opened)->maps.front().revision.substr(0, 12))).toStdString();
    return [this, opened, number] {
      if (number != openings_) return;
      history_->ShowChanges({}, false);
      ShowOpened(*opened);
    };
  });
}

void ShelfRoom::ShowDifference(const QString& before, const QString& after) {
  const std::string name = history_->history().name.toStdString();
  const UnitHabit units = workplace().units();
  const quint64 number = ++openings_;
  opening_ = true;
  clerk_.Do(this, QStringLiteral("open"),
            [this, name, units, number, before = before.toStdString(), after = after.toStdString()](ClerkDesk& desk) -> ShelfClerk::Outcome {
              const Result<Shelf*> shelf = desk.OpenShelf();
              auto opened =
                  std::make_shared<Result<ShownChart>>(shelf ? OpenDifference(**shelf, name, before, after, units) : std::unexpected(shelf.error()));
              return [this, opened, number] {
                if (number != openings_) return;
                history_->ShowChanges(*opened ? (*opened)->unplaced : QStringList(), opened->has_value());
                ShowOpened(*opened);
              };
            });
}

void ShelfRoom::ShowOpened(Result<ShownChart>& opened) {
  opening_ = false;
  if (!opened) {
    const Error& error = opened.error();
    chart_->Show(nullptr, QString::fromStdString(error.place.empty() ? error.message : error.place + ": " + error.message));
  } else {
    chart_->Show(std::make_shared<const ShownChart>(std::move(*opened)));
  }
  TopLine();
}

void ShelfRoom::ShowFacts() {
  const QStringList chosen = list_->ChosenNames();
  map_facts_->setVisible(chosen.size() == 1);
  history_->setVisible(chosen.size() == 1);
  if (chosen.size() != 1) {
    map_facts_->Show({}, {});
    history_->Show({});
    return;
  }
  clerk_.Do(this, QStringLiteral("facts"), [this, name = chosen.front().toStdString()](ClerkDesk& desk) -> ShelfClerk::Outcome {
    const Result<Shelf*> shelf = desk.OpenShelf();
    if (!shelf) return {};
    auto history = std::make_shared<MapHistory>();
    const Result<MapFacts> facts = (*shelf)->Facts(name);
    const Result<std::vector<RevisionRecord>> log = (*shelf)->Log(name);
    const Result<std::vector<ShelfBranch>> branches = (*shelf)->Branches(name);
    if (!facts || !log || !branches) return {};
    history->name = QString::fromStdString(name);
    history->revisions = *log;
    history->branches = *branches;
    history->removed = facts->removed;
    for (std::size_t i = 1; i < branches->size(); ++i) {
      std::vector<RevisionRecord> own;
      if (const auto all = (*shelf)->Log(name + "@" + (*branches)[i].name); all)
        for (const RevisionRecord& revision : *all)
          if (std::none_of(log->begin(), log->end(), [&](const RevisionRecord& r) { return r.id == revision.id; })) own.push_back(revision);
      history->branch_revisions.push_back(std::move(own));
    }
    return [this, history, facts = *facts] {
      if (list_->ChosenNames() != QStringList{history->name}) return;
      map_facts_->Show(history->name, facts);
      history_->Show(*history);
    };
  });
}

void ShelfRoom::ShowReading(const Reading& reading) { reading_->setText(reading.lines.join(QLatin1Char('\n'))); }

void ShelfRoom::TopLine() {
  if (!finding_.words.isEmpty()) {
    facts().SetTopLine(finding_.words, !finding_.wrong_field.isEmpty());
    return;
  }
  const ShownChart* shown = chart_->shown();
  if (shown == nullptr && !chart_->words().isEmpty() && !list_->ChosenNames().isEmpty()) {
    facts().SetTopLine(list_->ChosenNames().size() > 1 ? tr("These maps cannot be laid over each other") : tr("This map cannot be shown"), true);
    return;
  }
  if (shown == nullptr || shown->maps.empty()) {
    facts().SetTopLine(finding_.maps == 0 ? tr("The shelf is empty") : Counted(finding_.maps, tr("%1 map on the shelf"), tr("%1 maps on the shelf")));
    return;
  }
  if (shown->maps.size() > 1) {
    facts().SetTopLine(tr("%1 maps on common axes").arg(shown->maps.size()));
    return;
  }
  const QString name = QString::fromStdString(shown->maps.front().name);
  if (shown->is_difference) {
    facts().SetTopLine(shown->changes.isEmpty() ? tr("%1: nothing changed").arg(name)
                                                : Counted(shown->changes.size(), tr("%2: %1 change"), tr("%2: %1 changes")).arg(name));
    return;
  }
  const auto doubts = static_cast<qint64>(NumberDoubts(shown->maps.front().printed).size());
  facts().SetTopLine(doubts == 0 ? tr("%1: no doubts left").arg(name) : Counted(doubts, tr("%2: %1 doubt left"), tr("%2: %1 doubts left")).arg(name),
                     doubts > 0);
}

void ShelfRoom::LookForChanges() {
  clerk_.Do(this, QStringLiteral("watch"), [this](ClerkDesk& desk) -> ShelfClerk::Outcome {
    const Result<Shelf*> shelf = desk.OpenShelf();
    if (!shelf) return {};
    const Result<std::int64_t> changes = (*shelf)->ChangesElsewhere();
    if (!changes) return {};
    return [this, seen = *changes] {
      const bool is_new = changes_seen_ >= 0 && seen != changes_seen_;
      changes_seen_ = seen;
      if (is_new && !searching_) Search();
    };
  });
}

}  // namespace islebook
