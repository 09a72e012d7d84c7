#pragma once
// One QGuiApplication for a test program, without a screen.

#include <QGuiApplication>

namespace islebook::paint {

inline void NeedGuiApplication() {
  if (QGuiApplication::instance()) return;
  qputenv("QT_QPA_PLATFORM", "offscreen");
  if (qEnvironmentVariableIsEmpty("XDG_RUNTIME_DIR")) qputenv("XDG_RUNTIME_DIR", "/tmp");
  static int argc = 1;
  static char name[] = "test";
  static char* argv[] = {name, nullptr};
  new QGuiApplication(argc, argv);  // lives as long as the program
}

}  // namespace islebook::paint
