// The bench room's speed: from a changed value to the new verdicts on view, a reading under the cursor, and how long the window halts meanwhile. Run by hand:
// bench_room_bench [CASE...]; the sample cases unless given, whose maps are digitized first. Figures in ms.

#include <algorithm>
#include <cstdio>
#include <vector>

#include <QApplication>
#include <QElapsedTimer>
#include <QSlider>
#include <QTemporaryDir>

#include "tests/ui/desktop/watchdog.h"
#include "tests/ui/desktop/whole_window/whole_window_support.h"
#include "ui/desktop/bench_room/map_view.h"

namespace islebook {
namespace {

void Print(const char* what, std::vector<double> ms) {
  if (ms.empty()) return;
  std::ranges::sort(ms);
  const auto at = [&](double part) { return ms[static_cast<std::size_t>(part * static_cast<double>(ms.size() - 1))]; };
  std::printf("  %-58s median %7.2f  95 %% %7.2f  longest %7.2f\n", what, at(0.5), at(0.95), at(1.0));
}

void Measure(WholeWindow& desk, const QString& file) {
  bool worked = false;
  const auto connection = QObject::connect(desk.bench, &BenchRoom::Worked, [&] { worked = true; });
  desk.bench->OpenExample(file);
  if (!WaitFor([&] { return worked; }, 120000)) {
    std::printf("%s: %s\n", qPrintable(file), qPrintable(desk.said.join(QLatin1Char(32))));
    return;
  }
  if (desk.bench->outcome() == nullptr) {
    std::printf("%s: %s\n", qPrintable(file), qPrintable(desk.said.join(' ')));
    return;
  }
  const BenchResult& result = desk.bench->outcome()->result;
  std::printf("%s: %zu points, %zu stages, %zu turbines\n", qPrintable(file.section('/', -1)), result.points.size(), result.maps.size(),
              result.turbines.size());
  QTest::qWait(100);
  Watchdog watchdog;
  std::vector<double> shown, within, reading;
  auto* slider = desk.Find<QSlider>("altitude");
  QElapsedTimer timer;
  for (int step = 0; step < 30; ++step) {
    worked = false;
    timer.start();
    slider->setValue(step < 15 ? 2 * step + 2 : 58 - 2 * step);
    if (!WaitFor([&] { return worked; })) return;
    desk.window->repaint();
    shown.push_back(1e-6 * static_cast<double>(timer.nsecsElapsed()));
    within.push_back(desk.bench->outcome()->milliseconds);
  }
  Print("a changed altitude until its verdicts are on view", shown);
  Print("of that, the case worked out in its thread", within);
  for (const auto* views : {&desk.bench->maps(), &desk.bench->turbine_maps()})
    for (MapView* view : *views) {
      if (!view->isVisible()) continue;
      reading.clear();
      for (int step = 0; step < 100; ++step) {
        const QPoint at(view->width() * (20 + step % 60) / 100, view->height() * (25 + step * 7 % 50) / 100);
        timer.start();
        QTest::mouseMove(view->window()->windowHandle(), view->mapTo(view->window(), at));
        QCoreApplication::processEvents();
        reading.push_back(1e-6 * static_cast<double>(timer.nsecsElapsed()));
      }
      Print("a reading under the cursor, asked and painted", reading);
    }
  std::printf("  %-58s %.1f of the window's processor time\n", "longest halt meanwhile", watchdog.longest_ms());
  QObject::disconnect(connection);
}

int Run(const QStringList& cases) {
  const QTemporaryDir folder;
  WholeWindow desk(folder.path());
  desk.window->resize(1400, 900);
  desk.window->ShowRoom(desk.bench);
  for (const QString& file : cases) Measure(desk, file);
  return 0;
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) {
  if (qEnvironmentVariableIsEmpty("QT_QPA_PLATFORM")) qputenv("QT_QPA_PLATFORM", "offscreen");
  QApplication app(argc, argv);
  QStringList cases = QApplication::arguments().mid(1);
  if (cases.isEmpty())
    for (const char* name : {"lake-ferry", "lake-ferry-turbine", "timber-hauler", "timber-hauler-turbines"})
      cases << QStringLiteral(ISLEBOOK_SOURCE_DIR "/sample_maps/cases/%1.toml").arg(QLatin1String(name));
  return islebook::Run(cases);
}
