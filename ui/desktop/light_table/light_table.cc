#include "ui/desktop/light_table/light_table.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <QAction>
#include <QApplication>
#include <QClipboard>
#include <QComboBox>
#include <QDragEnterEvent>
#include <QFileInfo>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QLocale>
#include <QMimeData>
#include <QProgressBar>
#include <QPushButton>
#include <QSettings>
#include <QSignalBlocker>
#include <QSpinBox>
#include <QSplitter>
#include <QTime>
#include <QUrl>

#include "digitizer/axes/plot_frame.h"
#include "mapstore/bench/shop_units.h"
#include "mapstore/map/curve_words.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/units/unit.h"
#include "ui/chart/chart_words.h"
#include "ui/desk/accept_map.h"
#include "ui/desktop/frame/carried.h"
#include "ui/desktop/frame/desk_icon.h"
#include "ui/desktop/frame/facts_column.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/light_table/accept_form.h"
#include "ui/desktop/light_table/axes_facts.h"
#include "ui/desktop/light_table/chart_view.h"
#include "ui/desktop/light_table/curve_facts.h"
#include "ui/desktop/light_table/doubts_list.h"
#include "ui/desktop/light_table/notice_line.h"

namespace islebook {
namespace {

constexpr std::size_t kMostOffers = 3;
constexpr int kSlowMs = 350;  // work that takes longer gets a progress line

const char* const kSheetEnds[] = {"jpg", "jpeg", "png", "tif", "tiff", "webp", "bmp", "pbm", "pgm", "ppm", "pnm", "pdf", "svg"};

bool IsSheetFile(const QString& file) {
  const QString end = QFileInfo(file).suffix().toLower();
  return std::ranges::any_of(kSheetEnds, [&](const char* known) { return end == QLatin1String(known); });
}

bool IsRecipeFile(const QString& file) { return file.endsWith(QLatin1String(".recipe.json"), Qt::CaseInsensitive); }

QString CountOfCorrections(int n) {
  return n == 1 ? QCoreApplication::translate("LightTable", "1 correction") : QCoreApplication::translate("LightTable", "%1 corrections").arg(n);
}

// A value of an axis with as many digits as the frame's pixels can tell.
QString AtAxis(const Axis& axis, double part, const UnitHabit& units) {
  const bool log = axis.scale == AxisScale::kLog && axis.min > 0.0 && axis.max > 0.0;
  const double value = log ? axis.min * std::pow(axis.max / axis.min, part) : axis.min + part * (axis.max - axis.min);
  const double step = std::max(1e-12, std::abs(axis.max - axis.min) / 2000.0);
  const int decimals = std::clamp(static_cast<int>(std::ceil(-std::log10(step))), 0, 6);
  const QString unit = QString::fromStdString(UnitWords(axis.unit));
  const QString number = QLocale::c().toString(value, 'f', decimals);
  if (unit.isEmpty()) return number;
  const QString printed = number + QLatin1Char(' ') + unit;
  // In the shop's unit too, where the sheet prints another.
  const auto known = ParseUnit(axis.unit);
  if (!known || known->dimension != Dimension::kMassFlow || axis.unit == units.Of(ShopQuantity::kFlow).document) return printed;
  return QStringLiteral("%1 (%2)").arg(printed, QString::fromStdString(Shop(units).Flow(value * known->factor)));
}

}  // namespace

LightTable::LightTable(Workplace& workplace, QWidget* parent) : Room(workplace, parent), work_(workplace.work_folder(), this) {
  setObjectName("light_table");
  setAcceptDrops(true);
  pool_.setMaxThreadCount(1);
  slow_.setSingleShot(true);
  slow_.setInterval(kSlowMs);
  SetWork(MakeWork());
  MakeFacts();
  MakeDeeds();
  Connect();
  TakeLook();
  ShowSheet();
  ShowMap();
  OfferUnfinished();
}

LightTable::~LightTable() {
  pool_.waitForDone();
  disconnect(&work_.history(), nullptr, this, nullptr);  // it tells of its end, when there are no deeds any more
}

QWidget* LightTable::MakeWork() {
  auto* all = new QWidget(this);
  auto* rows = new QVBoxLayout(all);
  rows->setContentsMargins(0, 0, 0, 0);
  rows->setSpacing(0);
  rows->addWidget(MakeToolRow());
  offers_ = new QVBoxLayout;
  offers_->setSpacing(0);
  rows->addLayout(offers_);

  progress_ = new NoticeLine("progress_line", all);
  bar_ = new QProgressBar(progress_);
  bar_->setRange(0, 100);
  bar_->setFixedWidth(180);
  bar_->setAccessibleName(tr("How far the sheet is read"));
  progress_->AddControl(bar_);
  QPushButton* stop = progress_->AddButton(tr("Stop"), "stop_button");
  stop->setToolTip(tr("Stop reading the sheet  [Esc]\nCtrl+C while islebook digitize runs"));
  connect(stop, &QPushButton::clicked, this, [this] { work_.digitizing().Cancel(); });

  pages_ = new NoticeLine("page_line", all);
  page_ = new QSpinBox(pages_);
  page_->setObjectName("page_choice");
  page_->setAccessibleName(tr("Page of the file"));
  page_->setKeyboardTracking(false);
  page_->setToolTip(tr("islebook digitize --page N"));
  pages_->AddControl(page_);
  maps_ = new NoticeLine("map_line", all);
  map_choice_ = new QComboBox(maps_);
  map_choice_->setObjectName("map_choice");
  map_choice_->setAccessibleName(tr("Map of the sheet"));
  maps_->AddControl(map_choice_);
  waiting_line_ = new NoticeLine("waiting_line", all);
  connect(waiting_line_->AddButton(tr("Next sheet"), "next_sheet"), &QPushButton::clicked, this, &LightTable::OpenNext);
  for (NoticeLine* line : {progress_, pages_, maps_, waiting_line_}) rows->addWidget(line);

  auto* halves = new QSplitter(Qt::Horizontal, all);
  halves->setObjectName("light_table_split");
  halves->setChildrenCollapsible(false);
  halves->setHandleWidth(1);
  auto* sheet = new QWidget(halves);
  auto* sheet_rows = new QVBoxLayout(sheet);
  sheet_rows->setContentsMargins(0, 0, 0, 0);
  sheet_rows->setSpacing(0);
  view_ = new SheetView(sheet);
  view_->setAccessibleName(tr("The sheet"));
  view_->SetEmptyWords(tr(
      "Lay a sheet on the table: drop a file here, open one (Ctrl+O) or paste a picture (Ctrl+V).\n\n"
      "A scan, a picture from the web, a page of a PDF or a photograph will do. It is read at once; what is doubtful is marked for you to look at."));
  // The hint lies over the sheet's foot: a sheet that a person points at must not move.
  auto* over_each_other = new QGridLayout;
  over_each_other->setContentsMargins(0, 0, 0, 0);
  over_each_other->addWidget(view_, 0, 0);
  hint_ = new NoticeLine("tool_hint", sheet);
  over_each_other->addWidget(hint_, 0, 0, Qt::AlignBottom);
  sheet_rows->addLayout(over_each_other, 1);
  reading_ = new QLabel(sheet);
  reading_->setObjectName("reading");
  reading_->setProperty("faint", true);
  reading_->setContentsMargins(10, 3, 10, 3);
  reading_->setAccessibleName(tr("Values at the place pointed at"));
  sheet_rows->addWidget(reading_);
  halves->addWidget(sheet);
  auto* right = new QWidget(halves);
  auto* right_rows = new QVBoxLayout(right);
  right_rows->setContentsMargins(0, 0, 0, 0);
  right_rows->setSpacing(0);
  chart_ = new ChartView(right);
  chart_->setAccessibleName(tr("The chart drawn anew from the numbers"));
  right_rows->addWidget(chart_, 1);
  axes_ = new AxesFacts(right);
  right_rows->addWidget(axes_);
  halves->addWidget(right);
  halves->setStretchFactor(0, 3);
  halves->setStretchFactor(1, 2);
  halves->setSizes({560, 320});
  rows->addWidget(halves, 1);
  return all;
}

QWidget* LightTable::MakeToolRow() {
  auto* row = new QFrame(this);
  row->setObjectName("tool_row");
  tool_row_ = new QHBoxLayout(row);
  tool_row_->setContentsMargins(6, 4, 6, 4);
  tool_row_->setSpacing(1);
  return row;
}

void LightTable::MakeFacts() {
  doubts_ = new DoubtsList(this);
  doubts_->setAccessibleName(tr("What needs a look"));
  facts().AddSection(tr("To look at"), doubts_, 1);
  curve_ = new CurveFacts(this);
  facts().AddSection(tr("Chosen curve"), curve_);
  accept_ = new AcceptForm(this);
  accept_->button()->setToolTip(
      tr("Put the map and its sheet on the shelf  [Ctrl+Return]\nislebook shelf add FILE --sheet SHEET --name NAME --message WORDS"));
  facts().AddSection(tr("Onto the shelf"), accept_);
}

void LightTable::Connect() {
  connect(&work_, &SheetWork::SheetChanged, this, &LightTable::ShowSheet);
  connect(&work_, &SheetWork::MapChanged, this, &LightTable::ShowMap);
  connect(&work_, &SheetWork::ChosenChanged, this, &LightTable::ShowChosen);
  connect(&work_, &SheetWork::RecipeChanged, this, &LightTable::TellTwins);
  connect(&work_.history(), &QUndoStack::indexChanged, this, &LightTable::TellTwins);

  Digitizing& digitizing = work_.digitizing();
  connect(&digitizing, &Digitizing::StageBegun, this, &LightTable::ShowStage);
  connect(&digitizing, &Digitizing::LinesSeen, this, [this](const std::vector<QPolygonF>& lines) {
    if (work_.has_map()) return;  // of a sheet that is done the curves stay until the new ones are there
    view_->marks().SetWork(lines);
    view_->MarksChanged();
  });
  connect(&digitizing, &Digitizing::FramesSeen, this, [this](const std::vector<QPolygonF>& frames) {
    view_->marks().SetFrames(frames);
    view_->MarksChanged();
  });
  connect(&digitizing, &Digitizing::FlattenedShown, this, [this](const SheetPicture& picture) {
    if (deeds_["flattened"]->isChecked() && !picture.empty()) view_->SetFlattened(picture);
  });
  connect(&digitizing, &Digitizing::Failed, this, &LightTable::Fail);
  connect(&digitizing, &Digitizing::Cancelled, this, [this] {
    slow_.stop();
    progress_->Say({});
    ShowTopLine();
    workplace().Say(work_.has_map() ? tr("Stopped. What is shown is the state before the last change; undo it or change something to go on.")
                                    : tr("Stopped. Open the sheet again to read it anew."));
  });
  connect(&slow_, &QTimer::timeout, this, [this] {
    if (work_.digitizing().busy()) progress_->Say(stage_words_);
  });

  connect(view_, &SheetView::PointedAt, this, &LightTable::Point);
  connect(view_, &SheetView::Done, this, &LightTable::EndTool);
  connect(view_, &SheetView::CornersMoved, this, &LightTable::TakeCorners);
  connect(view_, &SheetView::Hovered, this, &LightTable::ShowReading);
  connect(view_, &SheetView::DigitTyped, curve_, &CurveFacts::EditValue);
  connect(chart_, &ChartView::CurveChosen, this, [this](const std::optional<std::size_t>& curve) {
    work_.Choose(curve);
    if (curve) GoTo(*curve);
  });
  connect(chart_, &ChartView::DragBegun, this, [this](const QPixmap& look) {
    if (work_.has_map()) CarryOut(chart_, CarriedMap().release(), look);
  });
  connect(doubts_, &DoubtsList::Visited, this, &LightTable::Visit);
  connect(curve_, &CurveFacts::Relabeled, this, &LightTable::Relabel);
  connect(curve_, &CurveFacts::RoleGiven, this, &LightTable::GiveRole);
  connect(axes_, &AxesFacts::Corrected, this, &LightTable::Correct);
  const auto complain = [this](const QString& reason) { this->workplace().Complain(reason); };
  connect(curve_, &CurveFacts::Refused, this, complain);
  connect(axes_, &AxesFacts::Refused, this, complain);
  const auto back = [this] { view_->setFocus(); };
  connect(curve_, &CurveFacts::LeftEditing, this, back);
  connect(axes_, &AxesFacts::LeftEditing, this, back);
  connect(accept_, &AcceptForm::Accepted, this, &LightTable::Accept);
  connect(page_, &QSpinBox::valueChanged, this, [this](int page) { work_.OpenPage(page); });
  connect(map_choice_, &QComboBox::activated, this, [this](int number) { work_.ChooseMap(static_cast<std::size_t>(number)); });

  connect(&workplace(), &Workplace::LookChanged, this, &LightTable::TakeLook);
  axes_->SetUnits(workplace().units());
  connect(&workplace(), &Workplace::UnitsChanged, this, [this] { axes_->SetUnits(this->workplace().units()); });
  connect(&workplace(), &Workplace::SheetAsked, this, [this](const QString& file) { OpenFile(file.toStdString()); });
  connect(&workplace(), &Workplace::CorrectAsked, this, &LightTable::OpenFromShelf);
}

void LightTable::TakeLook() {
  view_->SetLook(workplace().look());
  chart_->SetLook(workplace().look());
  const DeskLook& look = workplace().look();
  setStyleSheet(QStringLiteral("islebook--NoticeLine, QFrame#tool_row { background: %1; border: none; border-bottom: 1px solid %2; }"
                               "islebook--NoticeLine#tool_hint { border-top: 1px solid %2; border-bottom: none; }")
                    .arg(look.panel.name(), look.edge.name()));
  for (auto deed = deeds_.cbegin(); deed != deeds_.cend(); ++deed) deed.value()->setIcon(DeskIcon(deed.key(), look));
}

void LightTable::Enter() { view_->setFocus(); }

// Unfinished work stays in its folder and is offered the next time.
bool LightTable::MayClose() {
  work_.unfinished().Leave();
  work_.unfinished().Flush();
  return true;
}

void LightTable::OfferUnfinished() {
  while (QLayoutItem* item = offers_->takeAt(0)) {
    item->widget()->deleteLater();
    delete item;
  }
  std::vector<UnfinishedSheet> left = work_.unfinished().Left();
  if (left.size() > kMostOffers) left.resize(kMostOffers);
  for (const UnfinishedSheet& work : left) {
    auto* line = new NoticeLine("unfinished_line", this);
    const bool today = work.changed.date() == QDate::currentDate();
    const QString when = today ? tr("of %1").arg(work.changed.time().toString(QStringLiteral("HH:mm")))
                               : tr("of %1").arg(QLocale::c().toString(work.changed, QStringLiteral("d MMMM, HH:mm")));
    line->Say(tr("Work on %1 %2 was not finished (%3).").arg(work.file, when, CountOfCorrections(work.corrections)));
    connect(line->AddButton(tr("Go on"), "unfinished_go_on"), &QPushButton::clicked, this, [this, work, line] {
      line->hide();
      work_.OpenUnfinished(work);
      view_->setFocus();
    });
    connect(line->AddButton(tr("Put away"), "unfinished_put_away"), &QPushButton::clicked, this, [this, work, line] {
      line->hide();
      work_.unfinished().PutAway(work);
      workplace().Say(tr("Put away. Should you want it after all, its sheet and recipe are in %1.")
                          .arg(QString::fromStdString((work.folder.parent_path() / "put_away").string())));
    });
    offers_->addWidget(line);
  }
}

QStringList LightTable::TakeFiles(const QStringList& files) {
  QStringList left, sheets;
  for (const QString& file : files) {
    if (IsSheetFile(file))
      sheets << file;
    else if (IsRecipeFile(file) && work_.has_sheet())
      LoadRecipe(file);
    else
      left << file;
  }
  if (sheets.isEmpty()) return left;
  waiting_ += sheets;
  OpenNext();
  emit ShowMe();
  return left;
}

void LightTable::OpenNext() {
  if (waiting_.isEmpty()) return;
  OpenFile(waiting_.takeFirst().toStdString());
  waiting_line_->Say(waiting_.isEmpty() ? QString()
                     : waiting_.size() == 1
                         ? tr("1 more sheet waits: %1.").arg(QFileInfo(waiting_.front()).fileName())
                         : tr("%1 more sheets wait; the next is %2.").arg(waiting_.size()).arg(QFileInfo(waiting_.front()).fileName()));
}

void LightTable::OpenFile(const std::filesystem::path& file) {
  SheetOrder order;
  order.file = file;
  work_.Open(std::move(order));
  emit ShowMe();
  view_->setFocus();
}

void LightTable::OpenFromShelf(const QString& spec) {
  SheetOrder order;
  order.shelf_name = spec.toStdString();
  order.shelf_file = workplace().shelf_file();
  work_.Open(std::move(order));
  emit ShowMe();
  view_->setFocus();
}

void LightTable::Paste() {
  const QMimeData* copied = QApplication::clipboard()->mimeData();
  if (copied != nullptr && copied->hasUrls()) {
    QStringList files;
    for (const QUrl& url : copied->urls())
      if (url.isLocalFile()) files << url.toLocalFile();
    const QStringList left = TakeFiles(files);
    if (!left.isEmpty()) workplace().Complain(tr("%1 is no sheet: a picture, a PDF or an SVG page is.").arg(left.join(QStringLiteral(", "))));
    return;
  }
  SheetOrder order;
  if (copied != nullptr && copied->hasImage()) order.picture = qvariant_cast<QImage>(copied->imageData());
  if (order.picture.isNull()) return workplace().Complain(tr("There is no picture on the clipboard. Copy one, then paste it here."));
  order.name = tr("pasted-%1.png").arg(QTime::currentTime().toString(QStringLiteral("HHmmss"))).toStdString();
  work_.Open(std::move(order));
  view_->setFocus();
}

void LightTable::dragEnterEvent(QDragEnterEvent* event) {
  // Files are the window's to deal out; a picture dragged from another program is for here.
  if (!event->mimeData()->hasUrls() && event->mimeData()->hasImage()) event->acceptProposedAction();
}

void LightTable::dropEvent(QDropEvent* event) {
  SheetOrder order;
  order.picture = qvariant_cast<QImage>(event->mimeData()->imageData());
  order.name = tr("dropped-%1.png").arg(QTime::currentTime().toString(QStringLiteral("HHmmss"))).toStdString();
  if (order.picture.isNull()) return;
  event->acceptProposedAction();
  work_.Open(std::move(order));
}

void LightTable::ShowSheet() {
  accept_->Clear();
  UseTool(TableTool::kChoose);
  deeds_["flattened"]->setChecked(false);
  view_->SetPicture(work_.has_sheet() ? work_.sheet().picture : SheetPicture());
  const int pages = work_.has_sheet() ? work_.sheet().pages : 1;
  if (pages > 1) {
    const QSignalBlocker quiet(page_);
    page_->setRange(1, pages);
    page_->setValue(work_.recipe().settings.page.value_or(1));
    page_->setSuffix(tr(" of %1").arg(pages));
  }
  pages_->Say(pages > 1 ? tr("%1 has several pages. Which one holds the map?").arg(QString::fromStdString(work_.sheet().file)) : QString());
  OfferUnfinished();
  TellTwins();
}

void LightTable::ShowMap() {
  const auto map = work_.map_pointer();
  slow_.stop();
  if (!work_.digitizing().busy()) progress_->Say({});
  if (map)
    view_->marks().SetMap(*map);
  else
    view_->marks().Clear();
  view_->MarksChanged();
  chart_->SetMap(map && (!map->curves.empty() || map->x) ? map : nullptr);
  axes_->SetMap(map);
  doubts_->SetMap(map.get());
  const auto& maps = work_.maps();
  if (maps.size() > 1) {
    const QSignalBlocker quiet(map_choice_);
    map_choice_->clear();
    for (std::size_t i = 0; i < maps.size(); ++i) {
      const QString title = QString::fromStdString(maps[i].title);
      map_choice_->addItem(tr("%1: %2").arg(i + 1).arg(title.isEmpty() ? tr("%1 curves").arg(maps[i].curves.size()) : title));
    }
    map_choice_->setCurrentIndex(static_cast<int>(work_.map_number()));
  }
  maps_->Say(maps.size() > 1 ? tr("This sheet holds %1 maps. Each goes onto the shelf by itself.").arg(maps.size()) : QString());
  accept_->SetReady(map && map->kind.has_value());
  if (map) {
    const std::string& shelf_name = work_.sheet().shelf_name;
    const bool second = work_.map_number() > 0;
    QString name = QString::fromStdString(shelf_name.empty() || second ? ProposeMapName(*map) : shelf_name);
    if (second && name == QString::fromStdString(ProposeMapName(maps.front()))) name += QStringLiteral("-%1").arg(work_.map_number() + 1);
    accept_->Propose(name, workplace().author());
    const auto corrections = static_cast<int>(work_.recipe().corrections.size());
    const QString origin = tr("digitized from %1").arg(QString::fromStdString(work_.sheet().file));
    accept_->SetMessageHint(corrections == 0 ? origin : tr("%1, %2").arg(origin, CountOfCorrections(corrections)));
    if (view_->tool() == TableTool::kCorners && map->calibration) UseTool(TableTool::kCorners);  // where the corners came to lie
  }
  ShowTopLine();
  ShowChosen();
}

void LightTable::ShowChosen() {
  const auto chosen = work_.chosen();
  view_->SetChosen(chosen);
  chart_->SetChosen(chosen);
  curve_->SetCurve(work_.map_pointer(), chosen);
  doubts_->ShowCurve(chosen);
  ShowHint();
  TellTwins();
}

void LightTable::ShowTopLine() {
  if (work_.digitizing().busy() && !work_.has_map())
    facts().SetTopLine(tr("Reading the sheet"));
  else if (work_.has_map())
    facts().SetTopLine(TopLineOf(work_.map()), !doubts_->doubts().empty());
  else
    facts().SetTopLine(work_.has_sheet() ? tr("The sheet is not read") : tr("No sheet on the table"));
}

void LightTable::ShowStage(const QString& stage, double part) {
  static const QHash<QString, const char*> kWords = {{"read", QT_TR_NOOP("opening the sheet")},
                                                     {"page", QT_TR_NOOP("evening out light and paper")},
                                                     {"drawing", QT_TR_NOOP("reading the drawing")},
                                                     {"ridges", QT_TR_NOOP("looking for lines")},
                                                     {"print", QT_TR_NOOP("looking for print")},
                                                     {"axes", QT_TR_NOOP("reading the axes")},
                                                     {"curves", QT_TR_NOOP("following the curves")},
                                                     {"judge", QT_TR_NOOP("telling what each curve is")},
                                                     {"done", QT_TR_NOOP("done")}};
  const char* words = kWords.value(stage, QT_TR_NOOP("working"));
  stage_words_ = tr("Reading the sheet: %1.").arg(tr(words));
  bar_->setValue(static_cast<int>(std::lround(100 * part)));
  if (progress_->isVisible())
    progress_->Say(stage_words_);
  else if (!slow_.isActive())
    slow_.start();
  if (!work_.has_map()) ShowTopLine();
}

void LightTable::ShowReading(const QPointF& place) {
  if (!work_.has_map() || !work_.map().calibration || !work_.map().x || !work_.map().y) return reading_->clear();
  const Calibration& calibration = *work_.map().calibration;
  if (calibration.parameters.size() != static_cast<std::size_t>(frame_parameter::kCount)) return reading_->clear();
  const FramePoint at = FrameMapping::FromParameters(calibration.parameters).FrameFromImage({place.x(), place.y()});
  if (at.u < -0.02 || at.u > 1.02 || at.v < -0.02 || at.v > 1.02) return reading_->clear();
  reading_->setText(tr("%1   %2").arg(AtAxis(*work_.map().x, at.u, workplace().units()), AtAxis(*work_.map().y, at.v, workplace().units())));
}

void LightTable::Fail(const Error& error) {
  slow_.stop();
  progress_->Say({});
  ShowTopLine();
  workplace().Complain(error);
}

void LightTable::Accept() {
  if (!work_.has_map() || work_.digitizing().busy())
    return workplace().Complain(tr("The sheet is still being read; put the map on the shelf once it is done."));
  MapToAccept accepted;
  accepted.map = work_.map();
  accepted.sheet = *work_.sheet().bytes;
  accepted.name = accept_->name().toStdString();
  accepted.author = accept_->author().toStdString();
  accepted.message = accept_->message().toStdString();
  if (accepted.author.empty()) return workplace().Complain(tr("Say who puts the map on the shelf: your name goes into its history."));
  if (accepted.name == work_.sheet().shelf_name && !work_.sheet().shelf_revision.empty()) accepted.follows = work_.sheet().shelf_revision;
  workplace().SetAuthor(accept_->author());
  accept_->SetReady(false);
  pool_.start([this, file = workplace().shelf_file(), accepted = std::move(accepted), of = work_.map_pointer()] {
    const auto added = AcceptMap(file, accepted);
    QMetaObject::invokeMethod(
        this,
        [this, added, name = accepted.name, of] {
          accept_->SetReady(work_.has_map());
          if (!added) return workplace().Complain(added.error());
          const QString words = QString::fromStdString(name), revision = QString::fromStdString(added->revision.id);
          if (work_.map_pointer() == of) work_.TakeAccepted(name, added->revision.id);
          const auto doubts = static_cast<int>(NumberDoubts(*of).size());
          const QString rest = doubts == 0 ? QString() : doubts == 1 ? tr(" 1 doubt goes with it.") : tr(" %1 doubts go with it.").arg(doubts);
          workplace().Say(added->is_new ? tr("%1 is on the shelf, revision %2.").arg(words, revision.left(10)) + rest
                                        : tr("The shelf holds this very map already, as %1, revision %2.").arg(words, revision.left(10)));
          workplace().ShelfHasChanged(words);
          emit Accepted(words, revision);
        },
        Qt::QueuedConnection);
  });
}

bool LightTable::SaveRecipe(const QString& file) {
  const auto done = ReplaceFileContents(file.toStdString(), WriteRecipe(work_.recipe()));
  if (!done) {
    workplace().Complain(done.error());
    return false;
  }
  workplace().Say(tr("The recipe is in %1. The same map again: islebook digitize %2 --recipe %1 --out DIR")
                      .arg(file, QString::fromStdString(work_.sheet().file)));
  return true;
}

void LightTable::LoadRecipe(const QString& file) {
  const auto text = ReadFileContents(file.toStdString(), 64U << 20);
  if (!text) return workplace().Complain(text.error());
  auto recipe = ParseRecipe(*text);
  if (!recipe)
    return workplace().Complain(
        tr("%1: %2 %3").arg(file, QString::fromStdString(RecipePlaceInWords(recipe.error().place)), QString::fromStdString(recipe.error().message)));
  work_.ReplaceRecipe(std::move(*recipe), tr("recipe from %1").arg(QFileInfo(file).fileName()));
}

}  // namespace islebook
