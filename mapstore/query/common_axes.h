#pragma once
// Maps brought to common axes: one flow unit, one pair of reference conditions, one way round, so that they can be laid over each other. What was done is said in
// words, and so is what could not be done.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

struct CommonAxesOptions {
  std::string flow_unit;                         // of documents; empty: the first map's
  std::optional<ReferenceConditions> reference;  // nullopt: the first map's
};

struct MapOnAxes {
  PerformanceMap map;               // points, sigma, axes and speed labels as on the common axes; sheet pixels stay
  double flow_factor = 1.0;         // what a printed flow was multiplied by
  double speed_factor = 1.0;        // likewise, of speeds
  bool turned = false;              // x and y were exchanged
  std::vector<std::string> words;   // what was done, in sentences; empty: nothing had to be
  std::vector<std::string> doubts;  // what stands against comparing, in sentences
};

// In the order given. One map alone may be given, to see it in another unit. kWrongKind: maps of different kinds, of none, or whose axes do not measure the same
// things; kIncompatibleUnit. The error's place is the map's number, from 1. Thread-safe.
Result<std::vector<MapOnAxes>> BringToCommonAxes(const std::vector<PerformanceMap>& maps, const CommonAxesOptions& options = {});

}  // namespace islebook
