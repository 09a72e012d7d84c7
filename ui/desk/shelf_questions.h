#pragma once
// What a person types to search the shelf, read the same way at every door.

#include <optional>
#include <string>

#include "mapstore/query/query_units.h"
#include "mapstore/units/error.h"

namespace islebook {

// "0.15" or "15 %". `word` names it in the error. kInvalidArgument.
Result<double> ReadFraction(const std::string& text, const char* word);

// "52" is that size give or take a twentieth of a millimeter; "50..60", "..60", "50..". Empty text: nothing is asked. kInvalidArgument.
Result<void> ReadSizeSpan(const std::string& text, const char* word, std::optional<double>& least, std::optional<double>& most);

// Points as typed become kg/s at 288.15 K and 101325 Pa; `reference`: what they are corrected to ("298 K, 100 kPa"), empty: those. kInvalidArgument.
Result<QuestionUnits> StandardPointUnits(const std::string& reference);

}  // namespace islebook
