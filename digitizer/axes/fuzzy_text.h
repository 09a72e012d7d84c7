#pragma once
// Comparing words that a reader of print may have got slightly wrong.

#include <string>
#include <string_view>
#include <vector>

namespace islebook {

// Lower-case ASCII: accents dropped (ü: u, ß: ss), superscripts and signs spelled out (³: 3, √: sqrt, ·: *, η: eta, −: -).
std::string FoldText(std::string_view text);

// Letters and digits of the folded text alone.
std::string SqueezeText(std::string_view folded);

// Runs of letters of the folded text.
std::vector<std::string> WordsOf(std::string_view folded);

// Cost of reading `meant` as `read`: 1 for a wrong, lost or added character, less for look-alikes (l 1 I, rn m, 3 ?).
double ReadingCost(std::string_view meant, std::string_view read);

// Least cost of `meant` standing anywhere inside `text`.
double CostWithin(std::string_view meant, std::string_view text);

}  // namespace islebook
