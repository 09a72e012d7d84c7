#pragma once
// The whole window with its three rooms and its help, over a temporary shelf, for tests that look at all of it.

#include <memory>

#include <QAction>
#include <QApplication>
#include <QLabel>
#include <QTemporaryDir>
#include <QTest>

#include "ui/desktop/frame/main_window.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/rooms.h"

namespace islebook {

class OpenWindow {
 public:
  OpenWindow() {
    WorkplaceOptions options;
    options.shelf_file = folder_.filePath("shelf.db").toStdString();
    options.habits_file = folder_.filePath("desktop.ini").toStdString();
    options.work_folder = folder_.filePath("work").toStdString();
    workplace_ = std::make_unique<Workplace>(options);
    workplace_->SetAuthor("Ines");
    workplace_->SetLanguage("en");
  }
  // Made only now, so that a test can set a language before.
  void Show(const QSize& size = {1280, 800}) {
    window_ = std::make_unique<MainWindow>(*workplace_);
    AddRooms(*window_, *workplace_);
    window_->resize(size);
    window_->show();
    window_->activateWindow();
    QTest::qWait(1);
  }
  void Close() { window_.reset(); }

  Workplace& workplace() { return *workplace_; }
  MainWindow& window() { return *window_; }
  template <typename W>
  W* Find(const char* name) const {
    return window_->findChild<W*>(QLatin1String(name));
  }
  QString File(const char* name) const { return folder_.filePath(QLatin1String(name)); }

 private:
  QTemporaryDir folder_;
  std::unique_ptr<Workplace> workplace_;
  std::unique_ptr<MainWindow> window_;
};

// What stands in the way of a person who cannot see the window: widgets that take the keyboard and have no name.
inline QStringList WithoutName(const QWidget& window, const QList<QWidget*>& widgets) {
  QStringList nameless;
  for (const QWidget* widget : widgets) {
    if (widget->focusPolicy() == Qt::NoFocus || widget == &window) continue;
    const QString role = QLatin1String(widget->metaObject()->className());
    if (role == QLatin1String("QComboBoxListView") || widget->objectName().startsWith(QLatin1String("qt_"))) continue;  // Qt's own parts
    if (role == QLatin1String("QLabel")) continue;                                                                      // is read out as what it says
    bool named = !widget->accessibleName().isEmpty() || !widget->property("text").toString().isEmpty();
    for (const QLabel* label : window.findChildren<QLabel*>()) named = named || (label->buddy() == widget && !label->text().isEmpty());
    if (!named) nameless << role + QLatin1Char(' ') + widget->objectName() + QStringLiteral(" in ") + widget->parentWidget()->objectName();
  }
  return nameless;
}

}  // namespace islebook
