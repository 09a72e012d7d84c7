// The help inside the window: every page opens, no link is dead, every deed stands in it, and F1 opens it where one is.

#include <map>
#include <set>

#include <QDirIterator>
#include <QFile>
#include <QLineEdit>
#include <QListWidget>
#include <QRegularExpression>
#include <QTextBrowser>
#include <QToolButton>

#include <gtest/gtest.h>

#include "tests/ui/desktop/frame/open_window.h"
#include "ui/desktop/frame/deed.h"
#include "ui/desktop/frame/language.h"
#include "ui/desktop/frame/room.h"
#include "ui/desktop/help/help_pages.h"
#include "ui/desktop/help/help_pane.h"

namespace islebook {
namespace {

QStringList Found(const QString& html, const char* pattern) {
  QStringList found;
  for (auto match = QRegularExpression(QLatin1String(pattern)).globalMatch(html); match.hasNext();) found << match.next().captured(1);
  return found;
}

class HelpTest : public ::testing::Test {
 protected:
  void SetUp() override { open_.Show(); }
  HelpPane* pane() { return open_.Find<HelpPane>("help_pane"); }
  QString Shown() { return open_.Find<QTextBrowser>("help_text")->toPlainText(); }
  OpenWindow open_;
};

TEST_F(HelpTest, NoLinkIsDeadInAnyLanguage) {
  for (const QString& language : {QString("en"), QString("de")}) {
    std::map<QString, QString> pages;
    for (const QString& name : HelpPageNames())
      pages[name] = name == "keys.html" ? HelpOnKeys(DeedsWithin(&open_.window()), language) : HelpPage(name, language);
    int links = 0;
    for (const auto& [name, html] : pages) {
      EXPECT_GT(html.size(), 200) << name.toStdString();
      for (const QString& link : Found(html, "href=\"([^\"]*)\"")) {
        ++links;
        const QString page = link.section('#', 0, 0), anchor = link.section('#', 1);
        ASSERT_TRUE(pages.contains(page)) << name.toStdString() << " links to " << link.toStdString();
        EXPECT_TRUE(anchor.isEmpty() || pages[page].contains("<a name=\"" + anchor + "\">")) << name.toStdString() << ": " << link.toStdString();
      }
    }
    EXPECT_GT(links, 25);
    // Every page is reached from the contents, in one step or two.
    std::set<QString> reached{"index.html"};
    for (int step = 0; step < 2; ++step)
      for (const QString& from : std::set<QString>(reached))
        for (const QString& link : Found(pages[from], "href=\"([^\"#]*)")) reached.insert(link);
    EXPECT_EQ(reached.size(), pages.size());
  }
}

// A language may not fall behind: the same sections, in the same order.
TEST_F(HelpTest, PagesOfAllLanguagesHaveTheSameSections) {
  for (const QString& name : HelpPageNames()) {
    const QString english = HelpPage(name, "en"), german = HelpPage(name, "de");
    EXPECT_NE(english, german) << name.toStdString();
    EXPECT_EQ(Found(english, "<a name=\"([^\"]*)\">"), Found(german, "<a name=\"([^\"]*)\">")) << name.toStdString();
    EXPECT_EQ(Found(english, "href=\"([^\"]*)\""), Found(german, "href=\"([^\"]*)\"")) << name.toStdString();
  }
}

TEST_F(HelpTest, EveryDeedIsListedWithItsKeyAndTheCommandThatDoesTheSame) {
  const std::vector<QAction*> deeds = DeedsWithin(&open_.window());
  EXPECT_GT(deeds.size(), 60u);
  const QString page = HelpOnKeys(deeds, "en");
  for (const QAction* deed : deeds) {
    const std::string id = deed->objectName().toStdString();
    EXPECT_FALSE(deed->text().isEmpty()) << id;
    EXPECT_FALSE(deed->shortcut().isEmpty()) << id << " has no key";
    EXPECT_FALSE(TwinOf(deed).isEmpty()) << id << " has no twin";
    const QString row =
        QStringLiteral("<tr><td>%1</td><td><b>%2</b></td><td>%3</td></tr>")
            .arg(deed->text().toHtmlEscaped(), deed->shortcut().toString(QKeySequence::NativeText).toHtmlEscaped(), TwinOf(deed).toHtmlEscaped());
    EXPECT_TRUE(page.contains(row)) << id;
  }
}

// Two deeds on one key in one room: neither would work.
TEST_F(HelpTest, NoKeyIsGivenTwiceInARoom) {
  std::map<QString, std::map<QString, QString>> keys;
  for (const QAction* deed : DeedsWithin(&open_.window())) {
    const QString room = deed->objectName().section('.', 0, 0), key = deed->shortcut().toString();
    const auto [at, is_new] = keys[room].emplace(key, deed->objectName());
    EXPECT_TRUE(is_new) << key.toStdString() << ": " << at->second.toStdString() << " and " << deed->objectName().toStdString();
  }
  for (const auto& [room, taken] : keys)
    for (const auto& [key, deed] : keys["window"])
      EXPECT_TRUE(room == "window" || !taken.contains(key)) << key.toStdString() << " is the window's, and " << room.toStdString() << "'s";
}

// The table in ui/desktop/README.md is the window's own.
TEST_F(HelpTest, TheDocumentationListsWhatTheWindowDoes) {
  const QString name = QStringLiteral(ISLEBOOK_SOURCE_DIR "/ui/desktop/README.md");
  QFile file(name);
  ASSERT_TRUE(file.open(QIODevice::ReadOnly));
  QString text = QString::fromUtf8(file.readAll());
  file.close();
  const std::pair<const char*, const char*> rooms[] = {
      {"window", "The window"}, {"light_table", "Light table"}, {"shelf", "Shelf"}, {"bench", "Bench"}};
  QString table = "| room | in the window | key | on the command line |\n| --- | --- | --- | --- |\n";
  for (const auto& [room, words] : rooms)
    for (const QAction* deed : DeedsWithin(&open_.window()))
      if (deed->objectName().section('.', 0, 0) == QLatin1String(room)) {
        QString twin = TwinOf(deed);
        static const QRegularExpression kInstalled(QStringLiteral("\\S*/sample_maps/"));  // where the program that runs finds its samples
        twin.replace(kInstalled, QStringLiteral("sample_maps/"));
        table += QStringLiteral("| %1 | %2 | %3 | %4 |\n")
                     .arg(QLatin1String(words), deed->text(), deed->shortcut().toString(QKeySequence::PortableText).replace('|', "\\|"),
                          twin.startsWith("islebook") ? "`" + QString(twin).replace('|', "\\|") + "`" : twin);
      }
  const QString begin = "<!-- deeds -->\n", end = "<!-- end of deeds -->";
  const qsizetype from = text.indexOf(begin) + begin.size(), to = text.indexOf(end);
  ASSERT_GT(to, from - 1);
  if (qEnvironmentVariableIsSet("ISLEBOOK_WRITE_TABLE")) {
    text.replace(from, to - from, table);
    ASSERT_TRUE(file.open(QIODevice::WriteOnly));
    file.write(text.toUtf8());
    return;
  }
  EXPECT_EQ(text.mid(from, to - from), table) << "Write it anew with ISLEBOOK_WRITE_TABLE=1.";
}

// The flags that the page explains are those that the digitizer and the bench raise.
TEST_F(HelpTest, FlagsAreQuotedAsTheyAreRaised) {
  QString sources;
  for (const char* folder : {"digitizer", "mapstore"})
    for (QDirIterator files(QStringLiteral(ISLEBOOK_SOURCE_DIR "/") + folder, {"*.cc"}, QDir::Files, QDirIterator::Subdirectories);
         files.hasNext();) {
      QFile file(files.next());
      ASSERT_TRUE(file.open(QIODevice::ReadOnly));
      sources += QString::fromUtf8(file.readAll());
    }
  QFile german(QStringLiteral(ISLEBOOK_SOURCE_DIR "/ui/desktop/translations/islebook_de.ts"));
  ASSERT_TRUE(german.open(QIODevice::ReadOnly));
  sources += QString::fromUtf8(german.readAll());
  int quoted = 0;
  for (const QString& language : {QString("en"), QString("de")})
    for (const QString& flag : Found(HelpPage("flags.html", language), "<b>([^<]*)</b>"))
      for (const QString& part : flag.split("..."))
        if (const QString words = part.trimmed(); words.size() > 12) {
          ++quoted;
          EXPECT_TRUE(sources.contains(words)) << words.toStdString();
        }
  EXPECT_GT(quoted, 30);
}

TEST_F(HelpTest, F1OpensItWhereTheKeyboardIsAndEscGoesBack) {
  auto* doubts = open_.Find<QListWidget>("doubts");
  doubts->setFocus();
  QTest::keyClick(doubts, Qt::Key_F1);
  ASSERT_TRUE(pane()->isVisible());
  EXPECT_EQ(pane()->place(), "light_table.html#doubts");
  EXPECT_TRUE(Shown().contains("goes to the next doubt"));
  EXPECT_TRUE(open_.Find<QTextBrowser>("help_text")->hasFocus());
  // What it covers is not the column of facts.
  EXPECT_FALSE(pane()->geometry().intersects(QRect(doubts->mapTo(open_.window().centralWidget(), QPoint(0, 0)), doubts->size())));
  QTest::keyClick(open_.Find<QTextBrowser>("help_text"), Qt::Key_Escape);
  EXPECT_FALSE(pane()->isVisible());
  EXPECT_TRUE(doubts->hasFocus());
  // Elsewhere it opens elsewhere; in a room without anything special, with the room.
  QTest::keyClick(&open_.window(), Qt::Key_3, Qt::ControlModifier);
  ASSERT_EQ(open_.window().shown()->Icon(), "bench");
  QTest::keyClick(&open_.window(), Qt::Key_F1);
  EXPECT_EQ(pane()->place(), "bench.html");
}

TEST_F(HelpTest, WhatHasAPlaceInTheHelpIsInTheWindow) {
  for (const QString& name : WidgetsWithHelp()) {
    EXPECT_NE(open_.window().findChild<QWidget*>(name), nullptr) << name.toStdString();
    const QString place = HelpAbout(name);
    EXPECT_TRUE(HelpPage(place.section('#', 0, 0), "en").contains("<a name=\"" + place.section('#', 1) + "\">")) << place.toStdString();
  }
}

TEST_F(HelpTest, WordsAreFoundAndTheLinkLeadsThere) {
  QTest::keyClick(&open_.window(), Qt::Key_F1);
  auto* words = open_.Find<QLineEdit>("help_words");
  auto* text = open_.Find<QTextBrowser>("help_text");
  QTest::keyClicks(words, "reference assumed");
  EXPECT_TRUE(Shown().contains("About the sheet as a whole")) << Shown().toStdString();
  EXPECT_FALSE(Shown().contains("Peak cylinder pressure"));
  QTest::keyClick(text, Qt::Key_Tab);
  emit text->anchorClicked(QUrl("flags.html#sheet"));
  EXPECT_EQ(pane()->place(), "flags.html#sheet");
  EXPECT_TRUE(words->text().isEmpty());
  EXPECT_TRUE(Shown().contains("What the flags mean"));
  words->setText("zzzz");
  EXPECT_TRUE(Shown().contains("None."));
  QTest::mouseClick(open_.Find<QToolButton>("help_contents"), Qt::LeftButton);
  EXPECT_EQ(pane()->place(), "index.html");
  EXPECT_TRUE(Shown().contains("A picture into a map"));
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
