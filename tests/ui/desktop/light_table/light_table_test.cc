// The light table, driven by clicks and keys over a sample sheet whose truth is known.

#include <algorithm>

#include <QAction>
#include <QApplication>
#include <QClipboard>
#include <QLabel>
#include <QLineEdit>
#include <QMimeData>
#include <QPushButton>
#include <QSignalSpy>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/shelf/sqlite_shelf.h"
#include "tests/ui/desktop/light_table/table_support.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/facts_column.h"
#include "ui/desktop/light_table/chart_view.h"
#include "ui/desktop/light_table/doubts_list.h"

namespace islebook {
namespace {

TEST_F(LightTableTest, ASheetIsReadWhileTheWindowGoesOn) {
  OpenRoom();
  QSignalSpy stages(&room_->work().digitizing(), &Digitizing::StageBegun);
  QSignalSpy lines(&room_->work().digitizing(), &Digitizing::LinesSeen);
  const Watchdog watchdog;
  ASSERT_TRUE(OpenSample());
  ASSERT_TRUE(WaitFor([this] { return !room_->chart().drawing(); }));
  QTest::qWait(50);
  EXPECT_GT(watchdog.turns(), 20);
  EXPECT_LT(watchdog.longest_ms(), 50.0);
  EXPECT_GE(stages.count(), 6);
  EXPECT_GE(lines.count(), 3) << "first look, ridges, curves";

  // What stands on the table is what the sheet shows: every speed line with its value, on the drawn line.
  const std::vector<DrawnTruth> truth = TruthOf(kSample, "speed_line");
  ASSERT_GE(truth.size(), 5u);
  for (const DrawnTruth& drawn : truth) {
    ClickSheet(drawn.line[drawn.line.size() / 2]);
    ASSERT_TRUE(room_->work().chosen().has_value()) << drawn.value;
    const Curve& chosen = room_->work().map().curves[*room_->work().chosen()];
    EXPECT_EQ(chosen.role, CurveRole::kSpeedLine);
    EXPECT_EQ(chosen.value, drawn.value);
    EXPECT_EQ(room_->chart().chosen(), room_->work().chosen());
  }
}

TEST_F(LightTableTest, DoubtsAreCountedListedAndVisited) {
  OpenRoom();
  EXPECT_EQ(room_->facts().TopLine(), "No sheet on the table");
  ASSERT_TRUE(OpenSample());
  const PerformanceMap& map = room_->work().map();
  const auto doubted = std::ranges::count_if(map.curves, [](const Curve& curve) { return curve.needs_review; });
  ASSERT_GT(doubted, 0) << "the sample has doubts";
  EXPECT_TRUE(room_->facts().TopLine().startsWith(doubted == 1 ? QString("1 curve needs") : QString("%1 curves need").arg(doubted)))
      << room_->facts().TopLine().toStdString();
  const auto first = std::ranges::find_if(room_->doubts().doubts(), [](const ChartDoubt& doubt) { return doubt.curve >= 0; });
  const int row = static_cast<int>(first - room_->doubts().doubts().begin());
  QTest::mouseClick(room_->doubts().viewport(), Qt::LeftButton, {}, room_->doubts().visualItemRect(room_->doubts().item(row)).center());
  ASSERT_EQ(room_->work().chosen(), std::optional<std::size_t>(static_cast<std::size_t>(first->curve)));
  // It is in the middle of what is seen.
  const QPointF center = room_->view().ScreenFromSheet(room_->view().marks().curves()[static_cast<std::size_t>(first->curve)].bounds.center());
  EXPECT_NEAR(center.x(), room_->view().width() / 2.0, 0.35 * room_->view().width());
  EXPECT_NEAR(center.y(), room_->view().height() / 2.0, 0.35 * room_->view().height());
  // The key visits each of them, whether it is about a curve or the sheet.
  for (int step = 1; step <= room_->doubts().count(); ++step) {
    Key(Qt::Key_N);
    EXPECT_EQ(room_->doubts().currentRow(), (row + step) % room_->doubts().count());
  }
  // Accepting takes the doubt away.
  const auto number = room_->doubts().count();
  ASSERT_TRUE(Corrected([this] { Key(Qt::Key_A); }));
  EXPECT_LT(room_->doubts().count(), number);
  EXPECT_STREQ(StepName(room_->work().recipe().corrections.back().step), "accept_curve");
}

TEST_F(LightTableTest, CorrectionsAreRecipeEntriesThatCanBeUndone) {
  OpenRoom();
  ASSERT_TRUE(OpenSample());
  const std::vector<DrawnTruth> truth = TruthOf(kSample, "speed_line");
  const PerformanceMap as_read = room_->work().map();
  const std::size_t curves = as_read.curves.size();
  const QPointF middle = truth.front().line[truth.front().line.size() / 2];

  // Relabel by typing the number.
  ClickSheet(middle);
  ASSERT_TRUE(room_->work().chosen().has_value());
  ASSERT_TRUE(Corrected([this] {
    Key(Qt::Key_7);
    auto* value = Find<QLineEdit>("curve_value");
    ASSERT_TRUE(value->hasFocus());
    EXPECT_EQ(value->text(), "7");
    QTest::keyClicks(value, "6,500");
    QTest::keyClick(value, Qt::Key_Return);
  }));
  ASSERT_TRUE(room_->work().chosen().has_value()) << "the chosen curve stays chosen";
  EXPECT_EQ(room_->work().map().curves[*room_->work().chosen()].value, 76500.0);
  ASSERT_EQ(room_->work().recipe().corrections.size(), 1u);
  EXPECT_STREQ(StepName(room_->work().recipe().corrections[0].step), "relabel_curve");

  // Cut at a click: one curve more.
  ASSERT_TRUE(Corrected([&] {
    Key(Qt::Key_C);
    ASSERT_EQ(room_->view().tool(), TableTool::kCut);
    ClickSheet(middle);
  }));
  EXPECT_EQ(room_->work().map().curves.size(), curves + 1);
  EXPECT_EQ(room_->view().tool(), TableTool::kChoose);

  // Undone both, the map is what it was; done again, it is what it became.
  ASSERT_TRUE(Corrected([this] { Key(Qt::Key_Z, Qt::ControlModifier); }));
  EXPECT_EQ(room_->work().map().curves.size(), curves);
  ASSERT_TRUE(Corrected([this] { Key(Qt::Key_Z, Qt::ControlModifier); }));
  EXPECT_EQ(room_->work().map(), as_read);
  EXPECT_FALSE(room_->work().is_changed());
  ASSERT_TRUE(Corrected([this] { Key(Qt::Key_Z, Qt::ControlModifier | Qt::ShiftModifier); }));
  EXPECT_EQ(room_->work().recipe().corrections.size(), 1u);

  // A value that is none is refused where it stands.
  ClickSheet(middle);
  Key(Qt::Key_9);
  auto* value = Find<QLineEdit>("curve_value");
  QTest::keyClicks(value, "x y");
  QTest::keyClick(value, Qt::Key_Return);
  EXPECT_TRUE(value->property("wrong").toBool());
  EXPECT_EQ(room_->work().recipe().corrections.size(), 1u);

  // The recipe as a file gives the same map at the command line's door.
  const QString file = QString::fromStdString(Path("recipe.json").string());
  ASSERT_TRUE(room_->SaveRecipe(file));
  const auto text = ReadFileContents(file.toStdString());
  ASSERT_TRUE(text.has_value());
  const auto recipe = ParseRecipe(*text);
  ASSERT_TRUE(recipe.has_value());
  EXPECT_EQ(*recipe, room_->work().recipe());
}

TEST_F(LightTableTest, CurvesAreDeletedTracedAndJoined) {
  OpenRoom();
  ASSERT_TRUE(OpenSample());
  const DrawnTruth drawn = TruthOf(kSample, "speed_line")[1];
  const std::size_t curves = room_->work().map().curves.size();
  ClickSheet(drawn.line[drawn.line.size() / 2]);
  ASSERT_TRUE(Corrected([this] { Key(Qt::Key_Delete); }));
  EXPECT_EQ(room_->work().map().curves.size(), curves - 1);

  // Three clicks a few pixels beside the ink: the curve that comes of them lies on the drawn line.
  ASSERT_TRUE(Corrected([&] {
    Key(Qt::Key_T);
    for (const double part : {0.1, 0.5, 0.9})
      ClickSheet(drawn.line[static_cast<qsizetype>(part * static_cast<double>(drawn.line.size() - 1))] + QPointF(0.6, -1.4));
    QTest::mouseDClick(&room_->view(), Qt::LeftButton, {}, QPoint(3, 3));
  }));
  ASSERT_EQ(room_->work().map().curves.size(), curves);
  ASSERT_TRUE(room_->work().chosen().has_value()) << "the traced curve is chosen";
  const Curve traced = room_->work().map().curves[*room_->work().chosen()];
  EXPECT_EQ(traced.role, CurveRole::kSpeedLine);
  double farthest = 0.0;
  for (const Point2& p : traced.points_px) {
    double nearest = 1e9;
    for (qsizetype i = 0; i + 1 < drawn.line.size(); ++i) {
      const QLineF segment(drawn.line[i], drawn.line[i + 1]);
      const double t = std::clamp(
          QPointF::dotProduct(QPointF(p.x, p.y) - segment.p1(), segment.p2() - segment.p1()) / std::max(1e-9, segment.length() * segment.length()),
          0.0, 1.0);
      nearest = std::min(nearest, QLineF(segment.pointAt(t), QPointF(p.x, p.y)).length());
    }
    farthest = std::max(farthest, nearest);
  }
  EXPECT_LT(farthest, 2.0) << "px";

  // Cut and joined again: as many as before.
  const QPointF middle = drawn.line[drawn.line.size() / 2];
  ASSERT_TRUE(Corrected([&] {
    Key(Qt::Key_C);
    ClickSheet(middle);
  }));
  ASSERT_EQ(room_->work().map().curves.size(), curves + 1);
  ASSERT_TRUE(Corrected([&] {
    Key(Qt::Key_Escape);
    Key(Qt::Key_Escape);
    Key(Qt::Key_J);
    ClickSheet(drawn.line[drawn.line.size() / 4]);
    ClickSheet(drawn.line[3 * drawn.line.size() / 4]);
  }));
  EXPECT_EQ(room_->work().map().curves.size(), curves);
}

TEST_F(LightTableTest, AChosenCurveIsTracedAnewInItsPlace) {
  OpenRoom();
  ASSERT_TRUE(OpenSample());
  const DrawnTruth drawn = TruthOf(kSample, "speed_line")[2];
  const auto at = [&](double part) { return drawn.line[static_cast<qsizetype>(part * static_cast<double>(drawn.line.size() - 1))]; };
  const std::size_t curves = room_->work().map().curves.size();
  ClickSheet(at(0.5));
  ASSERT_TRUE(room_->work().chosen().has_value());
  const Curve old = room_->work().map().curves[*room_->work().chosen()];
  Key(Qt::Key_T, Qt::ShiftModifier);
  EXPECT_TRUE(Find<QAction>("light_table.trace_anew")->isChecked());
  EXPECT_FALSE(Find<QAction>("light_table.trace")->isChecked());
  ASSERT_TRUE(Corrected([&] {
    for (const double part : {0.05, 0.5, 0.95}) ClickSheet(at(part) + QPointF(0.5, 1.0));
    QTest::mouseDClick(&room_->view(), Qt::LeftButton, {}, QPoint(3, 3));
  }));
  EXPECT_FALSE(Find<QAction>("light_table.trace_anew")->isChecked());
  EXPECT_EQ(room_->work().map().curves.size(), curves) << "the old one went";
  ASSERT_TRUE(room_->work().chosen().has_value());
  EXPECT_EQ(room_->work().map().curves[*room_->work().chosen()].value, old.value);
  EXPECT_EQ(room_->work().map().curves[*room_->work().chosen()].role, old.role);
  const auto* step = std::get_if<TraceCurve>(&room_->work().recipe().corrections.back().step);
  ASSERT_NE(step, nullptr);
  EXPECT_EQ(step->instead_of.size(), 1u);
  ASSERT_TRUE(Corrected([this] { Key(Qt::Key_Z, Qt::ControlModifier); }));
  ClickSheet(at(0.5));
  EXPECT_EQ(room_->work().map().curves[*room_->work().chosen()], old);
}

TEST_F(LightTableTest, TheMapIsCopiedAsATableAndAPicture) {
  OpenRoom();
  ASSERT_TRUE(OpenSample());
  Key(Qt::Key_C, Qt::ControlModifier);
  const QMimeData* copied = QApplication::clipboard()->mimeData();
  ASSERT_NE(copied, nullptr);
  EXPECT_TRUE(copied->hasHtml());
  EXPECT_TRUE(copied->text().contains(QLatin1Char('\t')));
  qsizetype points = 0;
  for (const Curve& curve : room_->work().map().curves) points += static_cast<qsizetype>(curve.points.size());
  EXPECT_GT(copied->text().count(QLatin1Char('\n')), points) << "a line a point, and the head";
  ASSERT_TRUE(copied->hasImage());
  EXPECT_GT(qvariant_cast<QImage>(copied->imageData()).width(), 1000);
}

TEST_F(LightTableTest, AxesReferenceAndCornersAreCorrected) {
  OpenRoom();
  ASSERT_TRUE(OpenSample());
  const Axis before = *room_->work().map().x;
  ASSERT_TRUE(Corrected([&] {
    Key(Qt::Key_X);
    auto* min = Find<QLineEdit>("axis_x_min");
    ASSERT_TRUE(min->hasFocus());
    Find<QLineEdit>("axis_x_max")->setText("30");
    QTest::keyClick(min, Qt::Key_Return);
  }));
  EXPECT_EQ(room_->work().map().x->max, 30.0);
  EXPECT_NEAR(room_->work().map().x->min, before.min, 1e-6 * std::abs(before.max));
  // 28.4 inHg is 96.17 kPa: 1 inHg = 3.38639 kPa (NIST SP 811, inch of mercury at 0 degrees C).
  ASSERT_TRUE(Corrected([&] {
    Find<QLineEdit>("reference_temperature")->setText(QString::fromUtf8("85 \u00b0F"));
    auto* pressure = Find<QLineEdit>("reference_pressure");
    pressure->setText("28.4 inHg");
    QTest::keyClick(pressure, Qt::Key_Return);
  }));
  ASSERT_TRUE(room_->work().map().reference_conditions.has_value());
  EXPECT_NEAR(room_->work().map().reference_conditions->temperature_K, 302.594, 0.01);
  EXPECT_NEAR(room_->work().map().reference_conditions->pressure_Pa, 96173.0, 3.0);
  // A corner dragged and let go is one correction.
  const auto steps = room_->work().recipe().corrections.size();
  room_->view().setFocus();
  ASSERT_TRUE(Corrected([&] {
    Key(Qt::Key_F);
    const QPoint at = room_->view().ScreenFromSheet(room_->view().corners()[2]).toPoint();
    QTest::mousePress(&room_->view(), Qt::LeftButton, {}, at);
    QTest::mouseMove(&room_->view(), at + QPoint(30, 25));
    QTest::mouseRelease(&room_->view(), Qt::LeftButton, Qt::ShiftModifier, at + QPoint(30, 25));
  }));
  ASSERT_EQ(room_->work().recipe().corrections.size(), steps + 1);
  EXPECT_STREQ(StepName(room_->work().recipe().corrections.back().step), "set_frame");
  EXPECT_TRUE(std::get<SetFrame>(room_->work().recipe().corrections.back().step).exact);
}

TEST_F(LightTableTest, AcceptedItIsOnTheShelfWithItsSheetAndRecipe) {
  OpenRoom();
  ASSERT_TRUE(OpenSample());
  ClickSheet(TruthOf(kSample, "speed_line").front().line[5]);
  ASSERT_TRUE(Corrected([this] { Key(Qt::Key_Delete); }));
  EXPECT_TRUE(room_->work().unfinished().keeps());
  QSignalSpy accepted(room_, &LightTable::Accepted);
  QSignalSpy changed(workplace_.get(), &Workplace::ShelfChanged);
  auto* name = Find<QLineEdit>("accept_name");
  EXPECT_FALSE(name->text().isEmpty()) << "a name is proposed";
  name->selectAll();
  QTest::keyClicks(name, "Hazel 40");
  QTest::mouseClick(Find<QPushButton>("accept_button"), Qt::LeftButton);
  ASSERT_TRUE(WaitFor([&] { return accepted.count() > 0; })) << said_.join(" | ").toStdString();
  EXPECT_EQ(changed.count(), 1);
  EXPECT_FALSE(room_->work().unfinished().keeps());
  EXPECT_FALSE(room_->work().is_changed());

  const auto shelf = OpenSqliteShelf(Path("shelf.db"), {});
  ASSERT_TRUE(shelf.has_value());
  const auto shown = (*shelf)->Show("Hazel 40");
  ASSERT_TRUE(shown.has_value());
  EXPECT_EQ(shown->revision.author, "Tomas");
  EXPECT_EQ(shown->revision.message, "digitized from hazel-40-web.jpg, 1 correction");
  const auto map = ParseMapDocument(shown->document);
  ASSERT_TRUE(map.has_value());
  EXPECT_EQ(shown->document, *CanonicalJson(WriteMapDocument(room_->work().map())));
  const auto recipe = ParseRecipe(map->recipe_json);
  ASSERT_TRUE(recipe.has_value());
  EXPECT_EQ(*recipe, room_->work().recipe());
  const auto sheet = (*shelf)->Sheet(*shown->sheet_sha256);
  ASSERT_TRUE(sheet.has_value());
  EXPECT_EQ(*sheet, *ReadFileContents(kSample.toStdString()));

  // From the shelf onto the table again: sheet and corrections are there, and a further correction follows that revision.
  emit workplace_->CorrectAsked("Hazel 40");
  ASSERT_TRUE(
      WaitFor([this] { return room_->work().has_map() && room_->work().sheet().shelf_name == "Hazel 40" && !room_->work().digitizing().busy(); }));
  EXPECT_EQ(room_->work().recipe(), *recipe);
  EXPECT_EQ(room_->work().map().curves.size(), map->curves.size());
}

TEST_F(LightTableTest, WhatIsNoSheetIsRefusedWithASentence) {
  OpenRoom();
  const std::string file = Path("broken.png").string();
  ASSERT_TRUE(ReplaceFileContents(file, "this is no picture").has_value());
  window_->TakeFiles({QString::fromStdString(file)});
  ASSERT_TRUE(WaitFor([this] { return !said_.isEmpty(); }));
  EXPECT_TRUE(said_.back().contains("broken.png")) << said_.back().toStdString();
  EXPECT_FALSE(room_->work().has_sheet());
  EXPECT_EQ(room_->facts().TopLine(), "No sheet on the table");
}

TEST_F(LightTableTest, ReadingIsStoppedByTheKey) {
  OpenRoom();
  QSignalSpy cancelled(&room_->work().digitizing(), &Digitizing::Cancelled);
  QSignalSpy finished(&room_->work().digitizing(), &Digitizing::Finished);
  window_->TakeFiles({kSample});
  ASSERT_TRUE(WaitFor([this] { return room_->work().has_sheet(); }));
  Key(Qt::Key_Escape);
  EXPECT_EQ(cancelled.count(), 1);
  QTest::qWait(300);
  EXPECT_EQ(finished.count(), 0);
  // The same sheet opened again is read to its end.
  ASSERT_TRUE(OpenSample());
}

TEST_F(LightTableTest, EveryDeedHasAKeyAndATwinAndEveryFieldAName) {
  OpenRoom();
  QStringList keys;
  const std::vector<QAction*> deeds = DeedsWithin(room_);
  EXPECT_GT(deeds.size(), 25u);
  for (const QAction* deed : deeds) {
    EXPECT_FALSE(deed->shortcut().isEmpty()) << deed->objectName().toStdString();
    EXPECT_FALSE(TwinOf(deed).isEmpty()) << deed->objectName().toStdString();
    EXPECT_FALSE(keys.contains(deed->shortcut().toString())) << deed->objectName().toStdString();
    keys << deed->shortcut().toString();
  }
  for (const QLineEdit* field : room_->findChildren<QLineEdit*>()) {
    if (field->objectName() == "qt_spinbox_lineedit") continue;
    EXPECT_FALSE(field->accessibleName().isEmpty()) << field->objectName().toStdString();
  }
}

}  // namespace
}  // namespace islebook
