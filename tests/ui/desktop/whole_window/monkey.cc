// A monkey at the whole window: random clicks, drags, keys, typed text, dropped files good and bad, pasted things, resized windows, maps that another program puts on
// the shelf. It must not crash, and what it leaves in memory must not grow.
//
//   desktop_monkey [EVENTS [SEED]]     2,000 events and seed 1 unless given; $MONKEY_LOG: a file that each event is written to before it is done
//
// Everything happens in a folder of its own. After every few thousand events the window is closed and made anew, and the memory in use is told: it must stay level.

#include <malloc.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <random>
#include <vector>

#include <QAction>
#include <QClipboard>
#include <QDir>
#include <QDropEvent>
#include <QElapsedTimer>
#include <QEventLoop>
#include <QFile>
#include <QFileInfo>
#include <QMimeData>
#include <QPainter>
#include <QPdfWriter>
#include <QPixmapCache>
#include <QPrintDialog>
#include <QTimer>
#include <QUrl>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/mapstore/map/example_maps.h"
#include "tests/ui/desktop/whole_window/whole_window_support.h"
#include "ui/desktop/frame/deed.h"

#if defined(__SANITIZE_ADDRESS__)
#include <sanitizer/allocator_interface.h>
#endif

namespace islebook {
namespace {

constexpr double kMostGrowthMb = 8.0;

double MegabytesInUse() {
#if defined(__SANITIZE_ADDRESS__)
  return static_cast<double>(__sanitizer_get_current_allocated_bytes()) / 1e6;
#else
  const auto info = mallinfo2();
  return static_cast<double>(info.uordblks + info.hblkhd) / 1e6;
#endif
}

int CountOf(const char* folder) {
  int count = 0;
  for ([[maybe_unused]] const auto& entry : std::filesystem::directory_iterator(folder)) ++count;
  return count;
}

// Files to drop, to open and to paste: what a person has lying about, and what went wrong on its way.
QStringList MakeFiles(const QString& folder) {
  // Copies: what is opened can be saved, too.
  QStringList files;
  for (const char* sample : {"hazel-40/hazel-40-web.jpg", "oak-110/oak-110-web.png", "cases/lake-ferry.toml", "cases/timber-hauler-turbines.toml"}) {
    const QString from = QStringLiteral(ISLEBOOK_SOURCE_DIR "/sample_maps/") + QLatin1String(sample);
    files << folder + "/" + QFileInfo(from).fileName();
    QFile::copy(from, files.back());
  }
  const auto write = [&](const char* name, const QByteArray& bytes) {
    QFile file(folder + "/" + name);
    if (file.open(QIODevice::WriteOnly)) file.write(bytes);
    files << file.fileName();
  };
  QFile sheet(files[0]), sheet_case(files[2]);
  const QByteArray jpeg = sheet.open(QIODevice::ReadOnly) ? sheet.readAll() : QByteArray();
  const QByteArray toml = sheet_case.open(QIODevice::ReadOnly) ? sheet_case.readAll() : QByteArray();
  write("half.jpg", jpeg.left(jpeg.size() / 2));
  write("nothing.png", {});
  write("words.pdf", "this is no PDF");
  write("words.txt", "some words");
  write("broken.toml", QByteArray(toml).replace("5.9 L", "5.9 lemons"));
  write("half.toml", toml.left(toml.size() / 2));
  write("not utf-8.toml", QByteArray(toml).insert(toml.size() / 3, "\xff\xfe\x80"));
  PerformanceMap map = ExampleCompressorMap();
  map.source.reset();
  const QByteArray document = QByteArray::fromStdString(WriteMapDocument(map));
  write("good.map.json", document);
  write("half.map.json", document.left(document.size() / 2));
  write("no parcel.zip", "PK\x03\x04 and then nothing");
  write("good.recipe.json", R"({"recipe_schema": 1, "corrections": []})");
  write("half.recipe.json", R"({"recipe_schema": 1, "corrections": [)");
  {
    QPdfWriter pdf(folder + "/two pages.pdf");
    pdf.setResolution(72);
    QPainter painter(&pdf);
    painter.drawText(80, 80, "nothing to see here");
    pdf.newPage();
    for (int i = 0; i < 5; ++i) painter.drawLine(100, 100 + 40 * i, 400, 120 + 30 * i);
    painter.end();
    files << folder + "/two pages.pdf";
  }
  QImage speck(3, 2, QImage::Format_RGB32);
  speck.fill(Qt::red);
  speck.save(folder + "/speck.png");
  files << folder + "/speck.png" << folder + "/was never there.jpg" << folder;
  return files;
}

class Monkey {
 public:
  Monkey(WholeWindow& desk, const QString& folder, const QStringList& files, std::mt19937& dice, std::FILE* log)
      : desk_(desk), folder_(folder), files_(files), dice_(dice), log_(log) {}

