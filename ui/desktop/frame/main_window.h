#pragma once
// The one window: the strip of rooms on the left, the room in the middle, a line of words at the foot.

#include <vector>

#include <QMainWindow>

class QAction;
class QActionGroup;
class QHBoxLayout;
class QLabel;
class QStackedWidget;
class QVBoxLayout;

namespace islebook {

class HabitsPanel;
class Room;
class Workplace;

class MainWindow : public QMainWindow {
  Q_OBJECT

 public:
  explicit MainWindow(Workplace& workplace);

  // In the order of the strip; keys Ctrl+1, Ctrl+2 ... The window owns it.
  void AddRoom(Room* room);
  void ShowRoom(Room* room);
  Room* shown() const;
  // A button at the foot.
  void AddToFoot(QAction* deed);

  // Each file goes to the room that knows what to do with it; the rest is said at the foot.
  void TakeFiles(const QStringList& files);

 protected:
  void closeEvent(QCloseEvent* event) override;
  void dragEnterEvent(QDragEnterEvent* event) override;
  void dropEvent(QDropEvent* event) override;

 private:
  QWidget* MakeStrip();
  QWidget* MakeFoot();
  void TakeLook();
  void OpenHabits(bool open);
  void ShowWords(const QString& words, bool wrong);

  Workplace& workplace_;
  std::vector<Room*> rooms_;
  QActionGroup* chosen_room_;
  QVBoxLayout* strip_;
  QStackedWidget* middle_;
  QLabel* words_;
  QHBoxLayout* foot_ = nullptr;
  HabitsPanel* habits_;
  QAction* open_habits_ = nullptr;
};

}  // namespace islebook
