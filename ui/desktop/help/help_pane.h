#pragma once
// The help inside the window: F1 lays it over the work, beside the column of facts, at the place where the keyboard is; F1 or Esc takes it away.

#include <vector>

#include <QFrame>

#include "ui/desktop/help/help_pages.h"

class QLineEdit;

namespace islebook {

class HelpBrowser;
class MainWindow;
class Workplace;

class HelpPane : public QFrame {
  Q_OBJECT

 public:
  // Belongs to the window, which gets the key and a button at its foot.
  HelpPane(MainWindow& window, Workplace& workplace);

  void OpenAt(const QString& place);  // "light_table.html#axes"
  void Close();
  // What is shown: "light_table.html#axes".
  QString place() const;
  // The HTML of a page as it is shown, made or kept.
  QString PageText(const QString& name) const;

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;

 private:
  QString PlaceOfKeyboard() const;
  void Find(const QString& words);
  void Lay();
  void TakeLook();

  MainWindow& window_;
  Workplace& workplace_;
  QLineEdit* words_;
  HelpBrowser* browser_;
  bool found_ = false;         // pages that were found stand there, not a page
  QWidget* before_ = nullptr;  // had the keyboard when the help came
};

}  // namespace islebook
