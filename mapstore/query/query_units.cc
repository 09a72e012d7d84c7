#include "mapstore/query/query_units.h"

#include <map>

#include <fmt/format.h>

#include "mapstore/units/correction.h"
#include "mapstore/units/typed_value.h"

namespace islebook {
namespace {

bool IsSpeedUnit(const std::string& unit) { return unit == "rpm" || unit == "krpm" || unit == "m/s"; }

const char* const kNames[] = {"flow", "pressure_ratio", "speed", "expansion_ratio", "vane_opening"};

std::string InWords(QuestionValue value) {
  std::string words = QuestionValueName(value);
  for (char& c : words)
    if (c == '_') c = ' ';
  return words;
}

// By how much the numbers of one physical point differ between two reference conditions.
double ReferenceFactor(Quantity quantity, const ReferenceConditions& from, const ReferenceConditions& to) {
  switch (quantity) {
    case Quantity::kCorrectedMassFlow: return ChangeReference(CorrectedMassFlow::KilogramsPerSecond(1.0), from, to).kilograms_per_second();
    case Quantity::kCorrectedVolumeFlow: return ChangeReference(CorrectedVolumeFlow::CubicMetersPerSecond(1.0), from, to).cubic_meters_per_second();
    default: return 1.0;  // a flow parameter has no reference conditions
  }
}

}  // namespace

const char* QuestionValueName(QuestionValue value) { return kNames[static_cast<int>(value)]; }

std::optional<QuestionValue> ParseQuestionValue(std::string_view name) {
  for (int i = 0; i < 5; ++i)
    if (name == kNames[i]) return static_cast<QuestionValue>(i);
  return std::nullopt;
}

bool RatioAlongX(const PerformanceMap& map) {
  if (!map.x) return map.kind == MapKind::kTurbine;
  switch (map.x->quantity) {
    case Quantity::kPressureRatioTotalToTotal:
    case Quantity::kPressureRatioTotalToStatic:
    case Quantity::kExpansionRatioTotalToStatic:
    case Quantity::kExpansionRatioTotalToTotal:
    case Quantity::kVelocityRatio: return true;
    default: return false;
  }
}

Result<QuestionUnits> QuestionUnits::For(const PerformanceMap& map, const std::optional<ReferenceConditions>& given_at) {
  QuestionUnits units;
  units.map_reference_ = map.reference_conditions;
  units.given_at_ = given_at;
  const bool turbine = map.kind == MapKind::kTurbine;
  const std::optional<Axis>& flow_axis = RatioAlongX(map) ? map.y : map.x;
  const std::optional<Axis>& ratio_axis = RatioAlongX(map) ? map.x : map.y;
  if (flow_axis) {
    units.flow_quantity_ = flow_axis->quantity;
    units.flow_unit_ = flow_axis->unit;
  }
  if (ratio_axis) units.ratio_unit_ = ratio_axis->unit;
  std::map<std::string, int> labels;
  for (const Curve& curve : map.curves) {
    if (!curve.value) continue;
    if (curve.role == CurveRole::kSpeedLine || curve.role == CurveRole::kFlowLine || curve.role == CurveRole::kEfficiencyLine) ++labels[curve.unit];
  }
  std::string most;
  for (const auto& [unit, count] : labels)
    if (most.empty() || count > labels[most]) most = unit;
  const bool speeds = !turbine || IsSpeedUnit(most);
  (speeds ? units.speed_unit_ : units.opening_unit_) = most;
  if (given_at && !map.reference_conditions && units.flow_quantity_ != Quantity::kTurbineFlowParameter)
    return Fail(ErrorCode::kInvalidArgument, "the map states no reference conditions, so values corrected to others cannot be brought to its own.");
  return units;
}

const std::string& QuestionUnits::PrintedUnit(QuestionValue value) const {
  switch (value) {
    case QuestionValue::kFlow: return flow_unit_;
    case QuestionValue::kSpeed: return speed_unit_;
    case QuestionValue::kVaneOpening: return opening_unit_;
    default: return ratio_unit_;
  }
}

Result<double> QuestionUnits::Factor(QuestionValue value, const std::optional<Unit>& unit) const {
  const std::string& printed = PrintedUnit(value);
  double factor = 1.0;
  bool changed_reference = false;
  if (unit && unit->spelling != printed) {
    auto own = ParseUnit(printed.empty() ? "1" : printed);
    if (!own) return std::unexpected(own.error());
    const ReferenceConditions from = given_at_ ? *given_at_ : map_reference_.value_or(ReferenceConditions{});
    const bool have_reference = map_reference_.has_value();
    const auto refuse = [&](const std::string& why) {
      return Fail(ErrorCode::kIncompatibleUnit, fmt::format("a {} in {} cannot be read on this map, whose unit is {}{}", InWords(value),
                                                            unit->spelling, printed.empty() ? "none" : printed, why));
    };
    if (unit->dimension == own->dimension) {
      if (unit->offset != 0.0) return refuse(".");
      factor = unit->factor / own->factor;
    } else if (value == QuestionValue::kFlow && unit->dimension == Dimension::kVolumeFlow && own->dimension == Dimension::kMassFlow) {
      if (!have_reference) return refuse("; it states no reference conditions to tell the density.");
      factor = ToMassFlow(CorrectedVolumeFlow::CubicMetersPerSecond(unit->factor), from).kilograms_per_second() / own->factor;
    } else if (value == QuestionValue::kFlow && unit->dimension == Dimension::kMassFlow && own->dimension == Dimension::kVolumeFlow) {
      if (!have_reference) return refuse("; it states no reference conditions to tell the density.");
      factor = ToVolumeFlow(CorrectedMassFlow::KilogramsPerSecond(unit->factor), from).cubic_meters_per_second() / own->factor;
    } else if (value == QuestionValue::kFlow && unit->dimension == Dimension::kMassFlow && own->dimension == Dimension::kFlowParameter) {
      if (!given_at_ && !have_reference) return refuse("; say what it is corrected to (reference conditions).");
      factor = ToFlowParameter(CorrectedMassFlow::KilogramsPerSecond(unit->factor), from).kilogram_root_kelvin_per_second_pascal() / own->factor;
      changed_reference = true;
    } else if (value == QuestionValue::kFlow && unit->dimension == Dimension::kFlowParameter && own->dimension == Dimension::kMassFlow) {
      if (!have_reference) return refuse("; it states no reference conditions.");
      factor = ToCorrectedFlow(TurbineFlowParameter::KilogramRootKelvinPerSecondPascal(unit->factor), *map_reference_).kilograms_per_second() /
               own->factor;
      changed_reference = true;
    } else {
      return refuse(".");
    }
  }
  if (given_at_ && map_reference_ && !changed_reference) {
    if (value == QuestionValue::kFlow) factor *= ReferenceFactor(flow_quantity_, *given_at_, *map_reference_);
    if (value == QuestionValue::kSpeed)
      factor *= ChangeReference(CorrectedSpeed::RadiansPerSecond(1.0), *given_at_, *map_reference_).radians_per_second();
  }
  return factor;
}

Result<double> QuestionUnits::Parse(QuestionValue value, std::string_view text) const {
  // Labels that count in a percentage read "75 %" and "75" alike.
  const std::string& printed = PrintedUnit(value);
  auto own = ParseUnit(printed.empty() ? "1" : printed);
  if (!own) return std::unexpected(own.error());
  auto typed = ParseTypedValue(text, *own);
  if (!typed) return Fail(typed.error().code, fmt::format("{}: {}", InWords(value), typed.error().message), typed.error().place);
  auto factor = Factor(value, typed->unit.spelling == own->spelling ? std::nullopt : std::optional<Unit>(typed->unit));
  if (!factor) return std::unexpected(factor.error());
  return typed->value * *factor;
}

Result<ReferenceConditions> ParseReferenceArgument(std::string_view text) {
  const ReferenceReading reading = ParseReferenceConditions(text);
  if (reading.conditions) return *reading.conditions;
  return Fail(ErrorCode::kInvalidArgument, fmt::format("reference conditions read like \"298 K, 100 kPa\"; \"{}\" does not{}", text,
                                                       reading.reason.empty() ? "." : ": " + reading.reason));
}

}  // namespace islebook
