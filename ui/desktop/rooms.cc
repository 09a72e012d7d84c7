#include "ui/desktop/rooms.h"

#include "ui/desktop/bench_room/bench_room.h"
#include "ui/desktop/frame/main_window.h"
#include "ui/desktop/frame/workplace.h"
#include "ui/desktop/help/help_pane.h"
#include "ui/desktop/light_table/light_table.h"
#include "ui/desktop/shelf_room/shelf_room.h"

namespace islebook {

void AddRooms(MainWindow& window, Workplace& workplace) {
  window.AddRoom(new LightTable(workplace, &window));
  window.AddRoom(new ShelfRoom(workplace, &window));
  window.AddRoom(new BenchRoom(workplace, &window));
  new HelpPane(window, workplace);  // the window's
}

}  // namespace islebook
