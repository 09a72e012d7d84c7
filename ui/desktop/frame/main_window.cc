#include "ui/desktop/frame/main_window.h"

#include <QAction>
#include <QActionGroup>
#include <QApplication>
#include <QCloseEvent>
#include <QDragEnterEvent>
#include <QDropEvent>
#include <QFrame>
#include <QHBoxLayout>
#include <QLabel>
#include <QMimeData>
#include <QSettings>
#include <QSplitter>
#include <QStackedWidget>
#include <QStyle>
#include <QToolButton>
#include <QUrl>
#include <QVBoxLayout>

#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/desk_icon.h"
#include "ui/desktop/frame/habits_panel.h"
#include "ui/desktop/frame/room.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

// Columns that a person has made wider are so the next day; only those that have a name.
QList<QSplitter*> NamedSplitters(const QWidget* within) {
  QList<QSplitter*> splitters = within->findChildren<QSplitter*>();
  splitters.removeIf([](const QSplitter* split) { return split->objectName().isEmpty(); });
  return splitters;
}

QString SplitKey(const QSplitter& split) { return QStringLiteral("window/columns_") + split.objectName(); }

}  // namespace

MainWindow::MainWindow(Workplace& workplace)
    : workplace_(workplace),
      chosen_room_(new QActionGroup(this)),
      strip_(nullptr),
      middle_(new QStackedWidget(this)),
      words_(new QLabel(this)),
      habits_(new HabitsPanel(workplace, this)) {
  setObjectName("main_window");
  setWindowTitle(tr("Islebook"));
  setAcceptDrops(true);
  chosen_room_->setExclusive(true);

  auto* all = new QWidget(this);
  auto* rows = new QVBoxLayout(all);
  rows->setContentsMargins(0, 0, 0, 0);
  rows->setSpacing(0);
  auto* columns = new QHBoxLayout;
  columns->setSpacing(0);
  columns->addWidget(MakeStrip());
  columns->addWidget(middle_, 1);
  rows->addLayout(columns, 1);
  rows->addWidget(habits_);
  habits_->hide();
  rows->addWidget(MakeFoot());
  setCentralWidget(all);

  connect(habits_, &HabitsPanel::Closed, this, [this] { OpenHabits(false); });
  connect(&workplace_, &Workplace::Said, this, &MainWindow::ShowWords);
  connect(&workplace_, &Workplace::LookChanged, this, &MainWindow::TakeLook);
  TakeLook();
  resize(1280, 800);
  restoreGeometry(workplace_.habits().value("window/place").toByteArray());
}

QWidget* MainWindow::MakeStrip() {
  auto* strip = new QFrame(this);
  strip->setObjectName("room_strip");
  strip_ = new QVBoxLayout(strip);
  strip_->setContentsMargins(6, 10, 6, 10);
  strip_->setSpacing(4);
  strip_->addStretch(1);
  return strip;
}

QWidget* MainWindow::MakeFoot() {
  auto* foot = new QFrame(this);
  foot->setObjectName("word_line");
  foot_ = new QHBoxLayout(foot);
  foot_->setContentsMargins(12, 4, 12, 4);
  words_->setObjectName("foot_words");
  words_->setTextFormat(Qt::PlainText);
  words_->setWordWrap(true);
  words_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  foot_->addWidget(words_, 1);

  QAction* units = MakeDeed(this, {"window.units", tr("US units"), QKeySequence("Ctrl+U"), tr("units = \"us\" in the case file")});
  units->setCheckable(true);
  units->setChecked(workplace_.units() == UnitHabit::kUs);
  connect(units, &QAction::triggered, this, [this](bool us) { workplace_.SetUnits(us ? UnitHabit::kUs : UnitHabit::kSi); });
  connect(&workplace_, &Workplace::UnitsChanged, units, [this, units] { units->setChecked(workplace_.units() == UnitHabit::kUs); });
  AddToFoot(units);
  QAction* night = MakeDeed(this, {"window.night", tr("Night"), QKeySequence("Ctrl+Shift+N"), tr("islebook chart --night")});
  night->setCheckable(true);
  night->setChecked(workplace_.night());
  connect(night, &QAction::toggled, this, [this](bool on) { workplace_.SetNight(on); });
  AddToFoot(night);
  open_habits_ =
      MakeDeed(this, {"window.habits", tr("Units and language"), QKeySequence("Ctrl+,"), tr("units = \"si, flow lb/min\" in the case file")});
  open_habits_->setCheckable(true);
  connect(open_habits_, &QAction::toggled, this, &MainWindow::OpenHabits);
  AddToFoot(open_habits_);
  return foot;
}

