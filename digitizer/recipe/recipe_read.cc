#include <algorithm>
#include <charconv>
#include <cmath>
#include <initializer_list>
#include <set>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "digitizer/recipe/recipe.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

using Json = nlohmann::json;

// Leaves the parse at the first fault; caught in ParseRecipe, so that the readers below stay plain.
struct Fault {
  Error error;
};

[[noreturn]] void Refuse(const std::string& path, std::string sentence) {
  throw Fault{{ErrorCode::kBadRecipe, std::move(sentence), path.empty() ? "recipe" : path}};
}

// An object of the document with its path. Every key must be asked for; Finish() refuses the rest.
class Node {
 public:
  Node(const Json& json, std::string path) : json_(json), path_(std::move(path)) {
    if (!json_.is_object()) Refuse(path_, "must be an object with named values.");
  }

  std::string PathOf(const std::string& key) const { return path_.empty() ? key : path_ + "." + key; }

  const Json* Find(const std::string& key) {
    asked_.insert(key);
    const auto found = json_.find(key);
    return found == json_.end() ? nullptr : &*found;
  }
  const Json& Need(const std::string& key) {
    const Json* found = Find(key);
    if (found == nullptr) Refuse(PathOf(key), "is missing.");
    return *found;
  }

  double Number(const std::string& key) { return AsNumber(Need(key), PathOf(key)); }
  std::optional<double> MaybeNumber(const std::string& key) {
    const Json* found = Find(key);
    if (found == nullptr || found->is_null()) return std::nullopt;
    return AsNumber(*found, PathOf(key));
  }
  std::string Text(const std::string& key) { return AsText(Need(key), PathOf(key)); }
  std::optional<std::string> MaybeText(const std::string& key) {
    const Json* found = Find(key);
    if (found == nullptr || found->is_null()) return std::nullopt;
    return AsText(*found, PathOf(key));
  }
  bool Flag(const std::string& key) {
    const Json* found = Find(key);
    if (found == nullptr) return false;
    if (!found->is_boolean()) Refuse(PathOf(key), "must be true or false.");
    return found->get<bool>();
  }
  Point2 Place(const std::string& key) { return AsPlace(Need(key), PathOf(key)); }
  std::optional<Point2> MaybePlace(const std::string& key) {
    const Json* found = Find(key);
    if (found == nullptr) return std::nullopt;
    return AsPlace(*found, PathOf(key));
  }
  std::vector<Point2> Places(const std::string& key, std::size_t fewest, std::size_t most) {
    const Json& list = Need(key);
    const std::string path = PathOf(key);
    if (!list.is_array()) Refuse(path, "must be a list of points, each [x, y] in sheet pixels.");
    if (list.size() < fewest || list.size() > most)
      Refuse(path,
             fewest == most ? fmt::format("must hold exactly {} points.", fewest) : fmt::format("must hold between {} and {} points.", fewest, most));
    std::vector<Point2> points;
    for (std::size_t i = 0; i < list.size(); ++i) points.push_back(AsPlace(list[i], fmt::format("{}[{}]", path, i)));
    return points;
  }
  // A word of a list; `parse` gives nullopt for others.
  template <typename Parse>
  auto Word(const std::string& key, Parse parse, const char* known) {
    return ParseWord(AsText(Need(key), PathOf(key)), key, parse, known);
  }
  template <typename Parse>
  auto MaybeWord(const std::string& key, Parse parse, const char* known) -> decltype(parse(std::string())) {
    const auto text = MaybeText(key);
    if (!text) return std::nullopt;
    return ParseWord(*text, key, parse, known);
  }

  void Finish() const {
    for (const auto& item : json_.items())
      if (!asked_.contains(item.key())) Refuse(PathOf(item.key()), "is not a key that is known here; check its spelling.");
  }

 private:
  template <typename Parse>
  auto ParseWord(const std::string& text, const std::string& key, Parse parse, const char* known) {
    const auto word = parse(text);
    if (!word) Refuse(PathOf(key), fmt::format("\"{}\" is not known; use one of: {}.", text, known));
    return *word;
  }
  static double AsNumber(const Json& json, const std::string& path) {
    if (!json.is_number() || !std::isfinite(json.get<double>())) Refuse(path, "must be a number.");
    return json.get<double>();
  }
  static std::string AsText(const Json& json, const std::string& path) {
    if (!json.is_string()) Refuse(path, "must be text in quotes.");
    return json.get<std::string>();
  }
  static Point2 AsPlace(const Json& json, const std::string& path) {
    if (!json.is_array() || json.size() != 2) Refuse(path, "must be a point [x, y] in sheet pixels.");
    const Point2 point{AsNumber(json[0], path + "[0]"), AsNumber(json[1], path + "[1]")};
    if (std::abs(point.x) > 1e6 || std::abs(point.y) > 1e6) Refuse(path, "lies far outside any sheet.");
    return point;
  }

