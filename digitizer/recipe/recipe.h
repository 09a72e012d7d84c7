#pragma once
// The recipe: what turns a sheet into a map. Settings, plus every correction that a person made, in order. Replaying it over the sheet gives the
// map again, also after an automatic stage has become better: a curve is named by a place on the sheet near it, not by its number in a list.
// As JSON: recipe_schema.json beside this file, explained in digitizer/README.md.

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "digitizer/sheet/points.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

inline constexpr int kRecipeSchema = 1;

struct RecipeSettings {
  std::optional<MapKind> kind;                           // a person's word; else look and see
  std::optional<int> page;                               // of a PDF or a TIFF, from 1
  std::optional<double> dpi;                             // at which a PDF or SVG page is drawn
  std::optional<ReferenceConditions> assumed_reference;  // where the sheet prints none; basis is kAssumed
  bool operator==(const RecipeSettings&) const = default;
};

// A curve of the sheet: the nearest to `near` (sheet pixels). Role and value only decide between curves that are both close.
struct CurveNear {
  Point2 near;
  std::optional<CurveRole> role;
  std::optional<double> value;
  bool operator==(const CurveNear&) const = default;
};

// The plot's corners: top left, top right, bottom right, bottom left, in sheet pixels as seen upright.
struct SetFrame {
  std::array<Point2, 4> corners;
  bool exact = false;  // true: straight sides through these corners; false: the drawn lines near them are followed
  bool operator==(const SetFrame&) const = default;
};

enum class AxisSide { kX, kY, kRight };

// What is given holds; what is not stays as found. min and max stand at the ends of the frame and come together.
struct SetAxis {
  AxisSide axis = AxisSide::kX;
  std::optional<Quantity> quantity;
  std::optional<std::string> unit;
  std::optional<AxisScale> scale;
  std::optional<double> min, max;
  std::optional<Point2> panel;  // a place inside the plot that is meant; else the largest
  bool operator==(const SetAxis&) const = default;
};

// What a given curve means.
struct CurveMeaning {
  CurveRole role = CurveRole::kOther;
  std::optional<double> value;
  std::string unit;
  bool operator==(const CurveMeaning&) const = default;
};

// What is drawn by hand takes its ink: of the curves that were found there, pieces of the same ink go away.
struct AddCurve {  // these points as they are
  CurveMeaning meaning;
  bool closed = false;
  std::vector<Point2> points;
  std::vector<CurveNear> instead_of;  // curves that go away for it, wherever else they run
  bool operator==(const AddCurve&) const = default;
};
struct TraceCurve {  // follow the ink through these points
  CurveMeaning meaning;
  bool closed = false;
  std::vector<Point2> through;
  std::vector<CurveNear> instead_of;
  bool operator==(const TraceCurve&) const = default;
};
struct CutCurve {  // in two, at the point of the curve nearest to curve.near
  CurveNear curve;
  bool operator==(const CutCurve&) const = default;
};
struct JoinCurves {  // `with` is added to `curve` at the ends that lie closest
  CurveNear curve, with;
  bool operator==(const JoinCurves&) const = default;
};
struct DeleteCurve {
  CurveNear curve;
  bool operator==(const DeleteCurve&) const = default;
};
struct RelabelCurve {  // value nullopt: it has none
  CurveNear curve;
  std::optional<double> value;
  std::string unit;
  std::optional<CurveRole> role;  // what it is, if that is to be said, too
  bool operator==(const RelabelCurve&) const = default;
};
struct SetRole {
  CurveNear curve;
  CurveRole role = CurveRole::kOther;
  bool operator==(const SetRole&) const = default;
};
struct AcceptCurve {  // a person looked: its doubts are settled
  CurveNear curve;
  bool operator==(const AcceptCurve&) const = default;
};
struct SetReference {
  ReferenceConditions conditions;
  bool operator==(const SetReference&) const = default;
};
struct SetTitle {
  std::string title;
  bool operator==(const SetTitle&) const = default;
};

using CorrectionStep = std::variant<SetFrame, SetAxis, AddCurve, TraceCurve, CutCurve, JoinCurves, DeleteCurve, RelabelCurve, SetRole, AcceptCurve,
                                    SetReference, SetTitle>;

struct Correction {
  CorrectionStep step;
  std::string note;  // a person's remark, kept
  bool operator==(const Correction&) const = default;
};

struct Recipe {
  RecipeSettings settings;
  std::vector<Correction> corrections;
  bool operator==(const Recipe&) const = default;
};

// kBadRecipe; the place is a JSON path such as "corrections[2].unit". Keys that are not known are refused: a misspelt key would be lost silently.
Result<Recipe> ParseRecipe(std::string_view json);

// Such a place as people count: "corrections[2].unit" is "correction 3, unit".
std::string RecipePlaceInWords(std::string_view place);

// One JSON object, the same text for the same recipe. ParseRecipe(WriteRecipe(r)) == r.
std::string WriteRecipe(const Recipe& recipe);

// The step's word in the document ("relabel_curve"), and the step in a few words for a person ("relabel the curve near (812, 344)").
const char* StepName(const CorrectionStep& step);
std::string DescribeStep(const CorrectionStep& step);

// Whether the step bears on the plot frame and its axes (and so comes before the curves are traced).
bool IsAboutAxes(const CorrectionStep& step);
// Whether it bears on curves.
bool IsAboutCurves(const CorrectionStep& step);

}  // namespace islebook
