#include "mapstore/units/printed_number.h"

#include <charconv>
#include <cmath>
#include <string>

#include "mapstore/units/print_text.h"

namespace islebook {
namespace {

std::optional<double> ToDouble(const std::string& digits) {
  double value = 0.0;
  const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (read.ec != std::errc() || read.ptr != digits.data() + digits.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

}  // namespace

std::optional<PrintedNumber> ReadPrintedNumber(std::string_view text, bool allow_misread) {
  PrintedNumber number;
  std::size_t i = 0;
  bool negative = false;
  if (i < text.size() && (text[i] == '-' || text[i] == '+')) {
    negative = text[i] == '-';
    ++i;
  }
  bool any_true_digit = false;
  // The digit at `at`, '\0' if there is none there.
  const auto digit = [&](std::size_t at) -> char {
    if (at >= text.size()) return '\0';
    if (IsAsciiDigit(text[at])) return text[at];
    if (!allow_misread) return '\0';
    const bool one = text[at] == 'l' || text[at] == 'I' || text[at] == '|', zero = text[at] == 'O' || text[at] == 'o';
    if (!one && !zero) return '\0';
    // A letter stands for a digit only inside a number: what follows must be a digit, a letter like it, or the number's end.
    const char next = at + 1 < text.size() ? text[at + 1] : ' ';
    const bool letter_follows =
        (IsAsciiLetter(next) && std::string_view("lIOo").find(next) == std::string_view::npos) || static_cast<unsigned char>(next) >= 0x80;
    return letter_follows ? '\0' : one ? '1' : '0';
  };
  const auto group_of_three = [&](std::size_t at) {
    return digit(at) != '\0' && digit(at + 1) != '\0' && digit(at + 2) != '\0' && digit(at + 3) == '\0';
  };

  std::vector<std::string> groups(1);
  std::string separators;
  while (i < text.size()) {
    if (const char d = digit(i); d != '\0') {
      any_true_digit = any_true_digit || IsAsciiDigit(text[i]);
      number.repaired = number.repaired || !IsAsciiDigit(text[i]);
      groups.back() += d;
      ++i;
      continue;
    }
    const char c = text[i];
    const bool point = (c == '.' || c == ',') && digit(i + 1) != '\0';
    // Spaces and apostrophes part thousands only: one to three digits before, three after, and no decimal part so far.
    const bool gap = (c == ' ' || c == '\'') && !groups.back().empty() && groups.back().size() <= 3 && groups.front() != "0" &&
                     group_of_three(i + 1) && (separators.empty() || separators.back() == c);
    if (!point && !gap) break;
    separators += c;
    groups.emplace_back();
    ++i;
  }
  if (!any_true_digit) return std::nullopt;

  std::string whole;
  for (const std::string& group : groups) whole += group;
  const auto with_decimals = [&](std::size_t decimal_group) {  // groups from there on are the decimal part
    std::string out;
    for (std::size_t g = 0; g < groups.size(); ++g) {
      if (g == decimal_group) out += '.';
      out += groups[g];
    }
    return out[0] == '.' ? "0" + out : out;
  };
  const auto thousands_until = [&](std::size_t end) {
    if (groups[0].empty() || groups[0].size() > 3 || groups[0] == "0") return false;
    for (std::size_t g = 1; g < end; ++g)
      if (groups[g].size() != 3) return false;
    return true;
  };
  std::vector<std::string> readings;
  if (separators.empty()) {
    readings = {whole};
  } else if (separators.size() == 1 && (separators[0] == '.' || separators[0] == ',')) {
    readings = {with_decimals(1)};
    if (thousands_until(2)) readings.insert(separators[0] == ',' ? readings.begin() : readings.end(), whole);
  } else {
    const bool alike = separators.find_first_not_of(separators[0]) == std::string::npos;
    if (alike && thousands_until(groups.size()))
      readings = {whole};
    else if (!alike && separators.substr(0, separators.size() - 1).find_first_not_of(separators[0]) == std::string::npos &&
             (separators.back() == '.' || separators.back() == ',') && thousands_until(groups.size() - 1))
      readings = {with_decimals(groups.size() - 1)};
  }
  if (readings.empty()) return std::nullopt;

  std::string exponent;
  if (i < text.size() && (text[i] == 'e' || text[i] == 'E')) {
    std::size_t at = i + 1;
    std::string power;
    if (at < text.size() && (text[at] == '-' || text[at] == '+')) {
      if (text[at] == '-') power = "-";
      ++at;
    }
    while (at < text.size() && IsAsciiDigit(text[at])) power += text[at++];
    if (!power.empty() && power != "-" && (at >= text.size() || !IsAsciiLetter(text[at]))) {
      exponent = "e" + power;
      i = at;
    }
  }
  for (const std::string& reading : readings) {
    const auto value = ToDouble(reading + exponent);
    if (!value) return std::nullopt;
    number.values.push_back(negative ? -*value : *value);
  }
  number.length = i;
  return number;
}

}  // namespace islebook
