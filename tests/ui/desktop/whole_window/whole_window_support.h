#pragma once
// The whole window over a temporary shelf, worked by what reaches its windows: clicks at places and keys, as a person's mouse and keyboard send them.

#include <functional>
#include <memory>

#include <QApplication>
#include <QFileDialog>
#include <QLineEdit>
#include <QPointer>
#include <QTemporaryDir>
#include <QTest>
#include <QWindow>

#include "ui/desktop/bench_room/bench_room.h"
#include "ui/desktop/frame/main_window.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/light_table/light_table.h"
#include "ui/desktop/rooms.h"
#include "ui/desktop/shelf_room/shelf_room.h"

namespace islebook {

inline bool WaitFor(const std::function<bool()>& done, int milliseconds = 120000) { return QTest::qWaitFor(done, milliseconds); }

class WholeWindow {
 public:
  explicit WholeWindow(const QString& folder) {
    WorkplaceOptions options;
    options.shelf_file = (folder + "/shelf.db").toStdString();
    options.habits_file = (folder + "/desktop.ini").toStdString();
    options.work_folder = (folder + "/work").toStdString();
    workplace = std::make_unique<Workplace>(options);
    QObject::connect(workplace.get(), &Workplace::Said, [this](const QString& words, bool wrong) {
      said << words;
      if (wrong) complaints << words;
    });
    window = std::make_unique<MainWindow>(*workplace);
    AddRooms(*window, *workplace);
    window->resize(1280, 800);
    window->show();
    window->activateWindow();
    table = window->findChild<LightTable*>();
    shelf = window->findChild<ShelfRoom*>();
    bench = window->findChild<BenchRoom*>();
    (void)QTest::qWaitForWindowExposed(window.get());
  }
  ~WholeWindow() { window.reset(); }

  template <typename W>
  W* Find(const char* name) const {
    return window->findChild<W*>(QLatin1String(name));
  }

  // In the window that the widget is in; false: it cannot be seen there, so nobody could click it.
  bool Click(QWidget* widget, QPoint at, Qt::KeyboardModifiers keys = {}) const {
    if (widget == nullptr || !widget->isVisible()) return false;
    const QPoint place = widget->mapTo(widget->window(), at);
    if (!widget->window()->rect().contains(place)) return false;
    QTest::mouseClick(widget->window()->windowHandle(), Qt::LeftButton, keys, place);
    return true;
  }
  bool Click(QWidget* widget) const { return widget != nullptr && Click(widget, widget->rect().center()); }
  bool Click(const char* name) const { return Click(Find<QWidget>(name)); }

  void Key(Qt::Key key, Qt::KeyboardModifiers keys = {}) const { QTest::keyClick(Active(), key, keys); }
  void Type(const QString& text) const {
    for (const QChar c : text) QTest::keyClick(Active(), c.toLatin1());
  }
  // Into a field, in place of what stands there.
  bool TypeInto(const char* field, const QString& text) const {
    if (!Click(field)) return false;
    Key(Qt::Key_A, Qt::ControlModifier);
    Type(text);
    return true;
  }

  // Names the file that the window asks for.
  bool AnswerFile(const QString& file) const {
    QFileDialog* asked = nullptr;
    if (!WaitFor(
            [&] {
              asked = window->findChild<QFileDialog*>("file_question");
              return asked != nullptr && asked->isVisible();
            },
            10000))
      return false;
    auto* name = asked->findChild<QLineEdit*>("fileNameEdit");
    if (name == nullptr || !QTest::qWaitForWindowExposed(asked)) return false;
    asked->activateWindow();
    name->setFocus();
    name->selectAll();
    for (const QChar c : file) QTest::keyClick(asked->windowHandle(), c.toLatin1());
    const QPointer<QFileDialog> open(asked);
    QTest::keyClick(asked->windowHandle(), Qt::Key_Return);
    if (!WaitFor([&] { return open == nullptr || !open->isVisible(); }, 10000)) return false;
    window->activateWindow();  // as the window manager of a desk does
    return QTest::qWaitForWindowActive(window.get());
  }

  QWindow* Active() const {
    QWidget* active = QApplication::activePopupWidget() != nullptr   ? QApplication::activePopupWidget()
                      : QApplication::activeModalWidget() != nullptr ? QApplication::activeModalWidget()
                                                                     : window.get();
    return active->windowHandle();
  }

  QStringList said, complaints;
  std::unique_ptr<Workplace> workplace;
  std::unique_ptr<MainWindow> window;
  LightTable* table = nullptr;
  ShelfRoom* shelf = nullptr;
  BenchRoom* bench = nullptr;
};

}  // namespace islebook