  const Json& json_;
  std::string path_;
  std::set<std::string> asked_;
};

constexpr char kRoleWords[] = "speed_line, surge_line, choke_line, efficiency_island, flow_line, efficiency_line, other";
constexpr char kQuantityWords[] =
    "corrected_mass_flow, corrected_volume_flow, pressure_ratio_tt, pressure_ratio_ts, expansion_ratio_ts, expansion_ratio_tt, "
    "turbine_flow_parameter, "
    "efficiency_ts, efficiency_tt, corrected_speed, velocity_ratio";

CurveNear ReadNear(const Json& json, const std::string& path) {
  Node node(json, path);
  CurveNear curve;
  curve.near = node.Place("near_px");
  curve.role = node.MaybeWord("role", ParseCurveRole, kRoleWords);
  curve.value = node.MaybeNumber("value");
  node.Finish();
  return curve;
}

CurveNear ReadCurve(Node& node, const std::string& key = "curve") { return ReadNear(node.Need(key), node.PathOf(key)); }

// One curve, or a list of several; none where the key is not there.
std::vector<CurveNear> MaybeCurves(Node& node, const std::string& key) {
  if (node.Find(key) == nullptr) return {};
  const Json& json = node.Need(key);
  if (!json.is_array()) return {ReadNear(json, node.PathOf(key))};
  if (json.empty()) Refuse(node.PathOf(key), "names no curve; leave it out.");
  std::vector<CurveNear> curves;
  for (std::size_t i = 0; i < json.size(); ++i) curves.push_back(ReadNear(json[i], fmt::format("{}[{}]", node.PathOf(key), i)));
  return curves;
}

// The document's spelling of a unit as typed.
std::string ReadUnit(Node& node, const std::string& text) {
  const auto unit = ParseUnit(text);
  const auto choice = unit ? ToDocumentUnit(*unit) : std::nullopt;
  if (!choice) {
    std::string known;
    for (const char* spelling : DocumentUnits()) known += (known.empty() ? "" : ", ") + std::string(spelling);
    Refuse(node.PathOf("unit"), fmt::format("\"{}\" is not a unit that a map can use; use one of: {}.", text, known));
  }
  if (choice->multiply != 1.0) Refuse(node.PathOf("unit"), fmt::format("maps do not use \"{}\"; give the values in {}.", text, choice->unit));
  return choice->unit;
}

bool Measures(const std::string& unit, std::initializer_list<Dimension> dimensions) {
  const auto parsed = ParseUnit(unit);
  return parsed && std::ranges::find(dimensions, parsed->dimension) != dimensions.end();
}

bool UnitFits(const std::string& unit, Quantity quantity) {
  switch (quantity) {
    case Quantity::kCorrectedMassFlow: return Measures(unit, {Dimension::kMassFlow});
    case Quantity::kCorrectedVolumeFlow: return Measures(unit, {Dimension::kVolumeFlow});
    case Quantity::kTurbineFlowParameter: return Measures(unit, {Dimension::kFlowParameter});
    case Quantity::kEfficiencyTotalToStatic:
    case Quantity::kEfficiencyTotalToTotal: return Measures(unit, {Dimension::kRatio});
    case Quantity::kCorrectedSpeed: return Measures(unit, {Dimension::kRotationalSpeed, Dimension::kVelocity, Dimension::kRatio});
    default: return unit == "1";
  }
}

// The unit of the value that tells curves of a role apart: efficiency, or speed or vane opening.
bool UnitFits(const std::string& unit, CurveRole role) {
  if (role == CurveRole::kEfficiencyIsland) return Measures(unit, {Dimension::kRatio});
  if (role == CurveRole::kSpeedLine || role == CurveRole::kFlowLine || role == CurveRole::kEfficiencyLine)
    return Measures(unit, {Dimension::kRotationalSpeed, Dimension::kVelocity, Dimension::kRatio});
  return true;
}

CurveMeaning ReadMeaning(Node& node) {
  CurveMeaning meaning;
  meaning.role = node.Word("role", ParseCurveRole, kRoleWords);
  meaning.value = node.MaybeNumber("value");
  const auto unit = node.MaybeText("unit");
  if (unit) meaning.unit = ReadUnit(node, *unit);
  if (meaning.value && !unit) Refuse(node.PathOf("unit"), "is missing beside the value.");
  if (!meaning.value && unit) Refuse(node.PathOf("value"), "is missing beside the unit.");
  if (unit && !UnitFits(meaning.unit, meaning.role))
    Refuse(node.PathOf("unit"), fmt::format("\"{}\" does not fit a {}.", meaning.unit, CurveRoleName(meaning.role)));
  return meaning;
}

double Cross(Point2 a, Point2 b, Point2 c) { return (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x); }

