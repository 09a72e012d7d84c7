#include "ui/desk/correction_recipe.h"

#include "digitizer/recipe/recipe.h"

namespace islebook {
namespace {

constexpr const char* kNote = "corrected in a table";

// A curve by the place of its middle point.
std::optional<CurveNear> Near(const Curve& curve) {
  if (curve.points_px.empty()) return std::nullopt;
  return CurveNear{curve.points_px[curve.points_px.size() / 2], curve.role, curve.value};
}

}  // namespace

int AddToRecipe(const PerformanceMap& base, MapCorrection& correction) {
  if (!base.source || base.source->sha256.empty()) return 0;
  Recipe recipe;
  if (!base.recipe_json.empty()) {
    Result<Recipe> parsed = ParseRecipe(base.recipe_json);
    if (!parsed) return 0;
    recipe = std::move(*parsed);
  }
  const std::size_t before = recipe.corrections.size();
  const auto add = [&recipe](CorrectionStep step) { recipe.corrections.push_back({std::move(step), kNote}); };
  const auto axis = [&](AxisSide side, const std::optional<Axis>& was, const std::optional<Axis>& is) {
    if (is && is != was) add(SetAxis{side, is->quantity, is->unit, is->scale, is->min, is->max, std::nullopt});
  };
  if (correction.axes_changed) {
    axis(AxisSide::kX, base.x, correction.map.x);
    axis(AxisSide::kY, base.y, correction.map.y);
    axis(AxisSide::kRight, base.efficiency, correction.map.efficiency);
  }
  // A step may change what a later one finds its curve by, so each curve is named as it stands after the steps before.
  for (const CurveChange& change : correction.curves) {
    const std::optional<CurveNear> near = change.before ? Near(*change.before) : std::nullopt;
    switch (change.what) {
      case CurveChange::What::kMeaning: {
        if (!near) break;
        CurveNear now = *near;
        if (change.after->role != change.before->role) {
          add(SetRole{now, change.after->role});
          now.role = change.after->role;
        }
        if (change.after->value != change.before->value || change.after->unit != change.before->unit)
          add(RelabelCurve{now, change.after->value, change.after->unit});
        break;
      }
      case CurveChange::What::kPoints: {
        if (!near || change.after->points_px.size() < 2) break;
        CurveNear now{near->near, change.after->role, change.after->value};
        add(DeleteCurve{now});
        add(AddCurve{{change.after->role, change.after->value, change.after->unit}, change.after->closed, change.after->points_px});
        break;
      }
      case CurveChange::What::kAccepted:
        if (std::optional<CurveNear> now = Near(*change.after)) add(AcceptCurve{*now});
        break;
      case CurveChange::What::kDoubted: break;  // a recipe has no word for it; the revision carries it
      case CurveChange::What::kAdded:
        if (change.after->points_px.size() >= 2)
          add(AddCurve{{change.after->role, change.after->value, change.after->unit}, change.after->closed, change.after->points_px});
        break;
      case CurveChange::What::kRemoved:
        if (near) add(DeleteCurve{*near});
        break;
    }
  }
  if (correction.reference_changed && correction.map.reference_conditions) add(SetReference{*correction.map.reference_conditions});
  if (correction.title_changed) add(SetTitle{correction.map.title});
  if (recipe.corrections.size() > before) correction.map.recipe_json = WriteRecipe(recipe);
  return static_cast<int>(recipe.corrections.size() - before);
}

}  // namespace islebook
