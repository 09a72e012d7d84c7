#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/json_text.h"
#include "mapstore/map/map_document.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

constexpr int kPointDigits = 8;
constexpr int kPixelPlaces = 3;
constexpr int kSigmaDigits = 4;
constexpr std::size_t kPointsPerLine = 6;
constexpr const char* kRecipeDoubt = "The recipe of this map could not be kept: it was not a JSON object.";

// Far beyond anything a chart prints; what lies outside is damage, not data.
constexpr double kMaxAxisValue = 1e9;
constexpr double kMaxPixel = 1e6;

std::optional<std::string> CanonicalRecipe(const std::string& recipe_json) {
  if (recipe_json.empty()) return std::string();
  const auto parsed = nlohmann::ordered_json::parse(recipe_json, nullptr, false);
  if (!parsed.is_object()) return std::nullopt;
  return parsed.dump();
}

std::string PointList(const std::vector<Point2>& points, const std::string& indent) {
  std::string out = "[";
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (i > 0) out += i % kPointsPerLine == 0 ? ",\n" + indent : ", ";
    out += fmt::format("[{}, {}]", JsonNumber(points[i].x), JsonNumber(points[i].y));
  }
  return out + "]";
}

std::string TextList(const std::vector<std::string>& texts) {
  std::string out = "[";
  for (std::size_t i = 0; i < texts.size(); ++i) out += (i > 0 ? ", " : "") + JsonString(texts[i]);
  return out + "]";
}

template <typename Numbers>
std::string NumberList(const Numbers& numbers) {
  std::string out = "[";
  for (std::size_t i = 0; i < numbers.size(); ++i) out += (i > 0 ? ", " : "") + JsonNumber(numbers[i]);
  return out + "]";
}

std::string AxisObject(const std::optional<Axis>& axis) {
  if (!axis) return "null";
  return fmt::format(R"({{"quantity": {}, "unit": {}, "scale": {}, "min": {}, "max": {}}})", JsonString(QuantityName(axis->quantity)),
                     JsonString(axis->unit), JsonString(AxisScaleName(axis->scale)), JsonNumber(axis->min), JsonNumber(axis->max));
}

std::string CurveObject(const Curve& curve) {
  const std::string deeper = "        ";
  return fmt::format(R"(    {{
      "role": {}, "value": {}, "unit": {}, "closed": {},
      "points": {},
      "points_px": {},
      "sigma": {},
      "confidence": {}, "needs_review": {}, "reasons": {}
    }})",
                     JsonString(CurveRoleName(curve.role)), curve.value ? JsonNumber(*curve.value) : "null",
                     curve.unit.empty() ? "null" : JsonString(curve.unit), curve.closed, PointList(curve.points, deeper),
                     PointList(curve.points_px, deeper), PointList(curve.sigma, deeper), JsonNumber(curve.confidence), curve.needs_review,
                     TextList(curve.reasons));
}

std::string CalibrationObject(const Calibration& calibration) {
  return fmt::format(R"({{
    "model": {},
    "frame_px": {},
    "parameters": {},
    "residual_px": {},
    "axis_sigma": {},
    "evidence": {}
  }})",
                     JsonString(calibration.model), PointList({calibration.frame_px.begin(), calibration.frame_px.end()}, "      "),
                     NumberList(calibration.parameters), JsonNumber(calibration.residual_px), NumberList(calibration.axis_sigma),
                     TextList(calibration.evidence));
}

std::string SourceObject(const SheetSource& source) {
  return fmt::format(R"({{"file": {}, "sha256": {}, "size_px": [{}, {}], "page": {}}})", JsonString(source.file), JsonString(source.sha256),
                     source.size_px[0], source.size_px[1], source.page);
}

void CleanTexts(std::vector<std::string>& texts) {
  for (std::string& text : texts) text = ValidUtf8(text);
}

