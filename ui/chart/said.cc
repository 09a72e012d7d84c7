#include "ui/chart/said.h"

#include <algorithm>
#include <vector>

#include <QCoreApplication>
#include <QRegularExpression>
#include <QStringList>

#include "ui/chart/said_phrases.h"

namespace islebook {
namespace {

QString Translated(const QString& phrase) { return QCoreApplication::translate("Said", phrase.toUtf8().constData()); }

struct Pattern {
  QString phrase;
  QRegularExpression form;
  qsizetype letters = 0;  // that stand in it whatever is said
};

// The more of a sentence is fixed, the earlier it is tried.
const std::vector<Pattern>& Patterns() {
  static const std::vector<Pattern> patterns = [] {
    std::vector<Pattern> made;
    for (const char* phrase : SaidPhrases()) {
      const QString text = QString::fromUtf8(phrase);
      QString form = QRegularExpression::escape(text);
      qsizetype places = 0;
      for (const char* place : {"\\%1", "\\%2", "\\%3"}) {
        places += form.contains(QLatin1String(place)) ? 1 : 0;
        form.replace(QLatin1String(place), QStringLiteral("(.+)"));
      }
      if (places > 0) made.push_back({text, QRegularExpression(QRegularExpression::anchoredPattern(form)), text.size() - 2 * places});
    }
    std::ranges::stable_sort(made, std::ranges::greater(), &Pattern::letters);
    return made;
  }();
  return patterns;
}

QString SaidWhole(const QString& text, int depth);

// Sentences and their parts that stand side by side.
QString SaidParts(const QString& text, int depth) {
  for (const char* between : {"; ", ". ", ": "}) {
    const QString mark = QLatin1String(between);
    const qsizetype at = text.indexOf(mark);
    if (at <= 0 || at + mark.size() >= text.size()) continue;
    return SaidWhole(text.left(at), depth) + mark + SaidWhole(text.mid(at + mark.size()), depth);
  }
  return text;
}

QString SaidWhole(const QString& text, int depth) {
  if (depth > 4 || text.isEmpty()) return text;
  if (const QString whole = Translated(text); whole != text) return whole;
  for (const Pattern& pattern : Patterns()) {
    const QRegularExpressionMatch match = pattern.form.match(text);
    if (!match.hasMatch()) continue;
    const QString form = Translated(pattern.phrase);
    if (form == pattern.phrase) continue;
    QString said;
    for (qsizetype i = 0; i < form.size(); ++i) {
      const int place = form[i] == QLatin1Char('%') && i + 1 < form.size() ? form[i + 1].digitValue() : 0;
      if (place >= 1 && place <= match.lastCapturedIndex()) {
        said += SaidWhole(match.captured(place), depth + 1);
        ++i;
      } else {
        said += form[i];
      }
    }
    return said;
  }
  return SaidParts(text, depth + 1);
}

}  // namespace

QString Said(const std::string& english) {
  const QString text = QString::fromStdString(english);
  const QString known = QStringLiteral("Speed line");
  if (text.isEmpty() || Translated(known) == known) return text;  // English is spoken
  return SaidWhole(text, 0);
}

}  // namespace islebook
