#include "mapstore/units/unit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <map>
#include <mutex>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "mapstore/units/print_text.h"
#include "mapstore/units/udunits_door.h"
#include "mapstore/units/unit_expression.h"
#include "mapstore/units/unit_lexicon.h"

namespace islebook {
namespace {

struct DimensionRow {
  Dimension dimension;
  std::array<int, 5> twice;  // exponents of kg, m, s, K, revolution, doubled
  const char* si;            // UDUNITS; empty where it has none
  const char* name;
};
constexpr DimensionRow kDimensions[] = {
    {Dimension::kRatio, {0, 0, 0, 0, 0}, "1", "plain number"},
    {Dimension::kMassFlow, {2, 0, -2, 0, 0}, "kg/s", "mass flow"},
    {Dimension::kVolumeFlow, {0, 6, -2, 0, 0}, "m3/s", "volume flow"},
    {Dimension::kFlowParameter, {0, 2, 2, 1, 0}, "", "turbine flow parameter"},
    {Dimension::kRotationalSpeed, {0, 0, -2, 0, 2}, "rad/s", "rotational speed"},
    {Dimension::kVelocity, {0, 2, -2, 0, 0}, "m/s", "velocity"},
    {Dimension::kTemperature, {0, 0, 0, 2, 0}, "K", "temperature"},
    {Dimension::kPressure, {2, -2, -4, 0, 0}, "Pa", "pressure"},
    {Dimension::kLength, {0, 2, 0, 0, 0}, "m", "length"},
    {Dimension::kArea, {0, 4, 0, 0, 0}, "m2", "area"},
    {Dimension::kVolume, {0, 6, 0, 0, 0}, "m3", "volume"},
    {Dimension::kMass, {2, 0, 0, 0, 0}, "kg", "mass"},
    {Dimension::kTime, {0, 0, 2, 0, 0}, "s", "time"},
    {Dimension::kDensity, {2, -6, 0, 0, 0}, "kg/m3", "density"},
    {Dimension::kPower, {2, 4, -6, 0, 0}, "W", "power"},
    {Dimension::kTorque, {2, 4, -4, 0, 0}, "J", "torque"},
    {Dimension::kSpecificEnergy, {0, 4, -4, 0, 0}, "J/kg", "energy per mass"},
    {Dimension::kFuelConsumption, {0, -4, 4, 0, 0}, "kg/J", "fuel per work"},
};

struct Evaluated {
  Dimension dimension = Dimension::kRatio;
  double factor = 1.0, offset = 0.0;
  PressureBasis basis = PressureBasis::kUnstated;
  bool operator==(const Evaluated&) const = default;
};

std::unexpected<Error> Unknown(std::string_view text, std::string_view why) {
  return Fail(ErrorCode::kUnknownUnit,
              fmt::format("\"{}\" is not a unit that this program knows{}{}.", text.substr(0, 60), why.empty() ? "" : ": ", why),
              std::string(text.substr(0, 60)));
}

// The factor and offset of every atom, asked of UDUNITS once.
Result<const std::map<const UnitAtom*, LinearUnit>*> AtomFactors() {
  static const auto factors = []() -> Result<std::map<const UnitAtom*, LinearUnit>> {
    std::map<const UnitAtom*, LinearUnit> out;
    for (const UnitAtom& atom : UnitAtoms()) {
      const auto linear = UdunitsConversion(atom.definition, atom.si);
      if (!linear) return std::unexpected(linear.error());
      if (!*linear) return Fail(ErrorCode::kInternal, fmt::format("UDUNITS-2 does not know \"{}\".", atom.definition));
      out[&atom] = **linear;
    }
    return out;
  }();
  if (!factors) return std::unexpected(factors.error());
  return &*factors;
}

// Nullopt: no dimension that the program works with, or a number in it that cannot be meant as a factor.
std::optional<Evaluated> Evaluate(const UnitProduct& product, const std::map<const UnitAtom*, LinearUnit>& factors) {
  Evaluated out;
  std::array<int, 5> twice{};
  for (const UnitFactor& factor : product.factors) {
    const LinearUnit& linear = factors.at(factor.atom);
    for (std::size_t i = 0; i < twice.size(); ++i) {
      if (factor.atom->exponents.twice[i] * factor.twice_exponent % 2 != 0) return std::nullopt;
      twice[i] += factor.atom->exponents.twice[i] * factor.twice_exponent / 2;
    }
    if (factor.twice_exponent == 2)
      out.factor *= linear.factor;
    else if (factor.twice_exponent == -2)
      out.factor /= linear.factor;
    else
      out.factor *= std::pow(linear.factor, factor.twice_exponent / 2.0);
    if (linear.offset != 0.0) {  // degC and degF mean something alone only
      if (product.factors.size() != 1 || factor.twice_exponent != 2 || product.scale != 1.0) return std::nullopt;
      out.offset = linear.offset;
    }
    if (factor.atom->basis != PressureBasis::kUnstated) out.basis = factor.atom->basis;
  }
  if (twice == std::array<int, 5>{0, 0, -2, 0, 0}) {  // "1/min" is a speed in this trade
    twice[4] = 2;
    out.factor *= 2.0 * 3.14159265358979323846;
  }
  const auto row = std::ranges::find_if(kDimensions, [&](const DimensionRow& d) { return d.twice == twice; });
  if (row == std::end(kDimensions)) return std::nullopt;
  out.dimension = row->dimension;
  if (out.dimension != Dimension::kPressure) out.basis = PressureBasis::kUnstated;
  if (out.dimension == Dimension::kRatio && product.scale != 1.0) return std::nullopt;
  if (product.scale != 1.0) {
    const double power = std::log10(product.scale);
    if (std::fabs(power - std::round(power)) > 1e-9) return std::nullopt;  // 103 for 10^3, 60 s
    double scale = product.scale;
    if (out.dimension == Dimension::kRotationalSpeed) {
      if (scale < 1.0) scale = 1.0 / scale;  // "rpm/1000", "rpm x 10^-3": thousands in every case
    } else if (!product.scale_in_front) {
      return std::nullopt;  // "kg/s x 10^-2": value or unit times a hundredth
    }
    out.factor *= scale;
  }
  return out;
}

bool SameFactor(double a, double b) { return std::fabs(a - b) <= 1e-12 * std::fabs(a); }

struct KnownUnit {
  const char* spelling;
  Evaluated evaluated;
  bool in_documents;
};

Result<const std::vector<KnownUnit>*> KnownUnits() {
  static const auto known = []() -> Result<std::vector<KnownUnit>> {
    const auto factors = AtomFactors();
    if (!factors) return std::unexpected(factors.error());
    std::vector<KnownUnit> out;
    for (const NamedUnit& named : NamedUnits()) {
      Evaluated evaluated;
      if (*named.expression != '\0') {
        const auto product = ParseUnitExpression(named.expression, {});
        const auto value = product ? Evaluate(*product, **factors) : std::nullopt;
        if (!value) return Fail(ErrorCode::kInternal, fmt::format("the unit list holds \"{}\", which cannot be read.", named.expression));
        evaluated = *value;
      }
      out.push_back({named.spelling, evaluated, named.in_documents});
    }
    return out;
  }();
  if (!known) return std::unexpected(known.error());
  return &*known;
}

// "kg s-1 K0.5 bar-1": atoms in the order mass, time, temperature, pressure.
std::string SpellProduct(const UnitProduct& product) {
  std::vector<UnitFactor> merged;
  for (const UnitFactor& factor : product.factors) {
    const auto same = std::ranges::find(merged, factor.atom, &UnitFactor::atom);
    if (same != merged.end())
      same->twice_exponent += factor.twice_exponent;
    else
      merged.push_back(factor);
  }
  std::ranges::stable_sort(merged, {}, [](const UnitFactor& f) { return f.atom->rank; });
  std::string out = product.scale != 1.0 ? fmt::format("{} ", product.scale) : "";
  bool first = true;
  for (const UnitFactor& factor : merged) {
    if (factor.twice_exponent == 0) continue;
    if (!std::exchange(first, false)) out += ' ';
    out += factor.atom->spelling;
    if (factor.twice_exponent == 2) continue;
    if (factor.twice_exponent % 2 == 0)
      out += fmt::format("{}", factor.twice_exponent / 2);
    else
      out += fmt::format("{:.1f}", factor.twice_exponent / 2.0);
  }
  return out;
}

bool IsBoundary(std::string_view text, std::size_t at) {
  return at >= text.size() || !(IsAsciiLetter(text[at]) || static_cast<unsigned char>(text[at]) >= 0x80);
}

// Phrases of several words or signs replaced by one word.
std::string ReplacePhrases(std::string text) {
  for (const UnitPhrase& phrase : UnitPhrases()) {
    const std::string_view words = phrase.phrase;
    const bool ends_in_letter = IsAsciiLetter(words.back()), begins_with_letter = IsAsciiLetter(words.front());
    for (std::size_t at = 0; (at = LowerAscii(text).find(words, at)) != std::string::npos;) {
      const bool starts = !begins_with_letter || at == 0 || !(IsAsciiLetter(text[at - 1]) || static_cast<unsigned char>(text[at - 1]) >= 0x80);
      if (!starts || (ends_in_letter && !IsBoundary(text, at + words.size()))) {
        ++at;
        continue;
      }
      text.replace(at, words.size(), phrase.meaning);
      at += std::string_view(phrase.meaning).size();
    }
  }
  return text;
}

// One pair of brackets round the whole.
std::string StripBrackets(std::string text) {
  while (text.size() >= 2 && ((text.front() == '[' && text.back() == ']') || (text.front() == '(' && text.back() == ')') ||
                              (text.front() == '{' && text.back() == '}'))) {
    int depth = 0;
    for (std::size_t i = 0; i + 1 < text.size(); ++i) {
      depth += text[i] == '[' || text[i] == '(' || text[i] == '{' ? 1 : text[i] == ']' || text[i] == ')' || text[i] == '}' ? -1 : 0;
      if (depth == 0) return text;
    }
    text = FoldPrint(std::string_view(text).substr(1, text.size() - 2));
  }
  return text;
}

// Words after a unit that say what flows or turns, not how much.
std::string StripRemarks(std::string text) {
  for (bool changed = true; changed;) {
    changed = false;
    for (const std::string_view remark :
         {" of air", " air", " corrected", " corr.", " corr", " reduced", " equivalent", " open", " opening", " (corrected)", " (corr.)"}) {
      if (text.size() > remark.size() && LowerAscii(text).ends_with(remark)) {
        text.resize(text.size() - remark.size());
        while (!text.empty() && (text.back() == ' ' || text.back() == ',')) text.pop_back();
        changed = true;
      }
    }
  }
  return text;
}

std::optional<PressureBasis> BasisWord(std::string_view word) {
  for (const std::string_view absolute : {"a", "abs", "abs.", "absolute", "absolut", "absolue"})
    if (word == absolute) return PressureBasis::kAbsolute;
  for (const std::string_view gauge :
       {"g", "gauge", "gage", "ga", "boost", "rel", "rel.", "relative", "relativ", "\u00FC", "\u00DC", "ue", "\u00FCberdruck", "eff", "eff."})
    if (word == gauge) return PressureBasis::kGauge;
  return std::nullopt;
}

// "bar(g)", "kPa abs", "inHg gauge", "boost psi": the unit without the word, and what the word says.
std::optional<std::pair<std::string, PressureBasis>> SplitBasis(const std::string& text) {
  const std::string lower = LowerAscii(text);
  if (lower.starts_with("boost ")) return std::pair(text.substr(6), PressureBasis::kGauge);
  std::size_t end = text.size(), start = std::string::npos;
  if (!text.empty() && (text.back() == ')' || text.back() == ']')) {
    const std::size_t open = text.find_last_of("([");
    if (open == std::string::npos) return std::nullopt;
    const auto basis = BasisWord(FoldPrint(std::string_view(lower).substr(open + 1, end - open - 2)));
    if (!basis || open == 0) return std::nullopt;
    return std::pair(FoldPrint(std::string_view(text).substr(0, open)), *basis);
  }
  start = text.find_last_of(" ,_-");
  if (start == std::string::npos || start == 0) return std::nullopt;
  const auto basis = BasisWord(std::string_view(lower).substr(start + 1));
  if (!basis) return std::nullopt;
  std::string unit = text.substr(0, start);
  while (!unit.empty() && (unit.back() == ' ' || unit.back() == ',')) unit.pop_back();
  return std::pair(unit, *basis);
}

Result<Unit> MakeUnit(const Evaluated& evaluated, std::string spelling, bool repaired) {
  const auto known = KnownUnits();
  if (!known) return std::unexpected(known.error());
  for (const KnownUnit& named : **known)
    if (named.evaluated.dimension == evaluated.dimension && named.evaluated.offset == evaluated.offset &&
        SameFactor(named.evaluated.factor, evaluated.factor)) {
      if (evaluated.dimension == Dimension::kPressure && spelling.find(' ') == std::string::npos) break;  // mbar stays mbar, not hPa
      spelling = named.spelling;
      break;
    }
  if (evaluated.dimension == Dimension::kPressure && evaluated.basis != PressureBasis::kUnstated && spelling.find('(') == std::string::npos) {
    const std::string_view mark = evaluated.basis == PressureBasis::kAbsolute ? "a" : "g";
    for (const char* base : {"psi", "bar", "kPa", "at"})
      if (spelling == base || spelling == fmt::format("{}{}", base, mark)) spelling = fmt::format("{}({})", base, mark);
    if (spelling.find('(') == std::string::npos) spelling += fmt::format("({})", mark);
  }
  return Unit{std::move(spelling), evaluated.dimension, evaluated.factor, evaluated.offset, evaluated.basis, repaired};
}

// Every reading of the expression that means something must mean the same.
Result<std::optional<Unit>> ReadExpression(const std::string& text, bool allow_misread) {
  const auto factors = AtomFactors();
  if (!factors) return std::unexpected(factors.error());
  for (const bool takes_all : {false, true}) {
    for (const bool rankine : {false, true}) {
      const auto product = ParseUnitExpression(text, {takes_all, rankine, allow_misread});
      if (!product) continue;
      const auto evaluated = Evaluate(*product, **factors);
      if (!evaluated) continue;
      if (evaluated->dimension == Dimension::kRatio && !SameFactor(evaluated->factor, 1.0) && product->factors.size() != 1) continue;  // psi/bar
      auto unit = MakeUnit(*evaluated, SpellProduct(*product), product->repaired);
      if (!unit) return std::unexpected(unit.error());
      return *unit;
    }
  }
  return std::nullopt;
}

// What our own list cannot read may still be a unit to UDUNITS. Short words are left alone: to UDUNITS nearly every letter is one.
Result<std::optional<Unit>> ReadByUdunits(const std::string& text) {
  std::size_t letters = 0;
  bool short_word = false;
  for (std::size_t i = 0; i <= text.size(); ++i) {
    if (i < text.size() && IsAsciiLetter(text[i])) {
      ++letters;
      continue;
    }
    short_word = short_word || letters == 1 || letters == 2;
    letters = 0;
    if (i < text.size() && !(IsAsciiDigit(text[i]) || std::string_view(" */^.-").find(text[i]) != std::string_view::npos)) return std::nullopt;
  }
  if (short_word || text.empty() || !IsAsciiLetter(text[0])) return std::nullopt;
  for (const DimensionRow& row : kDimensions) {
    if (*row.si == '\0' || row.dimension == Dimension::kRatio) continue;
    const auto linear = UdunitsConversion(text, row.si);
    if (!linear) return std::unexpected(linear.error());
    if (*linear) {
      auto unit = MakeUnit({row.dimension, (*linear)->factor, (*linear)->offset, PressureBasis::kUnstated}, text, false);
      if (!unit) return std::unexpected(unit.error());
      return *unit;
    }
  }
  return std::nullopt;
}

}  // namespace

Result<Unit> ParseUnit(std::string_view printed) {
  if (printed.size() > 200) return Unknown(printed, "it is too long");
  const std::string folded = FoldPrint(printed);
  if (folded.empty()) return Unknown(printed, "it is empty");
  std::string text = StripBrackets(folded);
  const std::string lower = LowerAscii(text);
  for (const std::string_view none :
       {"-", "--", "1", "none", "ratio", "dimensionless", "unitless", "dimensionslos", "sans dimension", "[-]", "(-)", "./.", "/"})
    if (lower == none) return Unit{"1", Dimension::kRatio};
  if (text.find_first_of("?") != std::string::npos) return Unknown(printed, "a character in it could not be read");
  for (const std::string_view standard : {"scfm", "nm3", "sm3", "nl/", "slpm", "sccm", "scfh"})
    if (lower.starts_with(standard) && !(standard == "nl/" && lower.size() > 6))
      return Unknown(
          printed,
          "a standard or normal volume is a mass, and which standard is not said; give the flow as a mass or as a volume at stated conditions");

  for (const std::string_view several : {"gal", "gpm", "ton", "tons"})
    if (lower == several || lower.starts_with(std::string(several) + "/") || lower.starts_with(std::string(several) + " ") ||
        lower.starts_with("gallon"))
      return Unknown(printed, "there are several of that name; use liters or cubic meters, kilograms or pounds");

  text = StripRemarks(text);
  text = StripBrackets(ReplacePhrases(text));
  for (const bool allow_misread : {false, true}) {
    if (allow_misread) {
      const auto other = ReadByUdunits(text);
      if (!other) return std::unexpected(other.error());
      if (*other) return **other;
    }
    const auto read = ReadExpression(text, allow_misread);
    if (!read) return std::unexpected(read.error());
    if (*read) return **read;
    if (const auto split = SplitBasis(text)) {
      const auto bare = ReadExpression(StripBrackets(ReplacePhrases(split->first)), allow_misread);
      if (!bare) return std::unexpected(bare.error());
      if (*bare && (*bare)->dimension == Dimension::kPressure && ((*bare)->basis == PressureBasis::kUnstated || (*bare)->basis == split->second))
        return MakeUnit({Dimension::kPressure, (*bare)->factor, (*bare)->offset, split->second}, (*bare)->spelling, (*bare)->repaired);
    }
    if (lower.starts_with("in ")) {  // "in kg/s"
      const auto rest = ReadExpression(text.substr(3), allow_misread);
      if (!rest) return std::unexpected(rest.error());
      if (*rest) return **rest;
    }
  }
  return Unknown(printed, "");
}

double ToSi(double value, const Unit& unit) { return value * unit.factor + unit.offset; }
double FromSi(double value_in_si, const Unit& unit) { return (value_in_si - unit.offset) / unit.factor; }

Result<double> ConvertValue(double value, const Unit& from, const Unit& to) {
  if (from.dimension != to.dimension) {
    const bool flows = (from.dimension == Dimension::kMassFlow && to.dimension == Dimension::kVolumeFlow) ||
                       (from.dimension == Dimension::kVolumeFlow && to.dimension == Dimension::kMassFlow);
    return Fail(ErrorCode::kIncompatibleUnit,
                flows ? fmt::format("{} is a {} and {} a {}: they part at a density, so give the conditions or use the same kind of flow.",
                                    from.spelling, DimensionName(from.dimension), to.spelling, DimensionName(to.dimension))
                      : fmt::format("{} is a {} and {} a {}: one cannot be turned into the other.", from.spelling, DimensionName(from.dimension),
                                    to.spelling, DimensionName(to.dimension)),
                from.spelling);
  }
  if ((from.basis == PressureBasis::kGauge) != (to.basis == PressureBasis::kGauge))
    return Fail(ErrorCode::kIncompatibleUnit,
                fmt::format("{} to {}: a gauge pressure becomes absolute only by adding the barometer; give the absolute pressure.", from.spelling,
                            to.spelling),
                from.spelling);
  if (from.factor == to.factor && from.offset == to.offset) return value;
  return FromSi(ToSi(value, from), to);
}

Result<double> ConvertValue(double value, std::string_view from, std::string_view to) {
  const auto a = ParseUnit(from), b = ParseUnit(to);
  if (!a) return std::unexpected(a.error());
  if (!b) return std::unexpected(b.error());
  return ConvertValue(value, *a, *b);
}

std::span<const char* const> DocumentUnits() {
  static const std::vector<const char*> units = [] {
    std::vector<const char*> out;
    for (const NamedUnit& named : NamedUnits())
      if (named.in_documents) out.push_back(named.spelling);
    return out;
  }();
  return units;
}

bool IsDocumentUnit(std::string_view spelling) {
  return std::ranges::any_of(DocumentUnits(), [&](const char* unit) { return spelling == unit; });
}

std::optional<DocumentUnitChoice> ToDocumentUnit(const Unit& unit) {
  if (IsDocumentUnit(unit.spelling)) return DocumentUnitChoice{unit.spelling, 1.0};
  const auto known = KnownUnits();
  if (!known) return std::nullopt;
  // Whole powers of ten keep the digits that were printed; whole factors of sixty keep the mass or volume unit; else the nearest in size.
  const auto effort = [](double multiply) {
    const double ten = std::fabs(std::log10(multiply)), sixty = std::fabs(std::log(multiply) / std::log(60.0));
    if (std::fabs(ten - std::round(ten)) < 1e-9) return ten / 100.0;
    if (std::fabs(sixty - std::round(sixty)) < 1e-9) return 1.0 + sixty / 100.0;
    return 2.0 + ten;
  };
  std::optional<DocumentUnitChoice> best;
  for (const KnownUnit& named : **known) {
    if (!named.in_documents || named.evaluated.dimension != unit.dimension || unit.offset != 0.0) continue;
    const double multiply = unit.factor / named.evaluated.factor;
    if (!best || effort(multiply) < effort(best->multiply)) best = DocumentUnitChoice{named.spelling, multiply};
  }
  return best;
}

const char* DimensionName(Dimension dimension) {
  for (const DimensionRow& row : kDimensions)
    if (row.dimension == dimension) return row.name;
  return "";
}

}  // namespace islebook
