#pragma once
// Unit expressions taken apart: words, exponents (halves too), roots, brackets, products and quotients.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/units/unit_lexicon.h"

namespace islebook {

struct UnitFactor {
  const UnitAtom* atom = nullptr;
  int twice_exponent = 2;
};

struct UnitProduct {
  std::vector<UnitFactor> factors;
  double scale = 1.0;          // plain numbers in the expression
  bool scale_in_front = true;  // "1000 rpm", not "rpm x 1000"
  bool repaired = false;
};

struct ExpressionReading {
  bool quotient_takes_all = false;  // "kg √K / s kPa": what follows the slash, up to the next, is all below it
  bool r_is_rankine = false;        // "R" is a temperature, not a revolution
  bool allow_misread = false;       // "Ib", "rnin", "kgls"
};

// `text` went through FoldPrint. Nullopt: a word that is none of ours, or no expression.
std::optional<UnitProduct> ParseUnitExpression(std::string_view text, const ExpressionReading& reading);

}  // namespace islebook