SetFrame ReadSetFrame(Node& node) {
  SetFrame step;
  const auto corners = node.Places("corners_px", 4, 4);
  std::copy(corners.begin(), corners.end(), step.corners.begin());
  for (std::size_t i = 0; i < 4; ++i)
    if (!(Cross(step.corners[i], step.corners[(i + 1) % 4], step.corners[(i + 2) % 4]) > 25.0))
      Refuse(node.PathOf("corners_px"), "must go round the plot: top left, top right, bottom right, bottom left.");
  step.exact = node.Flag("exact");
  return step;
}

SetAxis ReadSetAxis(Node& node) {
  SetAxis step;
  const std::string side = node.Text("axis");
  if (side == "x")
    step.axis = AxisSide::kX;
  else if (side == "y")
    step.axis = AxisSide::kY;
  else if (side == "efficiency")
    step.axis = AxisSide::kRight;
  else
    Refuse(node.PathOf("axis"), fmt::format("\"{}\" is not known; use one of: x, y, efficiency.", side));
  step.quantity = node.MaybeWord("quantity", ParseQuantity, kQuantityWords);
  if (const auto unit = node.MaybeText("unit")) step.unit = ReadUnit(node, *unit);
  step.scale = node.MaybeWord("scale", ParseAxisScale, "linear, log");
  step.min = node.MaybeNumber("min");
  step.max = node.MaybeNumber("max");
  step.panel = node.MaybePlace("panel_px");
  if (step.min.has_value() != step.max.has_value())
    Refuse(node.PathOf(step.min ? "max" : "min"), "is missing: the two ends of an axis are given together.");
  if (step.min && *step.min == *step.max) Refuse(node.PathOf("max"), "must differ from min.");
  if (step.min && step.scale == AxisScale::kLog && !(*step.min > 0.0 && *step.max > 0.0))
    Refuse(node.PathOf("min"), "must be above 0 on a log axis, and max too.");
  if (step.quantity && step.unit && !UnitFits(*step.unit, *step.quantity))
    Refuse(node.PathOf("unit"), fmt::format("\"{}\" does not measure {}.", *step.unit, QuantityName(*step.quantity)));
  if (!step.quantity && !step.unit && !step.scale && !step.min)
    Refuse(node.PathOf("axis"), "nothing is set; give quantity, unit, scale, or min and max.");
  return step;
}

ReferenceConditions ReadConditions(Node& node, bool may_be_printed) {
  ReferenceConditions conditions;
  conditions.temperature_K = node.Number("temperature_K");
  conditions.pressure_Pa = node.Number("pressure_Pa");
  if (!(conditions.temperature_K > 150.0 && conditions.temperature_K < 500.0))
    Refuse(node.PathOf("temperature_K"), "must be an inlet temperature in kelvin (150 to 500).");
  if (!(conditions.pressure_Pa > 1e4 && conditions.pressure_Pa < 1e6))
    Refuse(node.PathOf("pressure_Pa"), "must be an absolute inlet pressure in pascal (10,000 to 1,000,000).");
  const auto basis = may_be_printed ? node.MaybeText("basis") : std::nullopt;
  if (basis && *basis != "printed" && *basis != "assumed")
    Refuse(node.PathOf("basis"), fmt::format("\"{}\" is not known; use one of: printed, assumed.", *basis));
  conditions.basis = may_be_printed && (!basis || *basis == "printed") ? ReferenceConditions::Basis::kPrinted : ReferenceConditions::Basis::kAssumed;
  return conditions;
}

RelabelCurve ReadRelabel(Node& node) {
  RelabelCurve step;
  step.curve = ReadCurve(node);
  step.role = node.MaybeWord("role", ParseCurveRole, kRoleWords);
  node.Need("value");
  step.value = node.MaybeNumber("value");
  const auto unit = node.MaybeText("unit");
  if (unit) step.unit = ReadUnit(node, *unit);
  if (step.value && !unit) Refuse(node.PathOf("unit"), "is missing beside the value.");
  if (!step.value && unit) Refuse(node.PathOf("unit"), "stands beside no value; leave it out.");
  if (step.role && unit && !UnitFits(step.unit, *step.role))
    Refuse(node.PathOf("unit"), fmt::format("\"{}\" does not fit a {}.", step.unit, CurveRoleName(*step.role)));
  return step;
}

constexpr std::size_t kMostPoints = 100'000;