  void Run(int events) {
    left_ = events;
    QEventLoop loop;
    loop_ = &loop;
    Next();
    loop.exec();
    // What is still open or held is let go.
    for (int i = 0; i < 8; ++i) {
      Strike(Qt::Key_Escape);
      Mouse(desk_.Active(), QEvent::MouseButtonRelease, Qt::LeftButton, {}, {});
      QCoreApplication::processEvents();
    }
  }

 private:
  int Die(int sides) { return static_cast<int>(std::uniform_int_distribution<>(0, sides - 1)(dice_)); }
  template <typename List>
  const auto& One(const List& list) {
    return list[static_cast<decltype(list.size())>(Die(static_cast<int>(list.size())))];
  }
  void Note(const QString& words) {
    std::fprintf(log_, "%d %s\n", left_, words.toUtf8().constData());
    std::fflush(log_);
  }

  // Straight to the window, as its system hands events over; a window may be gone after any of them.
  void Strike(int key, Qt::KeyboardModifiers held = {}, const QString& text = {}) {
    const QPointer<QWindow> window = desk_.Active();
    qt_handleKeyEvent(window, QEvent::KeyPress, key, held, text);
    if (window) qt_handleKeyEvent(window, QEvent::KeyRelease, key, held, text);
  }
  void Mouse(const QPointer<QWindow>& window, QEvent::Type type, Qt::MouseButton button, QPoint at, Qt::KeyboardModifiers held) {
    if (!window) return;
    if (type == QEvent::MouseButtonPress || type == QEvent::MouseButtonDblClick) pressed_ |= button;
    if (type == QEvent::MouseButtonRelease) pressed_ &= ~Qt::MouseButtons(button);
    qt_handleMouseEvent(window, at, window->mapToGlobal(at), pressed_, button, type, held, clock_ += 20);
  }

  // The next event is asked for before this one is done: a drag holds this one in a loop of its own.
  void Next() {
    if (left_ == 0) return loop_->quit();
    --left_;
    QTimer::singleShot(Die(40) == 0 ? Die(60) : 0, qApp, [this] { Next(); });
    Act();
  }

  void Act() {
    if (auto* asked = qobject_cast<QDialog*>(QApplication::activeModalWidget())) return Answer(*asked);
    const int what = Die(1000);
    if (what < 230) return PressDeed();
    if (what < 430) return PressKey();
    if (what < 520) return TypeWords();
    if (what < 720) return ClickSomewhere();
    if (what < 800) return Drag();
    if (what < 870) return Turn();
    if (what < 940) return Move();
    if (what < 955) return Drop();
    if (what < 965) return Copy();
    if (what < 980) return Resize();
    if (what < 990) return ChangeShelf();
    Note("leave");
    QEvent leave(QEvent::Leave);
    if (QWidget* target = Target()) QCoreApplication::sendEvent(target, &leave);
  }

  void Answer(QDialog& asked) {
    Note("answer " + QString(asked.metaObject()->className()));
    auto* files = qobject_cast<QFileDialog*>(&asked);
    if (files == nullptr || Die(3) > 0) return asked.reject();
    auto* name = files->findChild<QLineEdit*>("fileNameEdit");
    if (name == nullptr) return asked.reject();
    name->setText(files->acceptMode() == QFileDialog::AcceptSave
                      ? folder_ + "/out/" + One(QStringList{"a", "b.pdf", "c.svg", "d.json", "e.toml", "no/f"})
                      : One(files_));
    static_cast<QDialog*>(files)->accept();
  }

