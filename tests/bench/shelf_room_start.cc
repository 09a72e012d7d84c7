// The shelf room with 1,000 maps: how long until the list can be used, and how long a scrolled list takes to paint.
//
// shelf_room_start FOLDER [MAPS]    the shelf is made in FOLDER/room.db; where it is there already, only the times are measured anew.

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <vector>

#include <QAbstractEventDispatcher>
#include <QApplication>
#include <QElapsedTimer>
#include <QLineEdit>
#include <QScrollBar>
#include <QTest>

#include <fmt/format.h>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/mapstore/map/example_maps.h"
#include "ui/desktop/frame/main_window.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/shelf_room/shelf_room.h"

namespace islebook {
namespace {

// How long the window's own thread was at work at a stretch, in its processor time: other load on the machine does not lengthen it.
class Stretches {
 public:
  Stretches() {
    QAbstractEventDispatcher* loop = QAbstractEventDispatcher::instance();
    connections_ = {QObject::connect(loop, &QAbstractEventDispatcher::awake, [this] { Begin(); }),
                    QObject::connect(loop, &QAbstractEventDispatcher::aboutToBlock, [this] { End(); })};
    Begin();
  }
  ~Stretches() {
    for (const auto& connection : connections_) QObject::disconnect(connection);
  }
  double longest() const { return longest_; }

 private:
  static double Now() {
    timespec now{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
    return 1e3 * static_cast<double>(now.tv_sec) + 1e-6 * static_cast<double>(now.tv_nsec);
  }
  void Begin() {
    // Woken again without having blocked: one stretch ends, the next begins.
    if (begun_ > 0) End();
    begun_ = Now();
  }
  void End() {
    longest_ = std::max(longest_, Now() - begun_);
    begun_ = 0;
  }
  double begun_ = 0, longest_ = 0;
  std::vector<QMetaObject::Connection> connections_;
};

bool Fill(const std::filesystem::path& file, int maps) {
  auto shelf = OpenSqliteShelf(file, {.access = ShelfAccess::kCreate});
  if (!shelf) return false;
  static const char* const kTrees[] = {"Alder", "Rowan", "Larch", "Birch", "Hazel", "Maple", "Aspen", "Willow"};
  std::vector<NewRevision> batch;
  for (int i = 0; i < maps; ++i) {
    PerformanceMap map = ExampleCompressorMap();
    map.source.reset();
    const double flow = 0.3 + 0.01 * (i % 700), rise = 0.7 + 0.002 * (i % 400);
    map.title = fmt::format("{} {}, Fellside Rotors", kTrees[i % 8], 30 + i % 90);
    for (Curve& curve : map.curves)
      for (Point2& p : curve.points) p = {p.x * flow, 1 + (p.y - 1) * rise};
    NewRevision revision;
    revision.name = fmt::format("{} {} no. {}", kTrees[i % 8], 30 + i % 90, i);
    revision.document = WriteMapDocument(map);
    revision.author = "Ines";
    revision.message = "from a brochure";
    batch.push_back(std::move(revision));
  }
  return (*shelf)->AddRevisions(batch).has_value();
}

int Run(int argc, char** argv) {
  if (argc < 2) {
    std::fprintf(stderr, "shelf_room_start FOLDER [MAPS]\n");
    return 2;
  }
  const std::filesystem::path folder = argv[1];
  const int maps = argc > 2 ? std::atoi(argv[2]) : 1000;
  std::filesystem::create_directories(folder);
  if (!std::filesystem::exists(folder / "room.db") && !Fill(folder / "room.db", maps)) return 1;
  std::vector<double> listed;
  double paint_worst = 0.0, paint_sum = 0.0;
  int paints = 0;
  double busiest = 0.0, reading = 0.0;
  for (int round = 0; round < 5; ++round) {
    QElapsedTimer clock;
    clock.start();
    WorkplaceOptions options;
    options.shelf_file = folder / "room.db";
    options.habits_file = folder / "desktop.ini";
    options.work_folder = folder / "work";
    Workplace workplace(options);
    MainWindow window(workplace);
    auto* room = new ShelfRoom(workplace, &window);
    window.AddRoom(room);
    window.show();
    if (!QTest::qWaitFor([&] { return room->list().rows().rowCount() > 0; }, 60000)) return 1;
    QApplication::processEvents();
    listed.push_back(static_cast<double>(clock.nsecsElapsed()) / 1e6);
    {
      Stretches stretches;
      for (int row : {5, 400, 800}) {
        room->list().Choose({room->list().rows().rows()[static_cast<std::size_t>(row)].name});
        if (!QTest::qWaitFor([&] { return room->IsIdle(); }, 60000)) return 1;
      }
      auto* words = room->findChild<QLineEdit*>(QStringLiteral("search_words"));
      for (const char* typed : {"a", "al", "ald", "alder", ""}) {
        words->setText(QLatin1String(typed));
        if (!QTest::qWaitFor([&] { return room->IsIdle(); }, 60000)) return 1;
      }
      busiest = std::max(busiest, stretches.longest());
    }
    const ChartPanel& panel = room->chart().frame().panels.front();
    clock.restart();
    for (int i = 0; i < 1000; ++i)
      ReadAt(*room->chart().shown(), panel,
             panel.ValueAt(panel.plot.topLeft() + QPointF(panel.plot.width() * (i % 37) / 37.0, panel.plot.height() * (i % 29) / 29.0)));
    reading += static_cast<double>(clock.nsecsElapsed()) / 1e9 / 5;
    QScrollBar* bar = room->list().verticalScrollBar();
    for (int step = 0; step < 200; ++step) {
      bar->setValue(bar->value() + 60);
      clock.restart();
      room->list().viewport()->repaint();
      const double took = static_cast<double>(clock.nsecsElapsed()) / 1e6;
      paint_worst = std::max(paint_worst, took);
      paint_sum += took;
      ++paints;
      QApplication::processEvents();
    }
  }
  std::sort(listed.begin(), listed.end());
  fmt::print("start to a list of {} maps on view: {:.0f} ms (median of 5), {:.0f} ms at most\n", maps, listed[2], listed[4]);
  fmt::print("a scrolled list painted: {:.2f} ms on average, {:.2f} ms at most of {}\n", paint_sum / paints, paint_worst, paints);
  fmt::print("opening maps and searching words, the window's thread busy at a stretch: {:.1f} ms at most\n", busiest);
  fmt::print("a reading under the cursor, in words: {:.3f} ms\n", reading);
  return 0;
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) {
  qputenv("QT_QPA_PLATFORM", "offscreen");
  QApplication app(argc, argv);
  return islebook::Run(argc, argv);
}
