#pragma once
// Answers as JSON and as CSV, the same text at every door. Numbers are the shortest that read back as the same double.

#include <string>
#include <vector>

#include "mapstore/answers/askable_map.h"

namespace islebook {

// Answers of one map as JSON, each an object on one line. Holds what all of them say alike. Thread-safe.
class AnswerJson {
 public:
  explicit AnswerJson(const AskableMap& map);
  // `first`: of a list; it carries the doubts about the map, if there are any, in "map_needs_review".
  void Append(std::string& out, const MapAnswer& answer, bool first) const;

 private:
  void AppendSlopes(std::string& out, const std::optional<AnswerSlopes>& slopes) const;
  void AppendEdges(std::string& out, const std::optional<EdgeDistances>& edges) const;

  bool turbine_ = false;
  const char* parameter_ = nullptr;  // key of a turbine's parameter
  bool by_speed_ = false;
  std::string parameter_unit_, units_, doubts_;
  bool slopes_ = false, edges_ = false;  // what the map's options ask for
  std::vector<const NamedSlope*> named_slopes_;
};
void AppendAnswerJson(std::string& out, const AskableMap& map, const MapAnswer& answer);

// What is known of a map before it is asked: kind, title, units, range, doubts. One JSON object.
std::string MapFactsJson(const AskableMap& map);

// CSV (RFC 4180, lines end in CR LF): the columns of a compressor's or turbine's answers with their units, then one line an answer. Unknown values are empty fields.
// The columns flow, pressure_ratio, speed, expansion_ratio, vane_opening are spelt as question tables spell them.
// Where the map's options ask for slopes, columns such as speed_by_flow follow, those by values that were not asked with empty; where they ask for edges, the change that
// leads to the edge each way (edge_less_flow ... edge_nearest, the last as a share of the map's extent).
void AppendAnswerCsvHeader(std::string& out, const AskableMap& map);
void AppendAnswerCsv(std::string& out, const AskableMap& map, const MapAnswer& answer);

}  // namespace islebook
