#include "ui/desktop/light_table/sheet_work.h"

#include <cmath>
#include <limits>
#include <utility>

#include <QUndoCommand>

#include "ui/desk/curve_place.h"

namespace islebook {
namespace {

constexpr double kSameCurvePx = 12.0;  // a curve that was chosen is looked for this far from where it was
enum Merge { kNever = -1, kFrame = 1 };

Point2 FrameCenter(const PerformanceMap& map) {
  Point2 center;
  if (!map.calibration) return center;
  for (const Point2& corner : map.calibration->frame_px) center.x += corner.x / 4, center.y += corner.y / 4;
  return center;
}

// Of several maps on a sheet, the one that stands where this one stood.
std::size_t MapLike(const std::vector<PerformanceMap>& maps, const PerformanceMap& like) {
  const Point2 wanted = FrameCenter(like);
  std::size_t best = 0;
  double nearest = std::numeric_limits<double>::max();
  for (std::size_t i = 0; i < maps.size(); ++i) {
    const Point2 center = FrameCenter(maps[i]);
    if (const double d = std::hypot(center.x - wanted.x, center.y - wanted.y); d < nearest) nearest = d, best = i;
  }
  return best;
}

}  // namespace

// One step back or forth: the whole recipe before and after.
class SheetWork::Change : public QUndoCommand {
 public:
  Change(SheetWork& work, Recipe after, const QString& words, int merge)
      : QUndoCommand(words), work_(work), before_(work.recipe_), after_(std::move(after)), merge_(merge) {}
  void undo() override { work_.TakeRecipe(before_); }
  void redo() override { work_.TakeRecipe(after_); }
  int id() const override { return merge_; }
  bool mergeWith(const QUndoCommand* other) override {
    after_ = static_cast<const Change*>(other)->after_;
    return true;
  }

