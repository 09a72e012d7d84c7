#pragma once
// What an axis title says: the quantity and the unit, in several languages and whatever the reader of print has done to it.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/map/performance_map.h"

namespace islebook {

// The kinds of thing an axis may show, before it is known which machine the chart is of.
enum class AxisMatter {
  kUnknown,
  kMassFlow,
  kVolumeFlow,
  kFlow,  // mass or volume, not said
  kFlowParameter,
  kPressureRatio,  // may be a turbine's expansion ratio
  kExpansionRatio,
  kEfficiency,
  kSpeed,
  kVelocityRatio,
  kOther,  // none that a performance map has: torque, angle, time
};

struct TitleMeaning {
  AxisMatter matter = AxisMatter::kUnknown;
  double confidence = 0.0;              // of `matter`, 0..1
  std::string other;                    // kOther: its name, "torque"
  std::optional<bool> total_to_static;  // true: total to static; false: total to total; nullopt: not said
  bool turbine_signs = false;           // says turbine, expansion, p3/p4
  bool compressor_signs = false;        // says compressor, p2/p1
  std::string unit;                     // spelled as in documents; empty: none read
  double unit_confidence = 0.0;
  std::string strange_unit;   // what stands in brackets and is no unit of a map ("N-m")
  double power_of_ten = 0.0;  // printed numbers times ten to this power are in `unit`
};

TitleMeaning UnderstandTitle(std::string_view title);

struct UnitMatch {
  std::string unit;  // contract spelling
  double confidence = 0.0;
};
// The unit spelled in `text` (a bracket's content or the title's tail), tolerant of misreading. Nullopt where nothing fits.
std::optional<UnitMatch> MatchUnit(std::string_view text);

// Units that documents allow for a matter.
bool UnitFits(AxisMatter matter, const std::string& unit);
const char* AxisMatterName(AxisMatter matter);  // in words, for doubts

}  // namespace islebook
