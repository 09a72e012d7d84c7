// Makes the pictures of the documentation: each room of the window, by day and by night, over the example maps.
//   make_pictures FOLDER [--language CODE] [--size WIDTHxHEIGHT]
// QT_SCALE_FACTOR=2 makes them as a screen of high density shows them.

#include <algorithm>
#include <cstdio>

#include <QCommandLineParser>
#include <QDir>
#include <QHash>
#include <QImage>
#include <QLabel>
#include <QStyleFactory>
#include <QTabWidget>

#include "mapstore/shelf/open_shelf.h"
#include "tests/ui/desktop/frame/open_window.h"
#include "ui/desk/example_shelf.h"
#include "ui/desktop/bench_room/bench_room.h"
#include "ui/desktop/bench_room/example_case.h"
#include "ui/desktop/frame/language.h"
#include "ui/desktop/help/help_pane.h"
#include "ui/desktop/light_table/chart_view.h"
#include "ui/desktop/light_table/light_table.h"
#include "ui/desktop/shelf_room/shelf_room.h"

namespace islebook {
namespace {

constexpr int kLongest = 120000;  // ms

// The colors that the picture has most of, in steps of 8: enough for a window, and a small file.
QList<QRgb> ColorsOf(const QImage& picture) {
  QHash<QRgb, int> seen;
  for (int y = 0; y < picture.height(); ++y)
    for (int x = 0; x < picture.width(); ++x) ++seen[picture.pixel(x, y) & 0xFFF8F8F8];
  QList<QRgb> colors = seen.keys();
  std::sort(colors.begin(), colors.end(), [&](QRgb a, QRgb b) { return seen[a] > seen[b]; });
  colors.resize(std::min<qsizetype>(colors.size(), 250));
  return colors;
}

class Photographer {
 public:
  Photographer(OpenWindow& open, QDir folder) : open_(open), folder_(std::move(folder)) {}

  // By day and by night, in few colors: the window has no more.
  void Take(const QString& name) {
    for (const bool night : {false, true}) {
      open_.workplace().SetNight(night);
      QTest::qWait(400);
      Settle();
      const QImage picture = open_.window().grab().toImage().convertToFormat(QImage::Format_RGB32);
      const QString file = folder_.filePath(name + (night ? "-night.png" : ".png"));
      const QImage small = picture.convertToFormat(QImage::Format_Indexed8, ColorsOf(picture), Qt::ThresholdDither | Qt::AvoidDither);
      if (!small.save(file, "PNG", 0)) {
        std::fprintf(stderr, "%s cannot be written.\n", qPrintable(file));
        failed_ = true;
      }
    }
    open_.workplace().SetNight(false);
    Settle();
  }
  void Settle() {
    auto* table = open_.window().findChild<LightTable*>();
    auto* shelf = open_.window().findChild<ShelfRoom*>();
    Wait([&] { return !table->work().digitizing().busy() && !table->chart().drawing() && shelf->IsIdle(); });
    QTest::qWait(150);
  }
  void Wait(const std::function<bool()>& done) {
    if (QTest::qWaitFor(done, kLongest)) return;
    std::fprintf(stderr, "Something took longer than two minutes.\n");
    failed_ = true;
  }
  bool failed() const { return failed_; }

 private:
  OpenWindow& open_;
  QDir folder_;
  bool failed_ = false;
};

int Run(const QCommandLineParser& line) {
  OpenWindow open;
  open.workplace().SetLanguage(line.value("language"));
  UseLanguage(line.value("language"));
  const QStringList size = line.value("size").split('x');
  open.Show({size.value(0).toInt(), size.value(1).toInt()});
  const QDir folder(line.positionalArguments().value(0, "."));
  folder.mkpath(".");
  Photographer photographer(open, folder);

  auto* table = open.window().findChild<LightTable*>();
  const std::optional<std::filesystem::path> sheets = ExampleFolder();
  if (!sheets) return 1;
  table->OpenFile(*sheets / "birch-52" / "birch-52-photo.jpg");
  photographer.Wait([&] { return table->work().has_map(); });
  photographer.Settle();
  QTest::keyClick(&table->view(), Qt::Key_N);
  photographer.Take("light-table");
  QTest::keyClick(&table->view(), Qt::Key_T);
  photographer.Take("light-table-tracing");
  QTest::keyClick(&table->view(), Qt::Key_Escape);
  QTest::keyClick(&table->view(), Qt::Key_F1);
  photographer.Take("help");
  open.Find<HelpPane>("help_pane")->OpenAt("keys.html");
  photographer.Take("help-keys");
  open.Find<HelpPane>("help_pane")->Close();
  QTest::keyClick(&open.window(), Qt::Key_Comma, Qt::ControlModifier);
  photographer.Take("units-and-language");
  QTest::keyClick(open.Find<QWidget>("habits"), Qt::Key_Escape);

  auto* shelf = open.window().findChild<ShelfRoom*>();
  open.window().ShowRoom(shelf);
  QTest::qWait(200);
  photographer.Take("shelf-empty");
  const auto examples = ReadExamples(*sheets);
  const auto library = open.workplace().OpenShelf();
  if (!examples || !library) return 1;
  for (const ExampleMap& example : *examples)
    if (const auto added = AddExample(**library, example, "Ines", [](double) { return true; }); !added)
      std::fprintf(stderr, "%s: %s\n", example.name.c_str(), added.error().message.c_str());
  open.workplace().ShelfHasChanged({});
  photographer.Wait([&] { return shelf->IsIdle() && shelf->list().rows().rowCount() > 1; });
  shelf->list().Choose({QString::fromStdString((*examples)[0].name)});
  photographer.Take("shelf");
  shelf->list().Choose({QString::fromStdString((*examples)[0].name), QString::fromStdString((*examples)[1].name)});
  photographer.Take("shelf-comparison");

  auto* bench = open.window().findChild<BenchRoom*>();
  open.window().ShowRoom(bench);
  photographer.Take("bench-empty");
  for (const ExampleCase& example : FindExampleCases()) {
    if (!example.file.contains("lake-ferry")) continue;
    bench->OpenExample(example.file);
    photographer.Wait([&] { return bench->outcome() != nullptr; });
    break;
  }
  photographer.Take("bench");
  QTest::keyClick(&open.window(), Qt::Key_F7);
  QTest::qWait(4000);
  photographer.Take("bench-what-first");
  return photographer.failed() ? 1 : 0;
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) {
  if (qEnvironmentVariableIsEmpty("QT_QPA_PLATFORM")) qputenv("QT_QPA_PLATFORM", "offscreen");
  if (qEnvironmentVariableIsEmpty("XDG_RUNTIME_DIR")) qputenv("XDG_RUNTIME_DIR", "/tmp");
  QApplication app(argc, argv);
  QApplication::setStyle(QStyleFactory::create("Fusion"));
  QCommandLineParser line;
  line.addHelpOption();
  line.addOption({"language", "en or de", "CODE", "en"});
  line.addOption({"size", "of the window in pixels", "WIDTHxHEIGHT", "1280x800"});
  line.addPositionalArgument("FOLDER", "where the pictures go");
  line.process(app);
  return islebook::Run(line);
}