// The first thing wrong, as place and complaint.
class Checker {
 public:
  bool ok() const { return !error_; }
  Result<void> result() const {
    if (error_) return std::unexpected(*error_);
    return {};
  }
  void Require(bool good, const std::string& place, const char* complaint) {
    if (!good && !error_) error_ = Error{ErrorCode::kMalformedDocument, place + " " + complaint, place};
  }
  void Within(double value, double low, double high, const std::string& place, const char* complaint) {
    Require(value >= low && value <= high, place, complaint);
  }
  void Points(const std::vector<Point2>& points, double low, double high, const std::string& place, const char* complaint) {
    for (std::size_t i = 0; i < points.size() && ok(); ++i)
      if (!(points[i].x >= low && points[i].x <= high && points[i].y >= low && points[i].y <= high))
        Require(false, place + "[" + std::to_string(i) + "]", complaint);
  }

 private:
  std::optional<Error> error_;
};

void CheckAxis(Checker& check, const std::optional<Axis>& axis, const std::string& place) {
  if (!axis) return;
  check.Require(IsDocumentUnit(axis->unit), place + ".unit", "is not a unit of map documents.");
  check.Within(axis->min, -kMaxAxisValue, kMaxAxisValue, place + ".min", "is no value that an axis can have.");
  check.Within(axis->max, -kMaxAxisValue, kMaxAxisValue, place + ".max", "is no value that an axis can have.");
  check.Require(axis->min != axis->max, place, "begins and ends at the same value.");
  check.Require(axis->scale == AxisScale::kLinear || (axis->min > 0.0 && axis->max > 0.0), place, "is logarithmic, so both ends must be above zero.");
}

void CheckCurve(Checker& check, const Curve& curve, const std::string& place) {
  if (curve.value) check.Within(*curve.value, -kMaxAxisValue, kMaxAxisValue, place + ".value", "is no value that a curve can carry.");
  check.Require(curve.unit.empty() || IsDocumentUnit(curve.unit), place + ".unit", "is not a unit of map documents.");
  check.Require(!curve.points.empty(), place + ".points", "is empty.");
  check.Points(curve.points, -kMaxAxisValue, kMaxAxisValue, place + ".points", "is no pair of values that axes can have.");
  check.Require(curve.points_px.empty() || curve.points_px.size() == curve.points.size(), place + ".points_px", "must have as many pairs as points.");
  check.Points(curve.points_px, -kMaxPixel, kMaxPixel, place + ".points_px", "is no place on a sheet.");
  check.Require(curve.sigma.empty() || curve.sigma.size() == curve.points.size(), place + ".sigma", "must have as many pairs as points.");
  check.Points(curve.sigma, 0.0, kMaxAxisValue, place + ".sigma", "is no pair of uncertainties (zero or more).");
  check.Within(curve.confidence, 0.0, 1.0, place + ".confidence", "must lie between 0 and 1.");
}

}  // namespace

PerformanceMap AsWritten(const PerformanceMap& map) {
  PerformanceMap out = map;
  out.title = ValidUtf8(out.title);
  for (Curve& curve : out.curves) {
    for (Point2& p : curve.points) p = {RoundToDigits(p.x, kPointDigits), RoundToDigits(p.y, kPointDigits)};
    for (Point2& p : curve.points_px) p = {RoundToPlaces(p.x, kPixelPlaces), RoundToPlaces(p.y, kPixelPlaces)};
    for (Point2& p : curve.sigma) p = {RoundToDigits(p.x, kSigmaDigits), RoundToDigits(p.y, kSigmaDigits)};
    curve.confidence = RoundToDigits(curve.confidence, kSigmaDigits);
    curve.unit = ValidUtf8(curve.unit);
    CleanTexts(curve.reasons);
  }
  CleanTexts(out.needs_review);
  if (out.calibration) {
    out.calibration->model = ValidUtf8(out.calibration->model);
    CleanTexts(out.calibration->evidence);
  }
  if (out.source) {
    out.source->file = ValidUtf8(out.source->file);
    out.source->sha256 = ValidUtf8(out.source->sha256);
  }
  if (auto recipe = CanonicalRecipe(out.recipe_json)) {
    out.recipe_json = *recipe;
  } else {
    out.recipe_json.clear();
    out.needs_review.emplace_back(kRecipeDoubt);
  }
  return out;
}

