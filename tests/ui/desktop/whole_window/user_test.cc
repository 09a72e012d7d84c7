// A user goes through all rooms: opens a photograph of a map, puts right what is marked, puts it on the shelf, finds it there, takes it to the bench and writes the
// report. Offscreen and, as ui/desktop/whole_window/XvfbUserTest, in a window on an X server.

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include <QFile>
#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>
#include <QLabel>
#include <QListWidget>
#include <QProcess>
#include <QStandardPaths>
#include <QTableWidget>

#include <gtest/gtest.h>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/ui/desktop/whole_window/whole_window_support.h"
#include "ui/desktop/bench_room/map_view.h"
#include "ui/desktop/bench_room/verdict_table.h"
#include "ui/desktop/frame/facts_column.h"
#include "ui/desktop/light_table/doubts_list.h"

namespace islebook {
namespace {

const QString kPhoto = QStringLiteral(ISLEBOOK_SOURCE_DIR "/sample_maps/birch-52/birch-52-photo.jpg");

// The curve that was drawn nearest to these points, by the truth file beside the sheet (exact to 0.01 px by its making).
struct Drawn {
  QString role;
  std::optional<double> value;
};
Drawn DrawnAt(const std::vector<Point2>& points) {
  QFile file(QString(kPhoto).replace(".jpg", ".truth.json"));
  Drawn best;
  if (!file.open(QIODevice::ReadOnly)) return best;
  double least = std::numeric_limits<double>::max();
  for (const auto& each : QJsonDocument::fromJson(file.readAll()).object()["curves"].toArray()) {
    const QJsonObject curve = each.toObject();
    double sum = 0.0;
    for (const Point2& p : points) {
      double nearest = std::numeric_limits<double>::max();
      for (const auto& q : curve["points_px"].toArray())
        nearest = std::min(nearest, std::hypot(q.toArray()[0].toDouble() - p.x, q.toArray()[1].toDouble() - p.y));
      sum += nearest;
    }
    if (sum >= least) continue;
    least = sum;
    best.role = curve["role"].toString();
    best.value = curve["value"].isDouble() ? std::optional(curve["value"].toDouble()) : std::nullopt;
  }
  return best;
}

Qt::Key KeyOfRole(const QString& role) {
  return role == "speed_line"          ? Qt::Key_S
         : role == "surge_line"        ? Qt::Key_G
         : role == "choke_line"        ? Qt::Key_K
         : role == "efficiency_island" ? Qt::Key_E
                                       : Qt::Key_O;
}

QByteArray Output(const QString& program, const QStringList& arguments) {
  QProcess run;
  run.start(program, arguments);
  run.waitForFinished();
  return run.readAllStandardOutput();
}

TEST(UserTest, FromAPhotographToTheReport) {
  QTemporaryDir folder;
  WholeWindow desk(folder.path());
  LightTable& table = *desk.table;
  const auto is_read = [&] { return table.work().has_map() && !table.work().digitizing().busy(); };

  // Open the photograph by the file question.
  desk.Key(Qt::Key_O, Qt::ControlModifier);
  ASSERT_TRUE(desk.AnswerFile(kPhoto));
  ASSERT_TRUE(WaitFor(is_read)) << desk.said.join("\n").toStdString();
  EXPECT_EQ(table.work().map().kind, MapKind::kCompressor);

  // Every marked curve is put right, as its drawing has it; the doubts are taken from the list, one click each.
  int put_right = 0;
  for (int turn = 0; turn < 40; ++turn) {
    const auto& doubts = table.doubts().doubts();
    const auto doubt = std::ranges::find_if(doubts, [](const ChartDoubt& each) { return each.curve >= 0; });
    if (doubt == doubts.end()) break;
    auto* item = table.doubts().item(static_cast<int>(doubt - doubts.begin()));
    table.doubts().scrollToItem(item);
    ASSERT_TRUE(desk.Click(table.doubts().viewport(), table.doubts().visualItemRect(item).center()));
    ASSERT_TRUE(table.work().chosen().has_value());
    const Curve marked = table.work().map().curves[*table.work().chosen()];
    const Drawn drawn = DrawnAt(marked.points_px);
    const auto before = table.work().map_pointer();
    ASSERT_TRUE(desk.Click(&table.view(), QPoint(4, 4)));  // the keyboard goes to the sheet, at no curve
    ASSERT_TRUE(desk.Click(table.doubts().viewport(), table.doubts().visualItemRect(item).center()));
    table.view().setFocus();
    if (CurveRoleName(marked.role) != drawn.role.toStdString()) {
      desk.Key(KeyOfRole(drawn.role));
    } else if (marked.value != drawn.value && drawn.value) {
      desk.Type(QString::number(*drawn.value, 'g', 10));
      desk.Key(Qt::Key_Return);
    } else {
      desk.Key(Qt::Key_A);
    }
    ASSERT_TRUE(WaitFor([&] { return table.work().map_pointer() != before && is_read(); }));
    ++put_right;
  }
  EXPECT_GT(put_right, 0) << "the photograph has marked curves";
  EXPECT_TRUE(std::ranges::none_of(table.work().map().curves, [](const Curve& curve) { return curve.needs_review; }));
  EXPECT_GE(table.work().recipe().corrections.size(), 1u);

  // Onto the shelf.
  ASSERT_TRUE(desk.TypeInto("accept_name", "birch-52 from a photograph"));
  ASSERT_TRUE(desk.TypeInto("accept_author", "Tomas"));
  ASSERT_TRUE(desk.TypeInto("accept_message", "marked curves put right"));
  QString revision;
  QObject::connect(&table, &LightTable::Accepted, [&](const QString&, const QString& id) { revision = id; });
  desk.Key(Qt::Key_Return);
  ASSERT_TRUE(WaitFor([&] { return !revision.isEmpty(); })) << desk.said.join("\n").toStdString();
  EXPECT_FALSE(table.work().is_changed());

  // Found there by a word.
  desk.Key(Qt::Key_2, Qt::ControlModifier);
  EXPECT_EQ(desk.window->shown(), desk.shelf);
  desk.Key(Qt::Key_F, Qt::ControlModifier);
  desk.Type("photograph");
  ASSERT_TRUE(WaitFor([&] { return desk.shelf->IsIdle() && desk.shelf->list().rows().rowCount() == 1; }));
  ASSERT_TRUE(desk.Click(desk.shelf->list().viewport(), desk.shelf->list().visualRect(desk.shelf->list().rows().index(0)).center()));
  ASSERT_TRUE(WaitFor([&] { return desk.shelf->IsIdle() && desk.shelf->chart().IsDrawn(); }));
  EXPECT_EQ(desk.shelf->chart().shown()->maps.front().name, "birch-52 from a photograph");
  ASSERT_EQ(desk.shelf->history().history().revisions.size(), 1u);
  EXPECT_EQ(desk.shelf->history().history().revisions[0].author, "Tomas");
  EXPECT_EQ(desk.shelf->history().history().revisions[0].message, "marked curves put right");
  // The number under the mouse is the one that a question to the map gives.
  const ChartPanel& panel = desk.shelf->chart().frame().panels.front();
  QTest::mouseMove(desk.window->windowHandle(), desk.shelf->chart().mapTo(desk.window.get(), panel.plot.center().toPoint()));
  EXPECT_TRUE(WaitFor([&] { return desk.Find<QLabel>("shelf_reading")->text().contains(QChar(0x00B1)); }, 5000))
      << desk.Find<QLabel>("shelf_reading")->text().toStdString();

  // To the bench, at 1,500 m.
  bool worked = false;
  QObject::connect(desk.bench, &BenchRoom::Worked, [&] { worked = true; });
  desk.shelf->list().setFocus();
  desk.Key(Qt::Key_B, Qt::ControlModifier);
  ASSERT_TRUE(WaitFor([&] { return worked && desk.bench->outcome() != nullptr; })) << desk.said.join("\n").toStdString();
  EXPECT_EQ(desk.window->shown(), desk.bench);
  EXPECT_EQ(desk.bench->outcome()->bench->compressors().front().name, "birch-52 from a photograph");
  auto* slider = desk.Find<QWidget>("altitude");
  ASSERT_NE(slider, nullptr);
  slider->setFocus();
  worked = false;
  for (int i = 0; i < 3; ++i) desk.Key(Qt::Key_PageUp);
  ASSERT_TRUE(WaitFor([&] { return worked && desk.bench->outcome()->result.points[0].input.altitude_m.value_or(0) == 1500; }));
  auto* verdicts = desk.Find<VerdictTable>("verdict_table");
  ASSERT_GE(verdicts->rowCount(), 3);
  ASSERT_TRUE(desk.Click(verdicts->viewport(), verdicts->visualItemRect(verdicts->item(1, 1)).center()));
  EXPECT_EQ(verdicts->ChosenPoint(), 1);

  // The report.
  desk.Key(Qt::Key_R, Qt::ControlModifier);
  const QString report = folder.filePath("report.pdf");
  ASSERT_TRUE(desk.AnswerFile(report));
  ASSERT_TRUE(WaitFor([&] { return desk.said.contains(QStringLiteral("Wrote %1.").arg(report)); })) << desk.said.join("\n").toStdString();
  if (QStandardPaths::findExecutable("pdftotext").isEmpty()) GTEST_SKIP() << "pdftotext (poppler-utils) is not installed";
  const QString words = QString::fromUtf8(Output("pdftotext", {"-layout", report, "-"}));
  for (const char* expected : {"Birch 52", "1,200 rpm", "1,600 rpm", "2,200 rpm", "surge margin", "1,500 m"})
    EXPECT_TRUE(words.contains(QLatin1String(expected))) << expected << "\n" << words.toStdString();
  // The worst verdict, the first words of the column, heads the report.
  EXPECT_TRUE(words.simplified().contains(desk.bench->facts().TopLine().simplified().left(40))) << desk.bench->facts().TopLine().toStdString();
  // A drawn page: a chart leaves more than words do.
  const QByteArray ppm = Output("pdftoppm", {"-r", "40", "-f", "1", "-l", "1", report});
  const QImage page = QImage::fromData(ppm, "PPM");
  ASSERT_FALSE(page.isNull());
  int inked = 0;
  for (int y = 0; y < page.height(); ++y)
    for (int x = 0; x < page.width(); ++x) inked += qGray(page.pixel(x, y)) < 200 ? 1 : 0;
  EXPECT_GT(inked, page.width() * page.height() / 100);

  // What stands on the shelf says by itself how it came to be.
  const auto opened = OpenSqliteShelf(folder.filePath("shelf.db").toStdString(), {});
  ASSERT_TRUE(opened.has_value());
  const auto shown = (*opened)->Show("birch-52 from a photograph");
  ASSERT_TRUE(shown.has_value());
  EXPECT_EQ(QString::fromStdString(shown->revision.id), revision);
  const auto map = ParseMapDocument(shown->document);
  ASSERT_TRUE(map.has_value());
  const auto recipe = ParseRecipe(map->recipe_json);
  ASSERT_TRUE(recipe.has_value());
  EXPECT_EQ(recipe->corrections.size(), table.work().recipe().corrections.size());
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) {
  if (qEnvironmentVariableIsEmpty("QT_QPA_PLATFORM")) qputenv("QT_QPA_PLATFORM", "offscreen");
  if (qEnvironmentVariableIsEmpty("XDG_RUNTIME_DIR")) qputenv("XDG_RUNTIME_DIR", "/tmp");
  ::testing::InitGoogleTest(&argc, argv);
  QApplication app(argc, argv);
  return RUN_ALL_TESTS();
}
