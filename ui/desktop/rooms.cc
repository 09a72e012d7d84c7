#include "ui/desktop/rooms.h"

#include "ui/desktop/frame/main_window.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {

void AddRooms(MainWindow& window, Workplace& workplace) {
  static_cast<void>(window);
  static_cast<void>(workplace);
}

}  // namespace islebook
