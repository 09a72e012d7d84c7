// The bench driven as a person does: real widgets, clicks and keys, on the offscreen platform, with the sample cases and the sample maps' exact lines.

#include <fstream>

#include <QAction>
#include <QApplication>
#include <QClipboard>
#include <QFile>
#include <QLabel>
#include <QLineEdit>
#include <QMimeData>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QSlider>
#include <QTableWidget>
#include <QTemporaryDir>
#include <QTest>
#include <QTextBrowser>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "ui/desktop/bench_room/bench_room.h"
#include "ui/desktop/bench_room/case_document.h"
#include "ui/desktop/bench_room/case_form.h"
#include "ui/desktop/bench_room/case_text.h"
#include "ui/desktop/bench_room/map_view.h"
#include "ui/desktop/bench_room/verdict_table.h"
#include "ui/desktop/bench_room/what_first_panel.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/facts_column.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/report/stage_overlay.h"

namespace islebook {
namespace {

constexpr int kPatience = 60000;  // ms

// A sheet's truth as a map document: what a perfect digitizer would give.
std::string DocumentOfTruth(const std::string& file) {
  std::ifstream in(file);
  const nlohmann::json truth = nlohmann::json::parse(in);
  nlohmann::json curves = nlohmann::json::array();
  for (const nlohmann::json& c : truth["curves"])
    curves.push_back({{"role", c["role"]},
                      {"value", c["value"]},
                      {"unit", c["unit"].is_string() ? c["unit"] : nlohmann::json("")},
                      {"closed", c["closed"]},
                      {"points", c["points"]},
                      {"points_px", c["points_px"]},
                      {"sigma", nlohmann::json(c["points"].size(), nlohmann::json::array({0.0, 0.0}))},
                      {"confidence", 1.0},
                      {"needs_review", false},
                      {"reasons", nlohmann::json::array()}});
  nlohmann::json reference = truth["reference_conditions"];
  if (reference.is_object()) reference["basis"] = "printed";
  return nlohmann::json{{"document", "performance-map"},
                        {"schema", 1},
                        {"kind", truth["kind"]},
                        {"title", truth["printed"]["title"]},
                        {"axes", truth["axes"]},
                        {"reference_conditions", reference},
                        {"curves", curves},
                        {"needs_review", nlohmann::json::array()}}
      .dump();
}

class BenchRoomTest : public testing::Test {
 protected:
  void SetUp() override {
    ASSERT_TRUE(folder_.isValid());
    const std::string samples = std::string(ISLEBOOK_SOURCE_DIR) + "/sample_maps/";
    auto shelf = OpenSqliteShelf(Path("shelf.db").toStdString(), {.access = ShelfAccess::kCreate});
    ASSERT_TRUE(shelf.has_value());
    for (const auto& [name, sheet] :
         {std::pair{"birch-52", "birch-52/birch-52-scan"}, {"yew-70", "yew-70/yew-70-scan"}, {"alder-44", "alder-44/alder-44-scan"}}) {
      NewRevision revision;
      revision.name = name;
      revision.document = DocumentOfTruth(samples + sheet + ".truth.json");
      revision.author = "Ines";
      const auto added = (*shelf)->AddRevision(revision);
      ASSERT_TRUE(added.has_value()) << added.error().message;
    }
    Open();
  }

  QString Path(const char* name) const { return folder_.filePath(name); }

  void Open() {
    room_.reset();
    workplace_.reset();
    WorkplaceOptions options;
    options.shelf_file = Path("shelf.db").toStdString();
    options.habits_file = Path("habits.ini").toStdString();
    options.work_folder = Path("work").toStdString();
    workplace_ = std::make_unique<Workplace>(options);
    QObject::connect(workplace_.get(), &Workplace::Said, [this](const QString& words, bool) { said_ = words; });
    room_ = std::make_unique<BenchRoom>(*workplace_, nullptr);
    QObject::connect(room_.get(), &BenchRoom::Worked, [this] { ++worked_; });
    room_->resize(1300, 820);
    room_->show();
    ASSERT_TRUE(QTest::qWaitForWindowExposed(room_.get()));
  }

