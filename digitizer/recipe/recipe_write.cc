#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "digitizer/recipe/recipe.h"

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;

template <typename... Ts>
struct Overloaded : Ts... {
  using Ts::operator()...;
};

// Whole numbers without a fraction, so that 90000 stays 90000.
Json Number(double value) {
  if (value == std::floor(value) && std::abs(value) < 9e15) return static_cast<std::int64_t>(value);
  return value;
}

Json Place(Point2 p) { return Json::array({Number(p.x), Number(p.y)}); }

template <typename Points>
Json Places(const Points& points) {
  Json list = Json::array();
  for (const Point2& p : points) list.push_back(Place(p));
  return list;
}

Json Near(const CurveNear& curve) {
  Json json = {{"near_px", Place(curve.near)}};
  if (curve.role) json["role"] = CurveRoleName(*curve.role);
  if (curve.value) json["value"] = Number(*curve.value);
  return json;
}

Json Near(const std::vector<CurveNear>& curves) {
  if (curves.size() == 1) return Near(curves.front());
  Json list = Json::array();
  for (const CurveNear& curve : curves) list.push_back(Near(curve));
  return list;
}

void WriteMeaning(Json& json, const CurveMeaning& meaning, bool closed) {
  json["role"] = CurveRoleName(meaning.role);
  if (meaning.value) {
    json["value"] = Number(*meaning.value);
    json["unit"] = meaning.unit;
  }
  if (closed) json["closed"] = true;
}

void WriteConditions(Json& json, const ReferenceConditions& conditions) {
  json["temperature_K"] = Number(conditions.temperature_K);
  json["pressure_Pa"] = Number(conditions.pressure_Pa);
}

const char* SideName(AxisSide side) {
  switch (side) {
    case AxisSide::kX: return "x";
    case AxisSide::kY: return "y";
    case AxisSide::kRight: return "efficiency";
  }
  return "";
}

void WriteStep(Json& json, const CorrectionStep& step) {
  std::visit(Overloaded{
                 [&](const SetFrame& s) {
                   json["corners_px"] = Places(s.corners);
                   if (s.exact) json["exact"] = true;
                 },
                 [&](const SetAxis& s) {
                   json["axis"] = SideName(s.axis);
                   if (s.quantity) json["quantity"] = QuantityName(*s.quantity);
                   if (s.unit) json["unit"] = *s.unit;
                   if (s.scale) json["scale"] = AxisScaleName(*s.scale);
                   if (s.min) json["min"] = Number(*s.min);
                   if (s.max) json["max"] = Number(*s.max);
                   if (s.panel) json["panel_px"] = Place(*s.panel);
                 },
                 [&](const AddCurve& s) {
                   WriteMeaning(json, s.meaning, s.closed);
                   json["points_px"] = Places(s.points);
                   if (!s.instead_of.empty()) json["instead_of"] = Near(s.instead_of);
                 },
                 [&](const TraceCurve& s) {
                   WriteMeaning(json, s.meaning, s.closed);
                   json["through_px"] = Places(s.through);
                   if (!s.instead_of.empty()) json["instead_of"] = Near(s.instead_of);
                 },
                 [&](const CutCurve& s) { json["curve"] = Near(s.curve); },
                 [&](const JoinCurves& s) {
                   json["curve"] = Near(s.curve);
                   json["with"] = Near(s.with);
                 },
                 [&](const DeleteCurve& s) { json["curve"] = Near(s.curve); },
                 [&](const RelabelCurve& s) {
                   json["curve"] = Near(s.curve);
                   if (s.role) json["role"] = CurveRoleName(*s.role);
                   json["value"] = s.value ? Number(*s.value) : Json();
                   if (s.value) json["unit"] = s.unit;
                 },
                 [&](const SetRole& s) {
                   json["curve"] = Near(s.curve);
                   json["role"] = CurveRoleName(s.role);
                 },
                 [&](const AcceptCurve& s) { json["curve"] = Near(s.curve); },
                 [&](const SetReference& s) {
                   WriteConditions(json, s.conditions);
                   json["basis"] = s.conditions.basis == ReferenceConditions::Basis::kPrinted ? "printed" : "assumed";
                 },
                 [&](const SetTitle& s) { json["title"] = s.title; },
             },
             step);
}

