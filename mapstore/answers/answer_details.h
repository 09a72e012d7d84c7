#pragma once
// What an answer carries where it is asked for: its first derivatives, and how far a compressor's point is from the edges of the map.

#include <cstddef>
#include <optional>
#include <span>
#include <string>

#include "mapstore/query/compressor_query.h"
#include "mapstore/query/map_reach.h"
#include "mapstore/query/query_units.h"

namespace islebook {

// How each value of an answer changes with the values asked with, in the units of the values. `first` and `second` are what was asked with, in the order flow, pressure or
// expansion ratio, speed or vane opening; a turbine map with a single line is asked with one value, and by_second is 0. What was asked with has no slope, nor has what
// the answer does not know.
struct AnswerSlopes {
  QuestionValue first = QuestionValue::kFlow;
  std::optional<QuestionValue> second;
  std::optional<Slope> flow, pressure_ratio, expansion_ratio, speed, vane_opening;
  std::optional<Slope> efficiency, surge_margin, choke_margin, map_width;
};

struct AnswerDetails {
  std::optional<AnswerSlopes> slopes;  // nullopt: not asked for, or none there
  std::optional<EdgeDistances> edges;  // nullopt: not asked for, or the point is not on the map
};

// The values that have slopes, and the ways to the edge, as every door names them.
struct NamedSlope {
  const char* name;
  std::optional<Slope> AnswerSlopes::* slope;
  std::optional<QuestionValue> value;  // where it can also be asked with
};
std::span<const NamedSlope> NamedSlopes();

struct NamedEdge {
  const char* name;     // "less_flow"
  const char* changes;  // what EdgeHit::change is of: "flow", "pressure_ratio", "speed"; "": the nearest one's is its share of the map's extent
  std::optional<EdgeHit> EdgeDistances::* hit;  // nullptr: the nearest
};
std::span<const NamedEdge> NamedEdges();
// nullptr: no edge that way.
const EdgeHit* HitOf(const EdgeDistances& edges, const NamedEdge& way);

}  // namespace islebook
