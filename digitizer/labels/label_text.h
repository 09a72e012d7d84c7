#pragma once
// What the print at a curve says: a value and, where it is said, its unit.

#include <optional>
#include <string>
#include <string_view>

namespace islebook {

struct LabelText {
  double value = 0.0;     // as printed: 90000; 0.74; 74; 120 for "120k"
  std::string unit;       // "rpm", "krpm", "%", "m/s"; "1" for a fraction below one; empty where nothing is said
  bool repaired = false;  // look-alike letters were taken for digits
};

// Understands "105,000", "0.74", ".875", "0,74", "74%", "105%Nc", "150k", "67.5k", "90 000", "90.000" (groups of three), "350 m/s", "n = 90000 1/min", "95 krpm".
// O, l, I, S, B count as 0, 1, 1, 5, 8 where everything else is digits. Nothing if the text is no single number.
std::optional<LabelText> ParseLabelText(std::string_view text);

// Is this word a unit of speed or a per cent sign by itself? The unit's spelling in documents, or empty.
std::string SpeedUnitOf(std::string_view word);

}  // namespace islebook
