#include "mapstore/units/reference_conditions.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <fmt/format.h>

#include "mapstore/units/print_text.h"
#include "mapstore/units/printed_number.h"

namespace islebook {
namespace {

constexpr double kMinTemperature = 233.15, kMaxTemperature = 333.15;  // K
constexpr double kMinPressure = 60e3, kMaxPressure = 120e3;           // Pa
constexpr double kInchOfMercury = 3386.38864, kPoundPerSquareInch = 6894.757293, kTechnicalAtmosphere = 98066.5, kMillimeterOfMercury = 133.322387;

constexpr NamedReferenceConditions kInUse[] = {
    {"standard day: 288.15 K, 101.325 kPa", 288.15, 101325.0, "NASA TN D-7881 p. 4; ISO 2533"},
    {"298 K, 100 kPa", 298.0, 100000.0, "practice after SAE J1826, from memory"},
    {"85 degF, 28.4 inHg", 302.5944, 28.4 * kInchOfMercury, "common practice, no source"},
    {"545 degR, 13.95 psia", 545.0 / 1.8, 13.95 * kPoundPerSquareInch, "common practice, no source"},
    {"20 degC, 981 mbar", 293.15, 98100.0, "common practice, no source"},
    {"15 degC, 1 bar", 288.15, 100000.0, "common practice, no source"},
    {"20 degC, 1 bar", 293.15, 100000.0, "common practice, no source"},
    {"25 degC, 1 bar", 298.15, 100000.0, "common practice, no source"},
};

enum class Kind { kTemperature, kPressure };

struct UnitHere {
  Kind kind = Kind::kTemperature;
  double factor = 1.0, offset = 0.0;  // SI = value * factor + offset
  std::size_t length = 0;             // bytes taken
  bool gauge = false;
  bool degree_sign = true;  // false: a bare letter, as in "85F"
};

struct Candidate {
  Kind kind = Kind::kTemperature;
  std::optional<double> si;  // nullopt: implausible
  std::string printed;       // for reasons
  std::size_t position = 0;
  bool gauge = false;
  bool repaired = false;
};

bool EndsWord(std::string_view text, std::size_t at) {
  return at >= text.size() || !(IsAsciiLetter(text[at]) || static_cast<unsigned char>(text[at]) >= 0x80);
}

// Letters that print and poor scans confuse.
char Alike(char c) {
  switch (c) {
    case 'I':
    case 'i':
    case '1':
    case 'l':
    case 'L':
    case '|':
    case '!': return 'l';
    case 'q':
    case '9':
    case 'g':
    case 'G':
    case 'Q': return 'g';
    case '0':
    case 'O':
    case 'o': return 'o';
    default: return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
}

// Bytes of `text` that `pattern` takes at the front, 0 if it does not fit. A blank in the pattern stands for any blanks, points and hyphens, or none.
std::size_t Match(std::string_view pattern, std::string_view text) {
  std::size_t i = 0;
  for (const char p : pattern) {
    if (p == ' ') {
      while (i < text.size() && (text[i] == ' ' || text[i] == '.' || text[i] == '-')) ++i;
      continue;
    }
    if (p == 'm' && i + 1 < text.size() && (text[i] == 'r' || text[i] == 'R') && (text[i + 1] == 'n' || text[i + 1] == 'N')) {
      i += 2;
      continue;
    }
    if (i >= text.size() || Alike(text[i]) != Alike(p)) return 0;
    ++i;
  }
  return i;
}

struct PressurePattern {
  const char* pattern;
  double pascals;
};
constexpr PressurePattern kPressures[] = {
    {"inches of mercury", kInchOfMercury},
    {"inch of mercury", kInchOfMercury},
    {"inches hg", kInchOfMercury},
    {"inch hg", kInchOfMercury},
    {"in hg", kInchOfMercury},
    {"in hig", kInchOfMercury},
    {"in mercury", kInchOfMercury},
    {"\" hg", kInchOfMercury},
    {"'' hg", kInchOfMercury},
    {"lnhg", kInchOfMercury},
    {"mm hg", kMillimeterOfMercury},
    {"torr", kMillimeterOfMercury},
    {"cm hg", 10.0 * kMillimeterOfMercury},
    {"millibar", 100.0},
    {"m bar", 100.0},
    {"mb", 100.0},
    {"h pa", 100.0},
    {"k pa", 1000.0},
    {"kilopascal", 1000.0},
    {"m pa", 1e6},
    {"pascal", 1.0},
    {"pa", 1.0},
    {"bar", 1e5},
    {"psi", kPoundPerSquareInch},
    {"p s i", kPoundPerSquareInch},
    {"lb / in^2", kPoundPerSquareInch},
    {"lbf / in^2", kPoundPerSquareInch},
    {"lb / in2", kPoundPerSquareInch},
    {"lbf / in2", kPoundPerSquareInch},
    {"lb / sq in", kPoundPerSquareInch},
    {"kn / m^2", 1e3},
    {"kn / m2", 1e3},
    {"n / m^2", 1.0},
    {"n / m2", 1.0},
    {"n / cm^2", 1e4},
    {"n / cm2", 1e4},
    {"kgf / cm^2", kTechnicalAtmosphere},
    {"kgf / cm2", kTechnicalAtmosphere},
    {"kg / cm^2", kTechnicalAtmosphere},
    {"kg / cm2", kTechnicalAtmosphere},
    {"kp / cm^2", kTechnicalAtmosphere},
    {"kp / cm2", kTechnicalAtmosphere},
    {"ata", kTechnicalAtmosphere},
    {"atm", 101325.0},
};

std::optional<UnitHere> MatchPressure(std::string_view text) {
  for (const PressurePattern& row : kPressures) {
    std::size_t length = Match(row.pattern, text);
    if (length == 0) continue;
    UnitHere here{Kind::kPressure, row.pascals, 0.0, length};
    for (const std::string_view absolute : {" (abs)", " (a)", " abs", " absolute", " absolut", " a", "s"})
      if (const std::size_t more = Match(absolute, text.substr(length)); more > 0 && EndsWord(text, length + more)) {
        here.length = length + more;
        return here;
      }
    for (const std::string_view gauge : {" (g)", " (gauge)", " gauge", " gage", " g", " (\u00FC)", " \u00FC"})
      if (const std::size_t more = Match(gauge, text.substr(length)); more > 0 && (EndsWord(text, length + more) || text[length + more - 1] == ')')) {
        here.length = length + more;
        here.gauge = true;
        return here;
      }
    if (EndsWord(text, length)) return here;
  }
  return std::nullopt;
}

std::optional<UnitHere> MatchTemperature(std::string_view text) {
  std::size_t i = 0;
  while (i < text.size() && text[i] == ' ') ++i;
  bool degree = false;
  const std::string lower = LowerAscii(text.substr(0, 40));
  for (const std::string_view word : {"degrees", "degree", "degres", "deg", "grad", "grd"})
    if (std::string_view(lower).substr(std::min(i, lower.size())).starts_with(word)) {
      i += word.size();
      degree = true;
      break;
    }
  if (!degree && i < text.size()) {
    const char next = i + 1 < text.size() ? text[i + 1] : ' ';
    const bool scale_follows = next == 'C' || next == 'F' || next == 'K' || next == 'R';
    if (text[i] == '~' || text[i] == '*' || text[i] == '\'' || text[i] == '"' || text[i] == '^' || text[i] == '`' ||
        ((text[i] == 'o' || text[i] == 'O' || text[i] == '0') && scale_follows)) {
      degree = true;
      ++i;
    }
  }
  while (i < text.size() && (text[i] == ' ' || text[i] == '.')) ++i;
  struct Scale {
    const char* word;
    char letter;
    double factor, offset;
  };
  constexpr Scale kScales[] = {
      {"celsius", 'C', 1.0, 273.15}, {"fahrenheit", 'F', 1.0 / 1.8, 459.67 / 1.8}, {"kelvin", 'K', 1.0, 0.0}, {"rankine", 'R', 1.0 / 1.8, 0.0}};
  for (const Scale& scale : kScales) {
    UnitHere here{Kind::kTemperature, scale.factor, scale.offset, 0, false, degree};
    if (std::string_view(lower).substr(std::min(i, lower.size())).starts_with(scale.word)) {
      here.length = i + std::string_view(scale.word).size();
      if (EndsWord(text, here.length)) return here;
    }
    const bool small_letter_will_do = degree || scale.letter == 'K' || i == 0;
    if (i < text.size() && (text[i] == scale.letter || (small_letter_will_do && text[i] == scale.letter - 'A' + 'a')) && EndsWord(text, i + 1)) {
      here.length = i + 1;
      return here;
    }
  }
  return std::nullopt;
}

std::optional<UnitHere> MatchUnitHere(std::string_view text) {
  const std::size_t blanks = std::min(text.find_first_not_of(' '), text.size());
  if (auto pressure = MatchPressure(text.substr(blanks))) {
    pressure->length += blanks;
    return pressure;
  }
  return MatchTemperature(text);
}

// "Tref [K] = 298", "p0 (kPa): 100": the unit in brackets before the number at `at`.
std::optional<UnitHere> UnitBefore(std::string_view text, std::size_t at) {
  while (at > 0 && (text[at - 1] == ' ' || text[at - 1] == '=' || text[at - 1] == ':')) --at;
  if (at == 0 || (text[at - 1] != ']' && text[at - 1] != ')')) return std::nullopt;
  const std::size_t open = text.substr(0, at).find_last_of("[(");
  if (open == std::string_view::npos || at - open > 16) return std::nullopt;
  const std::string inner = FoldPrint(text.substr(open + 1, at - open - 2));
  auto here = MatchUnitHere(inner);
  if (!here || here->length != inner.size()) return std::nullopt;
  here->length = 0;
  return here;
}

bool Plausible(Kind kind, double si) {
  return kind == Kind::kTemperature ? si >= kMinTemperature && si <= kMaxTemperature : si >= kMinPressure && si <= kMaxPressure;
}

std::vector<Candidate> FindCandidates(const std::string& text) {
  std::vector<Candidate> candidates;
  for (std::size_t i = 0; i < text.size();) {
    const bool starts = IsAsciiDigit(text[i]) || std::string_view("lIOo|").find(text[i]) != std::string_view::npos ||
                        ((text[i] == '-' || text[i] == '.') && i + 1 < text.size() && IsAsciiDigit(text[i + 1]));
    const bool inside = i > 0 && (IsAsciiLetter(text[i - 1]) || IsAsciiDigit(text[i - 1]) || static_cast<unsigned char>(text[i - 1]) >= 0x80);
    const auto number = starts && !inside ? ReadPrintedNumber(std::string_view(text).substr(i), true) : std::nullopt;
    if (!number) {
      ++i;
      continue;
    }
    std::size_t end = i + number->length;
    auto unit = MatchUnitHere(std::string_view(text).substr(end));
    if (!unit) unit = UnitBefore(text, i);
    if (unit) {
      Candidate candidate{unit->kind, std::nullopt, text.substr(i, number->length + unit->length), i, unit->gauge, number->repaired};
      for (const double value : number->values)
        if (const double si = value * unit->factor + unit->offset; !candidate.si && Plausible(unit->kind, si)) candidate.si = si;
      // "850F": a degree sign read as a nought.
      if (const std::string digits = text.substr(i, number->length);
          !candidate.si && unit->kind == Kind::kTemperature && !unit->degree_sign && digits.size() == 3 && digits.back() == '0') {
        const double si = number->values.front() / 10.0 * unit->factor + unit->offset;
        if (unit->offset != 0.0 && Plausible(unit->kind, si)) {
          candidate.si = si;
          candidate.repaired = true;
        }
      }
      candidates.push_back(std::move(candidate));
      end += unit->length;
    }
    i = std::max(end, i + 1);
  }
  return candidates;
}

bool Same(Kind kind, double a, double b) { return kind == Kind::kTemperature ? std::fabs(a - b) <= 0.6 : std::fabs(a / b - 1.0) <= 0.005; }

// The one value of a kind among the candidates from `from` on: the first, if all plausible ones agree.
struct Choice {
  const Candidate* chosen = nullptr;
  bool differ = false;
};
Choice Choose(const std::vector<Candidate>& candidates, Kind kind, std::size_t from) {
  Choice choice;
  for (const Candidate& candidate : candidates) {
    if (candidate.kind != kind || !candidate.si || candidate.gauge || candidate.position < from) continue;
    if (choice.chosen == nullptr)
      choice.chosen = &candidate;
    else if (!Same(kind, *choice.chosen->si, *candidate.si))
      choice.differ = true;
  }
  return choice;
}

// Where the words that speak of a reference begin, 0 if there are none.
std::size_t ReferenceWords(const std::string& lower) {
  std::size_t first = std::string::npos;
  for (const std::string_view word : {"ref", "corrected to", "correct", "bezug", "bezogen", "ramen", "normal", "korrigiert", "corrig", "standard"})
    first = std::min(first, lower.find(word));
  return first == std::string::npos ? 0 : first;
}

bool SaysStandardDay(const std::string& lower) {
  for (const std::string_view words :
       {"standard day", "standard atmosphere", "sea level standard", "iso 2533", "normatmosph", "atmosphere standard", "standardatmosph"})
    if (lower.find(words) != std::string::npos) return true;
  for (std::size_t at = 0; (at = lower.find("isa", at)) != std::string::npos; at += 3)
    if ((at == 0 || !IsAsciiLetter(lower[at - 1])) && EndsWord(lower, at + 3)) return true;
  return false;
}

}  // namespace

std::span<const NamedReferenceConditions> ReferenceConditionsInUse() { return kInUse; }

const NamedReferenceConditions* FindNamedReferenceConditions(const ReferenceConditions& conditions) {
  for (const NamedReferenceConditions& named : kInUse)
    if (std::fabs(named.temperature_K - conditions.temperature_K) <= 0.3 && std::fabs(named.pressure_Pa / conditions.pressure_Pa - 1.0) <= 0.001)
      return &named;
  return nullptr;
}

ReferenceReading ParseReferenceConditions(std::string_view printed) {
  ReferenceReading reading;
  const std::string text = FoldPrint(printed.substr(0, 2000));
  const std::string lower = LowerAscii(text);
  const std::vector<Candidate> candidates = FindCandidates(text);
  Choice temperature = Choose(candidates, Kind::kTemperature, 0), pressure = Choose(candidates, Kind::kPressure, 0);
  if (temperature.differ || pressure.differ) {  // other conditions stand in the note too; take those behind the words that speak of a reference
    const std::size_t from = ReferenceWords(lower);
    const Choice later_temperature = Choose(candidates, Kind::kTemperature, from), later_pressure = Choose(candidates, Kind::kPressure, from);
    if (from > 0 && later_temperature.chosen != nullptr && later_pressure.chosen != nullptr) {
      temperature = later_temperature;
      pressure = later_pressure;
    }
  }
  if (temperature.chosen != nullptr && !temperature.differ) reading.temperature_K = temperature.chosen->si;
  if (pressure.chosen != nullptr && !pressure.differ) reading.pressure_Pa = pressure.chosen->si;
  if (reading.temperature_K && reading.pressure_Pa) {
    reading.conditions = ReferenceConditions{*reading.temperature_K, *reading.pressure_Pa, ReferenceConditions::Basis::kPrinted};
    reading.repaired = temperature.chosen->repaired || pressure.chosen->repaired;
    return reading;
  }
  if (candidates.empty() && SaysStandardDay(lower)) {
    reading.temperature_K = kInUse[0].temperature_K;
    reading.pressure_Pa = kInUse[0].pressure_Pa;
    reading.conditions = ReferenceConditions{kInUse[0].temperature_K, kInUse[0].pressure_Pa, ReferenceConditions::Basis::kPrinted};
    return reading;
  }

  const auto gauge = std::ranges::find_if(candidates, [](const Candidate& c) { return c.gauge; });
  const auto implausible = [&](Kind kind) {
    return std::ranges::find_if(candidates, [&](const Candidate& c) { return c.kind == kind && !c.si && !c.gauge; });
  };
  if (temperature.differ || pressure.differ) {
    reading.reason = fmt::format("the note names several {} that differ; which one the map is corrected to is not clear",
                                 temperature.differ ? "temperatures" : "pressures");
  } else if (!reading.pressure_Pa && gauge != candidates.end()) {
    reading.reason = fmt::format("\"{}\" is a gauge pressure; reference conditions need an absolute one", gauge->printed);
  } else if (const auto odd = implausible(Kind::kTemperature); !reading.temperature_K && odd != candidates.end()) {
    reading.reason = fmt::format("\"{}\" is no temperature that a map is corrected to", odd->printed);
  } else if (const auto strange = implausible(Kind::kPressure); !reading.pressure_Pa && strange != candidates.end()) {
    reading.reason = fmt::format("\"{}\" is no pressure that a map is corrected to", strange->printed);
  } else if (reading.temperature_K) {
    reading.reason = "a reference temperature was read, but no pressure";
  } else if (reading.pressure_Pa) {
    reading.reason = "a reference pressure was read, but no temperature";
  } else {
    reading.reason = "no reference conditions were found";
  }
  return reading;
}

}  // namespace islebook
