// The light table's speed on the raster platform: how soon something is seen of a 12 megapixel photograph, how long the window halts while it is read, and what a
// step of moving and enlarging costs with 40 curves over it. Run by hand: light_table_bench [PHOTO]; figures in ms.

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include <QApplication>
#include <QBuffer>
#include <QElapsedTimer>
#include <QImage>
#include <QTemporaryDir>
#include <QTest>

#include "tests/ui/desktop/light_table/table_support.h"

namespace islebook {
namespace {

constexpr int kWidth = 4000, kHeight = 3000;

void Print(const char* what, std::vector<double> ms) {
  std::ranges::sort(ms);
  const auto at = [&](double part) { return ms[static_cast<std::size_t>(part * static_cast<double>(ms.size() - 1))]; };
  std::printf("%-46s median %6.1f  95 %% %6.1f  longest %6.1f\n", what, at(0.5), at(0.95), at(1.0));
}

// Forty curves of 500 points, a quarter of them doubted.
PerformanceMap FortyCurves() {
  PerformanceMap map;
  map.kind = MapKind::kCompressor;
  for (int i = 0; i < 40; ++i) {
    Curve& curve = map.curves.emplace_back();
    curve.role = i % 4 == 0 ? CurveRole::kSpeedLine : i % 8 == 1 ? CurveRole::kSurgeLine : CurveRole::kEfficiencyIsland;
    curve.value = 50000 + 2000 * i;
    curve.unit = "rpm";
    curve.needs_review = i % 4 == 2;
    if (curve.needs_review) curve.reasons = {"no label was read for it"};
    for (int k = 0; k < 500; ++k) {
      const double t = k / 499.0;
      curve.points_px.push_back({300 + 3400 * t, 400 + 55.0 * i + 250 * std::sin(5 * t + 0.3 * i)});
      curve.points.push_back({t, 1 + t});
    }
  }
  return map;
}

void Frames(SheetView& view, const char* what, double scale) {
  view.ShowPixels();
  view.Enlarge(scale);
  std::vector<double> ms;
  QElapsedTimer timer;
  for (int step = 0; step < 60; ++step) {
    QTest::keyPress(&view, step % 40 < 20 ? Qt::Key_Right : Qt::Key_Left);
    timer.start();
    view.repaint();
    ms.push_back(1e-6 * static_cast<double>(timer.nsecsElapsed()));
  }
  Print(what, std::move(ms));
}

// A view of its own of this size, over the picture of a sheet.
void MoveAndEnlarge(const SheetPicture& picture, QSize size) {
  SheetView view(nullptr);
  view.SetLook(DeskLook::Of(false));
  view.resize(size);
  view.SetPicture(picture);
  view.marks().SetMap(FortyCurves());
  view.MarksChanged();
  view.show();
  QTest::qWait(50);
  std::printf("a view of %d x %d px, moved:\n", view.width(), view.height());
  Frames(view, "a quarter of its size", 0.25);
  Frames(view, "0.6 of its size", 0.6);
  Frames(view, "pixel for pixel", 1.0);
  Frames(view, "three times its size", 3.0);
  std::vector<double> ms, settled;
  QElapsedTimer timer;
  view.ShowWhole();
  for (int step = 0; step < 60; ++step) {
    view.Enlarge(step < 30 ? 1.1 : 1 / 1.1);
    timer.start();
    view.repaint();
    ms.push_back(1e-6 * static_cast<double>(timer.nsecsElapsed()));
  }
  Print("enlarging step by step", std::move(ms));
  for (int step = 0; step < 12; ++step) {
    view.Enlarge(step < 6 ? 1.2 : 1 / 1.2);
    QTest::qWait(200);
    view.MarksChanged();
    timer.start();
    view.repaint();
    settled.push_back(1e-6 * static_cast<double>(timer.nsecsElapsed()));
  }
  Print("the whole view at rest, once after each move", std::move(settled));
  ms.clear();
  view.SetTool(TableTool::kTrace);
  for (int step = 0; step < 60; ++step) {
    QTest::mouseMove(&view, QPoint(200 + 10 * step, 300));
    timer.start();
    view.repaint();
    ms.push_back(1e-6 * static_cast<double>(timer.nsecsElapsed()));
  }
  Print("a tool that follows the mouse", std::move(ms));
}

int Run(const QString& photo) {
  const QTemporaryDir folder;
  WorkplaceOptions options;
  options.shelf_file = folder.filePath("shelf.db").toStdString();
  options.habits_file = folder.filePath("desktop.ini").toStdString();
  options.work_folder = folder.filePath("work").toStdString();
  Workplace workplace(options);
  MainWindow window(workplace);
  auto* room = new LightTable(workplace, &window);
  window.AddRoom(room);
  window.resize(1400, 900);
  window.show();

  const QImage image = QImage(photo).scaled(kWidth, kHeight, Qt::IgnoreAspectRatio, Qt::SmoothTransformation);
  const QString file = folder.filePath("photo.jpg");
  if (image.isNull() || !image.save(file, "JPG", 92)) return 1;
  double shown = 0.0, overlay = 0.0, ridges = 0.0;
  QElapsedTimer timer;
  QObject::connect(&room->work().digitizing(), &Digitizing::SheetRead, room, [&] { shown = static_cast<double>(timer.elapsed()); });
  QObject::connect(&room->work().digitizing(), &Digitizing::LinesSeen, room, [&] {
    if (overlay == 0.0)
      overlay = static_cast<double>(timer.elapsed());
    else if (ridges == 0.0)
      ridges = static_cast<double>(timer.elapsed());
  });
  Watchdog watchdog;
  timer.start();
  window.TakeFiles({file});
  if (!WaitFor([&] { return room->work().has_map(); }, 300000)) return 1;
  const auto all = timer.elapsed();
  QTest::qWait(200);
  std::printf(
      "%s at %d x %d: sheet shown after %.0f, first overlay %.0f, its own lines %.0f, all read %lld; longest halt %.0f of the window's processor "
      "time\n",
      photo.toUtf8().constData(), kWidth, kHeight, shown, overlay, ridges, static_cast<long long>(all), watchdog.longest_ms());

  SheetView& view = room->view();
  for (const QSize size : {view.size(), QSize(1920, 1200)}) MoveAndEnlarge(view.picture(), size);
  return 0;
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) {
  if (qEnvironmentVariableIsEmpty("QT_QPA_PLATFORM")) qputenv("QT_QPA_PLATFORM", "offscreen");
  QApplication app(argc, argv);
  return islebook::Run(argc > 1 ? QString::fromLocal8Bit(argv[1]) : QStringLiteral(ISLEBOOK_SOURCE_DIR "/sample_maps/birch-52/birch-52-photo.jpg"));
}
