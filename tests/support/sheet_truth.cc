#include "tests/support/sheet_truth.h"

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>

#include <nlohmann/json.hpp>

namespace islebook::paint {
namespace {

using Json = nlohmann::ordered_json;

// The nearest number that is short in print.
double Printed(const char* format, double v) {
  char text[48];
  std::snprintf(text, sizeof text, format, v);
  return std::strtod(text, nullptr);
}
double Digits(double v) { return std::isfinite(v) ? Printed("%.7g", v) : 0.0; }  // axis units
double Pixels(double v) { return Printed("%.3f", v); }

Json Points(const std::vector<Point2>& points, bool pixels) {
  Json list = Json::array();
  for (const Point2& p : points) list.push_back(pixels ? Json{Pixels(p.x), Pixels(p.y)} : Json{Digits(p.x), Digits(p.y)});
  return list;
}

Json Corners(const std::array<Point2, 4>& corners) {
  Json list = Json::array();
  for (const Point2& p : corners) list.push_back(Json{Pixels(p.x), Pixels(p.y)});
  return list;
}

Json AxisJson(const Axis& axis) {
  return {{"quantity", QuantityName(axis.quantity)},
          {"unit", axis.unit},
          {"scale", AxisScaleName(axis.scale)},
          {"min", Digits(axis.min)},
          {"max", Digits(axis.max)}};
}

Axis ReadAxis(const Json& json) {
  Axis axis;
  axis.quantity = ParseQuantity(json.at("quantity").get<std::string>()).value();
  axis.unit = json.at("unit").get<std::string>();
  axis.scale = ParseAxisScale(json.value("scale", "linear")).value();
  axis.min = json.at("min").get<double>();
  axis.max = json.at("max").get<double>();
  return axis;
}

}  // namespace

void TrueMap::MovePixels(const std::function<Point2(Point2)>& move) {
  for (Point2& p : frame_px) p = move(p);
  if (efficiency_frame_px)
    for (Point2& p : *efficiency_frame_px) p = move(p);
  for (TrueCurve& curve : curves)
    for (Point2& p : curve.points_px) p = move(p);
}

PerformanceMap TrueMap::AsMap(const std::string& image_name) const {
  PerformanceMap map;
  map.kind = kind;
  map.title = title;
  map.x = x, map.y = y, map.efficiency = efficiency;
  map.reference_conditions = reference_conditions;
  map.source = SheetSource{image_name, "", {}, 1};
  for (const TrueCurve& t : curves) {
    Curve curve;
    curve.role = t.role, curve.value = t.value, curve.unit = t.unit, curve.closed = t.closed;
    curve.points = t.points, curve.points_px = t.points_px;
    map.curves.push_back(std::move(curve));
  }
  return map;
}

Result<void> WriteTruth(const std::filesystem::path& file, const std::string& name, const TrueMap& map, const SheetFacts& facts) {
  Json json;
  json["case"] = name;
  json["kind"] = MapKindName(map.kind);
  json["image"] = facts.image;
  json["size_px"] = facts.size_px;
  json["style"] = facts.style;
  json["renderer"] = "islebook map painter";
  Json parameters = Json::object();
  for (const auto& [key, value] : facts.wear_parameters) parameters[key] = Printed("%.6f", value);
  json["degradation"] = {{"class", facts.wear}, {"params", parameters}};
  json["printed"] = {{"title", map.title}, {"x_title", map.x_title}, {"y_title", map.y_title}, {"notes", map.notes}};
  json["axes"] = {{"x", AxisJson(map.x)}, {"y", AxisJson(map.y)}};
  if (map.efficiency) json["axes"]["efficiency"] = AxisJson(*map.efficiency);
  if (map.reference_conditions)
    json["reference_conditions"] = {{"temperature_K", map.reference_conditions->temperature_K},
                                    {"pressure_Pa", map.reference_conditions->pressure_Pa}};
  else
    json["reference_conditions"] = nullptr;
  json["frame_px"] = Corners(map.frame_px);
  if (map.efficiency_frame_px) json["frame_efficiency_px"] = Corners(*map.efficiency_frame_px);
  json["line_width_px"] = Pixels(map.line_width_px);
  json["curves"] = Json::array();
  for (const TrueCurve& t : map.curves) {
    Json curve;
    curve["role"] = CurveRoleName(t.role);
    curve["value"] = t.value ? Json(Digits(*t.value)) : Json();
    curve["unit"] = t.value ? Json(t.unit) : Json();
    curve["closed"] = t.closed;
    curve["axes"] = t.on_efficiency_axis ? "efficiency" : "main";
    curve["printed_label"] = t.printed_label ? Json(*t.printed_label) : Json();
    curve["points"] = Points(t.points, false);
    curve["points_px"] = Points(t.points_px, true);
    json["curves"].push_back(std::move(curve));
  }
  json["field_samples"] = Json::array();
  for (const FieldSample& s : map.field_samples) {
    Json sample = {{"x", Digits(s.x)}, {"y", Digits(s.y)}, {"speed", Digits(s.speed)}, {"efficiency", Digits(s.efficiency)}};
    json["field_samples"].push_back(std::move(sample));
  }
  std::ofstream out(file, std::ios::binary);
  out << json.dump() << '\n';
  if (!out.flush()) return Fail(ErrorCode::kCannotWrite, "The truth file cannot be written.", file.string());
  return {};
}

Result<TrueMap> ReadTruth(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in) return Fail(ErrorCode::kCannotRead, "The truth file cannot be read.", file.string());
  try {
    const Json json = Json::parse(in);
    TrueMap map;
    map.kind = ParseMapKind(json.at("kind").get<std::string>()).value();
    const Json& printed = json.at("printed");
    const auto text = [&](const char* key) {
      return printed.contains(key) && printed[key].is_string() ? printed[key].get<std::string>() : std::string();
    };
    map.title = text("title"), map.x_title = text("x_title"), map.y_title = text("y_title");
    map.x = ReadAxis(json.at("axes").at("x")), map.y = ReadAxis(json.at("axes").at("y"));
    if (json.at("axes").contains("efficiency")) map.efficiency = ReadAxis(json["axes"]["efficiency"]);
    if (const Json& r = json.at("reference_conditions"); !r.is_null())
      map.reference_conditions =
          ReferenceConditions{r.at("temperature_K").get<double>(), r.at("pressure_Pa").get<double>(), ReferenceConditions::Basis::kPrinted};
    const auto corners = [](const Json& list) {
      std::array<Point2, 4> out;
      for (std::size_t i = 0; i < 4; ++i) out[i] = {list.at(i).at(0).get<double>(), list.at(i).at(1).get<double>()};
      return out;
    };
    map.frame_px = corners(json.at("frame_px"));
    if (json.contains("frame_efficiency_px") && !json["frame_efficiency_px"].is_null())
      map.efficiency_frame_px = corners(json["frame_efficiency_px"]);
    map.line_width_px = json.value("line_width_px", 2.0);
    for (const Json& c : json.at("curves")) {
      TrueCurve curve;
      curve.role = ParseCurveRole(c.at("role").get<std::string>()).value();
      if (!c.at("value").is_null()) curve.value = c["value"].get<double>(), curve.unit = c.at("unit").get<std::string>();
      curve.closed = c.at("closed").get<bool>();
      curve.on_efficiency_axis = c.value("axes", "main") == "efficiency";
      if (!c.at("printed_label").is_null()) curve.printed_label = c["printed_label"].get<std::string>();
      for (const Json& p : c.at("points")) curve.points.push_back({p.at(0).get<double>(), p.at(1).get<double>()});
      for (const Json& p : c.at("points_px")) curve.points_px.push_back({p.at(0).get<double>(), p.at(1).get<double>()});
      map.curves.push_back(std::move(curve));
    }
    for (const Json& s : json.value("field_samples", Json::array()))
      map.field_samples.push_back({s.at("x").get<double>(), s.at("y").get<double>(), s.value("speed", 0.0), s.value("efficiency", 0.0)});
    return map;
  } catch (const std::exception& e) {
    return Fail(ErrorCode::kMalformedDocument, std::string("The truth file is not as expected: ") + e.what(), file.string());
  }
}

