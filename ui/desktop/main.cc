// islebook-desktop: the window.

#include <QApplication>
#include <QCommandLineParser>
#include <QStyleFactory>

#include "mapstore/shelf/server/server_shelf.h"
#include "ui/desktop/frame/language.h"
#include "ui/desktop/frame/main_window.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/rooms.h"

int main(int argc, char** argv) {
  islebook::UseServerShelves();
  QApplication app(argc, argv);
  QApplication::setApplicationName("islebook");
  QApplication::setApplicationDisplayName("Islebook");
  QApplication::setApplicationVersion(ISLEBOOK_VERSION);
  QApplication::setStyle(QStyleFactory::create("Fusion"));

  QCommandLineParser line;
  line.setApplicationDescription("The light table, the shelf and the bench in a window. Files given are opened.");
  line.addHelpOption();
  line.addVersionOption();
  const QCommandLineOption shelf(
      "shelf", "The library: a file, or postgresql://USER@HOST/DATABASE (else $ISLEBOOK_SHELF, else a file in the user's data folder)", "SHELF");
  line.addOption(shelf);
  const QCommandLineOption language("language", "The window's language: en or de (else as chosen in the window, else the system's)", "LANGUAGE");
  line.addOption(language);
  line.addPositionalArgument("FILES", "Sheets (pictures, PDF, SVG), map documents, parcels, bench cases", "[FILES...]");
  line.process(app);

  islebook::WorkplaceOptions options;
  if (line.isSet(shelf)) options.shelf_file = line.value(shelf).toStdString();
  // Another language is chosen within the window, which is then made anew.
  QStringList files = line.positionalArguments();
  QString asked_language = line.value(language);
  for (;;) {
    islebook::Workplace workplace(options);
    islebook::UseLanguage(asked_language.isEmpty() ? workplace.language() : asked_language);
    islebook::MainWindow window(workplace);
    islebook::AddRooms(window, workplace);
    bool again = false;
    QObject::connect(&workplace, &islebook::Workplace::LanguageChanged, &window, [&] { again = window.close(); }, Qt::QueuedConnection);
    window.show();
    if (!files.isEmpty()) window.TakeFiles(files);
    const int code = QApplication::exec();
    if (!again) return code;
    files.clear();
    asked_language.clear();
  }
}
