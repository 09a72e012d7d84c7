#include "ui/desktop/help/help_pages.h"

#include <algorithm>

#include <QAction>
#include <QCoreApplication>
#include <QFile>
#include <QRegularExpression>
#include <QTextDocumentFragment>

#include "ui/desktop/frame/deed.h"

static void NeedHelp() { Q_INIT_RESOURCE(help); }

namespace islebook {
namespace {

struct Words {
  Q_DECLARE_TR_FUNCTIONS(Help)
};

constexpr qsizetype kExcerpt = 150;  // letters

struct Place {
  const char* widget;
  const char* section;
};
constexpr Place kPlaces[] = {
    {"doubts", "light_table.html#doubts"},
    {"curve_role", "light_table.html#value"},
    {"curve_value", "light_table.html#value"},
    {"axes_facts", "light_table.html#axes"},
    {"reference_temperature", "light_table.html#reference"},
    {"reference_pressure", "light_table.html#reference"},
    {"reference_printed", "light_table.html#reference"},
    {"accept_name", "light_table.html#accept"},
    {"accept_author", "light_table.html#accept"},
    {"accept_message", "light_table.html#accept"},
    {"search_words", "shelf.html#find"},
    {"search_point", "shelf.html#covers"},
    {"shelf_chart", "shelf.html#read"},
    {"history", "shelf.html#history"},
    {"shelf_about", "shelf.html#about"},
    {"drawer", "shelf.html#export"},
    {"case_tabs", "bench.html#case"},
    {"altitude", "bench.html#altitude"},
    {"altitude_fan", "bench.html#altitude"},
    {"what_first", "bench.html#first"},
    {"verdict_table", "bench.html#verdicts"},
    {"habits", "habits.html#units"},
    {"language", "habits.html#language"},
};

QString Plain(const QString& html) { return QTextDocumentFragment::fromHtml(html).toPlainText().simplified(); }

}  // namespace

QStringList HelpPageNames() {
  return {QStringLiteral("index.html"), QStringLiteral("light_table.html"), QStringLiteral("flags.html"), QStringLiteral("shelf.html"),
          QStringLiteral("bench.html"), QStringLiteral("habits.html"),      QStringLiteral("care.html"),  QStringLiteral("keys.html")};
}

QString HelpPage(const QString& name, const QString& language) {
  NeedHelp();
  for (const QString& folder : {language, QStringLiteral("en")}) {
    QFile file(QStringLiteral(":/help/%1/%2").arg(folder, name));
    if (file.open(QIODevice::ReadOnly)) return QString::fromUtf8(file.readAll());
  }
  return {};
}

QString HelpOnKeys(const std::vector<QAction*>& deeds, const QString& language) {
  const std::pair<const char*, QString> rooms[] = {
      {"window", Words::tr("The window")}, {"light_table", Words::tr("Light table")}, {"shelf", Words::tr("Shelf")}, {"bench", Words::tr("Bench")}};
  QString html = HelpPage(QStringLiteral("keys.html"), language);
  for (const auto& [room, words] : rooms) {
    html += QStringLiteral(
                "<h2><a name=\"%1\"></a>%2</h2><table width=\"100%\" cellspacing=\"0\" cellpadding=\"3\"><tr><th align=\"left\">%3</th>"
                "<th align=\"left\">%4</th><th align=\"left\">%5</th></tr>")
                .arg(QLatin1String(room), words, Words::tr("What"), Words::tr("Key"), Words::tr("On the command line"));
    for (const QAction* deed : deeds)
      if (deed->objectName().section(QLatin1Char('.'), 0, 0) == QLatin1String(room))
        html +=
            QStringLiteral("<tr><td>%1</td><td><b>%2</b></td><td>%3</td></tr>")
                .arg(deed->text().toHtmlEscaped(), deed->shortcut().toString(QKeySequence::NativeText).toHtmlEscaped(), TwinOf(deed).toHtmlEscaped());
    html += QStringLiteral("</table>");
  }
  return html;
}

std::vector<HelpSection> SectionsOf(const QString& page, const QString& html) {
  static const QRegularExpression heading(QStringLiteral("<h([12])>(?:<a name=\"([^\"]*)\"></a>)?(.*?)</h[12]>"));
  std::vector<HelpSection> sections;
  qsizetype begin = 0;
  const auto close = [&](qsizetype end) {
    if (!sections.empty()) sections.back().words = Plain(html.mid(begin, end - begin));
  };
  for (auto found = heading.globalMatch(html); found.hasNext();) {
    const QRegularExpressionMatch match = found.next();
    close(match.capturedStart());
    sections.push_back({page, match.captured(2), Plain(match.captured(3)), {}});
    begin = match.capturedEnd();
  }
  close(html.size());
  return sections;
}

QString FoundPage(const QString& words, const std::vector<HelpSection>& sections) {
  const QStringList wanted = words.simplified().split(QLatin1Char(' '), Qt::SkipEmptyParts);
  std::vector<const HelpSection*> in_title, in_words;
  for (const HelpSection& section : sections) {
    const auto holds = [&](const QString& text) {
      return std::ranges::all_of(wanted, [&](const QString& word) { return text.contains(word, Qt::CaseInsensitive); });
    };
    if (wanted.isEmpty()) break;
    if (holds(section.title))
      in_title.push_back(&section);
    else if (holds(section.title + QLatin1Char(' ') + section.words))
      in_words.push_back(&section);
  }
  in_title.insert(in_title.end(), in_words.begin(), in_words.end());
  QString html = QStringLiteral("<h1>%1</h1>").arg(Words::tr("Pages with \u201c%1\u201d").arg(words.toHtmlEscaped()));
  if (in_title.empty())
    html += QStringLiteral("<p>%1</p>").arg(Words::tr("None. Try another word, or begin with the <a href=\"index.html\">contents</a>."));
  for (const HelpSection* section : in_title) {
    const qsizetype at = section->words.indexOf(wanted.front(), 0, Qt::CaseInsensitive);
    const qsizetype from = at > kExcerpt / 2 ? section->words.indexOf(QLatin1Char(' '), at - kExcerpt / 2) + 1 : 0;
    QString excerpt = section->words.mid(from, kExcerpt);
    if (from > 0) excerpt.prepend(QStringLiteral("\u2026 "));
    if (from + kExcerpt < section->words.size()) excerpt += QStringLiteral(" \u2026");
    html += QStringLiteral("<p><a href=\"%1%2\">%3</a><br/><span class=\"faint\">%4</span></p>")
                .arg(section->page, section->anchor.isEmpty() ? QString() : QLatin1Char('#') + section->anchor, section->title.toHtmlEscaped(),
                     excerpt.toHtmlEscaped());
  }
  return html;
}

QString HelpAbout(const QString& object_name) {
  const auto found = std::ranges::find_if(kPlaces, [&](const Place& place) { return object_name == QLatin1String(place.widget); });
  return found == std::end(kPlaces) ? QString() : QString::fromLatin1(found->section);
}

QStringList WidgetsWithHelp() {
  QStringList names;
  for (const Place& place : kPlaces) names << QString::fromLatin1(place.widget);
  return names;
}

}  // namespace islebook
