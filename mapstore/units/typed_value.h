#pragma once
// A value with its unit as a person types it: "0.42 kg/s", "85 °F", "28.4 inHg", "2.5 bar(a)", "14 psi boost".

#include <optional>
#include <string_view>

#include "mapstore/units/unit.h"

namespace islebook {

struct TypedValue {
  double value = 0.0;  // in `unit`
  Unit unit;
  bool gauge() const { return unit.basis == PressureBasis::kGauge; }  // never to be taken for an absolute pressure
  double si() const { return ToSi(value, unit); }                     // a gauge pressure stays a gauge pressure
};

// Without a unit in the text, `unit_if_none` is taken. Thread-safe.
// kInvalidArgument: no number at the front, or a number that can be read in two ways ("1,234 kg/s"); kUnknownUnit: no unit, or one that ParseUnit refuses.
Result<TypedValue> ParseTypedValue(std::string_view text, const std::optional<Unit>& unit_if_none = std::nullopt);

}  // namespace islebook
