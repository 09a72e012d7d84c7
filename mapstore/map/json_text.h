#pragma once
// The two things that every JSON writer here must do alike: numbers and strings. Sorting, spacing and structure are the writer's.

#include <string>
#include <string_view>

namespace islebook {

// The shortest decimal text that reads back as the same double, laid out as ECMAScript does (RFC 8785, section 3.2.2.3): 90000, 0.42, 1e-7, 1e+21. -0 becomes 0.
// A value that is not finite has no JSON form and becomes null.
std::string JsonNumber(double value);

// `value` rounded to so many significant decimal digits (1 to 17), or decimal places (0 to 15). Values that are not finite come back as they are.
double RoundToDigits(double value, int significant_digits);
double RoundToPlaces(double value, int decimal_places);

// A quoted string with the fewest escapes (RFC 8785, section 3.2.2.2). Bytes that are not UTF-8 become U+FFFD.
std::string JsonString(std::string_view text);

// The same text with every byte that is not part of well-formed UTF-8 replaced by U+FFFD.
std::string ValidUtf8(std::string_view text);

// The same for a place between tags or in an attribute of HTML and XML: marks escaped, control characters but the line feed as spaces.
std::string EscapedMarkup(std::string_view text);

}  // namespace islebook