 private:
  SheetWork& work_;
  Recipe before_, after_;
  int merge_;
};

SheetWork::SheetWork(const std::filesystem::path& work_folder, QObject* parent) : QObject(parent), unfinished_(work_folder) {
  connect(&digitizing_, &Digitizing::SheetRead, this, &SheetWork::TakeSheet);
  connect(&digitizing_, &Digitizing::Finished, this, &SheetWork::TakeResult);
}

void SheetWork::Open(SheetOrder order) {
  resumed_.reset();
  digitizing_.Open(std::move(order));
}

void SheetWork::OpenUnfinished(const UnfinishedSheet& work) {
  auto bytes = unfinished_.SheetOf(work);
  auto recipe = unfinished_.RecipeOf(work);
  if (!bytes || !recipe) {
    emit digitizing_.Failed(!bytes ? bytes.error() : recipe.error());
    return;
  }
  resumed_ = work;
  SheetOrder order;
  order.bytes = std::make_shared<const std::string>(std::move(*bytes));
  order.name = work.file.toStdString();
  order.recipe = std::move(*recipe);
  digitizing_.Open(std::move(order));
}

void SheetWork::OpenPage(int page) {
  if (!sheet_ || page == recipe_.settings.page.value_or(1)) return;
  SheetOrder order;
  order.bytes = sheet_->bytes;
  order.name = sheet_->file;
  order.recipe.settings = recipe_.settings;
  order.recipe.settings.page = page;
  Open(std::move(order));
}

void SheetWork::TakeSheet(const ReadSheetFacts& facts) {
  unfinished_.Leave();
  sheet_ = facts;
  if (resumed_) {
    sheet_->shelf_name = resumed_->shelf_name.toStdString();
    sheet_->shelf_revision = resumed_->shelf_revision.toStdString();
  }
  history_.clear();
  recipe_ = facts.recipe;
  accepted_recipe_ = recipe_;
  result_.reset();
  map_.reset();
  number_ = 0;
  number_is_open_ = true;
  chosen_.reset();
  chosen_as_.reset();
  chosen_at_.reset();
  if (resumed_) {
    // Kept anew under this program before the old copy goes, so that there is always one.
    accepted_recipe_ = Recipe{recipe_.settings, {}};
    unfinished_.Keep(sheet_->bytes, *resumed_, recipe_);
    unfinished_.Forget(*resumed_);
    resumed_.reset();
  }
  emit SheetChanged();
  emit MapChanged();
  emit ChosenChanged();
  emit RecipeChanged();
}

void SheetWork::TakeAccepted(const std::string& name, const std::string& revision) {
  sheet_->shelf_name = name;
  sheet_->shelf_revision = revision;
  accepted_recipe_ = recipe_;
  unfinished_.Forget();
  emit RecipeChanged();
}

void SheetWork::ReplaceRecipe(Recipe recipe, const QString& words) {
  if (!sheet_) return;
  recipe.settings.page = recipe_.settings.page;
  recipe.settings.dpi = recipe_.settings.dpi;
  Push(std::move(recipe), words, kNever);
}

void SheetWork::ExpectAt(Point2 place) {
  chosen_at_ = place;
  chosen_as_.reset();
}

void SheetWork::Push(Recipe recipe, const QString& words, int merge) { history_.push(new Change(*this, std::move(recipe), words, merge)); }

void SheetWork::Correct(CorrectionStep step, const QString& words) {
  if (!sheet_) return;
  Recipe recipe = recipe_;
  const bool frame = std::holds_alternative<SetFrame>(step);
  // Corners moved one after the other are one correction.
  if (frame && !recipe.corrections.empty() && std::holds_alternative<SetFrame>(recipe.corrections.back().step)) recipe.corrections.pop_back();
  recipe.corrections.push_back({std::move(step), {}});
  Push(std::move(recipe), words, frame ? kFrame : kNever);
}

void SheetWork::SetKind(std::optional<MapKind> kind) {
  if (!sheet_ || recipe_.settings.kind == kind) return;
  Recipe recipe = recipe_;
  recipe.settings.kind = kind;
  Push(std::move(recipe), tr("kind of map"), kNever);
}

void SheetWork::TakeRecipe(const Recipe& recipe) {
  recipe_ = recipe;
  if (is_changed() && !unfinished_.keeps()) {
    UnfinishedSheet facts;
    facts.file = QString::fromStdString(sheet_->file);
    facts.sha256 = QString::fromStdString(sheet_->sha256);
    facts.shelf_name = QString::fromStdString(sheet_->shelf_name);
    facts.shelf_revision = QString::fromStdString(sheet_->shelf_revision);
    unfinished_.Keep(sheet_->bytes, facts, recipe_);
  } else if (is_changed()) {
    unfinished_.KeepRecipe(recipe_);
  } else {
    unfinished_.Forget();
  }
  digitizing_.SetRecipe(recipe_);
  emit RecipeChanged();
}

const std::vector<PerformanceMap>& SheetWork::maps() const {
  static const std::vector<PerformanceMap> kNone;
  return result_ ? result_->maps : kNone;
}

void SheetWork::TakeResult(const std::shared_ptr<const Digitized>& result) {
  result_ = result;
  if (number_is_open_ && sheet_->shelf_map) number_ = MapLike(result->maps, *sheet_->shelf_map);
  number_is_open_ = false;
  if (number_ >= result->maps.size()) number_ = 0;
  map_ = std::shared_ptr<const PerformanceMap>(result, &result->maps[number_]);
  std::optional<NearestCurve> again;
  if (chosen_at_) again = FindCurveAt(*map_, *chosen_at_, kSameCurvePx, chosen_as_ ? &*chosen_as_ : nullptr);
  emit MapChanged();
  chosen_.reset();
  Choose(again ? std::optional(again->curve) : std::nullopt);
  emit ChosenChanged();
}

void SheetWork::ChooseMap(std::size_t number) {
  if (!result_ || number >= result_->maps.size() || number == number_) return;
  number_ = number;
  map_ = std::shared_ptr<const PerformanceMap>(result_, &result_->maps[number_]);
  emit MapChanged();
  Choose(std::nullopt);
}

void SheetWork::Choose(std::optional<std::size_t> curve) {
  if (curve && (!map_ || *curve >= map_->curves.size())) curve.reset();
  const bool is_new = curve != chosen_;
  chosen_ = curve;
  chosen_as_.reset();
  chosen_at_.reset();
  if (curve) {
    chosen_as_ = map_->curves[*curve];
    if (const auto name = NameCurve(*map_, *curve)) chosen_at_ = name->near;
  }
  if (is_new) emit ChosenChanged();
}

}  // namespace islebook
