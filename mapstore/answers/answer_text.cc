#include "mapstore/answers/answer_text.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "mapstore/map/csv_text.h"
#include "mapstore/map/json_text.h"

namespace islebook {
namespace {

// JsonNumber's text without its allocation for the usual sizes.
void AppendNumber(std::string& out, double value) {
  const double size = std::abs(value);
  if (value == 0.0 || !(size >= 1e-5 && size < 1e15)) {
    out += JsonNumber(value);
    return;
  }
  char text[40];
  const auto end = std::to_chars(text, text + sizeof text, value, std::chars_format::fixed).ptr;
  out.append(text, end);
}

void AppendValue(std::string& out, const std::optional<double>& value) {
  if (value && std::isfinite(*value)) {
    AppendNumber(out, *value);
  } else {
    out += "null";
  }
}

void Add(std::string& out, const char* key, const std::optional<double>& value) {
  out += key;
  AppendValue(out, value);
}

void AddText(std::string& out, const char* key, const std::string& text) {
  out += key;
  out += text.empty() ? "null" : JsonString(text);
}

void AddUnit(std::string& out, const char* key, const std::string& unit) {
  out += key;
  out += JsonString(unit);
}

struct CsvColumn {
  const char* name;
  std::optional<double> MapAnswer::* value;
};
constexpr CsvColumn kCompressorColumns[] = {{"flow", &MapAnswer::flow},
                                            {"pressure_ratio", &MapAnswer::pressure_ratio},
                                            {"speed", &MapAnswer::speed},
                                            {"efficiency", &MapAnswer::efficiency},
                                            {"surge_margin", &MapAnswer::surge_margin},
                                            {"choke_margin", &MapAnswer::choke_margin},
                                            {"map_width", &MapAnswer::map_width},
                                            {"sigma_speed", &MapAnswer::sigma_speed},
                                            {"sigma_efficiency", &MapAnswer::sigma_efficiency},
                                            {"sigma_surge_margin", &MapAnswer::sigma_surge_margin},
                                            {"sigma_flow", &MapAnswer::sigma_flow},
                                            {"sigma_pressure_ratio", &MapAnswer::sigma_pressure_ratio}};
constexpr CsvColumn kTurbineColumns[] = {{"expansion_ratio", &MapAnswer::expansion_ratio},
                                         {"flow", &MapAnswer::flow},
                                         {"speed", &MapAnswer::speed},
                                         {"vane_opening", &MapAnswer::vane_opening},
                                         {"efficiency", &MapAnswer::efficiency},
                                         {"sigma_flow", &MapAnswer::sigma_flow},
                                         {"sigma_efficiency", &MapAnswer::sigma_efficiency}};

std::span<const CsvColumn> Columns(const AskableMap& map) {
  return map.is_turbine() ? std::span<const CsvColumn>(kTurbineColumns) : std::span<const CsvColumn>(kCompressorColumns);
}

// The values of this kind of map that slopes are of and by: QuestionValues that it can be asked with.
std::vector<QuestionValue> AskedWith(const AskableMap& map) {
  using enum QuestionValue;
  if (!map.is_turbine()) return {kFlow, kPressureRatio, kSpeed};
  std::vector<QuestionValue> values{kFlow, kExpansionRatio};
  if (map.has_parameter()) values.push_back(map.speed_unit().empty() ? kVaneOpening : kSpeed);
  return values;
}

bool HasSlope(const AskableMap& map, const NamedSlope& named) {
  const std::vector<QuestionValue> asked_with = AskedWith(map);
  if (named.value) return std::find(asked_with.begin(), asked_with.end(), *named.value) != asked_with.end();
  return !map.is_turbine() || named.slope == &AnswerSlopes::efficiency;
}

const std::string* UnitOf(const AskableMap& map, std::string_view column) {
  if (column.starts_with("sigma_")) column.remove_prefix(6);
  if (column == "flow") return &map.flow_unit();
  if (column == "speed") return &map.speed_unit();
  if (column == "vane_opening") return &map.vane_opening_unit();
  return nullptr;
}

}  // namespace

namespace {

std::string DoubtsJson(const AskableMap& map) {
  std::string out = "[";
  for (std::size_t i = 0; i < map.doubts().size(); ++i) {
    if (i > 0) out += ", ";
    out += JsonString(map.doubts()[i]);
  }
  return out + "]";
}

}  // namespace

AnswerJson::AnswerJson(const AskableMap& map) : turbine_(map.is_turbine()) {
  if (turbine_) {
    by_speed_ = !map.speed_unit().empty();
    if (map.has_parameter()) parameter_ = by_speed_ ? ", \"speed\": " : ", \"vane_opening\": ";
    if (parameter_ != nullptr)
      AddUnit(parameter_unit_,
              by_speed_ ? ", \"speed_unit\": " : ", \"vane_opening_unit\": ", by_speed_ ? map.speed_unit() : map.vane_opening_unit());
    AddUnit(units_, "}, \"flow_unit\": ", map.flow_unit());
  } else {
    AddUnit(units_, "}, \"flow_unit\": ", map.flow_unit());
    AddUnit(units_, ", \"speed_unit\": ", map.speed_unit());
    AddUnit(units_, ", \"surge_margin_definition\": ", map.surge_margin().name);
  }
  AddText(units_, ", \"revision\": ", map.revision());
  if (!map.doubts().empty()) doubts_ = ", \"map_needs_review\": " + DoubtsJson(map);
  slopes_ = map.options().slopes;
  edges_ = map.options().edges;
  for (const NamedSlope& named : NamedSlopes())
    if (HasSlope(map, named)) named_slopes_.push_back(&named);
}

// {"speed": {"by_flow": n, "by_pressure_ratio": n}, ...}; null as a whole where there are none.
void AnswerJson::AppendSlopes(std::string& out, const std::optional<AnswerSlopes>& slopes) const {
  out += ", \"slopes\": ";
  if (!slopes) {
    out += "null";
    return;
  }
  char before = '{';
  for (const NamedSlope* named : named_slopes_) {
    if (named->value && (*named->value == slopes->first || named->value == slopes->second)) continue;
    const std::optional<Slope>& slope = (*slopes).*named->slope;
    out += before;
    out += before == '{' ? "\"" : " \"";
    before = ',';
    out += named->name;
    if (!slope) {
      out += "\": null";
      continue;
    }
    out += "\": {\"by_";
    out += QuestionValueName(slopes->first);
    Add(out, "\": ", slope->by_first);
    if (slopes->second) {
      out += ", \"by_";
      out += QuestionValueName(*slopes->second);
      Add(out, "\": ", slope->by_second);
    }
    out += '}';
  }
  out += '}';
}

void AnswerJson::AppendEdges(std::string& out, const std::optional<EdgeDistances>& edges) const {
  out += ", \"edges\": ";
  if (!edges) {
    out += "null";
    return;
  }
  char before = '{';
  for (const NamedEdge& way : NamedEdges()) {
    out += before;
    out += before == '{' ? "\"" : " \"";
    before = ',';
    out += way.name;
    const EdgeHit* hit = HitOf(*edges, way);
    if (hit == nullptr) {
      out += "\": null";
      continue;
    }
    Add(out, "\": {\"flow\": ", hit->at.flow);
    Add(out, ", \"pressure_ratio\": ", hit->at.pressure_ratio);
    Add(out, ", \"speed\": ", hit->speed);
    out += ", \"beyond\": \"";
    out += MapRegionName(hit->beyond);
    Add(out, "\", \"change\": ", hit->change);
    Add(out, ", \"share\": ", hit->share);
    out += '}';
  }
  out += '}';
}

void AnswerJson::Append(std::string& out, const MapAnswer& answer, bool first) const {
  if (turbine_) {
    Add(out, "{\"expansion_ratio\": ", answer.expansion_ratio);
    Add(out, ", \"flow\": ", answer.flow);
    Add(out, ", \"efficiency\": ", answer.efficiency);
    if (parameter_ != nullptr) {
      Add(out, parameter_, by_speed_ ? answer.speed : answer.vane_opening);
      out += parameter_unit_;
    }
    out += answer.inside ? ", \"inside\": true" : ", \"inside\": false";
    Add(out, ", \"sigma\": {\"flow\": ", answer.sigma_flow);
    Add(out, ", \"efficiency\": ", answer.sigma_efficiency);
  } else {
    Add(out, "{\"flow\": ", answer.flow);
    Add(out, ", \"pressure_ratio\": ", answer.pressure_ratio);
    Add(out, ", \"speed\": ", answer.speed);
    Add(out, ", \"efficiency\": ", answer.efficiency);
    Add(out, ", \"surge_margin\": ", answer.surge_margin);
    Add(out, ", \"choke_margin\": ", answer.choke_margin);
    Add(out, ", \"map_width\": ", answer.map_width);
    out += answer.inside ? ", \"inside\": true, \"region\": " : ", \"inside\": false, \"region\": ";
    if (answer.region) {
      out += '"';
      out += MapRegionName(*answer.region);
      out += '"';
    } else {
      out += "null";
    }
    Add(out, ", \"sigma\": {\"speed\": ", answer.sigma_speed);
    Add(out, ", \"efficiency\": ", answer.sigma_efficiency);
    Add(out, ", \"surge_margin\": ", answer.sigma_surge_margin);
    if (answer.sigma_flow) Add(out, ", \"flow\": ", answer.sigma_flow);
    if (answer.sigma_pressure_ratio) Add(out, ", \"pressure_ratio\": ", answer.sigma_pressure_ratio);
  }
  out += units_;
  if (!answer.reason.empty()) AddText(out, ", \"reason\": ", answer.reason);
  if (slopes_ && answer.details) AppendSlopes(out, answer.details->slopes);
  if (edges_ && answer.details) AppendEdges(out, answer.details->edges);
  if (!answer.alternatives.empty()) {
    out += ", \"alternatives\": [";
    for (std::size_t i = 0; i < answer.alternatives.size(); ++i) {
      if (i > 0) out += ", ";
      Append(out, answer.alternatives[i], false);
    }
    out += "]";
  }
  if (first) out += doubts_;
  out += "}";
}

void AppendAnswerJson(std::string& out, const AskableMap& map, const MapAnswer& answer) { AnswerJson(map).Append(out, answer, true); }

std::string MapFactsJson(const AskableMap& map) {
  std::string out = map.is_turbine() ? "{\"kind\": \"turbine\"" : "{\"kind\": \"compressor\"";
  AddUnit(out, ", \"name\": ", map.name());
  AddUnit(out, ", \"title\": ", map.map().title);
  AddText(out, ", \"revision\": ", map.revision());
  AddUnit(out, ", \"flow_unit\": ", map.flow_unit());
  if (!map.speed_unit().empty()) AddUnit(out, ", \"speed_unit\": ", map.speed_unit());
  if (!map.vane_opening_unit().empty()) AddUnit(out, ", \"vane_opening_unit\": ", map.vane_opening_unit());
  const std::vector<double>& lines = map.is_turbine() ? map.turbine()->LineValues() : map.compressor()->LineSpeeds();
  out += ", \"lines\": [";
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (i > 0) out += ", ";
    AppendValue(out, lines[i]);
  }
  out += (map.is_turbine() ? map.turbine()->HasEfficiency() : map.compressor()->HasEfficiency()) ? "], \"has_efficiency\": true"
                                                                                                 : "], \"has_efficiency\": false";
  if (const auto& reference = map.map().reference_conditions) {
    Add(out, ", \"reference_conditions\": {\"temperature_K\": ", reference->temperature_K);
    Add(out, ", \"pressure_Pa\": ", reference->pressure_Pa);
    out += reference->basis == ReferenceConditions::Basis::kPrinted ? ", \"basis\": \"printed\"}" : ", \"basis\": \"assumed\"}";
  } else {
    out += ", \"reference_conditions\": null";
  }
  return out + ", \"needs_review\": " + DoubtsJson(map) + "}";
}

