#pragma once
// The rooms of the window, in the order of the strip.

namespace islebook {

class MainWindow;
class Workplace;

void AddRooms(MainWindow& window, Workplace& workplace);

}  // namespace islebook
