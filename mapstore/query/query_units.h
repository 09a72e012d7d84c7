#pragma once
// From what a person types to what a map prints: flows, speeds and openings in other units, or corrected to other reference conditions.

#include <optional>
#include <string>
#include <string_view>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"
#include "mapstore/units/unit.h"

namespace islebook {

enum class QuestionValue { kFlow, kPressureRatio, kSpeed, kExpansionRatio, kVaneOpening };
const char* QuestionValueName(QuestionValue value);  // "flow", "pressure_ratio", ... as columns are named
std::optional<QuestionValue> ParseQuestionValue(std::string_view name);

// Thread-safe; holds no reference to the map.
class QuestionUnits {
 public:
  // `given_at`: the reference conditions that flows and speeds of the questions are corrected to; nullopt: the map's own.
  // kInvalidArgument: the map states no reference conditions, so that others cannot be brought to them.
  static Result<QuestionUnits> For(const PerformanceMap& map, const std::optional<ReferenceConditions>& given_at = std::nullopt);

  // What the map prints: "lb/min", "1", "rpm", "%".
  const std::string& PrintedUnit(QuestionValue value) const;
  // What a number in `unit` is multiplied by to be the map's; nullopt: printed units, only the reference conditions then count.
  // kIncompatibleUnit: a unit of something else, or mass for volume flow where the map has no reference conditions.
  Result<double> Factor(QuestionValue value, const std::optional<Unit>& unit) const;
  // "0.42 kg/s", "52,000 rpm" or a bare number in printed units. kInvalidArgument, kUnknownUnit, kIncompatibleUnit.
  Result<double> Parse(QuestionValue value, std::string_view text) const;

 private:
  Quantity flow_quantity_ = Quantity::kCorrectedMassFlow;
  std::string flow_unit_ = "1", ratio_unit_ = "1", speed_unit_, opening_unit_;
  std::optional<ReferenceConditions> map_reference_, given_at_;
};

// Whether the sheet has the pressure or expansion ratio along x and the flow upwards: questions and answers are the same, points on the sheet are (ratio, flow).
bool RatioAlongX(const PerformanceMap& map);

// "298 K, 100 kPa" as reference conditions. kInvalidArgument with what is wrong.
Result<ReferenceConditions> ParseReferenceArgument(std::string_view text);

}  // namespace islebook
