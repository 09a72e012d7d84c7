#include "mapstore/map/map_document.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <utility>

#include <nlohmann/json.hpp>

#include "mapstore/map/strict_json.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;

// Thrown and caught inside this file only: carries the first thing wrong out of the nested readers.
struct Trouble {
  Error error;
};

[[noreturn]] void Throw(ErrorCode code, const std::string& place, const std::string& what) { throw Trouble{Error{code, place + " " + what, place}}; }
[[noreturn]] void Malformed(const std::string& place, const std::string& what) { Throw(ErrorCode::kMalformedDocument, place, what); }

std::string Quoted(std::string text) {
  if (text.size() > 60) text = text.substr(0, 57) + "...";
  return "\"" + text + "\"";
}

// One JSON value and where it stands.
class Node {
 public:
  Node(const Json& json, std::string place) : json_(json), place_(std::move(place)) {}

  const std::string& place() const { return place_; }
  const Json& json() const { return json_; }

  // The member of that name; nullopt where it is absent or null.
  std::optional<Node> Find(const char* key) const {
    const auto found = json_.find(key);
    if (found == json_.end() || found->is_null()) return std::nullopt;
    return Node(*found, place_.empty() ? key : place_ + "." + key);
  }
  Node Get(const char* key) const {
    if (auto node = Find(key)) return *node;
    const std::string place = place_.empty() ? key : place_ + "." + key;
    Malformed(place, json_.contains(key) ? "is null, but a value is needed." : "is missing.");
  }
  const Node& Object() const {
    if (!json_.is_object()) Malformed(place_, "must be an object.");
    return *this;
  }
  std::string Text() const {
    if (!json_.is_string()) Malformed(place_, "must be text.");
    return json_.get<std::string>();
  }
  double Number() const {
    if (!json_.is_number()) Malformed(place_, "must be a number.");
    return json_.get<double>();
  }
  int Integer() const {
    const double value = Number();
    if (value != std::floor(value) || std::fabs(value) > 2e9) Malformed(place_, "must be a whole number.");
    return static_cast<int>(value);
  }
  bool Flag() const {
    if (!json_.is_boolean()) Malformed(place_, "must be true or false.");
    return json_.get<bool>();
  }
  std::vector<Node> Items() const {
    if (!json_.is_array()) Malformed(place_, "must be a list.");
    std::vector<Node> items;
    items.reserve(json_.size());
    for (std::size_t i = 0; i < json_.size(); ++i) items.emplace_back(json_[i], place_ + "[" + std::to_string(i) + "]");
    return items;
  }
  std::vector<std::string> Texts() const {
    std::vector<std::string> texts;
    for (const Node& item : Items()) texts.push_back(item.Text());
    return texts;
  }
  std::vector<double> Numbers() const {
    std::vector<double> numbers;
    for (const Node& item : Items()) numbers.push_back(item.Number());
    return numbers;
  }
  // [[a, b], ...]; places are made only for what is wrong, as these lists are long.
  std::vector<Point2> Points() const {
    if (!json_.is_array()) Malformed(place_, "must be a list of pairs.");
    std::vector<Point2> points;
    points.reserve(json_.size());
    for (std::size_t i = 0; i < json_.size(); ++i) {
      const Json& pair = json_[i];
      if (!pair.is_array() || pair.size() != 2 || !pair[0].is_number() || !pair[1].is_number())
        Malformed(place_ + "[" + std::to_string(i) + "]", "must be a pair of numbers.");
      points.push_back({pair[0].get<double>(), pair[1].get<double>()});
    }
    return points;
  }

 private:
  const Json& json_;
  std::string place_;
};

template <typename Parse>
auto Word(const Node& node, Parse parse, const char* what) {
  const std::string word = node.Text();
  if (auto value = parse(word)) return *value;
  Malformed(node.place(), "is " + Quoted(word) + ", which is no " + what + " that this program knows.");
}

std::string ReadUnit(const Node& node) {
  const std::string unit = node.Text();
  if (IsDocumentUnit(unit)) return unit;
  // Another spelling of one of them is understood; another size is not, as values would have to change with it.
  if (const auto parsed = ParseUnit(unit); parsed && !parsed->repaired && IsDocumentUnit(parsed->spelling)) return parsed->spelling;
  Throw(ErrorCode::kUnknownUnit, node.place(),
        "is " + Quoted(unit) + ", which is not a unit of map documents; spell it as in map_schema.json, for example lb/min, kg/s or rpm.");
}

Axis ReadAxis(const Node& node) {
  node.Object();
  Axis axis;
  axis.quantity = Word(node.Get("quantity"), ParseQuantity, "quantity");
  axis.unit = ReadUnit(node.Get("unit"));
  if (auto scale = node.Find("scale")) axis.scale = Word(*scale, ParseAxisScale, "axis scale");
  axis.min = node.Get("min").Number();
  axis.max = node.Get("max").Number();
  return axis;
}

ReferenceConditions ReadReferenceConditions(const Node& node) {
  node.Object();
  ReferenceConditions conditions;
  conditions.temperature_K = node.Get("temperature_K").Number();
  conditions.pressure_Pa = node.Get("pressure_Pa").Number();
  if (auto basis = node.Find("basis")) {
    const std::string word = basis->Text();
    if (word != "printed" && word != "assumed") Malformed(basis->place(), "is " + Quoted(word) + "; it must be \"printed\" or \"assumed\".");
    conditions.basis = word == "printed" ? ReferenceConditions::Basis::kPrinted : ReferenceConditions::Basis::kAssumed;
  }
  return conditions;
}

