#pragma once
// What the digitizer, the bench and the shelf say in English, in the language that the window speaks. They know no language but their own; windows and charts
// pass their sentences through here. A command line has no translation loaded and gets them as they are.

#include <string>

#include <QString>

namespace islebook {

// The whole sentence where it is known, else its parts ("; ", ": "), else as it is. Any thread.
QString Said(const std::string& english);
inline QString Said(const QString& english) { return Said(english.toStdString()); }
inline QString Said(const char* english) { return Said(std::string(english)); }

}  // namespace islebook
