#pragma once
// The languages that the window speaks. Documents, commands and what the digitizer and the bench say stay as they are.

#include <vector>

#include <QString>

namespace islebook {

struct Language {
  QString code;   // "de"; empty: as the system says
  QString words;  // in the language itself
};
std::vector<Language> Languages();

// "en", "de": what is spoken for this choice. A language that is not there gives English.
QString SpokenLanguage(const QString& code);

// From now on; what was made before keeps its words. Needs the application.
void UseLanguage(const QString& code);

}  // namespace islebook
