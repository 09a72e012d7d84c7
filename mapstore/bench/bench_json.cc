#include "mapstore/bench/bench_json.h"

#include <cmath>

#include <nlohmann/json.hpp>

#include "mapstore/bench/verdicts.h"

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;

Json Optional(const std::optional<double>& value) { return value && std::isfinite(*value) ? Json(*value) : Json(nullptr); }

Json Texts(const std::vector<std::string>& texts) {
  Json list = Json::array();
  for (const std::string& text : texts) list.push_back(text);
  return list;
}

Json Verdicts(const std::vector<Verdict>& verdicts) {
  Json list = Json::array();
  for (const Verdict& verdict : verdicts)
    list.push_back({{"what", VerdictName(verdict.kind)},
                    {"grade", GradeName(verdict.grade)},
                    {"value", Optional(verdict.value)},
                    {"sigma", Optional(verdict.sigma)},
                    {"words", verdict.words}});
  return list;
}

Json Turbine(const TurbineState& turbine, const TurbineFacts& facts) {
  return {{"inlet_K", turbine.inlet_K},
          {"inlet_Pa", turbine.inlet_Pa},
          {"outlet_K", turbine.outlet_K},
          {"outlet_Pa", turbine.outlet_Pa},
          {"expansion_ratio", turbine.expansion_ratio},
          {"flow_kg_s", turbine.flow_kg_s},
          {"wastegate_flow_kg_s", turbine.wastegate_flow_kg_s},
          {"wastegate_opening", facts.has_vanes ? Json(nullptr) : Json(turbine.opening)},
          {"vane_opening", Optional(turbine.vane_opening)},
          {"regulation", RegulationName(turbine.regulation)},
          {"efficiency", turbine.reading.efficiency},
          {"power_W", turbine.flow_kg_s * turbine.work_J_kg},
          {"shaft_speed_rev_s", Optional(turbine.speed_rev_s)},
          {"map_flow", facts.has_map ? Json(turbine.reading.map_flow) : Json(nullptr)},
          {"map_flow_unit", facts.flow_unit},
          {"map_parameter", Optional(turbine.reading.parameter)},
          {"map_parameter_unit", facts.parameter_unit},
          {"beyond_map", facts.has_map && (turbine.reading.flow_beyond || turbine.reading.efficiency_beyond)}};
}

Json Stage(const StageResult& stage, const CompressorFacts& map, const TurbineFacts* turbine) {
  const CompressorReading& reading = stage.reading;
  Json out = {{"name", stage.name},
              {"flow_kg_s", stage.flow_kg_s},
              {"inlet_K", stage.inlet_K},
              {"inlet_Pa", stage.inlet_Pa},
              {"pressure_ratio", stage.pressure_ratio},
              {"outlet_Pa", stage.outlet_Pa},
              {"outlet_K", stage.outlet_K},
              {"isentropic_outlet_K", stage.isentropic_outlet_K},
              {"power_W", stage.power_W},
              {"inlet_cooler_W", stage.inlet_cooler_W},
              {"efficiency", stage.efficiency},
              {"efficiency_assumed", stage.efficiency_assumed},
              {"corrected_flow_kg_s", reading.corrected_flow_kg_s},
              {"map_flow", reading.map_flow},
              {"map_flow_unit", map.flow_unit},
              {"corrected_speed", Optional(reading.corrected_speed)},
              {"speed", Optional(reading.speed)},
              {"speed_unit", map.speed_unit},
              {"surge_margin", Optional(reading.surge_margin)},
              {"choke_margin", Optional(reading.choke_margin)},
              {"inside", reading.inside},
              {"region", reading.region ? Json(MapRegionName(*reading.region)) : Json(nullptr)},
              {"sigma",
               {{"speed", Optional(reading.sigma_speed)},
                {"efficiency", Optional(reading.sigma_efficiency)},
                {"surge_margin", Optional(stage.sigma_surge_margin)},
                {"outlet_K", Optional(stage.sigma_outlet_K)}}},
              {"reason", reading.reason.empty() ? Json(nullptr) : Json(reading.reason)},
              {"verdicts", Verdicts(stage.verdicts)}};
  if (stage.turbine && turbine != nullptr) out["turbine"] = Turbine(*stage.turbine, *turbine);
  return out;
}

Json Exhaust(const PointResult::ExhaustSide& side) {
  return {{"flow_kg_s", side.engine.flow_kg_s},
          {"valve_K", side.engine.valve_K},
          {"turbine_K", side.engine.turbine_K},
          {"coolant_W", side.engine.coolant_W},
          {"manifold_loss_W", side.engine.manifold_loss_W},
          {"drive_Pa", side.drive_Pa},
          {"back_pressure_Pa", side.back_pressure_Pa},
          {"drive_ratio", side.drive_ratio > 0.0 ? Json(side.drive_ratio) : Json(nullptr)},
          {"target_ratio", side.target_ratio},
          {"sigma", {{"drive_Pa", side.sigma_drive_Pa}, {"manifold_Pa", side.sigma_manifold_Pa}}},
          {"residual", side.residual}};
}

