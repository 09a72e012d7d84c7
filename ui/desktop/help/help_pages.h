#pragma once
// The help pages of the window: short pages by task, kept as resources, one folder a language; the page of keys is made from the deeds themselves.

#include <vector>

#include <QString>
#include <QStringList>

class QAction;

namespace islebook {

// "index.html", "light_table.html" ... in the order of the contents; the page of keys last.
QStringList HelpPageNames();

// The page's HTML without style; empty: there is no such page. A language without pages of its own has the English ones.
QString HelpPage(const QString& name, const QString& language);

// Every deed with its key and its twin on the command line, by rooms.
QString HelpOnKeys(const std::vector<QAction*>& deeds, const QString& language);

// A section of a page: from one <h2> to the next.
struct HelpSection {
  QString page, anchor, title;
  QString words;  // without tags
};
std::vector<HelpSection> SectionsOf(const QString& page, const QString& html);

// The sections that hold all of the words, those with a word in their title first, as a page of links.
QString FoundPage(const QString& words, const std::vector<HelpSection>& sections);

// The section of help about a widget, by its object name: "light_table.html#axes". Empty: none of its own.
QString HelpAbout(const QString& object_name);
QStringList WidgetsWithHelp();

}  // namespace islebook