  // Any widget that is seen in the window that has the keyboard.
  QWidget* Target() {
    QWidget* top = QApplication::activePopupWidget() != nullptr ? QApplication::activePopupWidget() : desk_.window.get();
    std::vector<QWidget*> seen;
    for (QWidget* widget : top->findChildren<QWidget*>())
      if (widget->isVisible() && widget->window() == top && !widget->visibleRegion().isEmpty()) seen.push_back(widget);
    return seen.empty() ? top : One(seen);
  }

  // In the target's window.
  QPoint PlaceIn(const QWidget* target) {
    const QRect rect = target->visibleRegion().boundingRect();
    return target->mapTo(target->window(), QPoint(rect.left() + Die(std::max(1, rect.width())), rect.top() + Die(std::max(1, rect.height()))));
  }

  Qt::KeyboardModifiers Held() {
    Qt::KeyboardModifiers held;
    if (Die(5) == 0) held |= Qt::ShiftModifier;
    if (Die(7) == 0) held |= Qt::ControlModifier;
    if (Die(25) == 0) held |= Qt::AltModifier;
    return held;
  }
  Qt::MouseButton Button() { return Die(8) > 0 ? Qt::LeftButton : Die(2) == 0 ? Qt::RightButton : Qt::MiddleButton; }

  void PressDeed() {
    std::vector<QAction*> deeds;
    for (QAction* deed : DeedsWithin(desk_.window.get()))
      if (auto* owner = qobject_cast<QWidget*>(deed->parent()); owner != nullptr && owner->isVisible()) deeds.push_back(deed);
    QAction* deed = One(deeds);
    Note("deed " + deed->objectName());
    if (deed->shortcut().isEmpty() || Die(4) == 0) return deed->trigger();
    const QKeyCombination key = deed->shortcut()[0];
    Strike(key.key(), key.keyboardModifiers());
  }

  void PressKey() {
    static constexpr std::array kKeys = {Qt::Key_Tab,  Qt::Key_Backtab, Qt::Key_Return,   Qt::Key_Escape, Qt::Key_Space,
                                         Qt::Key_Left, Qt::Key_Right,   Qt::Key_Up,       Qt::Key_Down,   Qt::Key_PageUp,
                                         Qt::Key_End,  Qt::Key_Home,    Qt::Key_PageDown, Qt::Key_Delete, Qt::Key_Enter,
                                         Qt::Key_Plus, Qt::Key_Minus,   Qt::Key_F1,       Qt::Key_Menu,   Qt::Key_Backspace};
    const Qt::Key key = Die(3) == 0 ? static_cast<Qt::Key>(Qt::Key_A + Die(26)) : One(kKeys);
    const Qt::KeyboardModifiers held = Held();
    Note("key " + QKeySequence(key | held).toString());
    const int turns = Die(10) == 0 ? 5 : 1;
    const bool letter = key >= Qt::Key_A && key <= Qt::Key_Z && !held.testFlag(Qt::ControlModifier);
    for (int i = 0; i < turns; ++i) Strike(key, held, letter ? QString(QChar(key)).toLower() : QString());
  }

  void TypeWords() {
    static const QStringList kWords = {"0",      "12,500",  "90000",   "-1",     "1e999",    "nan", "0.74", "74 %",       "3 bar",
                                       "288 K",  "100 kPa", "kg/s",    "ld/min", "9 cm",     "tag", "oak",  "1200; 2000", "[",
                                       "\"\"\"", "a = 1",   "1.200,5", "1/0",    "birch-52", "..",  "/",    "@",          "%s%n"};
    const QString words = Die(60) == 0 ? QString(4000, QLatin1Char('9')) : One(kWords);
    Note("type " + words.left(20));
    for (const QChar c : words) Strike(c.toUpper().unicode(), {}, c);
    if (Die(2) == 0) Strike(Qt::Key_Return);
  }