void AppendAnswerCsvHeader(std::string& out, const AskableMap& map) {
  for (const CsvColumn& column : Columns(map)) {
    const std::string* unit = UnitOf(map, column.name);
    std::string name = column.name;
    if (unit != nullptr && !unit->empty() && *unit != "1") name += " [" + *unit + "]";
    AppendCsvField(out, name);
    out += ',';
  }
  out += map.is_turbine() ? "inside,answers,reason" : "inside,region,answers,reason";
  if (map.options().slopes) {
    for (const NamedSlope& named : NamedSlopes()) {
      if (!HasSlope(map, named)) continue;
      for (const QuestionValue by : AskedWith(map))
        if (named.value != by) out += std::string(",") + named.name + "_by_" + QuestionValueName(by);
    }
  }
  if (map.options().edges) {
    for (const NamedEdge& way : NamedEdges()) {
      const std::string* unit = UnitOf(map, way.changes);
      out += ',';
      AppendCsvField(out, std::string("edge_") + way.name + (unit != nullptr && *unit != "1" ? " [" + *unit + "]" : ""));
    }
    out += ",edge_nearest_beyond";
  }
  out += "\r\n";
}

namespace {

void AppendDetailsCsv(std::string& out, const AskableMap& map, const AnswerDetails& details) {
  if (map.options().slopes) {
    for (const NamedSlope& named : NamedSlopes()) {
      if (!HasSlope(map, named)) continue;
      for (const QuestionValue by : AskedWith(map)) {
        if (named.value == by) continue;
        out += ',';
        if (!details.slopes || !((*details.slopes).*named.slope)) continue;
        const Slope& slope = *((*details.slopes).*named.slope);
        if (by == details.slopes->first) AppendNumber(out, slope.by_first);
        if (by == details.slopes->second) AppendNumber(out, slope.by_second);
      }
    }
  }
  if (!map.options().edges) return;
  for (const NamedEdge& way : NamedEdges()) {
    out += ',';
    if (const EdgeHit* hit = details.edges ? HitOf(*details.edges, way) : nullptr) AppendNumber(out, hit->change);
  }
  out += ',';
  if (details.edges) out += MapRegionName(details.edges->nearest.beyond);
}

}  // namespace

void AppendAnswerCsv(std::string& out, const AskableMap& map, const MapAnswer& answer) {
  for (const CsvColumn& column : Columns(map)) {
    const std::optional<double>& value = answer.*column.value;
    if (value && std::isfinite(*value)) AppendNumber(out, *value);
    out += ',';
  }
  out += answer.inside ? "true," : "false,";
  if (!map.is_turbine()) {
    if (answer.region) out += MapRegionName(*answer.region);
    out += ',';
  }
  out += answer.asked ? std::to_string(1 + answer.alternatives.size()) : "0";
  out += ',';
  AppendCsvField(out, answer.reason);
  if (map.options().slopes || map.options().edges) {
    static const AnswerDetails kNone;
    AppendDetailsCsv(out, map, answer.details ? *answer.details : kNone);
  }
  out += "\r\n";
}

}  // namespace islebook
