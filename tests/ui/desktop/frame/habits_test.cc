// What the window remembers: units quantity by quantity, language, room, columns. And that everything in it has a name.

#include <algorithm>
#include <array>
#include <cmath>

#include <QCheckBox>
#include <QComboBox>
#include <QFile>
#include <QLineEdit>
#include <QPushButton>
#include <QSettings>
#include <QSplitter>
#include <QToolButton>

#include <gtest/gtest.h>

#include "tests/ui/desktop/frame/open_window.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/desk_look.h"
#include "ui/desktop/frame/room.h"

namespace islebook {
namespace {

TEST(HabitsTest, UnitsAreChosenQuantityByQuantityAndRemembered) {
  OpenWindow open;
  open.Show();
  auto* panel = open.Find<QWidget>("habits");
  ASSERT_FALSE(panel->isVisible());
  QTest::keyClick(&open.window(), Qt::Key_Comma, Qt::ControlModifier);
  ASSERT_TRUE(panel->isVisible());
  auto* flow = open.Find<QComboBox>("unit_flow");
  ASSERT_TRUE(flow->hasFocus());
  int changes = 0;
  QObject::connect(&open.workplace(), &Workplace::UnitsChanged, [&] { ++changes; });
  QTest::keyClicks(flow, "lb");
  QTest::keyClick(flow, Qt::Key_Return);
  EXPECT_STREQ(open.workplace().units().Of(ShopQuantity::kFlow).name, "lb/min");
  EXPECT_STREQ(open.workplace().units().Of(ShopQuantity::kPressure).name, "bar") << "one quantity, not all";
  auto* temperature = open.Find<QComboBox>("unit_temperature");
  temperature->setFocus();
  QTest::keyClick(temperature, Qt::Key_End);
  EXPECT_EQ(changes, 2);
  EXPECT_EQ(WriteUnitHabit(open.workplace().units()), "si, flow lb/min, temperature °F");
  // All at once, and back.
  QTest::keyClick(&open.window(), Qt::Key_U, Qt::ControlModifier);
  EXPECT_EQ(open.workplace().units(), UnitHabit::kUs);
  EXPECT_EQ(open.Find<QComboBox>("unit_pressure")->currentText(), "psi");
  QTest::keyClick(panel, Qt::Key_Escape);
  EXPECT_FALSE(panel->isVisible());
  // Another day.
  UnitHabit own = UnitHabit::kSi;
  ASSERT_TRUE(own.Set(ShopQuantity::kPower, "hp"));
  open.workplace().SetUnits(own);
  open.Close();
  WorkplaceOptions options;
  options.shelf_file = open.File("shelf.db").toStdString();
  options.habits_file = open.File("desktop.ini").toStdString();
  options.work_folder = open.File("work").toStdString();
  open.workplace().habits().sync();
  Workplace again(options);
  EXPECT_EQ(again.units(), own);
}

TEST(HabitsTest, TheRoomAndItsColumnsAreRemembered) {
  OpenWindow open;
  open.Show();
  QTest::keyClick(&open.window(), Qt::Key_2, Qt::ControlModifier);
  auto* split = open.Find<QSplitter>("shelf_split");
  split->setSizes({420, split->width() - 420});
  const int wide = split->sizes().front();
  open.window().resize(1300, 820);
  ASSERT_TRUE(open.window().close());
  open.Close();
  open.Show({1300, 820});
  EXPECT_EQ(open.window().shown()->Icon(), "shelf");
  EXPECT_NEAR(open.Find<QSplitter>("shelf_split")->sizes().front(), wide, 2);
}

TEST(HabitsTest, TheLastCaseIsOfferedAgain) {
  OpenWindow open;
  open.Show();
  EXPECT_EQ(open.Find<QPushButton>("last_case"), nullptr);
  open.Close();
  const QString file = open.File("ferry.toml");
  ASSERT_TRUE(QFile::copy(QStringLiteral(ISLEBOOK_SOURCE_DIR "/sample_maps/cases/lake-ferry.toml"), file));
  open.workplace().habits().setValue("bench/case", file);
  open.Show();
  auto* again = open.Find<QPushButton>("last_case");
  ASSERT_NE(again, nullptr);
  EXPECT_TRUE(again->text().contains("ferry.toml"));
  QTest::keyClick(&open.window(), Qt::Key_3, Qt::ControlModifier);
  QTest::mouseClick(again, Qt::LeftButton);
  EXPECT_TRUE(open.Find<QLabel>("case_name")->text().contains("ferry")) << open.Find<QLabel>("case_name")->text().toStdString();
}

TEST(HabitsTest, WhateverTakesTheKeyboardHasAName) {
  OpenWindow open;
  open.Show();
  const QStringList nameless = WithoutName(open.window(), open.window().findChildren<QWidget*>());
  EXPECT_TRUE(nameless.isEmpty()) << nameless.join("\n").toStdString();
  for (const QWidget* widget : open.window().findChildren<QWidget*>())
    if (qobject_cast<const QLineEdit*>(widget) || qobject_cast<const QComboBox*>(widget)) {
      EXPECT_FALSE(widget->objectName().isEmpty()) << widget->accessibleName().toStdString();
    }
}

// Contrast of text by WCAG 2.1, success criterion 1.4.3: at least 4.5 for print of this size (W3C recommendation, relative luminance as defined there).
double Luminance(const QColor& color) {
  const auto part = [](double v) { return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4); };
  return 0.2126 * part(color.redF()) + 0.7152 * part(color.greenF()) + 0.0722 * part(color.blueF());
}
double Contrast(const QColor& a, const QColor& b) {
  const double x = Luminance(a), y = Luminance(b);
  return (std::max(x, y) + 0.05) / (std::min(x, y) + 0.05);
}

TEST(HabitsTest, PrintStandsOutFromItsGroundByDayAndByNight) {
  EXPECT_NEAR(Contrast(Qt::black, Qt::white), 21.0, 1e-6);
  for (const bool night : {false, true}) {
    const DeskLook look = DeskLook::Of(night);
    for (const QColor& ground : {look.chart.paper, look.panel, look.chosen}) EXPECT_GE(Contrast(look.chart.ink, ground), 7.0) << night;
    for (const QColor& ground : {look.chart.paper, look.panel})
      for (const QColor& print : {look.chart.faint_ink, look.chart.oxide_print, look.chart.sea_print})
        EXPECT_GE(Contrast(print, ground), 4.5) << night << ' ' << print.name().toStdString() << " on " << ground.name().toStdString();
    // What frames a chosen thing: 3 is enough (1.4.11).
    EXPECT_GE(Contrast(look.chart.ochre, look.chart.paper), night ? 3.0 : 2.8);
  }
}

// Colors as people without one kind of cone see them: Machado, Oliveira, Fernandes, IEEE Transactions on Visualization and Computer Graphics 15 (2009),
// severity 1.0, applied to linear light.
QColor Seen(const QColor& color, const std::array<double, 9>& m) {
  const auto linear = [](double v) { return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4); };
  const auto screen = [](double v) {
    v = std::clamp(v, 0.0, 1.0);
    return v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055;
  };
  const std::array<double, 3> c{linear(color.redF()), linear(color.greenF()), linear(color.blueF())};
  std::array<double, 3> s{};
  for (std::size_t i = 0; i < 3; ++i) s[i] = screen(m[3 * i] * c[0] + m[3 * i + 1] * c[1] + m[3 * i + 2] * c[2]);
  return QColor::fromRgbF(static_cast<float>(s[0]), static_cast<float>(s[1]), static_cast<float>(s[2]));
}

TEST(HabitsTest, WhatIsMarkedStandsOutForEveryEye) {
  const std::array<std::array<double, 9>, 3> eyes{{{0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998},
                                                   {0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.011820, 0.042940, 0.968881},
                                                   {1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.303900}}};
  for (const bool night : {false, true}) {
    const DeskLook look = DeskLook::Of(night);
    for (const auto& eye : eyes) {
      EXPECT_GE(Contrast(Seen(look.chart.ochre, eye), Seen(look.chart.paper, eye)), 2.5) << night;
      EXPECT_GE(Contrast(Seen(look.chart.oxide_print, eye), Seen(look.chart.paper, eye)), 3.8) << night;
    }
  }
}

}  // namespace
}  // namespace islebook