CorrectionStep ReadStep(Node& node) {
  const std::string word = node.Text("do");
  if (word == "set_frame") return ReadSetFrame(node);
  if (word == "set_axis") return ReadSetAxis(node);
  if (word == "add_curve") {
    AddCurve step{ReadMeaning(node), node.Flag("closed"), {}, {}};
    step.points = node.Places("points_px", step.closed ? 3 : 2, kMostPoints);
    step.instead_of = MaybeCurves(node, "instead_of");
    return step;
  }
  if (word == "trace_curve") {
    TraceCurve step{ReadMeaning(node), node.Flag("closed"), {}, {}};
    step.through = node.Places("through_px", step.closed ? 3 : 2, 1000);
    step.instead_of = MaybeCurves(node, "instead_of");
    return step;
  }
  if (word == "cut_curve") return CutCurve{ReadCurve(node)};
  if (word == "join_curves") {
    JoinCurves step;
    step.curve = ReadCurve(node);
    step.with = ReadCurve(node, "with");
    return step;
  }
  if (word == "delete_curve") return DeleteCurve{ReadCurve(node)};
  if (word == "relabel_curve") return ReadRelabel(node);
  if (word == "set_role") {
    SetRole step;
    step.curve = ReadCurve(node);
    step.role = node.Word("role", ParseCurveRole, kRoleWords);
    return step;
  }
  if (word == "accept_curve") return AcceptCurve{ReadCurve(node)};
  if (word == "set_reference") return SetReference{ReadConditions(node, true)};
  if (word == "set_title") return SetTitle{node.Text("title")};
  Refuse(node.PathOf("do"),
         fmt::format("\"{}\" is not a correction that is known; use one of: set_frame, set_axis, add_curve, trace_curve, cut_curve, join_curves, "
                     "delete_curve, relabel_curve, set_role, accept_curve, set_reference, set_title.",
                     word));
}

RecipeSettings ReadSettings(const Json& json) {
  Node node(json, "settings");
  RecipeSettings settings;
  settings.kind = node.MaybeWord("kind", ParseMapKind, "compressor, turbine");
  if (const auto page = node.MaybeNumber("page")) {
    if (*page < 1.0 || *page > 100000.0 || *page != std::floor(*page)) Refuse("settings.page", "must be a whole number from 1.");
    settings.page = static_cast<int>(*page);
  }
  settings.dpi = node.MaybeNumber("dpi");
  if (settings.dpi && !(*settings.dpi >= 72.0 && *settings.dpi <= 1200.0)) Refuse("settings.dpi", "must lie between 72 and 1200.");
  if (const Json* conditions = node.Find("assumed_reference")) {
    Node inner(*conditions, "settings.assumed_reference");
    settings.assumed_reference = ReadConditions(inner, false);
    inner.Finish();
  }
  node.Finish();
  return settings;
}

Recipe ReadRecipe(const Json& json) {
  Node node(json, "");
  Recipe recipe;
  const double schema = node.Number("recipe");
  if (schema < 1.0 || schema != std::floor(schema)) Refuse("recipe", "must be the schema's number, 1.");
  if (schema > kRecipeSchema)
    Refuse("recipe", fmt::format("schema {} was written by a newer version; this one reads up to {}.", schema, kRecipeSchema));
  if (const Json* settings = node.Find("settings")) recipe.settings = ReadSettings(*settings);
  if (const Json* corrections = node.Find("corrections")) {
    if (!corrections->is_array()) Refuse("corrections", "must be a list.");
    for (std::size_t i = 0; i < corrections->size(); ++i) {
      Node step((*corrections)[i], fmt::format("corrections[{}]", i));
      Correction correction{ReadStep(step), {}};
      correction.note = step.MaybeText("note").value_or("");
      step.Finish();
      recipe.corrections.push_back(std::move(correction));
    }
  }
  node.Finish();
  return recipe;
}

}  // namespace

std::string RecipePlaceInWords(std::string_view place) {
  constexpr std::string_view kList = "corrections[";
  std::string words;
  if (place.starts_with(kList)) {
    place.remove_prefix(kList.size() - 1);
    words = "correction";
  }
  const char* before = words.empty() ? ", entry " : " ";
  while (!place.empty()) {
    std::size_t index = 0;
    const std::size_t close = place.find(']');
    if (place.front() == '[' && close != std::string_view::npos &&
        std::from_chars(place.data() + 1, place.data() + close, index).ptr == place.data() + close) {
      words += before + std::to_string(index + 1);
      before = ", entry ";
      place.remove_prefix(close + 1);
    } else if (place.front() == '.') {
      words += ", ";
      place.remove_prefix(1);
    } else {
      words += place.front();
      place.remove_prefix(1);
    }
  }
  return words;
}

Result<Recipe> ParseRecipe(std::string_view text) {
  try {
    return ReadRecipe(Json::parse(text));
  } catch (const Fault& fault) {
    return std::unexpected(fault.error);
  } catch (const Json::parse_error& error) {
    return Fail(ErrorCode::kBadRecipe, fmt::format("is not JSON; the text breaks near byte {}.", error.byte), "recipe");
  } catch (const Json::exception&) {
    return Fail(ErrorCode::kBadRecipe, "is not JSON that can be used.", "recipe");
  }
}

}  // namespace islebook