  void ClickSomewhere() {
    QWidget* target = Target();
    const QPoint at = PlaceIn(target);
    const Qt::MouseButton button = Button();
    const Qt::KeyboardModifiers held = Held();
    const QPointer<QWindow> window = target->window()->windowHandle();
    Note(QStringLiteral("click %1 %2 at %3,%4").arg(target->metaObject()->className(), target->objectName()).arg(at.x()).arg(at.y()));
    const int how = Die(12);
    if (how != 2) Mouse(window, QEvent::MouseButtonPress, button, at, held);
    if (how != 1) Mouse(window, QEvent::MouseButtonRelease, button, at, held);
    if (how != 0) return;
    Mouse(window, QEvent::MouseButtonPress, button, at, held);  // soon after the first: a double click
    Mouse(window, QEvent::MouseButtonRelease, button, at, held);
  }

  void Drag() {
    const QPointer<QWidget> target = Target();
    const QPoint from = PlaceIn(target), to = PlaceIn(Die(2) == 0 ? target.data() : Target());
    Note(QStringLiteral("drag %1 %2").arg(target->metaObject()->className(), target->objectName()));
    const QPointer<QWindow> window = target->window()->windowHandle();
    Mouse(window, QEvent::MouseButtonPress, Qt::LeftButton, from, Held());
    for (int step = 1; step <= 4; ++step) Mouse(window, QEvent::MouseMove, Qt::NoButton, from + (to - from) * step / 4, {});
    if (Die(10) > 0) Mouse(window, QEvent::MouseButtonRelease, Qt::LeftButton, to, {});
  }

  void Turn() {
    QWidget* target = Target();
    const QPoint at = PlaceIn(target);
    Note("wheel " + QString(target->metaObject()->className()));
    QWheelEvent wheel(target->mapFrom(target->window(), at), target->window()->mapToGlobal(at), {}, {Die(5) == 0 ? 120 : 0, (Die(9) - 4) * 120},
                      Qt::NoButton, Held(), Qt::NoScrollPhase, false);
    QCoreApplication::sendEvent(target, &wheel);
  }

  void Move() {
    QWidget* target = Target();
    Mouse(target->window()->windowHandle(), QEvent::MouseMove, Qt::NoButton, PlaceIn(target), {});
  }

  void Drop() {
    QMimeData carried;
    QList<QUrl> urls;
    for (int i = Die(6) == 0 ? 3 : 1; i > 0; --i) urls << QUrl::fromLocalFile(One(files_));
    if (Die(10) == 0) urls << QUrl("https://example.org/map.png");
    if (Die(8) > 0)
      carried.setUrls(urls);
    else
      carried.setImageData(Picture());
    Note("drop " + urls.front().fileName());
    QWidget* on = Die(2) == 0 ? static_cast<QWidget*>(desk_.window.get()) : desk_.table;
    QDragEnterEvent enter(QPoint(50, 50), Qt::CopyAction, &carried, Qt::LeftButton, {});
    QCoreApplication::sendEvent(on, &enter);
    if (!enter.isAccepted()) return;
    QDropEvent drop(QPointF(50, 50), Qt::CopyAction, &carried, Qt::LeftButton, {});
    QCoreApplication::sendEvent(on, &drop);
  }

  QImage Picture() {
    QImage picture(1 + Die(500), 1 + Die(400), QImage::Format_ARGB32);
    picture.fill(Qt::white);
    return picture;
  }

  void Copy() {
    Note("copy");
    auto* carried = new QMimeData;
    switch (Die(4)) {
      case 0: carried->setImageData(Picture()); break;
      case 1: carried->setUrls({QUrl::fromLocalFile(One(files_))}); break;
      case 2: carried->setText("name\tspeed\n1\t2\n"); break;
      default: break;
    }
    QApplication::clipboard()->setMimeData(carried);
    Strike(Qt::Key_V, Qt::ControlModifier);
  }

  void Resize() {
    const QSize size(200 + Die(1800), 150 + Die(1100));
    Note(QStringLiteral("resize %1 x %2").arg(size.width()).arg(size.height()));
    desk_.window->resize(size);
  }