  // Does something and waits until the bench has answered to it.
  void AndWait(const std::function<void()>& deed) {
    const int before = worked_;
    deed();
    ASSERT_TRUE(QTest::qWaitFor([&] { return worked_ > before; }, kPatience)) << said_.toStdString();
    QTest::qWait(120);  // a later answer to the same deed
  }

  void OpenSample(const QString& name) {
    AndWait([&] { EXPECT_TRUE(room_->TakeFiles({QStringLiteral(ISLEBOOK_SOURCE_DIR "/sample_maps/cases/") + name}).isEmpty()); });
    ASSERT_TRUE(room_->outcome()) << said_.toStdString() << Find<QLabel>("wrong_words").text().toStdString();
  }

  template <typename T>
  T& Find(const char* name) {
    T* found = room_->findChild<T*>(name);
    EXPECT_NE(found, nullptr) << name;
    return *found;
  }
  QString Top() { return room_->facts().TopLine(); }
  void Do(const char* deed) { Find<QAction>(deed).trigger(); }

  QTemporaryDir folder_;
  std::unique_ptr<Workplace> workplace_;
  std::unique_ptr<BenchRoom> room_;
  QString said_;
  int worked_ = 0;
};

TEST_F(BenchRoomTest, SampleCaseIsWorkedOutAndTheWorstPointChosen) {
  OpenSample("lake-ferry.toml");
  const BenchResult& result = room_->outcome()->result;
  EXPECT_EQ(Top().toStdString(), result.summary);
  auto& table = Find<VerdictTable>("verdict_table");
  ASSERT_EQ(table.rowCount(), 3);
  EXPECT_EQ(table.ChosenPoint(), result.worst_point);
  EXPECT_EQ(room_->maps().front()->chosen(), result.worst_point);
  QTest::mouseClick(table.viewport(), Qt::LeftButton, {}, table.visualItemRect(table.item(1, 1)).center());
  EXPECT_EQ(room_->maps().front()->chosen(), 1);
  EXPECT_TRUE(Find<QTextBrowser>("bench_notes").toPlainText().contains("2 cruise"));
}

TEST_F(BenchRoomTest, AltitudeChangesTheVerdictAndUndoBringsItBack) {
  OpenSample("lake-ferry.toml");
  const QString before = Top();
  const QString text = room_->document().Text();
  const double at_sea = room_->outcome()->result.points[0].stages[0].reading.surge_margin.value_or(-9);
  auto& slider = Find<QSlider>("altitude");
  slider.setFocus();
  AndWait([&] {
    for (int i = 0; i < 6; ++i) QTest::keyClick(&slider, Qt::Key_PageUp);
  });
  const PointResult& high = room_->outcome()->result.points[0];
  EXPECT_NEAR(high.input.altitude_m.value_or(0), slider.value() * 50.0, 1e-6);
  EXPECT_GT(high.input.altitude_m.value_or(0), 1000);
  // ISO 2533: 70,108 Pa at 3,000 m (table value, from memory).
  ASSERT_EQ(slider.value(), 60);
  EXPECT_NEAR(high.input.ambient.pressure_Pa, 70108, 20);
  EXPECT_NE(Top(), before);
  EXPECT_NE(high.stages[0].reading.surge_margin.value_or(-9), at_sea);
  EXPECT_TRUE(room_->document().Text().contains(QStringLiteral("altitude = \"%1 m\"").arg(slider.value() * 50)));
  AndWait([&] { Do("bench.undo"); });  // one step, however often the key was struck
  EXPECT_EQ(room_->document().Text(), text);
  EXPECT_EQ(Top(), before);
}

TEST_F(BenchRoomTest, FanDrawsALineAnAltitude) {
  OpenSample("lake-ferry.toml");
  AndWait([&] { Find<QSlider>("altitude").setValue(30); });
  AndWait([&] { QTest::mouseClick(&Find<QWidget>("altitude_fan"), Qt::LeftButton, {}, QPoint(8, 8)); });
  EXPECT_EQ(room_->outcome()->result.points.size(), 9u);
  EXPECT_TRUE(room_->document().Text().contains("altitude = [\"0 m\", \"750 m\", \"1500 m\"]"));
  EXPECT_EQ(room_->maps().front()->overlay().lines.size(), 3u);
}

TEST_F(BenchRoomTest, AWrongLineIsToldWithItsNumberAndTheLastResultStays) {
  OpenSample("lake-ferry.toml");
  auto& text = Find<CaseText>("case_text");
  Do("bench.flip");
  QTextCursor cursor = text.document()->find("cooler_loss");
  ASSERT_FALSE(cursor.isNull());
  const int line = cursor.blockNumber() + 1;
  cursor.movePosition(QTextCursor::EndOfBlock);
  cursor.movePosition(QTextCursor::PreviousCharacter);
  text.setTextCursor(cursor);
  AndWait([&] { QTest::keyClicks(&text, " and some"); });
  EXPECT_EQ(text.marked_line(), line);
  EXPECT_TRUE(Find<QLabel>("wrong_words").text().contains(QStringLiteral("Line %1").arg(line))) << Find<QLabel>("wrong_words").text().toStdString();
  EXPECT_TRUE(Top().contains(QStringLiteral("Line %1").arg(line)));
  EXPECT_EQ(room_->outcome()->result.points.size(), 3u);
  AndWait([&] { Do("bench.undo"); });
  EXPECT_EQ(text.marked_line(), 0);
  EXPECT_FALSE(Find<QPushButton>("wrong_line").isVisible());
}

TEST_F(BenchRoomTest, AnEmptyClipboardIsPastedAsNothing) {
  OpenSample("lake-ferry.toml");
  auto& text = Find<CaseText>("case_text");
  Do("bench.flip");
  text.setFocus();
  const QString before = room_->document().Text();
  QApplication::clipboard()->setMimeData(new QMimeData);
  QTest::keyClick(&text, Qt::Key_V, Qt::ControlModifier);
  EXPECT_EQ(room_->document().Text(), before);
  QApplication::clipboard()->setText("# pasted\n");
  AndWait([&] { QTest::keyClick(&text, Qt::Key_V, Qt::ControlModifier); });
  EXPECT_TRUE(room_->document().Text().contains("# pasted"));
}

TEST_F(BenchRoomTest, FormAndTextAreTheSameCase) {
  OpenSample("lake-ferry.toml");
  QLineEdit* displacement = Find<CaseForm>("case_form").Field("engine.displacement");
  ASSERT_NE(displacement, nullptr);
  EXPECT_EQ(displacement->text(), "5.9 L");
  const double air = room_->outcome()->result.points[0].air_flow_kg_s;
  displacement->setFocus();
  displacement->selectAll();
  AndWait([&] { QTest::keyClicks(displacement, "6.7 L"); });
  EXPECT_TRUE(room_->document().Text().contains("displacement = \"6.7 L\""));
  EXPECT_TRUE(room_->document().Text().contains("# Invented, like the map.")) << "comments stay";
  EXPECT_GT(room_->outcome()->result.points[0].air_flow_kg_s, 1.05 * air);
  AndWait([&] { Do("bench.undo"); });
  EXPECT_EQ(displacement->text(), "5.9 L");
  auto& points = Find<QTableWidget>("points");
  ASSERT_EQ(points.rowCount(), 3);
  AndWait([&] { points.item(1, 2)->setText("0.8 bar"); });
  EXPECT_NEAR(room_->outcome()->result.points[1].input.target.boost_Pa.value_or(0), 0.8e5, 1);
}

TEST_F(BenchRoomTest, DraggingAPointReadsTheMapThere) {
  OpenSample("lake-ferry.toml");
  MapView& map = *room_->maps().front();
  map.grab();  // laid out
  const ChartPoint& point = map.overlay().points[1];
  const QPointF from = *map.PlaceOnScreen(point.at);
  const Point2 wanted{point.at.x * 1.06, 1 + (point.at.y - 1) * 0.97};
  const QPoint to = map.PlaceOnScreen(wanted)->toPoint();
  QTest::mousePress(&map, Qt::LeftButton, {}, from.toPoint());
  QTest::mouseMove(&map, to);
  QMouseEvent move(QEvent::MouseMove, QPointF(to), map.mapToGlobal(QPointF(to)), Qt::LeftButton, Qt::LeftButton, Qt::NoModifier);
  QApplication::sendEvent(&map, &move);
  ASSERT_TRUE(map.place().has_value());
  EXPECT_NEAR(map.place()->x, wanted.x, 0.01 * wanted.x);
  ASSERT_TRUE(map.reading().has_value());
  // The same question through the library.
  Question question;
  question.Set(QuestionValue::kFlow, map.place()->x);
  question.Set(QuestionValue::kPressureRatio, map.place()->y);
  const MapAnswer answer = map.askable()->Ask(question);
  EXPECT_EQ(map.reading()->speed, answer.speed);
  EXPECT_EQ(map.reading()->surge_margin, answer.surge_margin);
  EXPECT_TRUE(Find<QLabel>("reading").text().contains("Surge margin"));
  QTest::mouseRelease(&map, Qt::LeftButton, {}, to);
  EXPECT_TRUE(map.place().has_value()) << "it stays where it was put";
  QTest::keyClick(&map, Qt::Key_Escape);
  EXPECT_FALSE(map.place().has_value());
  QTest::keyClick(&map, Qt::Key_Right);
  EXPECT_TRUE(map.place().has_value()) << "the keyboard reads too";
}

TEST_F(BenchRoomTest, TurbineMapsShowTheirPointsAndAreRead) {
  OpenSample("lake-ferry-turbine.toml");
  const BenchResult& result = room_->outcome()->result;
  ASSERT_EQ(room_->turbine_maps().size(), 1u);
  MapView& map = *room_->turbine_maps().front();
  EXPECT_TRUE(room_->maps().front()->isVisible());
  EXPECT_FALSE(map.isVisible());
  QTest::keyClick(&Find<VerdictTable>("verdict_table"), Qt::Key_F5);
  EXPECT_FALSE(room_->maps().front()->isVisible());
  ASSERT_TRUE(map.isVisible());
  map.grab();  // laid out
  ASSERT_EQ(map.overlay().points.size(), result.points.size());
  // Where the balance says: expansion ratio across, what the map swallows there up.
  for (std::size_t i = 0; i < result.points.size(); ++i) {
    const TurbineState& state = *result.points[i].stages[0].turbine;
    EXPECT_EQ(map.overlay().points[i].at.x, state.expansion_ratio);
    EXPECT_EQ(map.overlay().points[i].at.y, state.reading.map_flow);
    EXPECT_EQ(NumberOf(map.overlay(), i), static_cast<int>(i) + 1);
  }
  // A click on a point chooses it everywhere.
  const ChartPoint& point = map.overlay().points[2];
  QTest::mouseClick(&map, Qt::LeftButton, {}, map.PlaceOnScreen(point.at)->toPoint());
  EXPECT_EQ(Find<VerdictTable>("verdict_table").ChosenPoint(), 2);
  EXPECT_EQ(room_->maps().front()->chosen(), 2);
  QTest::mouseMove(&map, map.PlaceOnScreen(point.at)->toPoint() + QPoint(0, 40));
  ASSERT_TRUE(map.reading().has_value());
  Question question;
  question.Set(QuestionValue::kExpansionRatio, map.place()->x);
  if (map.askable()->has_parameter()) question.Set(QuestionValue::kFlow, map.place()->y);
  EXPECT_EQ(map.reading()->speed, map.askable()->Ask(question).speed);
  EXPECT_TRUE(Find<QLabel>("reading").text().contains("Expansion ratio"));
  EXPECT_FALSE(Find<QLabel>("reading").text().contains("Surge margin"));
}

TEST_F(BenchRoomTest, APointThatFailsLeavesTheOthersTheirNumbers) {
  OpenSample("lake-ferry.toml");
  BenchResult result = room_->outcome()->result;
  ASSERT_EQ(result.points.size(), 3u);
  result.points[1].failure = "it cannot be worked out.";
  const ChartOverlay overlay = StageOverlay(result, 0);
  ASSERT_EQ(overlay.points.size(), 2u);
  EXPECT_EQ(NumberOf(overlay, 0), 1);
  EXPECT_EQ(NumberOf(overlay, 1), 3);
  MapView& map = *room_->maps().front();
  map.SetContent(room_->outcome()->bench->compressors()[0].map, overlay, room_->outcome()->askable[0], "the stage");
  map.grab();
  QTest::mouseClick(&map, Qt::LeftButton, {}, map.PlaceOnScreen(overlay.points[1].at)->toPoint());
  EXPECT_EQ(Find<VerdictTable>("verdict_table").ChosenPoint(), 2);
}

TEST_F(BenchRoomTest, KeysAloneAddAndRemovePointsAndStages) {
  OpenSample("lake-ferry.toml");
  auto& table = Find<VerdictTable>("verdict_table");
  AndWait([&] { QTest::keyClick(&table, Qt::Key_A, Qt::ControlModifier | Qt::ShiftModifier); });
  EXPECT_EQ(room_->document().Count("point"), 4u);
  AndWait([&] { QTest::keyClick(&table, Qt::Key_L, Qt::ControlModifier | Qt::ShiftModifier); });
  EXPECT_EQ(room_->document().Count("stage"), 2u);
  QTest::qWait(1);  // the form is built anew
  AndWait([&] { QTest::keyClick(&table, Qt::Key_K, Qt::ControlModifier | Qt::ShiftModifier); });
  EXPECT_EQ(room_->document().Count("stage"), 1u);
  AndWait([&] { Find<QSlider>("altitude").setValue(30); });
  AndWait([&] { QTest::keyClick(&table, Qt::Key_F, Qt::ControlModifier | Qt::ShiftModifier); });
  EXPECT_EQ(room_->outcome()->result.points.size(), 12u) << "each at three altitudes";
  QTest::keyClick(&table, Qt::Key_F3);
  EXPECT_TRUE(room_->maps().front()->hasFocus());
  QTest::keyClick(room_->maps().front(), Qt::Key_F2);
  EXPECT_TRUE(Find<QSlider>("altitude").hasFocus());
}

TEST_F(BenchRoomTest, ReportIsAPdfWithPages) {
  OpenSample("lake-ferry-turbine.toml");
  room_->WriteReport(Path("report.pdf"));
  ASSERT_TRUE(QTest::qWaitFor([&] { return said_.contains("report.pdf"); }, kPatience)) << said_.toStdString();
  QFile file(Path("report.pdf"));
  ASSERT_TRUE(file.open(QIODevice::ReadOnly)) << said_.toStdString();
  const QByteArray bytes = file.readAll();
  EXPECT_TRUE(bytes.startsWith("%PDF"));
  EXPECT_GE(bytes.count("/Type /Page\n") + bytes.count("/Type /Page "), 3);
  room_->WriteData(Path("report.json"));
  ASSERT_TRUE(QTest::qWaitFor([&] { return said_.contains("report.json"); }, kPatience));
  std::ifstream json(Path("report.json").toStdString());
  EXPECT_EQ(nlohmann::json::parse(json)["points"].size(), 4u);
  room_->WriteCharts(Path("no_such_folder/chart.svg"));
  ASSERT_TRUE(QTest::qWaitFor([&] { return said_.contains("no_such_folder"); }, kPatience)) << "what cannot be written is told";
}

TEST_F(BenchRoomTest, WhatFirstIsFoundAndTakenIntoTheCase) {
  OpenSample("lake-ferry-turbine.toml");
  const QString text = room_->document().Text();
  Do("bench.what_first");
  auto& panel = Find<WhatFirstPanel>("what_first");
  ASSERT_TRUE(QTest::qWaitFor([&] { return panel.found() != nullptr; }, kPatience));
  auto& table = Find<QTableWidget>("what_first_table");
  int row = -1;
  for (std::size_t i = 0; i < panel.found()->changes.size(); ++i)
    if (panel.found()->changes[i].element == ChangedElement::kCooler) row = static_cast<int>(i);
  ASSERT_GE(row, 0);
  table.selectRow(row);
  AndWait([&] { QTest::mouseClick(&Find<QPushButton>("what_first_take"), Qt::LeftButton); });
  EXPECT_TRUE(room_->document().Text().contains("cooler_effectiveness = \"85 %\"")) << room_->document().Text().toStdString();
  EXPECT_NEAR(room_->outcome()->result.points[0].input.cooler.effectiveness, 0.85, 1e-9);
  AndWait([&] { Do("bench.undo"); });
  EXPECT_EQ(room_->document().Text(), text);
}

TEST_F(BenchRoomTest, AMapSentFromTheShelfGoesIntoTheCase) {
  OpenSample("lake-ferry.toml");
  AndWait([&] { emit workplace_->BenchAsked("alder-44"); });
  EXPECT_EQ(room_->outcome()->bench->compressors().front().name, "alder-44");
  AndWait([&] { emit workplace_->BenchAsked("yew-70"); });
  EXPECT_EQ(room_->document().Written({"stage", 0, "turbine"}), "yew-70");
  EXPECT_FALSE(room_->outcome()->result.turbines.empty());
}

TEST_F(BenchRoomTest, UnsavedWorkIsOfferedBackAfterACrash) {
  OpenSample("lake-ferry.toml");
  AndWait([&] { room_->document().Set({"engine", 0, "displacement"}, "7.3 L"); });
  ASSERT_TRUE(QTest::qWaitFor([&] { return QFile::exists(Path("work/bench-0.toml")); }, kPatience));
  Open();  // neither saved nor closed
  auto& offer = Find<QWidget>("unfinished");
  ASSERT_TRUE(offer.isVisible());
  AndWait([&] { QTest::mouseClick(&Find<QPushButton>("unfinished_take"), Qt::LeftButton); });
  EXPECT_FALSE(offer.isVisible());
  EXPECT_EQ(room_->document().Written({"engine", 0, "displacement"}), "7.3 L");
  EXPECT_TRUE(room_->document().IsUnsaved());
  EXPECT_TRUE(room_->SaveCase(Path("mine.toml")));
  EXPECT_FALSE(QFile::exists(Path("work/bench-0.toml")));
}

TEST_F(BenchRoomTest, FitsASmallScreen) {
  OpenSample("lake-ferry-turbine.toml");
  // 1280 px less the strip of rooms.
  EXPECT_LE(room_->minimumSizeHint().width(), 1170);
  EXPECT_LE(room_->minimumSizeHint().height(), 720);
}

TEST_F(BenchRoomTest, TableGoesToTheClipboard) {
  OpenSample("lake-ferry.toml");
  Do("bench.copy_table");
  const QString text = QApplication::clipboard()->text();
  EXPECT_EQ(text.count('\n'), 4);
  EXPECT_TRUE(text.contains("Surge margin\t"));
  EXPECT_TRUE(QApplication::clipboard()->mimeData()->hasHtml());
  Do("bench.copy_picture");
  EXPECT_FALSE(QApplication::clipboard()->image().isNull());
}

TEST_F(BenchRoomTest, EveryDeedHasAKeyAndATwinAndEveryFieldAName) {
  OpenSample("lake-ferry-turbine.toml");
  QStringList keys;
  for (const QAction* deed : DeedsWithin(room_.get())) {
    EXPECT_FALSE(deed->shortcut().isEmpty()) << deed->objectName().toStdString();
    EXPECT_FALSE(TwinOf(deed).isEmpty()) << deed->objectName().toStdString();
    EXPECT_FALSE(keys.contains(deed->shortcut().toString())) << deed->objectName().toStdString();
    keys << deed->shortcut().toString();
  }
  EXPECT_GE(keys.size(), 15);
  for (const QLineEdit* field : Find<CaseForm>("case_form").findChildren<QLineEdit*>())
    EXPECT_FALSE(field->accessibleName().isEmpty() && field->parentWidget()->accessibleName().isEmpty()) << field->objectName().toStdString();
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
