#pragma once
// Word and unit lists behind axis_title.h.

#include <span>

namespace islebook {

// What a word in a title contributes; several may be set.
enum TitleConcept : unsigned {
  kSaysFlow = 1u << 0,
  kSaysMass = 1u << 1,
  kSaysVolume = 1u << 2,
  kSaysPressure = 1u << 3,
  kSaysRatio = 1u << 4,
  kSaysExpansion = 1u << 5,
  kSaysEfficiency = 1u << 6,
  kSaysParameter = 1u << 7,
  kSaysSpeed = 1u << 8,
  kSaysStatic = 1u << 9,
  kSaysTotal = 1u << 10,
  kSaysCorrected = 1u << 11,
  kSaysTurbine = 1u << 12,
  kSaysCompressor = 1u << 13,
  kSaysVelocity = 1u << 14,
  kSaysBlade = 1u << 15,
  kSaysOther = 1u << 16,
  kSaysTotalTotal = 1u << 17,
};

struct LexiconWord {
  const char* word;  // folded; words of up to four letters must stand alone, longer ones may be part of another
  unsigned concepts;
  const char* other;  // name of the other thing, nullptr if none
};
std::span<const LexiconWord> TitleLexicon();

struct UnitSpelling {
  const char* spelling;  // folded, without spaces, points, carets and multiplication signs; a square root is "v"
  const char* unit;      // contract spelling
};
std::span<const UnitSpelling> UnitLexicon();

}  // namespace islebook
