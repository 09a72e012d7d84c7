#pragma once
// The English sentences that are known to translations, with %1, %2 for what changes in them. For said.cc and its test.

#include <span>

namespace islebook {

std::span<const char* const> SaidPhrases();

}  // namespace islebook