std::string AtPlace(const CurveNear& curve) { return fmt::format("the curve near ({:.0f}, {:.0f})", curve.near.x, curve.near.y); }

std::string ValueText(const std::optional<double>& value, const std::string& unit) {
  if (!value) return "no value";
  return unit == "1" ? fmt::format("{:g}", *value) : fmt::format("{:g} {}", *value, unit);
}

std::string RoleText(CurveRole role) {
  std::string text = CurveRoleName(role);
  for (char& c : text)
    if (c == '_') c = ' ';
  return text;
}

}  // namespace

std::string WriteRecipe(const Recipe& recipe) {
  Json settings = Json::object();
  if (recipe.settings.kind) settings["kind"] = MapKindName(*recipe.settings.kind);
  if (recipe.settings.page) settings["page"] = *recipe.settings.page;
  if (recipe.settings.dpi) settings["dpi"] = Number(*recipe.settings.dpi);
  if (recipe.settings.assumed_reference) WriteConditions(settings["assumed_reference"], *recipe.settings.assumed_reference);
  Json corrections = Json::array();
  for (const Correction& correction : recipe.corrections) {
    Json json = {{"do", StepName(correction.step)}};
    WriteStep(json, correction.step);
    if (!correction.note.empty()) json["note"] = correction.note;
    corrections.push_back(std::move(json));
  }
  const Json document = {{"recipe", kRecipeSchema}, {"settings", settings}, {"corrections", corrections}};
  return document.dump(-1, ' ', false, Json::error_handler_t::replace);
}

const char* StepName(const CorrectionStep& step) {
  return std::visit(Overloaded{
                        [](const SetFrame&) { return "set_frame"; },
                        [](const SetAxis&) { return "set_axis"; },
                        [](const AddCurve&) { return "add_curve"; },
                        [](const TraceCurve&) { return "trace_curve"; },
                        [](const CutCurve&) { return "cut_curve"; },
                        [](const JoinCurves&) { return "join_curves"; },
                        [](const DeleteCurve&) { return "delete_curve"; },
                        [](const RelabelCurve&) { return "relabel_curve"; },
                        [](const SetRole&) { return "set_role"; },
                        [](const AcceptCurve&) { return "accept_curve"; },
                        [](const SetReference&) { return "set_reference"; },
                        [](const SetTitle&) { return "set_title"; },
                    },
                    step);
}

std::string DescribeStep(const CorrectionStep& step) {
  return std::visit(Overloaded{
                        [](const SetFrame&) { return std::string("set the plot's corners"); },
                        [](const SetAxis& s) { return fmt::format("set the {} axis", SideName(s.axis)); },
                        [](const AddCurve& s) {
                          return fmt::format("add a {} from ({:.0f}, {:.0f})", RoleText(s.meaning.role), s.points.front().x, s.points.front().y);
                        },
                        [](const TraceCurve& s) {
                          return fmt::format("trace a {} from ({:.0f}, {:.0f})", RoleText(s.meaning.role), s.through.front().x, s.through.front().y);
                        },
                        [](const CutCurve& s) { return "cut " + AtPlace(s.curve); },
                        [](const JoinCurves& s) { return "join " + AtPlace(s.curve) + " with " + AtPlace(s.with); },
                        [](const DeleteCurve& s) { return "delete " + AtPlace(s.curve); },
                        [](const RelabelCurve& s) {
                          return "label " + AtPlace(s.curve) + (s.role ? " as " + RoleText(*s.role) : std::string()) + " with " +
                                 ValueText(s.value, s.unit);
                        },
                        [](const SetRole& s) { return "make " + AtPlace(s.curve) + " a " + RoleText(s.role); },
                        [](const AcceptCurve& s) { return "accept " + AtPlace(s.curve); },
                        [](const SetReference&) { return std::string("set the reference conditions"); },
                        [](const SetTitle&) { return std::string("set the title"); },
                    },
                    step);
}

bool IsAboutAxes(const CorrectionStep& step) { return std::holds_alternative<SetFrame>(step) || std::holds_alternative<SetAxis>(step); }

bool IsAboutCurves(const CorrectionStep& step) {
  return !IsAboutAxes(step) && !std::holds_alternative<SetReference>(step) && !std::holds_alternative<SetTitle>(step);
}

}  // namespace islebook
