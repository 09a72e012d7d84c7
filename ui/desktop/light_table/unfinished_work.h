#pragma once
// Unfinished work in a folder, so that nothing is lost when the program ends without being asked: the sheet once, the recipe whole after every correction.
// Files are written in a thread of their own, in the order asked for.

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <QDateTime>
#include <QString>
#include <QThreadPool>

#include "digitizer/recipe/recipe.h"

namespace islebook {

struct UnfinishedSheet {
  std::filesystem::path folder;  // of this work
  QString file;                  // the sheet's name
  QString sha256;
  QDateTime changed;
  QString shelf_name, shelf_revision;  // that it corrects; empty: none
  int corrections = 0;
};

class UnfinishedWork {
 public:
  // `folder` holds the work of this user; it is made when something is to be kept.
  explicit UnfinishedWork(std::filesystem::path folder);
  ~UnfinishedWork();  // after the last file is written

  // What an earlier run of the program left, latest first. Work that another running program holds is left out.
  std::vector<UnfinishedSheet> Left() const;
  Result<std::string> SheetOf(const UnfinishedSheet& work) const;
  Result<Recipe> RecipeOf(const UnfinishedSheet& work) const;

  // Keeps this work from now on, in place of what was kept before.
  void Keep(std::shared_ptr<const std::string> sheet, const UnfinishedSheet& facts, const Recipe& recipe);
  void KeepRecipe(const Recipe& recipe);
  // It is done: its files go.
  void Forget();
  void Forget(const UnfinishedSheet& work);
  // Stays in the folder to be offered back later.
  void Leave();
  // Is no longer offered; the latest few stay in `put_away`, should somebody want them after all.
  void PutAway(const UnfinishedSheet& work);
  bool keeps() const { return !kept_.folder.empty(); }

  void Flush();  // waits until all is on the disk
  // The first failure since it was last asked for, in words; empty: none.
  QString TakeFailure();

 private:
  struct Shared;
  void Write(std::filesystem::path file, std::shared_ptr<const std::string> contents);

  std::filesystem::path folder_;
  UnfinishedSheet kept_;
  std::vector<std::filesystem::path> gone_;  // on their way out of the folder: no longer offered
  std::shared_ptr<Shared> shared_;
  QThreadPool pool_;
};

}  // namespace islebook
