#include "ui/desktop/frame/language.h"

#include <QCoreApplication>
#include <QLibraryInfo>
#include <QLocale>
#include <QTranslator>

static void NeedTranslations() { Q_INIT_RESOURCE(translations); }

namespace islebook {

std::vector<Language> Languages() {
  return {{QString(), QCoreApplication::translate("Language", "as the system")}, {"en", "English"}, {"de", "Deutsch"}};
}

QString SpokenLanguage(const QString& code) {
  const QString wanted = code.isEmpty() ? QLocale::system().name().left(2) : code;
  return wanted == QLatin1String("de") ? wanted : QStringLiteral("en");
}

void UseLanguage(const QString& code) {
  NeedTranslations();
  static QTranslator* window = nullptr;
  static QTranslator* dialogs = nullptr;  // what Qt itself says
  for (QTranslator** translator : {&window, &dialogs}) {
    if (*translator != nullptr) QCoreApplication::removeTranslator(*translator);
    delete *translator;
    *translator = nullptr;
  }
  const QString spoken = SpokenLanguage(code);
  if (spoken == QLatin1String("en")) return;
  const auto install = [](QTranslator*& translator, const QString& name, const QString& folder) {
    auto* loaded = new QTranslator(QCoreApplication::instance());
    if (loaded->load(name, folder) && QCoreApplication::installTranslator(loaded))
      translator = loaded;
    else
      delete loaded;
  };
  install(dialogs, QStringLiteral("qtbase_") + spoken, QLibraryInfo::path(QLibraryInfo::TranslationsPath));
  install(window, QStringLiteral("islebook_") + spoken, QStringLiteral(":/translations"));
}

}  // namespace islebook
