#pragma once
// A turbine map as an engineer reads it: flow lines and efficiency lines by speed or vane opening, each in order of expansion ratio.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/compressor_map.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

struct TurbineLine {
  std::optional<double> value;  // in TurbineMap::line_unit; nullopt on a chart with one line only
  MapLine line;                 // (expansion ratio, flow) or (expansion ratio, efficiency as a fraction), expansion ratio rising
};

struct TurbineMap {
  Axis expansion_ratio;            // of points' x; a velocity ratio where the sheet has one instead
  Axis flow;                       // of the flow lines' y
  std::optional<Axis> efficiency;  // of the efficiency lines' y, as printed
  std::optional<ReferenceConditions> reference_conditions;
  std::string line_unit;                      // of the values: rpm, krpm, m/s, %, 1
  std::vector<TurbineLine> flow_lines;        // lowest value first
  std::vector<TurbineLine> efficiency_lines;  // lowest value first
  std::vector<std::string> left_out;
};

// kWrongKind: a compressor, a map of unknown kind, or axes that are not those of a turbine.
Result<TurbineMap> AsTurbineMap(const PerformanceMap& map);

}  // namespace islebook
