#pragma once
// Printed and typed text brought to one alphabet, before anything is understood from it.

#include <string>
#include <string_view>

namespace islebook {

// Plain ASCII but for letters of other alphabets, which stay: superscripts become "^-1", a root sign "sqrt ", multiplication signs "*", division slashes "/",
// minus signs and dashes "-", degree signs "~", primes "\"", micro "u", odd spaces one space each. Ends are trimmed and runs of spaces closed up.
std::string FoldPrint(std::string_view text);

std::string LowerAscii(std::string_view text);
bool IsAsciiLetter(char c);
bool IsAsciiDigit(char c);

}  // namespace islebook