Json Point(const PointResult& point, const std::vector<CompressorFacts>& maps, const std::vector<TurbineFacts>& turbines) {
  const OperatingPoint& input = point.input;
  Json out = {{"name", point.name},
              {"line", point.line > 0 ? Json(point.line) : Json(nullptr)},
              {"engine_speed_rev_s", input.speed_rev_s},
              {"ambient",
               {{"pressure_Pa", input.ambient.pressure_Pa},
                {"temperature_K", input.ambient.temperature_K},
                {"altitude_m", Optional(input.altitude_m)},
                {"relative_humidity", input.relative_humidity}}}};
  if (!point.failure.empty()) {
    out["failure"] = point.failure;
    return out;
  }
  out["grade"] = GradeName(point.grade);
  out["air_flow_kg_s"] = point.air_flow_kg_s;
  out["manifold_Pa"] = point.manifold_Pa;
  out["boost_Pa"] = point.manifold_Pa - input.ambient.pressure_Pa;
  out["manifold_K"] = point.manifold_K;
  out["overall_pressure_ratio"] = point.overall_pressure_ratio;
  out["inlet_loss_Pa"] = point.inlet_loss_Pa;
  out["cooler_loss_Pa"] = point.cooler_loss_Pa;
  out["cooler_W"] = point.cooler_W;
  out["compressor_power_W"] = point.compressor_power_W;
  out["fuel_flow_kg_s"] = Optional(point.fuel_flow_kg_s);
  out["power_W"] = Optional(point.power_W);
  out["sigma"] = {{"manifold_K", Optional(point.sigma_manifold_K)}, {"air_flow_kg_s", Optional(point.sigma_air_flow)}};
  out["iterations"] = point.iterations;
  out["split"] = point.stages.size() < 2 ? Json(nullptr) : Json(point.exhaust ? "balance" : point.least_work_split ? "least work" : "given");
  if (point.exhaust) out["exhaust"] = Exhaust(*point.exhaust);
  out["stages"] = Json::array();
  for (std::size_t i = 0; i < point.stages.size(); ++i)
    out["stages"].push_back(Stage(point.stages[i], maps[i], turbines.empty() ? nullptr : &turbines[i]));
  out["verdicts"] = Verdicts(point.verdicts);
  out["needs_review"] = Texts(point.doubts);
  return out;
}

}  // namespace

const char* RegulationName(Regulation regulation) {
  switch (regulation) {
    case Regulation::kHeld: return "held";
    case Regulation::kHolding: return "holding";
    case Regulation::kClosed: return "shut";
    case Regulation::kOpen: return "wide open";
    case Regulation::kMost: return "at its most";
  }
  return "";
}

std::string WriteBenchReport(const BenchResult& result) {
  Json out = {{"document", "bench-report"}, {"schema", kBenchReportSchema}, {"title", result.asked.title}, {"case", result.asked.file}};
  Json summary = {{"grade", GradeName(result.grade)}, {"words", result.summary}, {"point", nullptr}, {"stage", nullptr}};
  if (result.worst_point >= 0) {
    const PointResult& point = result.points[static_cast<std::size_t>(result.worst_point)];
    summary["point"] = point.name;
    if (result.worst_stage >= 0) summary["stage"] = point.stages[static_cast<std::size_t>(result.worst_stage)].name;
  }
  out["summary"] = summary;
  out["maps"] = Json::array();
  for (const CompressorFacts& map : result.maps)
    out["maps"].push_back({{"source", map.source},
                           {"title", map.title},
                           {"revision", map.revision.empty() ? Json(nullptr) : Json(map.revision)},
                           {"reference_conditions",
                            {{"temperature_K", map.reference.temperature_K},
                             {"pressure_Pa", map.reference.pressure_Pa},
                             {"basis", map.reference.basis == ReferenceConditions::Basis::kPrinted ? "printed" : "assumed"}}},
                           {"flow_unit", map.flow_unit},
                           {"speed_unit", map.speed_unit},
                           {"surge_margin_definition", map.surge_margin_definition}});
  if (!result.turbines.empty()) {
    out["turbines"] = Json::array();
    for (const TurbineFacts& turbine : result.turbines)
      out["turbines"].push_back({{"source", turbine.has_map ? Json(turbine.source) : Json(nullptr)},
                                 {"title", turbine.title},
                                 {"revision", turbine.revision.empty() ? Json(nullptr) : Json(turbine.revision)}});
  }
  out["points"] = Json::array();
  for (const PointResult& point : result.points) out["points"].push_back(Point(point, result.maps, result.turbines));
  out["assumed"] = Json::array();
  for (const AssumedValue& value : result.asked.assumed) out["assumed"].push_back({{"key", value.key}, {"value", value.value}, {"why", value.why}});
  out["limits"] = Json::array();
  for (const LimitWords& limit : DescribeLimits(result.asked.limits, result.asked.units, result.asked.HasTurbines()))
    out["limits"].push_back({{"what", limit.name}, {"words", limit.words}});
  out["needs_review"] = Texts(result.doubts);
  out["cautions"] = Texts(BenchCautions());
  return out.dump(2, ' ', false, Json::error_handler_t::replace);
}

std::string WriteBenchChanges(const WhatFirst& found) {
  Json changes = Json::array();
  for (const RankedChange& change : found.changes)
    changes.push_back({{"element", ChangedElementName(change.element)},
                       {"stage", change.stage >= 0 ? Json(change.stage) : Json(nullptr)},
                       {"words", change.words},
                       {"estimated", change.estimated},
                       {"value", Optional(change.value)},
                       {"gain", Optional(change.gain)},
                       {"limited_by", change.limited_by}});
  const GoalDefinition& goal = DefinitionOf(found.goal);
  const Json out = {{"document", "bench-changes"},
                    {"schema", 1},
                    {"goal", goal.name},
                    {"words", goal.words},
                    {"point", found.point},
                    {"now", Optional(found.now)},
                    {"limited_by", found.limited_by},
                    {"changes", changes},
                    {"left_out", found.left_out},
                    {"not_tried", found.not_tried}};
  return out.dump(2, ' ', false, Json::error_handler_t::replace);
}

}  // namespace islebook
