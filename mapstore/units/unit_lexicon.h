#pragma once
// The words that units are made of. A word is an atom with an exponent of each base and a definition in UDUNITS's syntax.

#include <array>
#include <span>
#include <string>
#include <string_view>

#include "mapstore/units/unit.h"

namespace islebook {

// Twice the exponent of kilogram, meter, second, kelvin and revolution, so that square roots stay whole numbers.
struct BaseExponents {
  std::array<int, 5> twice{};
  bool operator==(const BaseExponents&) const = default;
};

struct UnitAtom {
  const char* spelling;    // ours
  const char* definition;  // UDUNITS
  const char* si;          // the SI unit of it, UDUNITS
  BaseExponents exponents;
  PressureBasis basis;
  const char* words;  // other spellings, separated by blanks; letter case is free unless it would confuse two atoms
  int rank;           // order in a product: mass 0, length 1, time 2, temperature 3, pressure 4, others 5
};
std::span<const UnitAtom> UnitAtoms();

// Whole phrases of several words or signs, lower case, and what they stand for in words of the list above. Longest first.
struct UnitPhrase {
  const char* phrase;
  const char* meaning;
};
std::span<const UnitPhrase> UnitPhrases();

// Units that have a spelling of their own, documents' first. `expression` is in words of the list above.
struct NamedUnit {
  const char* spelling;
  const char* expression;
  bool in_documents;
};
std::span<const NamedUnit> NamedUnits();

}  // namespace islebook
