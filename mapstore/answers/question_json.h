#pragma once
// Many questions as JSON, as the service takes them:
//   {"points": [{"flow": 0.42, "pressure_ratio": 2.1}, ...],       or   "columns": {"flow": [...], "pressure_ratio": [...]}
//    "units": {"flow": "kg/s"}, "reference": "298 K, 100 kPa", "surge_margin": "constant-speed", "slopes": true, "edges": true}
// Only the points are needed; without units they are in the map's printed ones. A point's value may be null: not given. Keys that are not known are refused, so that a
// misspelt one is never silently passed over.

#include <string>
#include <string_view>
#include <vector>

#include "mapstore/answers/askable_map.h"
#include "mapstore/units/error.h"

namespace islebook {

struct QuestionList {
  std::vector<Question> questions;  // in the map's printed units
  AskableMapOptions options;
};

// kInvalidArgument: not JSON, a key that is not known, a value of the wrong type, more than `most` points, columns of unequal length; kWrongKind: a value that this kind
// of map has not; kUnknownUnit, kIncompatibleUnit. The place says where ("points[3].flow").
Result<QuestionList> ParseQuestionList(std::string_view json, const AskableMap& map, std::size_t most);

}  // namespace islebook
