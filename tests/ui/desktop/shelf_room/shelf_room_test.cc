// The shelf room, driven by clicks and keys over a temporary shelf.

#include <QApplication>
#include <QCheckBox>
#include <QClipboard>
#include <QComboBox>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QMimeData>
#include <QPushButton>
#include <QRadioButton>
#include <QSignalSpy>
#include <QUrl>

#include <gtest/gtest.h>

#include "mapstore/map/whole_file.h"
#include "mapstore/parcel/curve_tables.h"
#include "mapstore/parcel/parcel.h"
#include "tests/ui/desktop/shelf_room/shelf_room_support.h"
#include "ui/desktop/shelf_room/map_deeds.h"

namespace islebook {
namespace {

TEST_F(ShelfRoomTest, ListsTheMapsAndShowsTheFirst) {
  AddThree();
  OpenRoom();
  EXPECT_EQ(Listed(), (QStringList{"Alder 52", "Birch 64", "Rowan 83"}));
  EXPECT_EQ(room_->list().ChosenNames(), QStringList{"Alder 52"});
  ASSERT_TRUE(room_->chart().IsDrawn());
  EXPECT_EQ(room_->chart().shown()->maps.front().name, "Alder 52");
  EXPECT_TRUE(room_->facts().TopLine().startsWith("Alder 52: ")) << room_->facts().TopLine().toStdString();
  EXPECT_TRUE(WaitFor([&] { return room_->list().pictures().kept() >= 3; }));
}

TEST_F(ShelfRoomTest, WordsFilterAsTheyAreTyped) {
  AddThree();
  OpenRoom();
  Type("search_words", "brochure");
  ASSERT_TRUE(Settle());
  EXPECT_EQ(Listed(), QStringList{"Alder 52"});
  EXPECT_EQ(room_->facts().TopLine(), "1 map fits");
  Type("search_words", "scan");
  ASSERT_TRUE(Settle());
  EXPECT_EQ(Listed().size(), 2);
  // Escape shows all again.
  QTest::keyClick(Find<QLineEdit>("search_words"), Qt::Key_Escape);
  ASSERT_TRUE(Settle());
  EXPECT_EQ(Listed().size(), 3);
  Type("search_words", "nothing has this word");
  ASSERT_TRUE(Settle());
  EXPECT_TRUE(Listed().isEmpty());
  EXPECT_EQ(room_->facts().TopLine(), "No map fits");
}

TEST_F(ShelfRoomTest, TagKindAndWheelNarrowTheList) {
  AddThree();
  side_->Add("Elm 58", ExampleTurbineMap());
  OpenRoom();
  auto* tag = Find<QComboBox>("search_tag");
  tag->setCurrentIndex(tag->findData("ferry"));
  ASSERT_TRUE(Settle());
  EXPECT_EQ(Listed(), QStringList{"Rowan 83"});
  tag->setCurrentIndex(0);
  auto* kind = Find<QComboBox>("search_kind");
  kind->setCurrentIndex(kind->findData("turbine"));
  ASSERT_TRUE(Settle());
  EXPECT_EQ(Listed(), QStringList{"Elm 58"});
  kind->setCurrentIndex(0);
  Type("search_inducer", "60..70");
  ASSERT_TRUE(Settle());
  EXPECT_EQ(Listed(), QStringList{"Birch 64"});
  // What cannot be read is marked, and the list stays.
  Type("search_inducer", "wide");
  ASSERT_TRUE(Settle());
  EXPECT_TRUE(Find<QLineEdit>("search_inducer")->property("wrong").toBool());
  EXPECT_EQ(Listed().size(), 4);
}

TEST_F(ShelfRoomTest, FindsWhatCoversAPointInEitherUnit) {
  AddThree();
  OpenRoom();
  QTest::keyClick(room_, Qt::Key_P, Qt::ControlModifier);
  ASSERT_TRUE(Find<QWidget>("search_point")->isVisible());
  Type("search_flow", "1 parsec");
  Type("search_ratio", "2");
  ASSERT_TRUE(Settle());
  EXPECT_TRUE(Find<QLineEdit>("search_flow")->property("wrong").toBool());
  int found_somewhere = 0;
  for (const char* flow : {"0.05", "0.1", "0.2", "0.3", "0.5", "0.8"}) {
    Type("search_flow", QString(flow) + " kg/s");
    Type("search_ratio", "1.8");
    ASSERT_TRUE(Settle());
    const QStringList metric = Listed();
    found_somewhere += static_cast<int>(metric.size());
    EXPECT_EQ(room_->facts().TopLine(), metric.isEmpty()     ? "No compressor here covers this point"
                                        : metric.size() == 1 ? "1 map covers this point"
                                                             : QString("%1 maps cover this point").arg(metric.size()));
    // The pound: 0.45359237 kg (international yard and pound agreement, 1959).
    Type("search_flow", QString::number(QString(flow).toDouble() * 60 / 0.45359237, 'g', 10) + " lb/min");
    ASSERT_TRUE(Settle());
    EXPECT_EQ(Listed(), metric) << flow;
  }
  EXPECT_GT(found_somewhere, 0);
  Type("search_margin", "900 %");
  ASSERT_TRUE(Settle());
  EXPECT_TRUE(Listed().isEmpty());
}

TEST_F(ShelfRoomTest, LikenessListsTheMapItselfFirst) {
  AddThree();
  OpenRoom();
  Click("Birch 64");
  ASSERT_TRUE(Settle());
  QTest::keyClick(room_, Qt::Key_L, Qt::ControlModifier);
  ASSERT_TRUE(Settle());
  ASSERT_EQ(Listed().size(), 3);
  EXPECT_EQ(Listed().front(), "Birch 64");
  EXPECT_EQ(Listed()[1], "Alder 52");  // 1 / 1.6 is nearer than 3 / 1.6
}

TEST_F(ShelfRoomTest, TheCursorReadsTheMap) {
  AddThree();
  OpenRoom();
  MapChart& chart = room_->chart();
  QSignalSpy read(&chart, &MapChart::Read);
  chart.setFocus();
  QTest::keyClick(&chart, Qt::Key_Right);
  ASSERT_EQ(read.count(), 1);
  EXPECT_TRUE(Find<QLabel>("shelf_reading")->text().contains("Pressure ratio"));
  // On the highest speed line's middle: the reading is that line's speed, as ask says it.
  const ShownMap& shown = chart.shown()->maps.front();
  const Curve* fastest = nullptr;
  for (const Curve& curve : shown.on_axes.map.curves)
    if (curve.role == CurveRole::kSpeedLine && (fastest == nullptr || *curve.value > *fastest->value)) fastest = &curve;
  const ChartPanel& panel = chart.frame().panels.front();
  const Point2 middle = fastest->points[fastest->points.size() / 2];
  QElapsedTimer clock;
  clock.start();
  const Reading reading = ReadAt(*chart.shown(), panel, middle);
  EXPECT_LT(clock.elapsed(), 100);
  const QString words = reading.lines.join('\n');
  EXPECT_TRUE(words.contains("Speed ")) << words.toStdString();
  EXPECT_TRUE(words.contains("Surge margin ")) << words.toStdString();
  EXPECT_TRUE(words.contains(QString::fromUtf8("\u00b1"))) << words.toStdString();
  QTest::mouseMove(&chart, panel.At(middle).toPoint());
  EXPECT_GE(read.count(), 1);
}

TEST_F(ShelfRoomTest, UnitsFollowTheHabitAndTheReadingStaysTheSame) {
  AddThree();
  OpenRoom();
  const ShownMap metric = room_->chart().shown()->maps.front();
  const std::string unit = metric.on_axes.map.x->unit;
  workplace_->SetUnits(workplace_->units() == UnitHabit::kUs ? UnitHabit::kSi : UnitHabit::kUs);
  ASSERT_TRUE(Settle());
  const ShownMap& other = room_->chart().shown()->maps.front();
  EXPECT_NE(other.on_axes.map.x->unit, unit);
  EXPECT_EQ(other.printed, metric.printed);
  const double ratio = other.on_axes.map.curves.front().points.front().x / metric.on_axes.map.curves.front().points.front().x;
  // kg/s in lb/min or back; the pound is 0.45359237 kg (international yard and pound agreement, 1959).
  const double factor = 60 / 0.45359237;
  EXPECT_NEAR(ratio > 1 ? ratio : 1 / ratio, factor, 1e-6 * factor);
}

TEST_F(ShelfRoomTest, TwoChosenMapsStandOnCommonAxes) {
  AddThree();
  OpenRoom();
  Click("Alder 52");
  Click("Rowan 83", Qt::ControlModifier);
  ASSERT_TRUE(Settle());
  ASSERT_EQ(room_->chart().shown()->compared.size(), 2u);
  EXPECT_EQ(room_->facts().TopLine(), "2 maps on common axes");
  EXPECT_EQ(room_->list().rows().index(0).data(ShelfRows::kLetter).toString(), "A");
  EXPECT_EQ(room_->list().rows().index(2).data(ShelfRows::kLetter).toString(), "B");
  const Reading reading = ReadAt(*room_->chart().shown(), room_->chart().frame().panels.front(), {0.2, 1.8});
  EXPECT_TRUE(reading.lines.contains("A Alder 52"));
  EXPECT_TRUE(reading.lines.contains("B Rowan 83"));
}

TEST_F(ShelfRoomTest, WheelAndTagsAreEditedAndUndone) {
  AddThree();
  OpenRoom();
  Type("wheel_inducer", "52");
  QTest::keyClick(Find<QLineEdit>("wheel_inducer"), Qt::Key_Return);
  ASSERT_TRUE(Settle());
  auto facts = (*side_)->Facts("Alder 52");
  ASSERT_TRUE(facts && facts->wheel);
  EXPECT_EQ(facts->wheel->inducer_mm, 52.0);
  Type("wheel_inducer", "fifty");
  QTest::keyClick(Find<QLineEdit>("wheel_inducer"), Qt::Key_Return);
  EXPECT_TRUE(Find<QLineEdit>("wheel_inducer")->property("wrong").toBool());

  Type("new_tag", "brochure");
  QTest::keyClick(Find<QLineEdit>("new_tag"), Qt::Key_Return);
  ASSERT_TRUE(Settle());
  EXPECT_EQ((*side_)->Facts("Alder 52")->tags, std::vector<std::string>{"brochure"});
  EXPECT_EQ(Find<QListWidget>("tags")->count(), 1);
  room_->list().setFocus();
  QTest::keyClick(&room_->list(), Qt::Key_Z, Qt::ControlModifier);
  ASSERT_TRUE(Settle());
  EXPECT_TRUE((*side_)->Facts("Alder 52")->tags.empty());
  Do("shelf.undo");
  ASSERT_TRUE(Settle());
  EXPECT_FALSE((*side_)->Facts("Alder 52")->wheel.value_or(WheelData{}).inducer_mm);

  Type("new_note", "surge line redrawn by hand");
  QTest::keyClick(Find<QLineEdit>("new_note"), Qt::Key_Return);
  ASSERT_TRUE(Settle());
  facts = (*side_)->Facts("Alder 52");
  ASSERT_EQ(facts->notes.size(), 1u);
  EXPECT_EQ(facts->notes.front().author, "Tomas");
  EXPECT_TRUE(Find<QLabel>("notes")->text().contains("redrawn by hand"));
}

TEST_F(ShelfRoomTest, HistoryShowsStatesAndTheirDifferenceAndGoesBack) {
  PerformanceMap map = ScaledCompressor("Alder 52", 1.0, 1.0);
  const std::string first = side_->Add("Alder 52", map, "first reading", "2025-03-01T08:00:00Z");
  for (Curve& curve : map.curves)
    if (curve.role == CurveRole::kSurgeLine)
      for (Point2& p : curve.points) p.x *= 0.97;
  side_->Add("Alder 52", map, "surge line corrected", "2025-03-02T08:00:00Z");
  OpenRoom();
  auto* history = Find<QListWidget>("history");
  ASSERT_EQ(history->count(), 2);
  EXPECT_TRUE(history->item(0)->text().contains("surge line corrected"));
  EXPECT_TRUE(history->item(1)->text().contains("2025-03-01 08:00"));
  history->item(0)->setSelected(true);
  history->item(1)->setSelected(true);
  ASSERT_TRUE(Settle());
  EXPECT_FALSE(room_->chart().shown()->overlay.traces.empty());
  EXPECT_TRUE(room_->chart().shown()->changes.join('\n').contains("surge line"));
  EXPECT_TRUE(room_->facts().TopLine().contains("change")) << room_->facts().TopLine().toStdString();
  history->clearSelection();
  history->item(1)->setSelected(true);
  ASSERT_TRUE(Settle());
  EXPECT_EQ(room_->chart().shown()->maps.front().revision, first);
  history->setFocus();
  QTest::keyClick(history, Qt::Key_R, Qt::ControlModifier);
  ASSERT_TRUE(Settle());
  auto log = (*side_)->Log("Alder 52");
  ASSERT_TRUE(log);
  ASSERT_EQ(log->size(), 3u);
  EXPECT_EQ(log->front().document_sha256, log->back().document_sha256);
  Do("shelf.undo");
  ASSERT_TRUE(Settle());
  log = (*side_)->Log("Alder 52");
  ASSERT_EQ(log->size(), 4u);
  EXPECT_EQ((*log)[0].document_sha256, (*log)[2].document_sha256);
}

TEST_F(ShelfRoomTest, ABranchIsMergedAndConflictsAreDecidedInline) {
  PerformanceMap map = ScaledCompressor("Alder 52", 1.0, 1.0);
  const std::string base = side_->Add("Alder 52", map);
  const auto moved = [&](double by) {
    PerformanceMap other = map;
    for (Point2& p : other.curves.front().points) p.x *= by;
    return other;
  };
  NewRevision theirs;
  theirs.name = "Alder 52";
  theirs.branch = "from Larch Bay";
  theirs.document = WriteMapDocument(moved(1.02));
  theirs.author = "Petra";
  theirs.parents = std::vector{base};
  ASSERT_TRUE((*side_)->AddRevision(theirs));
  side_->Add("Alder 52", moved(0.98), "ours");
  OpenRoom();
  EXPECT_TRUE(Find<QLabel>("branches")->text().contains("from Larch Bay"));
  Do("shelf.merge");
  ASSERT_TRUE(Settle());
  ASSERT_TRUE(room_->drawer().IsOpen());
  auto* now = Find<QPushButton>("merge_now");
  EXPECT_FALSE(now->isEnabled());
  auto* choice = Find<QRadioButton>("merge_1_theirs");
  ASSERT_NE(choice, nullptr);
  choice->click();
  ASSERT_TRUE(now->isEnabled());
  QTest::mouseClick(now, Qt::LeftButton);
  ASSERT_TRUE(Settle());
  EXPECT_FALSE(room_->drawer().IsOpen());
  const auto branches = (*side_)->Branches("Alder 52");
  ASSERT_TRUE(branches);
  EXPECT_EQ(branches->size(), 1u);
  const auto shown = (*side_)->Show("Alder 52");
  ASSERT_TRUE(shown);
  EXPECT_EQ(shown->revision.parents.size(), 2u);
  const auto merged = ParseMapDocument(shown->document);
  ASSERT_TRUE(merged);
  EXPECT_EQ(merged->curves.front().points, AsWritten(moved(1.02)).curves.front().points);
}

TEST_F(ShelfRoomTest, RemovedMapsComeBack) {
  AddThree();
  OpenRoom();
  Click("Birch 64");
  ASSERT_TRUE(Settle());
  Do("shelf.remove");
  ASSERT_TRUE(Settle());
  EXPECT_EQ(Listed(), (QStringList{"Alder 52", "Rowan 83"}));
  Do("shelf.show_removed");
  ASSERT_TRUE(Settle());
  EXPECT_EQ(Listed(), QStringList{"Birch 64"});
  Do("shelf.restore");
  ASSERT_TRUE(Settle());
  Do("shelf.show_removed");
  ASSERT_TRUE(Settle());
  EXPECT_EQ(Listed().size(), 3);
}

TEST_F(ShelfRoomTest, WritesFilesAndAsksBeforeReplacing) {
  AddThree();
  OpenRoom();
  for (const char* name : {"a.map.json", "a.csv", "a.xlsx", "a.svg", "a.png", "a.pdf"}) {
    Do("shelf.export");
    ASSERT_TRUE(room_->drawer().IsOpen());
    Type("export_file", Path(name));
    QTest::keyClick(Find<QLineEdit>("export_file"), Qt::Key_Return);
    ASSERT_TRUE(Settle());
    EXPECT_FALSE(room_->drawer().IsOpen()) << name;
    EXPECT_TRUE(QFileInfo(Path(name)).size() > 500) << name;
  }
  const auto written = ReadMapFile(Path("a.map.json").toStdString());
  ASSERT_TRUE(written);
  const PerformanceMap as_added = AsWritten(ScaledCompressor("Alder 52, Fellside Rotors", 1.0, 1.0));
  EXPECT_EQ(written->curves, as_added.curves);
  EXPECT_EQ(written->x, as_added.x);
  EXPECT_EQ(written->title, as_added.title);
  const auto table = ReadCurveCsv(*ReadFileContents(Path("a.csv").toStdString()));
  ASSERT_TRUE(table);
  EXPECT_EQ(table->curves.size(), written->curves.size());

  Do("shelf.export");
  Type("export_file", Path("a.csv"));
  QTest::keyClick(Find<QLineEdit>("export_file"), Qt::Key_Return);
  ASSERT_TRUE(Settle());
  EXPECT_TRUE(room_->drawer().IsOpen());
  EXPECT_TRUE(Find<QLabel>("export_remark")->text().contains("is there already"));
  QTest::keyClick(Find<QLineEdit>("export_file"), Qt::Key_Return);
  ASSERT_TRUE(Settle());
  EXPECT_FALSE(room_->drawer().IsOpen());
}

TEST_F(ShelfRoomTest, CurvesGoToTheClipboardAsATable) {
  AddThree();
  OpenRoom();
  room_->list().setFocus();
  QTest::keyClick(&room_->list(), Qt::Key_C, Qt::ControlModifier);
  const QMimeData* data = QGuiApplication::clipboard()->mimeData();
  ASSERT_NE(data, nullptr);
  const QStringList lines = data->text().split('\n', Qt::SkipEmptyParts);
  std::size_t points = 0;
  for (const Curve& curve : room_->chart().shown()->maps.front().printed.curves) points += curve.points.size();
  EXPECT_EQ(static_cast<std::size_t>(lines.size()), points + 1);
  EXPECT_TRUE(lines.front().contains('\t'));
  EXPECT_TRUE(data->html().contains("<td>"));
  Do("shelf.copy_picture");
  ASSERT_TRUE(Settle());
  EXPECT_EQ(QGuiApplication::clipboard()->image().size(), QSize(1600, 1180));
}

TEST_F(ShelfRoomTest, AParcelGoesOutAndIsLookedIntoBeforeItComesIn) {
  AddThree();
  OpenRoom();
  Click("Alder 52");
  Click("Birch 64", Qt::ControlModifier);
  ASSERT_TRUE(Settle());
  Do("shelf.pack");
  Type("pack_file", Path("two.zip"));
  QTest::keyClick(Find<QLineEdit>("pack_file"), Qt::Key_Return);
  ASSERT_TRUE(Settle());
  ASSERT_TRUE(QFileInfo::exists(Path("two.zip"))) << said_.join('\n').toStdString();
  EXPECT_TRUE(Said("not signed"));

  // Into another shop's shelf.
  TearDown();
  side_ = std::make_unique<ShelfOnTheSide>(Path("other.db").toStdString());
  side_->Add("Larch 44", ScaledCompressor("Larch 44", 0.5, 1.0));
  QFile::remove(Path("shelf.db"));
  side_.reset();
  ASSERT_TRUE(QFile::copy(Path("other.db"), Path("shelf.db")));
  side_ = std::make_unique<ShelfOnTheSide>(Path("shelf.db").toStdString());
  OpenRoom();
  EXPECT_TRUE(room_->TakeFiles({Path("two.zip"), Path("sheet.png")}) == QStringList{Path("sheet.png")});
  ASSERT_TRUE(Settle());
  ASSERT_TRUE(room_->drawer().IsOpen());
  EXPECT_TRUE(Find<QLabel>("parcel_signature")->text().contains("not signed"));
  EXPECT_TRUE(Find<QLabel>("parcel_maps")->text().contains("Birch 64"));
  EXPECT_TRUE(Find<QLabel>("parcel_maps")->text().contains("new on this shelf"));
  EXPECT_FALSE((*side_)->Show("Birch 64"));  // nothing was taken over yet
  QTest::mouseClick(Find<QPushButton>("parcel_unpack"), Qt::LeftButton);
  ASSERT_TRUE(Settle());
  EXPECT_TRUE((*side_)->Show("Birch 64"));
  EXPECT_EQ(Listed(), (QStringList{"Alder 52", "Birch 64", "Larch 44"}));
}

TEST_F(ShelfRoomTest, MapsOnTheMoveBecomeAParcelWhereTheyAreDropped) {
  AddThree();
  const MapsOnTheMove moving(Path("shelf.db").toStdString(), Path("moving").toStdString(), {"Rowan 83"});
  EXPECT_TRUE(moving.hasUrls());
  EXPECT_FALSE(QFileInfo::exists(Path("moving/Rowan 83.zip")));  // not before it is asked for
  const QList<QUrl> urls = moving.urls();
  ASSERT_EQ(urls.size(), 1);
  const auto parcel = Parcel::Open(urls.front().toLocalFile().toStdString(), {});
  ASSERT_TRUE(parcel);
  ASSERT_EQ(parcel->Maps().size(), 1u);
  EXPECT_EQ(parcel->Maps().front().name, "Rowan 83");
}

TEST_F(ShelfRoomTest, AnEmptyShelfOffersTheExamplesAndClosingStopsThem) {
  OpenRoom();
  auto* examples = Find<QPushButton>("shelf_examples");
  ASSERT_TRUE(examples->isVisible());
  QTest::mouseClick(examples, Qt::LeftButton);
  ASSERT_TRUE(WaitFor([&] { return !Listed().isEmpty() && room_->chart().IsDrawn(); }, 120000));
  EXPECT_FALSE(examples->isVisible());
  EXPECT_EQ(Listed().front(), "Hazel 40");
  const auto facts = (*side_)->Facts("Hazel 40");
  ASSERT_TRUE(facts && facts->wheel);
  EXPECT_EQ(facts->wheel->inducer_mm, 40.0);
  EXPECT_EQ(facts->wheel->maker, "Fellside Rotors");
  QElapsedTimer clock;
  clock.start();
  room_ = nullptr;
  window_.reset();  // seven more were to come
  EXPECT_LT(clock.elapsed(), 20000);
  EXPECT_LT((*side_)->List()->size(), 8u);
}

TEST_F(ShelfRoomTest, ADamagedParcelIsRefusedInWords) {
  AddThree();
  OpenRoom();
  ASSERT_TRUE(ReplaceFileContents(Path("bad.zip").toStdString(), "PK no parcel"));
  room_->TakeFiles({Path("bad.zip")});
  ASSERT_TRUE(Settle());
  EXPECT_FALSE(room_->drawer().IsOpen());
  EXPECT_EQ(Listed().size(), 3);
  EXPECT_GT(said_.last().size(), 20);
}

TEST_F(ShelfRoomTest, AMapDocumentGoesOnTheShelf) {
  OpenRoom();
  EXPECT_EQ(room_->facts().TopLine(), "The shelf is empty");
  ASSERT_TRUE(WriteMapFile(Path("Hazel 40.map.json").toStdString(), ScaledCompressor("Hazel 40", 0.4, 1.0)));
  EXPECT_TRUE(room_->TakeFiles({Path("Hazel 40.map.json")}).isEmpty());
  ASSERT_TRUE(Settle());
  EXPECT_EQ(Listed(), QStringList{"Hazel 40"});
  EXPECT_EQ((*side_)->Log("Hazel 40")->front().author, "Tomas");
}

TEST_F(ShelfRoomTest, SeesWhatAnotherProgramDoes) {
  AddThree();
  OpenRoom();
  QTest::qWait(1700);  // one look, so that there is something to compare with
  side_->Add("Yew 90", ScaledCompressor("Yew 90", 2.0, 1.0));
  EXPECT_TRUE(WaitFor([&] { return Listed().contains("Yew 90"); }, 8000));
}

TEST_F(ShelfRoomTest, AsksTheOtherRooms) {
  AddThree();
  OpenRoom();
  QSignalSpy correct(workplace_.get(), &Workplace::CorrectAsked), bench(workplace_.get(), &Workplace::BenchAsked);
  Click("Rowan 83");
  ASSERT_TRUE(Settle());
  Do("shelf.correct");
  QTest::keyClick(room_, Qt::Key_B, Qt::ControlModifier);
  ASSERT_EQ(correct.count(), 1);
  ASSERT_EQ(bench.count(), 1);
  EXPECT_EQ(correct.front().front().toString(), "Rowan 83");
  EXPECT_EQ(bench.front().front().toString(), "Rowan 83");
  emit workplace_->ShelfAsked("Birch 64");
  ASSERT_TRUE(Settle());
  EXPECT_EQ(room_->list().ChosenNames(), QStringList{"Birch 64"});
}

TEST_F(ShelfRoomTest, EveryDeedHasAKeyAndATwinAndEveryFieldAName) {
  AddThree();
  OpenRoom();
  const std::vector<QAction*> deeds = DeedsWithin(room_);
  EXPECT_GT(deeds.size(), 15u);
  QStringList keys;
  for (const QAction* deed : deeds) {
    EXPECT_FALSE(deed->shortcut().isEmpty()) << deed->objectName().toStdString();
    EXPECT_FALSE(TwinOf(deed).isEmpty()) << deed->objectName().toStdString();
    EXPECT_FALSE(keys.contains(deed->shortcut().toString())) << deed->objectName().toStdString();
    keys << deed->shortcut().toString();
  }
  for (const QLineEdit* field : room_->findChildren<QLineEdit*>())
    EXPECT_FALSE(field->accessibleName().isEmpty()) << field->objectName().toStdString();
}

}  // namespace
}  // namespace islebook

int main(int argc, char** argv) {
  qputenv("QT_QPA_PLATFORM", "offscreen");
  if (qEnvironmentVariableIsEmpty("XDG_RUNTIME_DIR")) qputenv("XDG_RUNTIME_DIR", "/tmp");
  ::testing::InitGoogleTest(&argc, argv);
  QApplication app(argc, argv);
  return RUN_ALL_TESTS();
}
