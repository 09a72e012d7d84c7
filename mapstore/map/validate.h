#pragma once
// What cannot be right about a map, or deserves a look: each finding one sentence for a person.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"

namespace islebook {

enum class Severity {
  kRemark,  // worth knowing; no reason to distrust the map
  kDoubt,   // probably a misreading; look at it
  kError,   // cannot be right as it stands
};

struct Finding {
  Severity severity = Severity::kDoubt;
  std::optional<std::size_t> curve;  // index into PerformanceMap::curves; nullopt: the map as a whole
  std::string sentence;
};

// Checks axes and units; speed lines (values in order, not crossing, falling to the right of their peak); the surge line through their left ends; islands (nested, not crossing,
// values rising to one peak along every speed line); turbine lines (flow rising with expansion ratio, values in order); points in the frame, plausible values, uncertainties.
// In the order of the curves, findings about the whole first. Thread-safe.
std::vector<Finding> ValidateMap(const PerformanceMap& map);

// Whether a speed of this size is one that a turbocharger's wheel can have: 3,000 to 400,000 rpm. True for what is no rotational speed. Common practice, no source.
bool IsPlausibleSpeed(double value, const std::string& unit);

const char* SeverityName(Severity severity);  // "remark", "doubt", "error"

}  // namespace islebook
