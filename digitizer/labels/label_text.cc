#include "digitizer/labels/label_text.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <vector>

namespace islebook {
namespace {

void ReplaceAll(std::string& s, std::string_view from, std::string_view to) {
  for (std::size_t at = 0; (at = s.find(from, at)) != std::string::npos; at += to.size()) s.replace(at, from.size(), to);
}

bool Digit(char c) { return c >= '0' && c <= '9'; }

// Signs of several bytes as plain ones; readers of print confuse the quotes and dashes among themselves.
std::string Plain(std::string_view text) {
  std::string s(text);
  for (const auto& [from, to] : {std::pair{"\u2212", "-"},
                                 {"\u2013", "-"},
                                 {"\u2014", "-"},
                                 {"\u2019", "'"},
                                 {"\u2018", "'"},
                                 {"\u00a0", " "},
                                 {"\u2009", " "},
                                 {"\u202f", " "},
                                 {"\u00b7", "."},
                                 {"\u207b\u00b9", "-1"},
                                 {"\u00b9", "1"},
                                 {"\u03b7", "eta"},
                                 {"\uff05", "%"},
                                 {"\u2030", "%"}})
    ReplaceAll(s, from, to);
  while (!s.empty() && std::isspace(static_cast<unsigned char>(s.back()))) s.pop_back();
  while (!s.empty() && std::isspace(static_cast<unsigned char>(s.front()))) s.erase(0, 1);
  return s;
}

std::string Lower(std::string s) {
  for (char& c : s) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return s;
}

std::string NoSpaces(std::string s) {
  std::erase(s, ' ');
  return s;
}

struct Unit {
  const char* spelling;
  const char* unit;
};
constexpr std::array kUnits = {
    Unit{"rpm", "rpm"},       Unit{"r/min", "rpm"},   Unit{"1/min", "rpm"},   Unit{"i/min", "rpm"},   Unit{"l/min", "rpm"}, Unit{"min-1", "rpm"},
    Unit{"min^-1", "rpm"},    Unit{"u/min", "rpm"},   Unit{"rev/min", "rpm"}, Unit{"rpmc", "rpm"},    Unit{"krpm", "krpm"}, Unit{"k", "krpm"},
    Unit{"krev/min", "krpm"}, Unit{"kr/min", "krpm"}, Unit{"k1/min", "krpm"}, Unit{"kmin-1", "krpm"}, Unit{"m/s", "m/s"},   Unit{"ms-1", "m/s"},
    Unit{"%", "%"},           Unit{"pct", "%"},       Unit{"percent", "%"},
};

// What stands before "=" where the value of a curve is printed: speeds, efficiencies, openings.
constexpr std::array<std::string_view, 21> kNames = {"n",     "nc",    "nk",   "nkorr", "ncorr", "nred",  "nt",  "ntc", "n*",  "eta", "etais",
                                                     "etats", "etatt", "etas", "u",     "u2",    "speed", "rpm", "eff", "vgt", "ma"};

// "%Nc", "% N", "%open": a per cent of something.
bool PerCentOf(const std::string& s) {
  // A subscript may come with what readers make of its drop: "%N_c", "%N,c".
  return s.size() <= 9 && !s.empty() && s[0] == '%' &&
         std::all_of(s.begin() + 1, s.end(), [](char c) { return std::isalpha(static_cast<unsigned char>(c)) || c == '.' || c == ',' || c == '_'; });
}

std::string UnitOf(const std::string& word) {
  const std::string w = NoSpaces(Lower(word));
  for (const Unit& u : kUnits)
    if (w == u.spelling) return u.unit;
  if (PerCentOf(w)) return "%";
  return {};
}

char LookAlike(char c) {
  switch (c) {
    case 'O':
    case 'o':
    case 'Q':
    case 'D': return '0';
    case 'l':
    case 'I':
    case 'i':
    case '|':
    case '!': return '1';
    case 'S':
    case 's': return '5';
    case 'B': return '8';
    default: return c;
  }
}

// Digits with points, commas, quotes or blanks as a number; nothing if they do not group.
std::optional<double> NumberOf(std::string s) {
  if (s.empty()) return std::nullopt;
  // A blank or quote between groups of three is a separator like a comma.
  std::vector<std::size_t> marks;
  int digits = 0;
  for (std::size_t i = 0; i < s.size(); ++i) {
    if (Digit(s[i]))
      ++digits;
    else if (s[i] == '.' || s[i] == ',' || s[i] == '\'' || s[i] == ' ')
      marks.push_back(i);
    else
      return std::nullopt;
  }
  if (digits == 0 || digits > 8) return std::nullopt;
  if (marks.empty()) {
    if (s.size() > 1 && s[0] == '0') return std::nullopt;  // 074: a point was lost, and where is not ours to guess
    return std::atof(s.c_str());
  }
  if (marks.back() + 1 == s.size()) return std::nullopt;
  const auto group_after = [&](std::size_t k) { return (k + 1 < marks.size() ? marks[k + 1] : s.size()) - marks[k] - 1; };
  const std::size_t before = marks[0];
  const bool leading_nought = before == 0 || (s[0] == '0');
  bool groups = before >= 1 && before <= 3 && !leading_nought;
  for (std::size_t k = 0; k < marks.size(); ++k) groups = groups && group_after(k) == 3 && s[marks[k]] == s[marks[0]];
  if (groups) {
    std::erase_if(s, [](char c) { return !Digit(c); });
    return std::atof(s.c_str());
  }
  const char last = s[marks.back()];
  if (last != '.' && last != ',') return std::nullopt;
  // All but the last are separators of groups, the last is the decimal point.
  for (std::size_t k = 0; k + 1 < marks.size(); ++k)
    if (group_after(k) != 3 || s[marks[k]] == last) return std::nullopt;
  if (marks.size() > 1 && (before < 1 || before > 3)) return std::nullopt;
  std::string plain;
  for (std::size_t i = 0; i < s.size(); ++i) {
    if (Digit(s[i]))
      plain += s[i];
    else if (i == marks.back())
      plain += '.';
  }
  return std::atof(plain.c_str());
}

}  // namespace

std::string SpeedUnitOf(std::string_view word) { return UnitOf(Plain(word)); }

std::optional<LabelText> ParseLabelText(std::string_view text) {
  std::string s = Plain(text);
  LabelText label;
  // "n = ", "N:", "eta=", "U2 =" before the number.
  if (const std::size_t sign = s.find_first_of("=:"); sign != std::string::npos) {
    const std::string name = NoSpaces(Lower(s.substr(0, sign)));
    if (std::find(kNames.begin(), kNames.end(), name) == kNames.end()) return std::nullopt;
    s.erase(0, sign + 1);
    s = Plain(s);
  }
  if (s.empty()) return std::nullopt;
  // The number reaches as far as digits, marks and look-alikes do; what follows is the unit.
  std::size_t end = 0;
  while (end < s.size() && (Digit(s[end]) || s[end] == '.' || s[end] == ',' || s[end] == '\'' || s[end] == ' ')) ++end;
  // "90000 1/min": the 1 belongs to the unit.
  std::string number = s.substr(0, end), rest = s.substr(end);
  if (!rest.empty() && rest[0] == '/' && number.ends_with(" 1")) {
    number.resize(number.size() - 2);
    rest = "1" + rest;
  }
  while (!number.empty() && (number.back() == ' ' || number.back() == '.' || number.back() == ',')) number.pop_back();
  while (!number.empty() && (number.front() == ' ' || number.front() == '\'')) number.erase(0, 1);
  rest = Plain(rest);
  if (rest == "K" && s.find(" K") != std::string::npos) return std::nullopt;  // kelvin
  if (!rest.empty()) label.unit = UnitOf(rest);
  if (!rest.empty() && label.unit.empty()) {
    // Look-alikes inside the number: only where all else is digits. A closing % or k may follow.
    std::string body = NoSpaces(s), tail;
    if (body.size() > 1 && (body.back() == '%' || body.back() == 'k')) {
      tail = body.back();
      body.pop_back();
    }
    int digits = 0, doubtful = 0;
    for (char& c : body) {
      if (Digit(c)) ++digits;
      const char looks = LookAlike(c);
      if (looks != c) ++doubtful;
      c = looks;
    }
    if (digits == 0 || doubtful == 0 || doubtful > 2 * digits) return std::nullopt;
    const auto value = NumberOf(body);
    if (!value) return std::nullopt;
    label.value = *value;
    label.unit = tail.empty() ? "" : UnitOf(tail);
    label.repaired = true;
  } else {
    // Blanks part groups of three; elsewhere two numbers stand side by side.
    const auto value = NumberOf(number);
    if (!value) return std::nullopt;
    label.value = *value;
  }
  if (label.value <= 0.0 || label.value > 5e6) return std::nullopt;
  if (label.unit.empty() && label.value < 1.0) label.unit = "1";
  return label;
}

}  // namespace islebook
