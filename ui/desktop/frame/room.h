#pragma once
// A room of the window: its work in the middle, one column of facts on the right.

#include <QStringList>
#include <QWidget>

namespace islebook {

class FactsColumn;
class Workplace;

class Room : public QWidget {
  Q_OBJECT

 public:
  Room(Workplace& workplace, QWidget* parent);

  // What the strip calls it and the file name of its icon in :/icons ("shelf").
  virtual QString Words() const = 0;
  virtual QString Icon() const = 0;

  // Files that were dropped on the window or named when the program started. Returns those that are nothing for this room.
  virtual QStringList TakeFiles(const QStringList& files) { return files; }

  // Before the window closes: unfinished work is put where it is found again. False: the person must decide something first, and the room says what.
  virtual bool MayClose() { return true; }

  // When the person enters the room.
  virtual void Enter() {}

  Workplace& workplace() const { return workplace_; }
  FactsColumn& facts() const { return *facts_; }

 signals:
  void ShowMe();  // something arrived that the person should see

 protected:
  // The middle; once, in the constructor.
  void SetWork(QWidget* work);

 private:
  Workplace& workplace_;
  FactsColumn* facts_;
};

}  // namespace islebook