void Thin(TrueCurve& curve, double tolerance) {
  const std::vector<Point2>& p = curve.points_px;
  if (p.size() < 4) return;
  std::vector<bool> keep(p.size(), false);
  const std::size_t middle = curve.closed ? p.size() / 2 : p.size() - 1;
  keep.front() = keep[middle] = keep.back() = true;
  std::vector<std::pair<std::size_t, std::size_t>> spans{{0, middle}};
  if (middle + 1 < p.size()) spans.push_back({middle, p.size() - 1});
  while (!spans.empty()) {
    const auto [from, to] = spans.back();
    spans.pop_back();
    const double dx = p[to].x - p[from].x, dy = p[to].y - p[from].y, length = std::hypot(dx, dy);
    double worst = 0.0;
    std::size_t at = from;
    for (std::size_t i = from + 1; i < to; ++i) {
      const double away = length > 1e-9 ? std::abs(dx * (p[i].y - p[from].y) - dy * (p[i].x - p[from].x)) / length
                                        : std::hypot(p[i].x - p[from].x, p[i].y - p[from].y);
      if (away > worst) worst = away, at = i;
    }
    // Long straight runs keep some points too, so that a bent page cannot bow them unseen.
    if (worst <= tolerance && length > 24 && to - from > 1) at = (from + to) / 2, worst = tolerance * 2;
    if (worst > tolerance) {
      keep[at] = true;
      spans.push_back({from, at}), spans.push_back({at, to});
    }
  }
  std::vector<Point2> points, points_px;
  for (std::size_t i = 0; i < p.size(); ++i) {
    if (!keep[i]) continue;
    points.push_back(curve.points[i]), points_px.push_back(p[i]);
  }
  curve.points = std::move(points), curve.points_px = std::move(points_px);
}

}  // namespace islebook::paint