  // Another program at the same shelf.
  void ChangeShelf() {
    Note("the shelf changes");
    auto shelf = OpenSqliteShelf((folder_ + "/shelf.db").toStdString(), {.access = ShelfAccess::kCreate});
    if (!shelf) return;
    PerformanceMap map = ExampleCompressorMap();
    map.source.reset();
    map.title = "Rowan " + std::to_string(Die(1000));
    NewRevision revision;
    revision.name = "rowan-" + std::to_string(40 + Die(6));
    revision.document = WriteMapDocument(map);
    revision.author = "Ines";
    (void)(*shelf)->AddRevision(revision);
    if (Die(3) == 0) (void)(*shelf)->SetRemoved(revision.name, Die(2) == 0, "Ines", "");
  }

  WholeWindow& desk_;
  QString folder_;
  const QStringList& files_;
  std::mt19937& dice_;
  std::FILE* log_;
  QEventLoop* loop_ = nullptr;
  int left_ = 0;
  Qt::MouseButtons pressed_;
  int clock_ = 0;  // ms, of the mouse
};

int Run(int events, unsigned seed) {
  QTemporaryDir folder;
  QDir(folder.path()).mkpath("out");
  QDir::setCurrent(folder.path());  // should anything be written without a folder
  for (const char* home : {"HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME"}) qputenv(home, folder.path().toUtf8());
  qputenv("ISLEBOOK_KEYS", folder.filePath("keys").toUtf8());
  const QStringList files = MakeFiles(folder.path());
  const std::string log_file = folder.filePath("events.log").toStdString();
  std::mt19937 dice(seed);
  const int sessions = std::max(4, events / 5000);
  std::vector<double> megabytes;
  std::vector<int> threads, open_files;
  QElapsedTimer clock;
  clock.start();
  for (int session = 0; session < sessions; ++session) {
    {
      std::FILE* log = std::getenv("MONKEY_LOG") != nullptr ? std::fopen(std::getenv("MONKEY_LOG"), "a") : std::fopen(log_file.c_str(), "w");
      if (log == nullptr) return 1;
      WholeWindow desk(folder.path());
      Monkey(desk, folder.path(), files, dice, log).Run(events / sessions);
      desk.window->close();
      std::fclose(log);
    }
    QCoreApplication::sendPostedEvents(nullptr, QEvent::DeferredDelete);
    QApplication::clipboard()->clear();
    QPixmapCache::clear();
    QTest::qWait(50);
    megabytes.push_back(MegabytesInUse());
    threads.push_back(CountOf("/proc/self/task"));
    open_files.push_back(CountOf("/proc/self/fd"));
    std::printf("%6d events, %5.0f s: %7.2f MB in use, %d threads, %d open files\n", (session + 1) * (events / sessions),
                1e-3 * static_cast<double>(clock.elapsed()), megabytes.back(), threads.back(), open_files.back());
    std::fflush(stdout);
  }
  // What the program keeps for its life (fonts, the reader of print) comes in the first quarter, or later where the monkey is late; after that memory stays level.
  const auto quarter = static_cast<std::ptrdiff_t>(sessions) / 4;
  const double before = *std::min_element(megabytes.begin() + quarter, megabytes.begin() + 2 * quarter);
  const double after = *std::min_element(megabytes.end() - quarter, megabytes.end());
  std::printf("from the second quarter to the last: %+.2f MB\n", after - before);
  const bool level = after - before < kMostGrowthMb && threads.back() <= threads.front() + 1 && open_files.back() <= open_files.front() + 1;
  if (!level) std::printf("it grows\n");
  return level ? 0 : 1;
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) {
  if (qEnvironmentVariableIsEmpty("QT_QPA_PLATFORM")) qputenv("QT_QPA_PLATFORM", "offscreen");
  if (qEnvironmentVariableIsEmpty("XDG_RUNTIME_DIR")) qputenv("XDG_RUNTIME_DIR", "/tmp");
  QApplication app(argc, argv);
  QApplication::setQuitOnLastWindowClosed(false);
  return islebook::Run(argc > 1 ? std::atoi(argv[1]) : 2000, argc > 2 ? static_cast<unsigned>(std::atoi(argv[2])) : 1U);
}
