#pragma once
// Print of a sheet in the ways sheets are printed: languages, number forms, axis titles, notes on reference conditions.

#include <string>

#include "mapstore/map/performance_map.h"
#include "tests/support/random.h"

namespace islebook::paint {

enum class Language { kEnglish, kGerman, kFrench };

struct NumberForm {
  bool decimal_comma = false;
  std::string thousands;  // between groups from 10,000 on; may be empty
};

// "0.74", "0,74", "90,000", "90 000".
std::string PrintNumber(double value, int decimals, const NumberForm& form);
// As few decimals as say it.
std::string PrintShort(double value, const NumberForm& form);

std::string XTitle(const Axis& axis, Language language, Random& random);
std::string YTitle(const Axis& axis, Language language, Random& random);
std::string EfficiencyTitle(const Axis& axis, Language language, Random& random);
std::string SheetTitle(const std::string& wheel, MapKind kind, Language language, Random& random);
// The conditions as printed, and what they are: the note may round (20 °C, 981 mbar).
struct ReferenceNote {
  std::string text;
  ReferenceConditions conditions;
};
ReferenceNote DrawReferenceNote(Language language, Random& random);
std::string SpeedNote(const std::string& unit, Language language);
std::string EfficiencyWord(Language language);
std::string SpeedWord(Language language);
std::string SurgeWord(Language language);

}  // namespace islebook::paint