Curve ReadCurve(const Node& node) {
  node.Object();
  Curve curve;
  curve.role = Word(node.Get("role"), ParseCurveRole, "curve role");
  if (auto value = node.Find("value")) curve.value = value->Number();
  if (auto unit = node.Find("unit"); unit && unit->Text() != "") curve.unit = ReadUnit(*unit);
  if (auto closed = node.Find("closed")) curve.closed = closed->Flag();
  curve.points = node.Get("points").Points();
  if (auto points = node.Find("points_px")) curve.points_px = points->Points();
  if (auto sigma = node.Find("sigma")) curve.sigma = sigma->Points();
  if (auto confidence = node.Find("confidence")) curve.confidence = confidence->Number();
  if (auto review = node.Find("needs_review")) curve.needs_review = review->Flag();
  if (auto reasons = node.Find("reasons")) curve.reasons = reasons->Texts();
  return curve;
}

Calibration ReadCalibration(const Node& node) {
  node.Object();
  Calibration calibration;
  if (auto model = node.Find("model")) calibration.model = model->Text();
  if (auto frame = node.Find("frame_px")) {
    const std::vector<Point2> corners = frame->Points();
    if (corners.size() != 4) Malformed(frame->place(), "must hold the four corners of the plot frame.");
    std::ranges::copy(corners, calibration.frame_px.begin());
  }
  if (auto parameters = node.Find("parameters")) calibration.parameters = parameters->Numbers();
  if (auto residual = node.Find("residual_px")) calibration.residual_px = residual->Number();
  if (auto sigma = node.Find("axis_sigma")) {
    const std::vector<double> pair = sigma->Numbers();
    if (pair.size() != 2) Malformed(sigma->place(), "must hold two numbers, for x and y.");
    calibration.axis_sigma = {pair[0], pair[1]};
  }
  if (auto evidence = node.Find("evidence")) calibration.evidence = evidence->Texts();
  return calibration;
}

SheetSource ReadSource(const Node& node) {
  node.Object();
  SheetSource source;
  if (auto file = node.Find("file")) source.file = file->Text();
  if (auto sha256 = node.Find("sha256")) source.sha256 = sha256->Text();
  if (auto size = node.Find("size_px")) {
    const std::vector<Node> items = size->Items();
    if (items.size() != 2) Malformed(size->place(), "must hold width and height.");
    source.size_px = {items[0].Integer(), items[1].Integer()};
  }
  if (auto page = node.Find("page")) source.page = page->Integer();
  return source;
}

PerformanceMap ReadMap(const Node& root) {
  if (!root.json().is_object()) throw Trouble{Error{ErrorCode::kMalformedDocument, "is not a map document: the JSON is no object.", ""}};
  const auto document = root.Find("document");
  if (!document || !document->json().is_string() || document->Text() != "performance-map")
    throw Trouble{Error{ErrorCode::kMalformedDocument, "is not a map document: its \"document\" is not \"performance-map\".", "document"}};
  const int schema = root.Get("schema").Integer();
  if (schema < 0) Malformed("schema", "must not be negative.");
  if (schema > kMapSchema)
    Throw(ErrorCode::kUnsupportedSchema, "schema",
          "is " + std::to_string(schema) + ": the document was written by a newer version, this one reads up to schema " +
              std::to_string(kMapSchema) + "; update the program to open it.");

  PerformanceMap map;
  if (auto kind = root.Find("kind")) map.kind = Word(*kind, ParseMapKind, "kind of map");
  if (auto title = root.Find("title")) map.title = title->Text();
  if (auto axes = root.Find("axes")) {
    axes->Object();
    if (auto x = axes->Find("x")) map.x = ReadAxis(*x);
    if (auto y = axes->Find("y")) map.y = ReadAxis(*y);
    if (auto efficiency = axes->Find("efficiency")) map.efficiency = ReadAxis(*efficiency);
  }
  if (auto conditions = root.Find("reference_conditions")) map.reference_conditions = ReadReferenceConditions(*conditions);
  for (const Node& curve : root.Get("curves").Items()) map.curves.push_back(ReadCurve(curve));
  if (auto calibration = root.Find("calibration")) map.calibration = ReadCalibration(*calibration);
  if (auto source = root.Find("source")) map.source = ReadSource(*source);
  if (auto recipe = root.Find("recipe")) map.recipe_json = recipe->Object().json().dump();
  if (auto doubts = root.Find("needs_review")) map.needs_review = doubts->Texts();
  return map;
}

}  // namespace

Result<PerformanceMap> ParseMapDocument(std::string_view text) {
  try {
    const auto json = ParseStrictJson(text);
    if (!json) return std::unexpected(json.error());
    PerformanceMap map = ReadMap(Node(*json, ""));
    if (auto sane = CheckWritable(map); !sane) return std::unexpected(sane.error());
    return map;
  } catch (const Trouble& trouble) {
    return std::unexpected(trouble.error);
  } catch (const Json::exception& e) {
    return Fail(ErrorCode::kInternal, std::string("the JSON library failed: ") + e.what());
  }
}

Result<PerformanceMap> ReadMapFile(const std::filesystem::path& file) {
  auto text = ReadFileContents(file, std::uintmax_t{256} << 20);
  if (!text) return std::unexpected(text.error());
  auto map = ParseMapDocument(*text);
  if (!map) return Fail(map.error().code, map.error().message, file.string());
  return map;
}

Result<void> WriteMapFile(const std::filesystem::path& file, const PerformanceMap& map) {
  if (auto sane = CheckWritable(map); !sane) return Fail(sane.error().code, "cannot be written: " + sane.error().message, file.string());
  return ReplaceFileContents(file, WriteMapDocument(map));
}

}  // namespace islebook