std::string WriteMapDocument(const PerformanceMap& unrounded) {
  const PerformanceMap map = AsWritten(unrounded);
  std::string out =
      fmt::format(R"({{
  "document": "performance-map",
  "schema": {},
  "kind": {},
  "title": {},
  "axes": {{
    "x": {},
    "y": {})",
                  kMapSchema, map.kind ? JsonString(MapKindName(*map.kind)) : "null", JsonString(map.title), AxisObject(map.x), AxisObject(map.y));
  if (map.efficiency) out += fmt::format(",\n    \"efficiency\": {}", AxisObject(map.efficiency));
  out += "\n  },\n  \"reference_conditions\": ";
  if (const auto& conditions = map.reference_conditions) {
    out += fmt::format(R"({{"temperature_K": {}, "pressure_Pa": {}, "basis": "{}"}})", JsonNumber(conditions->temperature_K),
                       JsonNumber(conditions->pressure_Pa), conditions->basis == ReferenceConditions::Basis::kPrinted ? "printed" : "assumed");
  } else {
    out += "null";
  }
  out += ",\n  \"curves\": [";
  for (std::size_t i = 0; i < map.curves.size(); ++i) {
    out += i > 0 ? ",\n" : "\n";
    out += CurveObject(map.curves[i]);
  }
  out += map.curves.empty() ? "],\n" : "\n  ],\n";
  out += fmt::format("  \"calibration\": {},\n  \"source\": {},\n  \"recipe\": {},\n  \"needs_review\": [",
                     map.calibration ? CalibrationObject(*map.calibration) : "null", map.source ? SourceObject(*map.source) : "null",
                     map.recipe_json.empty() ? "null" : map.recipe_json);
  for (std::size_t i = 0; i < map.needs_review.size(); ++i) {
    out += i > 0 ? ",\n    " : "\n    ";
    out += JsonString(map.needs_review[i]);
  }
  out += map.needs_review.empty() ? "]\n}\n" : "\n  ]\n}\n";
  return out;
}

Result<void> CheckWritable(const PerformanceMap& map) {
  Checker check;
  CheckAxis(check, map.x, "axes.x");
  CheckAxis(check, map.y, "axes.y");
  CheckAxis(check, map.efficiency, "axes.efficiency");
  if (const auto& conditions = map.reference_conditions) {
    check.Within(conditions->temperature_K, 1.0, 5000.0, "reference_conditions.temperature_K", "is no temperature that a map can refer to.");
    check.Within(conditions->pressure_Pa, 1.0, 1e8, "reference_conditions.pressure_Pa", "is no pressure that a map can refer to.");
  }
  for (std::size_t i = 0; i < map.curves.size() && check.ok(); ++i) CheckCurve(check, map.curves[i], "curves[" + std::to_string(i) + "]");
  if (const auto& calibration = map.calibration) {
    check.Points({calibration->frame_px.begin(), calibration->frame_px.end()}, -kMaxPixel, kMaxPixel, "calibration.frame_px",
                 "is no place on a sheet.");
    for (std::size_t i = 0; i < calibration->parameters.size(); ++i)
      check.Require(std::isfinite(calibration->parameters[i]), "calibration.parameters[" + std::to_string(i) + "]", "is not a finite number.");
    check.Within(calibration->residual_px, 0.0, kMaxPixel, "calibration.residual_px", "is no distance on a sheet.");
    for (std::size_t i = 0; i < 2; ++i)
      check.Within(calibration->axis_sigma[i], 0.0, 1e6, "calibration.axis_sigma[" + std::to_string(i) + "]", "is no uncertainty (zero or more).");
  }
  if (const auto& source = map.source) {
    for (const int size : source->size_px) check.Require(size >= 0 && size <= 1'000'000, "source.size_px", "is no size of a sheet.");
    check.Require(source->page >= 1 && source->page <= 1'000'000, "source.page", "must be 1 or more.");
  }
  return check.result();
}

}  // namespace islebook
