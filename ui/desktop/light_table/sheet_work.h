#pragma once
// The work on one sheet: the sheet, the recipe with everything that can be undone, and the maps that come of it. What is unfinished is kept in the work folder.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <QObject>
#include <QUndoStack>

#include "digitizer/recipe/recipe.h"
#include "ui/desktop/light_table/digitizing.h"
#include "ui/desktop/light_table/unfinished_work.h"

namespace islebook {

class SheetWork : public QObject {
  Q_OBJECT

 public:
  SheetWork(const std::filesystem::path& work_folder, QObject* parent);

  // Sheets. Unfinished corrections of a sheet that is open stay in the work folder.
  void Open(SheetOrder order);
  void OpenUnfinished(const UnfinishedSheet& work);
  void OpenPage(int page);
  void TakeAccepted(const std::string& name, const std::string& revision);  // the map is on the shelf as it is now
  bool has_sheet() const { return sheet_.has_value(); }
  const ReadSheetFacts& sheet() const { return *sheet_; }

  // Corrections.
  void Correct(CorrectionStep step, const QString& words);
  void ReplaceRecipe(Recipe recipe, const QString& words);  // its page stays
  void SetKind(std::optional<MapKind> kind);
  const Recipe& recipe() const { return recipe_; }
  QUndoStack& history() { return history_; }
  bool is_changed() const { return recipe_ != accepted_recipe_; }

  // Maps.
  const std::vector<PerformanceMap>& maps() const;
  bool has_map() const { return map_ != nullptr; }
  const PerformanceMap& map() const { return *map_; }
  std::shared_ptr<const PerformanceMap> map_pointer() const { return map_; }
  std::size_t map_number() const { return number_; }
  void ChooseMap(std::size_t number);
  std::optional<std::size_t> chosen() const { return chosen_; }
  void Choose(std::optional<std::size_t> curve);
  void ExpectAt(Point2 place);  // the curve there is chosen when the next result is there

  Digitizing& digitizing() { return digitizing_; }
  UnfinishedWork& unfinished() { return unfinished_; }
  double seconds() const { return result_ ? result_->seconds : 0.0; }

 signals:
  void SheetChanged();  // another sheet, or none
  void MapChanged();    // another result, or another of its maps
  void ChosenChanged();
  void RecipeChanged();

 private:
  class Change;
  void TakeRecipe(const Recipe& recipe);
  void TakeSheet(const ReadSheetFacts& facts);
  void TakeResult(const std::shared_ptr<const Digitized>& result);
  void Push(Recipe recipe, const QString& words, int merge);

  Digitizing digitizing_;
  UnfinishedWork unfinished_;
  QUndoStack history_;
  std::optional<ReadSheetFacts> sheet_;
  std::optional<UnfinishedSheet> resumed_;
  Recipe recipe_, accepted_recipe_;
  std::shared_ptr<const Digitized> result_;
  std::shared_ptr<const PerformanceMap> map_;
  std::size_t number_ = 0;
  std::optional<std::size_t> chosen_;
  std::optional<Curve> chosen_as_;  // to find it again in the next result
  std::optional<Point2> chosen_at_;
  bool number_is_open_ = true;  // which of several maps is still to be told from the shelf's
};

}  // namespace islebook
