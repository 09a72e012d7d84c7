#include "digitizer/axes/axis_title.h"

#include <algorithm>
#include <cmath>
#include <regex>
#include <string>

#include "digitizer/axes/axis_lexicon.h"
#include "digitizer/axes/fuzzy_text.h"

namespace islebook {
namespace {

constexpr const char* kParameterUnit = "kg s-1 K0.5 kPa-1";

// As units are listed: no spaces, points, carets, multiplication signs; a root is "v"; a dash only before a digit.
std::string FoldUnit(std::string_view text) {
  std::string folded = FoldText(text);
  for (std::size_t at = folded.find("sqrt"); at != std::string::npos; at = folded.find("sqrt")) folded.replace(at, 4, 1, 'v');
  std::string out;
  for (std::size_t i = 0; i < folded.size(); ++i) {
    const char c = folded[i];
    if (c == ' ' || c == '.' || c == '^' || c == '*' || c == '[' || c == ']' || c == '_' || c == ',' || c == ':') continue;
    if (c == '-' && folded.size() > 2 && (i + 1 >= folded.size() || !(folded[i + 1] >= '0' && folded[i + 1] <= '9'))) continue;
    out += c;
  }
  return out;
}

struct UnitCost {
  const UnitSpelling* spelling = nullptr;
  double cost = 1e9;
};

// The nearest spelling among units that fit the matter (kUnknown: all).
UnitCost NearestUnit(const std::string& folded, AxisMatter matter) {
  UnitCost best;
  for (const UnitSpelling& s : UnitLexicon()) {
    if (matter != AxisMatter::kUnknown && !UnitFits(matter, s.unit)) continue;
    const std::string_view spelling(s.spelling);
    if (std::abs(static_cast<int>(spelling.size()) - static_cast<int>(folded.size())) > 3) continue;
    double cost = ReadingCost(spelling, folded);
    if (spelling == "-" || spelling == "--" || spelling == "1" || spelling == "%") cost = spelling == folded ? 0.0 : 1e9;
    if (cost < best.cost) best = {&s, cost};
  }
  return best;
}

double AllowedCost(std::size_t length, bool matter_known) {
  if (length <= 1) return 0.0;
  if (length <= 3) return matter_known ? 0.4 : 0.35;
  return (matter_known ? 0.26 : 0.17) * static_cast<double>(length);
}

std::vector<std::string> Brackets(const std::string& folded) {
  std::vector<std::string> out;
  for (std::size_t i = 0; i < folded.size(); ++i) {
    const char open = folded[i];
    if (open != '[' && open != '(' && open != '{') continue;
    int depth = 0;
    std::size_t end = std::string::npos;
    for (std::size_t j = i; j < folded.size(); ++j) {
      if (folded[j] == '[' || folded[j] == '(' || folded[j] == '{') ++depth;
      if (folded[j] == ']' || folded[j] == ')' || folded[j] == '}') --depth;
      if (depth == 0) {
        end = j;
        break;
      }
    }
    // A closing bracket that the reader took for something else: to the end.
    const std::string inner = folded.substr(i + 1, end == std::string::npos ? std::string::npos : end - i - 1);
    if (!inner.empty()) out.push_back(inner);
  }
  return out;
}

std::vector<std::string> Split(const std::string& text, const std::string& separators) {
  std::vector<std::string> out;
  std::string part;
  for (char c : text) {
    if (separators.find(c) != std::string::npos) {
      if (!part.empty()) out.push_back(std::move(part));
      part.clear();
    } else {
      part += c;
    }
  }
  if (!part.empty()) out.push_back(std::move(part));
  return out;
}

struct Concepts {
  unsigned bits = 0;
  double weakest = 1.0;  // of the words that were matched
  const char* other = nullptr;
};

Concepts ConceptsOf(const std::string& folded) {
  Concepts out;
  std::vector<std::string> words = WordsOf(folded);
  const std::string squeezed = SqueezeText(folded);
  // A word torn in two: "E iciency".
  const std::size_t whole = words.size();
  for (std::size_t i = 0; i + 1 < whole; ++i) {
    if (std::min(words[i].size(), words[i + 1].size()) <= 3 && words[i].size() + words[i + 1].size() >= 7) words.push_back(words[i] + words[i + 1]);
  }
  for (const std::string& word : words) {
    const LexiconWord* best = nullptr;
    double best_cost = 1e9;
    for (const LexiconWord& entry : TitleLexicon()) {
      const std::string_view meant(entry.word);
      const double allowed = meant.size() <= 3 ? 0.0 : meant.size() == 4 ? 0.4 : 0.2 * static_cast<double>(meant.size());
      if (std::abs(static_cast<int>(meant.size()) - static_cast<int>(word.size())) > 3) continue;
      double cost = ReadingCost(meant, word);
      if (word.size() > meant.size() && meant.size() >= 6 && std::string_view(word).starts_with(meant))
        cost = std::min(cost, 0.1);  // an ending: "korrigierter"
      if (cost > allowed) continue;
      const double relative = cost / static_cast<double>(meant.size());
      if (relative < best_cost) best = &entry, best_cost = relative;
    }
    if (best == nullptr) continue;
    out.bits |= best->concepts;
    out.weakest = std::min(out.weakest, 1.0 - 2.0 * best_cost);
    if (best->other != nullptr && (out.other == nullptr || std::string_view(best->other) == "torque")) out.other = best->other;
  }
  // Words run together or torn apart.
  for (const LexiconWord& entry : TitleLexicon()) {
    const std::string_view meant(entry.word);
    if (meant.size() < 7 || (entry.concepts & ~out.bits) == 0u || entry.other != nullptr) continue;
    if (CostWithin(meant, squeezed) <= 0.12 * static_cast<double>(meant.size())) {
      out.bits |= entry.concepts;
      out.weakest = std::min(out.weakest, 0.8);
    }
  }
  return out;
}

// "p2t/p1t", "p03/p4", "P'1/P'3": stations and total marks.
struct PressureSymbol {
  bool found = false;
  bool turbine = false;
  bool compressor = false;
  std::optional<bool> total_to_static;
};

PressureSymbol FindPressureSymbol(const std::string& folded) {
  static const std::regex pattern(R"(p\s*_?([t0o']*)\s*(\d)\s*([ts0o'*]*)\s*[/:|]\s*p\s*_?([t0o']*)\s*(\d)\s*([ts0o'*]*))");
  PressureSymbol out;
  std::smatch m;
  if (!std::regex_search(folded, m, pattern)) return out;
  const int from = m[2].str()[0] - '0', to = m[5].str()[0] - '0';
  out.found = true;
  out.compressor = from > to;
  out.turbine = from < to && from >= 3;
  const auto total = [](const std::string& a, const std::string& b) { return (a + b).find_first_of("t0o'*") != std::string::npos; };
  const bool first = total(m[1].str(), m[3].str()), second = total(m[4].str(), m[6].str());
  if (first && second) out.total_to_static = false;
  if (first && !second && !out.compressor) out.total_to_static = true;
  if (!first && second && out.compressor) out.total_to_static = true;
  return out;
}

std::optional<bool> TotalToStatic(const std::string& folded, unsigned bits) {
  const std::string squeezed = SqueezeText(folded);
  for (const char* pattern : {"totaltostatic", "totalstatic", "totalzustatisch", "totalastatico", "totalstatique", "totalestatico"}) {
    if (CostWithin(pattern, squeezed) <= 0.15 * static_cast<double>(std::string_view(pattern).size())) return true;
  }
  for (const char* pattern : {"totaltototal", "totalzutotal", "totalatotal", "totaltotal", "exittotal"}) {
    if (CostWithin(pattern, squeezed) <= 0.09 * static_cast<double>(std::string_view(pattern).size())) return false;
  }
  static const std::regex ts(R"((^|[^a-z0-9])t\s*[-/to]*\s*s([^a-z0-9]|$))"), tt(R"((^|[^a-z0-9])t\s*[-/]*\s*t([^a-z0-9]|$))");
  if (std::regex_search(folded, ts)) return true;
  if (std::regex_search(folded, tt)) return false;
  if ((bits & kSaysStatic) != 0u) return true;
  if ((bits & kSaysTotalTotal) != 0u) return false;
  return std::nullopt;
}

double PowerOfTen(const std::string& folded) {
  static const std::regex times(R"((x|\*)\s*10\s*\^?\s*\(?\s*(-?\d)\b)"), plain(R"([\[(,]\s*10\s*\^?\s*(-?\d)\s*\*?\s*[a-z])"),
      thousand(R"((x|\*)\s*1[.,]?000\b|\b1000\s*(x|\*))");
  std::smatch m;
  if (std::regex_search(folded, m, times)) return std::stod(m[2].str());
  if (std::regex_search(folded, m, plain)) return std::stod(m[1].str());
  if (std::regex_search(folded, thousand)) return 3.0;
  return 0.0;
}

}  // namespace

bool UnitFits(AxisMatter matter, const std::string& unit) {
  const bool mass = unit == "lb/min" || unit == "lb/s" || unit == "kg/s" || unit == "kg/min" || unit == "kg/h" || unit == "g/s";
  const bool volume = unit == "m3/s" || unit == "m3/min" || unit == "m3/h" || unit == "ft3/min";
  switch (matter) {
    case AxisMatter::kMassFlow: return mass;
    case AxisMatter::kVolumeFlow: return volume;
    case AxisMatter::kFlow: return mass || volume;
    case AxisMatter::kFlowParameter: return unit == kParameterUnit;
    case AxisMatter::kPressureRatio:
    case AxisMatter::kExpansionRatio:
    case AxisMatter::kVelocityRatio: return unit == "1";
    case AxisMatter::kEfficiency: return unit == "1" || unit == "%";
    case AxisMatter::kSpeed: return unit == "rpm" || unit == "krpm" || unit == "m/s" || unit == "%";
    case AxisMatter::kUnknown: return true;
    case AxisMatter::kOther: return false;
  }
  return false;
}

const char* AxisMatterName(AxisMatter matter) {
  switch (matter) {
    case AxisMatter::kMassFlow: return "mass flow";
    case AxisMatter::kVolumeFlow: return "volume flow";
    case AxisMatter::kFlow: return "flow";
    case AxisMatter::kFlowParameter: return "flow parameter";
    case AxisMatter::kPressureRatio: return "pressure ratio";
    case AxisMatter::kExpansionRatio: return "expansion ratio";
    case AxisMatter::kEfficiency: return "efficiency";
    case AxisMatter::kSpeed: return "speed";
    case AxisMatter::kVelocityRatio: return "velocity ratio";
    case AxisMatter::kOther: return "something else";
    case AxisMatter::kUnknown: break;
  }
  return "unknown";
}

std::optional<UnitMatch> MatchUnit(std::string_view text) {
  const std::string folded = FoldUnit(text);
  if (folded.empty()) return std::nullopt;
  const UnitCost best = NearestUnit(folded, AxisMatter::kUnknown);
  if (best.spelling == nullptr || best.cost > AllowedCost(std::string_view(best.spelling->spelling).size(), false)) return std::nullopt;
  return UnitMatch{best.spelling->unit, 1.0 - best.cost / std::max<double>(2.0, static_cast<double>(folded.size()))};
}

TitleMeaning UnderstandTitle(std::string_view title) {
  TitleMeaning out;
  const std::string folded = FoldText(title.substr(0, 240));
  if (folded.find_first_not_of(" \t\n") == std::string::npos) return out;
  const Concepts concepts = ConceptsOf(folded);
  const unsigned bits = concepts.bits;
  const auto has = [bits](unsigned wanted) { return (bits & wanted) == wanted; };
  const PressureSymbol symbol = FindPressureSymbol(folded);
  out.turbine_signs = has(kSaysTurbine) || symbol.turbine;
  out.compressor_signs = has(kSaysCompressor) || symbol.compressor;

  // What the words say.
  double confidence = std::clamp(concepts.weakest, 0.3, 1.0);
  const bool strong_other = concepts.other != nullptr && std::string_view(concepts.other) != "temperature" &&
                            std::string_view(concepts.other) != "power" && std::string_view(concepts.other) != "density";
  if (strong_other || (has(kSaysFlow | kSaysSpeed) && !has(kSaysRatio))) {
    out.matter = AxisMatter::kOther;
    out.other = concepts.other != nullptr ? concepts.other : "a product of flow and speed";
  } else if (has(kSaysFlow | kSaysParameter)) {
    out.matter = AxisMatter::kFlowParameter;
  } else if (has(kSaysEfficiency)) {
    out.matter = AxisMatter::kEfficiency;
  } else if ((has(kSaysVelocity | kSaysRatio) || has(kSaysBlade | kSaysSpeed | kSaysRatio)) && !has(kSaysPressure)) {
    out.matter = AxisMatter::kVelocityRatio;
  } else if (has(kSaysExpansion)) {
    out.matter = AxisMatter::kExpansionRatio;
    if (!has(kSaysRatio)) confidence *= 0.85;
  } else if (has(kSaysPressure | kSaysRatio) || symbol.found) {
    out.matter = symbol.turbine ? AxisMatter::kExpansionRatio : AxisMatter::kPressureRatio;
    // Inlet before exit is the way of a turbine.
    const std::size_t inlet = folded.find("inlet"), exit = std::min(folded.find("exit"), folded.find("outlet"));
    if (inlet != std::string::npos && exit != std::string::npos && inlet < exit && !symbol.compressor)
      out.matter = AxisMatter::kExpansionRatio, out.turbine_signs = true;
  } else if (has(kSaysFlow)) {
    out.matter = has(kSaysMass) ? AxisMatter::kMassFlow : has(kSaysVolume) ? AxisMatter::kVolumeFlow : AxisMatter::kFlow;
  } else if (has(kSaysSpeed)) {
    out.matter = AxisMatter::kSpeed;
  } else if (concepts.other != nullptr) {
    out.matter = AxisMatter::kOther;
    out.other = concepts.other;
  } else if (has(kSaysPressure)) {
    out.matter = AxisMatter::kPressureRatio;
    confidence *= 0.5;
  } else if (has(kSaysMass) || has(kSaysVolume)) {
    out.matter = has(kSaysMass) ? AxisMatter::kMassFlow : AxisMatter::kVolumeFlow;
    confidence *= 0.5;
  }

  // The unit: in brackets, behind a comma, or the tail.
  struct Place {
    std::string text;
    double trust;
  };
  std::vector<Place> places;
  for (const std::string& inner : Brackets(folded)) places.push_back({inner, 1.0});
  const std::vector<std::string> parts = Split(folded, ",;");
  if (parts.size() > 1) places.push_back({parts.back(), 0.95});
  const std::vector<std::string> tokens = Split(folded, " \t\n");
  std::string tail;
  for (std::size_t i = 0; i < tokens.size() && i < 4; ++i) {
    tail = tokens[tokens.size() - 1 - i] + tail;
    if (tail.size() >= 3 || tail == "%") places.push_back({tail, 0.9});
    if (i > 0 && tokens[tokens.size() - 1 - i].size() >= 3) places.push_back({tokens[tokens.size() - 1 - i], 0.8});
  }
  std::string best_unit;
  double best_confidence = 0.0;
  const AxisMatter wanted = out.matter == AxisMatter::kOther ? AxisMatter::kUnknown : out.matter;
  for (const Place& place : places) {
    const std::string unit_text = FoldUnit(place.text);
    if (unit_text.empty() || unit_text.size() > 24) continue;
    const auto consider = [&](const UnitCost& cost, bool matter_known, double trust) {
      if (cost.spelling == nullptr) return;
      const std::size_t length = std::string_view(cost.spelling->spelling).size();
      if (cost.cost > AllowedCost(length, matter_known)) return;
      const double confidence_here = trust * (1.0 - cost.cost / std::max<double>(2.0, static_cast<double>(length)));
      if (confidence_here > best_confidence) best_confidence = confidence_here, best_unit = cost.spelling->unit;
    };
    // A unit that does not fit the words is believed only where it is spelled exactly.
    consider(NearestUnit(unit_text, wanted), wanted != AxisMatter::kUnknown, place.trust);
    if (wanted != AxisMatter::kUnknown && place.trust >= 0.95) {
      const UnitCost any = NearestUnit(unit_text, AxisMatter::kUnknown);
      if (any.cost < 0.05 && any.spelling != nullptr && !(std::string_view(any.spelling->unit) == "m/s" && wanted == AxisMatter::kVolumeFlow))
        consider(any, false, 0.9 * place.trust);
    }
  }
  if (best_confidence < 0.6 && CostWithin("vk/kpa", FoldUnit(folded)) < 1.2 &&
      (out.matter == AxisMatter::kFlow || out.matter == AxisMatter::kMassFlow || out.matter == AxisMatter::kFlowParameter)) {
    best_unit = kParameterUnit;
    best_confidence = 0.7;
  }
  out.unit = best_unit;
  out.unit_confidence = best_confidence;
  if (best_unit.empty()) {
    for (const std::string& inner : Brackets(folded)) {
      if (inner.size() <= 12 && !TotalToStatic(inner, ConceptsOf(inner).bits) && ConceptsOf(inner).bits == 0u &&
          inner.find_first_of("abcdefghijklmnopqrstuvwxyz") != std::string::npos)
        out.strange_unit = inner;
    }
    static const std::regex known_strange(R"((^|[^a-z])(n-?\s*m|ft-?\s*lbf?|deg|kw|hp|bar|psi|psia|kpa|mbar|volts?|amps?|hz|mm|celsius)([^a-z]|$))");
    std::smatch m;
    if (out.strange_unit.empty() && std::regex_search(folded, m, known_strange)) out.strange_unit = m[2].str();
  }

  // Words and unit together.
  if (best_unit == kParameterUnit && (out.matter == AxisMatter::kFlow || out.matter == AxisMatter::kMassFlow || out.matter == AxisMatter::kUnknown)) {
    out.matter = AxisMatter::kFlowParameter;
  }
  if (out.matter == AxisMatter::kFlow && !best_unit.empty())
    out.matter = UnitFits(AxisMatter::kVolumeFlow, best_unit) ? AxisMatter::kVolumeFlow : AxisMatter::kMassFlow;
  if (out.matter == AxisMatter::kUnknown && !best_unit.empty() && best_confidence > 0.8) {
    if (UnitFits(AxisMatter::kMassFlow, best_unit)) out.matter = AxisMatter::kMassFlow;
    if (UnitFits(AxisMatter::kVolumeFlow, best_unit)) out.matter = AxisMatter::kVolumeFlow;
    confidence = 0.5;
  }
  if (out.matter == AxisMatter::kPressureRatio && !out.strange_unit.empty() && !has(kSaysRatio) && !symbol.found) {
    out.matter = AxisMatter::kOther;
    out.other = "pressure";
  }
  if (out.matter == AxisMatter::kMassFlow && UnitFits(AxisMatter::kVolumeFlow, best_unit)) out.matter = AxisMatter::kVolumeFlow, confidence *= 0.8;
  if (out.matter == AxisMatter::kVolumeFlow && UnitFits(AxisMatter::kMassFlow, best_unit)) out.matter = AxisMatter::kMassFlow, confidence *= 0.8;
  out.confidence = out.matter == AxisMatter::kUnknown ? 0.0 : confidence;
  out.total_to_static = symbol.total_to_static ? symbol.total_to_static : TotalToStatic(folded, bits);
  out.power_of_ten = PowerOfTen(folded);
  return out;
}

}  // namespace islebook