void MainWindow::AddToFoot(QAction* deed) { foot_->addWidget(DeedButton(deed, foot_->parentWidget())); }

void MainWindow::OpenHabits(bool open) {
  open_habits_->setChecked(open);
  if (open == habits_->isVisible()) return;
  if (open) return habits_->Open();
  habits_->hide();
  if (shown() != nullptr) shown()->Enter();
}

void MainWindow::AddRoom(Room* room) {
  const auto number = static_cast<int>(rooms_.size()) + 1;
  rooms_.push_back(room);
  middle_->addWidget(room);
  QAction* enter =
      MakeDeed(this, {"window.room_" + room->Icon(), room->Words(), QKeySequence(QStringLiteral("Ctrl+%1").arg(number)), tr("a room of the window")});
  enter->setCheckable(true);
  enter->setIcon(DeskIcon(room->Icon(), workplace_.look()));
  chosen_room_->addAction(enter);
  connect(enter, &QAction::triggered, this, [this, room] { ShowRoom(room); });
  connect(room, &Room::ShowMe, this, [this, room] { ShowRoom(room); });
  connect(&workplace_, &Workplace::LookChanged, enter, [this, enter, room] { enter->setIcon(DeskIcon(room->Icon(), workplace_.look())); });
  QToolButton* button = DeedButton(enter, strip_->parentWidget());
  button->setProperty("strip", true);
  button->setToolButtonStyle(Qt::ToolButtonTextUnderIcon);
  button->setIconSize(QSize(36, 36));
  strip_->insertWidget(number - 1, button);
  for (QSplitter* split : NamedSplitters(room)) split->restoreState(workplace_.habits().value(SplitKey(*split)).toByteArray());
  if (number == 1 || workplace_.habits().value("window/room").toString() == room->Icon()) ShowRoom(room);
}

void MainWindow::ShowRoom(Room* room) {
  for (std::size_t i = 0; i < rooms_.size(); ++i)
    if (rooms_[i] == room) chosen_room_->actions()[static_cast<qsizetype>(i)]->setChecked(true);
  const bool is_new = middle_->currentWidget() != room || rooms_.size() == 1;  // the first is current as soon as it is there
  middle_->setCurrentWidget(room);
  setWindowTitle(tr("%1 \u2013 Islebook").arg(room->Words()));
  if (is_new) room->Enter();
}

Room* MainWindow::shown() const { return static_cast<Room*>(middle_->currentWidget()); }

void MainWindow::TakeFiles(const QStringList& files) {
  QStringList left = files;
  if (shown() != nullptr) left = shown()->TakeFiles(left);
  for (Room* room : rooms_)
    if (room != shown() && !left.isEmpty()) left = room->TakeFiles(left);
  if (!left.isEmpty())
    workplace_.Complain(tr("%1 is neither a sheet (picture, PDF, SVG) nor a map document, a parcel or a case.").arg(left.join(QStringLiteral(", "))));
}

void MainWindow::ShowWords(const QString& words, bool wrong) {
  words_->setText(words);
  words_->setAccessibleName(words);
  words_->setProperty("limit", wrong);
  words_->style()->unpolish(words_);
  words_->style()->polish(words_);
}

void MainWindow::TakeLook() {
  QApplication::setPalette(DeskPalette(workplace_.look()));
  qApp->setStyleSheet(DeskStyle(workplace_.look()));
}

void MainWindow::closeEvent(QCloseEvent* event) {
  for (Room* room : rooms_) {
    if (room->MayClose()) continue;
    ShowRoom(room);
    event->ignore();
    return;
  }
  workplace_.habits().setValue("window/place", saveGeometry());
  if (shown() != nullptr) workplace_.habits().setValue("window/room", shown()->Icon());
  for (const QSplitter* split : NamedSplitters(this)) workplace_.habits().setValue(SplitKey(*split), split->saveState());
  workplace_.habits().sync();
  event->accept();
}

void MainWindow::dragEnterEvent(QDragEnterEvent* event) {
  if (event->mimeData()->hasUrls()) event->acceptProposedAction();
}

void MainWindow::dropEvent(QDropEvent* event) {
  QStringList files;
  for (const QUrl& url : event->mimeData()->urls()) {
    if (url.isLocalFile())
      files << url.toLocalFile();
    else
      workplace_.Complain(tr("%1 is not on this machine: save it first, then drop the file.").arg(url.toDisplayString()));
  }
  if (!files.isEmpty()) TakeFiles(files);
  event->acceptProposedAction();
}

}  // namespace islebook
