#pragma once
// What the rooms of the window share: the shelf, who is at work, habits, and how one room asks another for something.

#include <filesystem>
#include <memory>

#include <QObject>
#include <QString>

#include "mapstore/bench/bench_case.h"
#include "mapstore/shelf/shelf.h"
#include "ui/desktop/frame/desk_look.h"

class QSettings;

namespace islebook {

struct WorkplaceOptions {
  std::filesystem::path shelf_file;   // or a server's address (open_shelf.h); empty: DefaultShelfFile()
  std::filesystem::path habits_file;  // what is remembered from one day to the next; empty: islebook/desktop.ini in the user's configuration folder
  std::filesystem::path work_folder;  // unfinished work, to be offered back after a crash; empty: islebook/work in the user's state folder
};

class Workplace : public QObject {
  Q_OBJECT

 public:
  explicit Workplace(const WorkplaceOptions& options = {}, QObject* parent = nullptr);
  ~Workplace() override;

  const std::filesystem::path& shelf_file() const { return shelf_file_; }
  // Opened at the first call and made where there is none. For the window's own thread; another thread opens the file for itself.
  Result<Shelf*> OpenShelf();
  // A room put something on the shelf, or another program did: everybody looks again. `name` may be empty: many.
  void ShelfHasChanged(const QString& name);

  QString author() const;
  void SetAuthor(const QString& author);
  UnitHabit units() const;
  void SetUnits(const UnitHabit& units);
  // The language chosen in the window: "en", "de"; empty: as the system says.
  QString language() const;
  void SetLanguage(const QString& language);
  bool night() const;
  void SetNight(bool night);
  const DeskLook& look() const { return look_; }

  // For what a room remembers; keys begin with the room's name: "bench/case".
  QSettings& habits() { return *habits_; }
  const std::filesystem::path& work_folder() const { return work_folder_; }

  // One line at the foot of the window: what happened, what it means, what to do.
  void Say(const QString& words);
  void Complain(const QString& words);
  void Complain(const Error& error);

 signals:
  void ShelfChanged(const QString& name);
  void UnitsChanged();
  void LookChanged();
  void LanguageChanged();  // words that are there stay: the window must be made anew
  void Said(const QString& words, bool wrong);
  // Asked by one room, answered by another, which the window then shows.
  void SheetAsked(const QString& file);    // light table: digitize this picture
  void CorrectAsked(const QString& spec);  // light table: this map of the shelf (NAME or NAME@REVISION) with its sheet and recipe
  void ShelfAsked(const QString& name);    // shelf: show this map
  void BenchAsked(const QString& name);    // bench: this map in the case

 private:
  std::filesystem::path shelf_file_;
  std::filesystem::path work_folder_;
  std::unique_ptr<QSettings> habits_;
  std::unique_ptr<Shelf> shelf_;
  DeskLook look_;
};

}  // namespace islebook
