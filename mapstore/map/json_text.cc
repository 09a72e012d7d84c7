#include "mapstore/map/json_text.h"

#include <charconv>
#include <cmath>
#include <cstdint>

namespace islebook {
namespace {

// Length of the well-formed UTF-8 sequence at the front of `text`, 0 if there is none (RFC 3629: no overlong forms, no surrogates, at most U+10FFFF).
std::size_t SequenceLength(std::string_view text) {
  const auto byte = [&](std::size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0u; };
  const unsigned first = byte(0);
  if (first < 0x80) return 1;
  std::size_t length = 0;
  if (first >= 0xC2 && first <= 0xDF)
    length = 2;
  else if (first >= 0xE0 && first <= 0xEF)
    length = 3;
  else if (first >= 0xF0 && first <= 0xF4)
    length = 4;
  else
    return 0;
  for (std::size_t i = 1; i < length; ++i)
    if ((byte(i) & 0xC0) != 0x80) return 0;
  if ((first == 0xE0 && byte(1) < 0xA0) || (first == 0xED && byte(1) > 0x9F)) return 0;
  if ((first == 0xF0 && byte(1) < 0x90) || (first == 0xF4 && byte(1) > 0x8F)) return 0;
  return length;
}

}  // namespace

std::string JsonNumber(double value) {
  if (!std::isfinite(value)) return "null";
  if (value == 0.0) return "0";
  char buffer[32];
  const auto written = std::to_chars(buffer, buffer + sizeof buffer, std::fabs(value), std::chars_format::scientific);
  const std::string_view text(buffer, static_cast<std::size_t>(written.ptr - buffer));
  const std::size_t e = text.find('e');
  std::string digits(1, text[0]);
  if (e > 2) digits += text.substr(2, e - 2);
  int exponent = 0;
  const std::string_view tail = text.substr(text[e + 1] == '+' ? e + 2 : e + 1);
  std::from_chars(tail.data(), tail.data() + tail.size(), exponent);

  // k digits, the decimal point after the first n of them: the names of ECMAScript's Number::toString.
  const int k = static_cast<int>(digits.size());
  const int n = exponent + 1;
  std::string out = value < 0.0 ? "-" : "";
  if (k <= n && n <= 21) return out.append(digits).append(static_cast<std::size_t>(n - k), '0');
  if (0 < n && n <= 21) return out.append(digits, 0, static_cast<std::size_t>(n)).append(".").append(digits, static_cast<std::size_t>(n));
  if (-6 < n && n <= 0) return out.append("0.").append(static_cast<std::size_t>(-n), '0').append(digits);
  out += digits[0];
  if (k > 1) out.append(".").append(digits, 1);
  return out.append(n - 1 < 0 ? "e-" : "e+").append(std::to_string(std::abs(n - 1)));
}

double RoundToDigits(double value, int significant_digits) {
  if (!std::isfinite(value) || value == 0.0) return value;
  char buffer[64];
  const auto written = std::to_chars(buffer, buffer + sizeof buffer, value, std::chars_format::scientific, significant_digits - 1);
  double rounded = value;
  std::from_chars(buffer, written.ptr, rounded);
  return rounded;
}

double RoundToPlaces(double value, int decimal_places) {
  if (!std::isfinite(value) || std::fabs(value) > 1e15) return value;
  char buffer[64];
  const auto written = std::to_chars(buffer, buffer + sizeof buffer, value, std::chars_format::fixed, decimal_places);
  double rounded = value;
  std::from_chars(buffer, written.ptr, rounded);
  return rounded == 0.0 ? 0.0 : rounded;
}

std::string EscapedMarkup(std::string_view text) {
  std::string out;
  for (const char c : ValidUtf8(text)) {
    switch (c) {
      case '&': out += "&amp;"; break;
      case '<': out += "&lt;"; break;
      case '>': out += "&gt;"; break;
      case '"': out += "&quot;"; break;
      case '\'': out += "&#39;"; break;
      default: out += (static_cast<unsigned char>(c) < 0x20 && c != '\n') || c == 0x7f ? ' ' : c;
    }
  }
  return out;
}

std::string ValidUtf8(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    const std::size_t length = SequenceLength(text);
    if (length == 0)
      out += "\xEF\xBF\xBD";
    else
      out += text.substr(0, length);
    text.remove_prefix(length == 0 ? 1 : length);
  }
  return out;
}

std::string JsonString(std::string_view text) {
  static constexpr char kHex[] = "0123456789abcdef";
  std::string out = "\"";
  for (const char c : ValidUtf8(text)) {
    const auto byte = static_cast<unsigned char>(c);
    switch (c) {
      case '"': out += "\\\""; break;
      case '\\': out += "\\\\"; break;
      case '\b': out += "\\b"; break;
      case '\f': out += "\\f"; break;
      case '\n': out += "\\n"; break;
      case '\r': out += "\\r"; break;
      case '\t': out += "\\t"; break;
      default:
        if (byte < 0x20) {
          out += "\\u00";
          out += kHex[byte >> 4];
          out += kHex[byte & 15];
        } else {
          out += c;
        }
    }
  }
  return out + "\"";
}

}  // namespace islebook
