#include "mapstore/units/typed_value.h"

#include <string>

#include <fmt/format.h>

#include "mapstore/units/print_text.h"
#include "mapstore/units/printed_number.h"

namespace islebook {
namespace {

// Units whose users write 5,000 for five thousand.
bool IsUsCustomary(const Unit& unit) {
  std::string word;
  for (const char c : unit.spelling + " ") {
    if (IsAsciiLetter(c)) {
      word += c;
      continue;
    }
    for (const char* known : {"lb", "lbf", "ft", "in", "psi", "inHg", "inH", "degF", "degR", "hp", "hph", "Btu", "mi", "yd"})
      if (word == known) return true;
    word.clear();
  }
  return false;
}

}  // namespace

Result<TypedValue> ParseTypedValue(std::string_view text, const std::optional<Unit>& unit_if_none) {
  std::string folded = FoldPrint(text);
  std::string prefix;
  if (const std::string lower = LowerAscii(folded); lower.starts_with("boost")) {  // "boost 1.2 bar", "boost: 14 psi"
    std::size_t at = 5;
    while (at < folded.size() && (folded[at] == ' ' || folded[at] == ':' || folded[at] == '=')) ++at;
    folded.erase(0, at);
    prefix = "boost ";
  }
  const auto number = ReadPrintedNumber(folded);
  if (!number)
    return Fail(ErrorCode::kInvalidArgument,
                fmt::format("\"{}\" does not begin with a number; write a number and its unit, for example 0.42 kg/s.", text.substr(0, 60)));
  const std::string unit_text = FoldPrint(std::string_view(folded).substr(number->length));
  TypedValue typed;
  if (unit_text.empty()) {
    if (!unit_if_none) return Fail(ErrorCode::kUnknownUnit, fmt::format("\"{}\" has no unit; write the unit behind the number.", text.substr(0, 60)));
    typed.unit = *unit_if_none;
    if (!prefix.empty() && typed.unit.dimension == Dimension::kPressure) typed.unit.basis = PressureBasis::kGauge;
  } else {
    const auto unit = ParseUnit(prefix + unit_text);
    if (!unit) return std::unexpected(unit.error());
    typed.unit = *unit;
  }
  typed.value = number->values.front();
  if (number->values.size() > 1) {
    const double one = number->values[0], two = number->values[1];  // a comma puts thousands first, a point decimals
    const bool comma = one > two;
    const bool turning = typed.unit.dimension == Dimension::kRotationalSpeed;
    if ((turning && !comma) || (comma && !turning && !IsUsCustomary(typed.unit)))
      return Fail(ErrorCode::kInvalidArgument,
                  fmt::format("\"{}\" may mean {} or {}; write it without the separator.", text.substr(0, 60), one, two));
  }
  return typed;
}

}  // namespace islebook
