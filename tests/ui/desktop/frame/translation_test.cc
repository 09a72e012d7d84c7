// The second language is complete: every string of the sources is translated, placeholders agree, and nothing in the window is left in English.

#include <map>
#include <set>

#include <QAbstractButton>
#include <QComboBox>
#include <QFile>
#include <QLineEdit>
#include <QProcess>
#include <QRegularExpression>
#include <QTabWidget>
#include <QTemporaryDir>
#include <QXmlStreamReader>

#include <gtest/gtest.h>

#include "mapstore/bench/verdicts.h"
#include "mapstore/bench/what_first.h"
#include "tests/ui/desktop/frame/open_window.h"
#include "ui/chart/chart_words.h"
#include "ui/chart/said.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/language.h"

namespace islebook {
namespace {

const QString kFile = QStringLiteral(ISLEBOOK_SOURCE_DIR "/ui/desktop/translations/islebook_de.ts");

struct Message {
  QString context, source, translation, state;
};

std::vector<Message> ReadMessages(const QString& name) {
  QFile file(name);
  EXPECT_TRUE(file.open(QIODevice::ReadOnly)) << name.toStdString();
  QXmlStreamReader xml(&file);
  std::vector<Message> messages;
  QString context;
  while (!xml.atEnd()) {
    xml.readNext();
    if (!xml.isStartElement()) continue;
    if (xml.name() == QLatin1String("name")) context = xml.readElementText();
    if (xml.name() == QLatin1String("message")) messages.push_back({context, {}, {}, {}});
    if (xml.name() == QLatin1String("source")) messages.back().source = xml.readElementText();
    if (xml.name() == QLatin1String("translation")) {
      messages.back().state = xml.attributes().value("type").toString();
      messages.back().translation = xml.readElementText();
    }
  }
  EXPECT_FALSE(xml.hasError()) << xml.errorString().toStdString();
  return messages;
}

QStringList Placeholders(const QString& text) {
  QStringList found;
  for (auto match = QRegularExpression(QStringLiteral("%(\\d|n|L\\d)")).globalMatch(text); match.hasNext();) found << match.next().captured();
  found.sort();
  return found;
}

TEST(TranslationTest, EveryStringIsTranslatedAndItsPlaceholdersAgree) {
  const std::vector<Message> messages = ReadMessages(kFile);
  EXPECT_GT(messages.size(), 600u);
  for (const Message& message : messages) {
    const std::string which = message.context.toStdString() + ": " + message.source.toStdString();
    EXPECT_TRUE(message.state.isEmpty()) << which << " is " << message.state.toStdString();
    EXPECT_FALSE(message.translation.isEmpty()) << which;
    EXPECT_EQ(Placeholders(message.source), Placeholders(message.translation)) << which;
    EXPECT_EQ(message.source.count('\n'), message.translation.count('\n')) << which;
    EXPECT_EQ(message.source.contains('&'), message.translation.contains('&')) << which;
    EXPECT_EQ(message.source.startsWith(' '), message.translation.startsWith(' ')) << which;
    EXPECT_EQ(message.source.endsWith(' '), message.translation.endsWith(' ')) << which;
    EXPECT_FALSE(message.translation.contains('!')) << which;
    // A command of the tip is what one types, whatever the language.
    const qsizetype at = message.source.indexOf(QLatin1String("\nislebook "));
    EXPECT_TRUE(at < 0 || message.translation.endsWith(message.source.mid(at))) << which;
  }
}

// What lupdate finds in the sources is what the file holds.
TEST(TranslationTest, TheFileHoldsWhatTheSourcesSay) {
  if (!QFile::exists(QStringLiteral(ISLEBOOK_LUPDATE))) GTEST_SKIP() << "lupdate is not installed";
  QTemporaryDir folder;
  const QString fresh = folder.filePath("fresh.ts");
  QProcess lupdate;
  lupdate.setWorkingDirectory(QStringLiteral(ISLEBOOK_SOURCE_DIR));
  lupdate.start(QStringLiteral(ISLEBOOK_LUPDATE), {"-silent", "-locations", "none", "-I", ".", "ui/desktop", "ui/chart", "-ts", fresh});
  ASSERT_TRUE(lupdate.waitForFinished(60000));
  ASSERT_EQ(lupdate.exitCode(), 0) << lupdate.readAllStandardError().toStdString();
  std::set<std::pair<QString, QString>> said, held;
  for (const Message& message : ReadMessages(fresh)) said.emplace(message.context, message.source);
  for (const Message& message : ReadMessages(kFile)) held.emplace(message.context, message.source);
  for (const auto& [context, source] : said)
    EXPECT_TRUE(held.contains({context, source})) << "not in the file: " << context.toStdString() << ": " << source.toStdString();
  for (const auto& [context, source] : held)
    EXPECT_TRUE(said.contains({context, source})) << "said nowhere: " << context.toStdString() << ": " << source.toStdString();
}

QStringList WordsOf(const QWidget& window) {
  QStringList words;
  for (const QWidget* widget : window.findChildren<QWidget*>()) {
    words << widget->accessibleName() << widget->accessibleDescription() << widget->toolTip().section('\n', 0, 0);
    if (const auto* label = qobject_cast<const QLabel*>(widget)) words << label->text();
    if (const auto* button = qobject_cast<const QAbstractButton*>(widget)) words << button->text();
    if (const auto* field = qobject_cast<const QLineEdit*>(widget)) words << field->placeholderText();
    if (const auto* tabs = qobject_cast<const QTabWidget*>(widget))
      for (int i = 0; i < tabs->count(); ++i) words << tabs->tabText(i);
    if (const auto* box = qobject_cast<const QComboBox*>(widget))
      for (int i = 0; i < box->count(); ++i) words << box->itemText(i);
  }
  for (const QAction* deed : DeedsWithin(&window)) words << deed->text() << deed->iconText();
  words.removeAll(QString());
  return words;
}

TEST(TranslationTest, NothingInTheWindowIsLeftInEnglish) {
  std::map<QString, QString> german;
  for (const Message& message : ReadMessages(kFile)) german.emplace(message.source, message.translation);
  OpenWindow open;
  open.workplace().SetLanguage("de");
  UseLanguage("de");
  open.Show();
  int translated = 0;
  for (const QString& words : WordsOf(open.window())) {
    const auto found = german.find(words);
    EXPECT_TRUE(found == german.end() || found->second == words) << words.toStdString() << " is still English";
    translated += words == "Leuchttisch" || words == "Regal" || words == "Reduzierter Massenstrom" || words == "Liefergrad";
  }
  EXPECT_GE(translated, 4);
  open.Close();
  UseLanguage("en");
  open.Show();
  EXPECT_TRUE(WordsOf(open.window()).contains("Light table"));
}

// What the core says in English is said in German by the window, with its numbers as they are; what is not known stays.
TEST(TranslationTest, SentencesOfTheCoreAreTranslatedInParts) {
  EXPECT_EQ(Said("Pressure ratio, total to total"), "Pressure ratio, total to total") << "English is spoken";
  UseLanguage("de");
  EXPECT_EQ(Said("Close: surge margin 10.2 % \u00b1 1.2 % at 1,600 rpm, sea level."),
            "Knapp: Pumpgrenzabstand 10.2 % \u00b1 1.2 % bei 1,600 rpm, Meereshöhe.");
  EXPECT_EQ(Said("Speed line 90,000 rpm: no label was read for it; it winds to and fro, as a wrongly joined line does"),
            "Drehzahlkennlinie 90,000 rpm: keine Beschriftung wurde dafür gelesen; sie windet sich hin und her, wie eine falsch verbundene Linie");
  EXPECT_EQ(Said("x axis: ticks and numbers disagree by 0.52 % of the axis"),
            "x-Achse: Teilstriche und Zahlen weichen um 0.52 % der Achse voneinander ab");
  EXPECT_EQ(Said("A sentence of tomorrow"), "A sentence of tomorrow");
  EXPECT_EQ(Said(""), "");
  BenchLimits limits;
  for (const LimitWords& limit : DescribeLimits(limits, UnitHabit::kSi, true)) {
    EXPECT_NE(Said(limit.name).toStdString(), limit.name);
    EXPECT_NE(Said(limit.words).toStdString(), limit.words) << limit.words;
  }
  for (const std::string& caution : BenchCautions()) EXPECT_NE(Said(caution).toStdString(), caution);
  for (const GoalDefinition& goal : GoalDefinitions()) EXPECT_NE(Said(goal.words), QString::fromUtf8(goal.words));
  for (const Quantity quantity : {Quantity::kCorrectedMassFlow, Quantity::kExpansionRatioTotalToStatic, Quantity::kVelocityRatio})
    EXPECT_NE(Said(QuantityWords(quantity)).toStdString(), QuantityWords(quantity));
  EXPECT_EQ(Said(ReferenceWords({298.0, 1e5, ReferenceConditions::Basis::kAssumed})), "bezogen auf 298 K und 100 kPa (angenommen)");
  UseLanguage("en");
}

TEST(TranslationTest, TheLanguageIsTheChosenOneElseTheSystems) {
  EXPECT_EQ(SpokenLanguage("de"), "de");
  EXPECT_EQ(SpokenLanguage("en"), "en");
  EXPECT_EQ(SpokenLanguage("xx"), "en");
  QLocale::setDefault(QLocale(QLocale::German));
  EXPECT_EQ(SpokenLanguage({}), QLocale::system().name().startsWith("de") ? "de" : "en");
  OpenWindow open;
  int asked = 0;
  QObject::connect(&open.workplace(), &Workplace::LanguageChanged, [&] { ++asked; });
  open.Show();
  auto* language = open.Find<QComboBox>("language");
  ASSERT_EQ(language->count(), 3);
  QTest::keyClick(&open.window(), Qt::Key_Comma, Qt::ControlModifier);
  language->setFocus();
  QTest::keyClicks(language, "Deu");
  EXPECT_EQ(asked, 1);
  EXPECT_EQ(open.workplace().language(), "de");
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
