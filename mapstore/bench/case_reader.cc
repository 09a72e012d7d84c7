#include "mapstore/bench/case_reader.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "mapstore/units/typed_value.h"

namespace islebook {
namespace {

constexpr double kSeaLevel_Pa = 101325.0;

std::string_view Trim(std::string_view text) {
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.front()))) text.remove_prefix(1);
  while (!text.empty() && std::isspace(static_cast<unsigned char>(text.back()))) text.remove_suffix(1);
  return text;
}

std::string UnitWithoutBasis(const Unit& unit) {
  std::string text = unit.spelling;
  for (const std::string_view ending : {" gauge", " absolute", " abs", "(g)", "(a)"})
    if (text.size() > ending.size() && text.ends_with(ending)) text.resize(text.size() - ending.size());
  if (text == "psig" || text == "psia") text = "psi";
  if (text == "barg" || text == "bara") text = "bar";
  return text;
}

std::string Round(double value) { return fmt::format("{:.4g}", value); }

}  // namespace

Result<Measure> ParseMeasure(std::string_view text, Dimension dimension, const char* example) {
  const auto typed = ParseTypedValue(Trim(text), dimension == Dimension::kRatio ? std::optional<Unit>(Unit{.spelling = "1"}) : std::nullopt);
  if (!typed) return Fail(typed.error().code, fmt::format("{} Write it like \"{}\"", typed.error().message, example));
  if (typed->unit.repaired)
    return Fail(ErrorCode::kUnknownUnit,
                fmt::format("the unit of \"{}\" is not understood; did you mean \"{} {}\"", text, Round(typed->value), typed->unit.spelling));
  if (typed->unit.dimension != dimension)
    return Fail(ErrorCode::kIncompatibleUnit, fmt::format("\"{}\" is in a unit of {}, and one of {} is wanted; write it like \"{}\"", text,
                                                          DimensionName(typed->unit.dimension), DimensionName(dimension), example));
  Measure measure{.si = typed->si(), .unit = typed->unit};
  if (!std::isfinite(measure.si)) return Fail(ErrorCode::kInvalidArgument, fmt::format("\"{}\" is no number; write it like \"{}\"", text, example));
  return measure;
}

void CaseReader::Refuse(int line, std::string message) {
  if (error_) return;
  std::string place = file_.empty() ? "the case" : file_;
  if (line > 0) place += fmt::format(", line {}", line);
  error_ = Error{ErrorCode::kBadCase, std::move(message), std::move(place)};
}

CaseSection::CaseSection(CaseReader& reader, const TomlNode* node, std::string path) : reader_(reader), node_(node), path_(std::move(path)) {
  if (node_ == nullptr || node_->kind == TomlNode::Kind::kTable) return;
  reader_.Refuse(node_->line, fmt::format("{} is a section: write its keys under [{}].", path_, path_));
  node_ = nullptr;
}

int CaseSection::Line(std::string_view key) const {
  const TomlNode* found = Find(key);
  return found ? found->line : line();
}

std::string CaseSection::Name(std::string_view key) const { return path_.empty() ? std::string(key) : fmt::format("{}.{}", path_, key); }

std::optional<std::string> CaseSection::Text(std::string_view key) const {
  const TomlNode* found = Find(key);
  if (found == nullptr) return std::nullopt;
  if (found->kind != TomlNode::Kind::kText || Trim(found->text).empty()) {
    reader_.Refuse(found->line, fmt::format("{} wants text in quotes, and has {}.", Name(key),
                                            found->kind == TomlNode::Kind::kText ? "none" : TomlKindWords(found->kind)));
    return std::nullopt;
  }
  return std::string(Trim(found->text));
}

std::optional<int> CaseSection::Whole(std::string_view key, int low, int high) const {
  const TomlNode* found = Find(key);
  if (found == nullptr) return std::nullopt;
  if (found->kind != TomlNode::Kind::kNumber || found->number != std::floor(found->number) || found->number < low || found->number > high) {
    reader_.Refuse(found->line, fmt::format("{} is a whole number from {} to {}, without quotes.", Name(key), low, high));
    return std::nullopt;
  }
  return static_cast<int>(found->number);
}

std::optional<Measure> CaseSection::Read(const TomlNode& node, std::string_view key, const MeasureSpec& spec) const {
  Measure measure;
  std::string written;
  if (node.kind == TomlNode::Kind::kText) {
    written = node.text;
    auto parsed = ParseMeasure(node.text, spec.dimension, spec.example);
    if (!parsed) {
      reader_.Refuse(node.line, fmt::format("{}: {}.", Name(key), parsed.error().message));
      return std::nullopt;
    }
    measure = *parsed;
  } else if (node.kind == TomlNode::Kind::kNumber && spec.dimension == Dimension::kRatio) {
    measure.si = node.number;
    measure.unit.spelling = "1";
    written = Round(node.number);
  } else if (node.kind == TomlNode::Kind::kNumber) {
    reader_.Refuse(node.line,
                   fmt::format("{} = {} has no unit; write it in quotes with its unit, like \"{}\".", Name(key), Round(node.number), spec.example));
    return std::nullopt;
  } else {
    reader_.Refuse(node.line,
                   fmt::format("{} wants a number with its unit, like \"{}\", and has {}.", Name(key), spec.example, TomlKindWords(node.kind)));
    return std::nullopt;
  }
  measure.line = node.line;
  if (!(measure.si >= spec.low && measure.si <= spec.high)) {
    reader_.Refuse(node.line, fmt::format("{} = {} cannot be; it must be {}.", Name(key), written, spec.range_words));
    return std::nullopt;
  }
  return measure;
}

std::optional<Measure> CaseSection::Value(std::string_view key, const MeasureSpec& spec) const {
  const TomlNode* found = Find(key);
  return found ? Read(*found, key, spec) : std::nullopt;
}

std::optional<std::vector<Measure>> CaseSection::Values(std::string_view key, const MeasureSpec& spec) const {
  const TomlNode* found = Find(key);
  if (found == nullptr) return std::nullopt;
  std::vector<Measure> values;
  if (found->kind != TomlNode::Kind::kList) {
    const auto one = Read(*found, key, spec);
    if (!one) return std::nullopt;
    values.push_back(*one);
    return values;
  }
  if (found->items.empty() || found->items.size() > 100) {
    reader_.Refuse(found->line, fmt::format("{} is a list of 1 to 100 values, and has {}.", Name(key), found->items.size()));
    return std::nullopt;
  }
  for (const TomlNode& item : found->items) {
    const auto one = Read(item, key, spec);
    if (!one) return std::nullopt;
    values.push_back(*one);
  }
  return values;
}

std::optional<std::vector<std::pair<double, double>>> CaseSection::OverSpeed(std::string_view key, const MeasureSpec& spec) const {
  static constexpr const char* kExample = "{ \"1000 rpm\" = \"20 %\", \"2000 rpm\" = \"60 %\" }";
  const TomlNode* found = Find(key);
  if (found == nullptr) return std::nullopt;
  std::vector<std::pair<double, double>> values;
  if (found->kind != TomlNode::Kind::kTable) {
    const auto one = Read(*found, key, spec);
    if (!one) return std::nullopt;
    values.emplace_back(0.0, one->si);
    return values;
  }
  if (found->entries.size() < 2 || found->entries.size() > 100) {
    reader_.Refuse(found->line, fmt::format("{} over engine speed is a table of 2 to 100 speeds, like {}, and has {}.", Name(key), kExample,
                                            found->entries.size()));
    return std::nullopt;
  }
  for (const auto& [speed_text, node] : found->entries) {
    const auto speed = ParseMeasure(speed_text, Dimension::kRotationalSpeed, "1000 rpm");
    if (!speed || !(speed->si > 0.0)) {
      reader_.Refuse(node.line, fmt::format("{}: {}; the keys of a schedule are engine speeds, like {}.", Name(key),
                                            speed ? fmt::format("\"{}\" is not above 0", speed_text) : speed.error().message, kExample));
      return std::nullopt;
    }
    const double rev_s = speed->si / (2.0 * std::numbers::pi);
    for (const auto& [other, value] : values) {
      if (std::abs(other - rev_s) > 1e-9 * rev_s) continue;
      reader_.Refuse(node.line, fmt::format("{} has the speed \"{}\" twice.", Name(key), speed_text));
      return std::nullopt;
    }
    const auto value = Read(node, key, spec);
    if (!value) return std::nullopt;
    values.emplace_back(rev_s, value->si);
  }
  return values;
}

std::optional<Measure> CaseSection::Absolute(std::string_view key, const MeasureSpec& spec, std::string_view gauge_key) const {
  const TomlNode* found = Find(key);
  if (found == nullptr) return std::nullopt;
  if (found->kind == TomlNode::Kind::kText) {
    const auto parsed = ParseMeasure(found->text, spec.dimension, spec.example);
    if (parsed && parsed->unit.basis == PressureBasis::kGauge) {
      const std::string unit = UnitWithoutBasis(parsed->unit);
      std::string advice = fmt::format("write \"{} {} absolute\" (at sea level; add the barometer of your place)",
                                       Round(FromSi(parsed->si + kSeaLevel_Pa, parsed->unit)), unit);
      if (!gauge_key.empty()) advice += fmt::format(", or {} = \"{} {}\"", gauge_key, Round(FromSi(parsed->si, parsed->unit)), unit);
      reader_.Refuse(found->line,
                     fmt::format("{} is an absolute pressure, and \"{}\" is counted from the barometer: {}.", Name(key), found->text, advice));
      return std::nullopt;
    }
  }
  return Read(*found, key, spec);
}

std::optional<Measure> CaseSection::Gauge(std::string_view key, const MeasureSpec& spec, std::string_view absolute_key) const {
  const TomlNode* found = Find(key);
  if (found == nullptr) return std::nullopt;
  if (found->kind == TomlNode::Kind::kText) {
    const auto parsed = ParseMeasure(found->text, spec.dimension, spec.example);
    if (parsed && parsed->unit.basis == PressureBasis::kAbsolute) {
      const std::string unit = UnitWithoutBasis(parsed->unit);
      reader_.Refuse(found->line, fmt::format("{} counts from the barometer, and \"{}\" is absolute: write {} = \"{} {}\".", Name(key), found->text,
                                              absolute_key, Round(FromSi(parsed->si, parsed->unit)), unit));
      return std::nullopt;
    }
  }
  return Read(*found, key, spec);
}

std::optional<PressureLoss> CaseSection::Loss(std::string_view key) const {
  static constexpr const char* kExample = "3 kPa\", \"2 %\" or \"3 kPa at 0.5 kg/s";
  const TomlNode* found = Find(key);
  if (found == nullptr) return std::nullopt;
  if (found->kind != TomlNode::Kind::kText) {
    reader_.Refuse(found->line, fmt::format("{} is a pressure drop, like \"{}\", and has {}.", Name(key), kExample, TomlKindWords(found->kind)));
    return std::nullopt;
  }
  std::string_view drop = found->text;
  PressureLoss loss;
  if (const auto at = drop.find(" at "); at != std::string_view::npos) {
    const auto flow = ParseMeasure(drop.substr(at + 4), Dimension::kMassFlow, "0.5 kg/s");
    if (!flow || !(flow->si > 0.0)) {
      reader_.Refuse(found->line, fmt::format("{}: {}.", Name(key), flow ? "the air flow after \"at\" must be above 0" : flow.error().message));
      return std::nullopt;
    }
    loss.at_flow_kg_s = flow->si;
    drop = drop.substr(0, at);
  }
  const auto fraction = ParseMeasure(drop, Dimension::kRatio, kExample);
  const auto fixed = fraction ? Result<Measure>(Measure{}) : ParseMeasure(drop, Dimension::kPressure, kExample);
  if (!fixed) {
    reader_.Refuse(found->line, fmt::format("{}: {}.", Name(key), fixed.error().message));
    return std::nullopt;
  }
  if (fraction && fraction->unit.spelling == "1" && fraction->si != 0.0) {
    reader_.Refuse(found->line, fmt::format("{} = \"{}\" has no unit; write it like \"{}\".", Name(key), found->text, kExample));
    return std::nullopt;
  }
  if (fixed->unit.basis == PressureBasis::kAbsolute) {
    reader_.Refuse(found->line, fmt::format("{} is a drop of pressure, not an absolute one: write it like \"{}\".", Name(key), kExample));
    return std::nullopt;
  }
  loss.fraction = fraction ? fraction->si : 0.0;
  loss.fixed_Pa = fixed->si;
  if (!(loss.fraction >= 0.0 && loss.fraction < 0.5 && loss.fixed_Pa >= 0.0 && loss.fixed_Pa <= 1e6)) {
    reader_.Refuse(found->line, fmt::format("{} = \"{}\" cannot be; a drop is 0 or more, and below half of the pressure.", Name(key), found->text));
    return std::nullopt;
  }
  return loss;
}

void Assume(std::vector<AssumedValue>& assumed, std::string key, std::string value, std::string why) {
  for (const AssumedValue& known : assumed)
    if (known.key == key && known.value == value) return;
  assumed.push_back({std::move(key), std::move(value), std::move(why)});
}

int EditDistance(std::string_view a, std::string_view b) {
  std::vector<int> before, last(b.size() + 1), now(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    now[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      now[j] = std::min({last[j] + 1, now[j - 1] + 1, last[j - 1] + (a[i - 1] != b[j - 1])});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) now[j] = std::min(now[j], before[j - 2] + 1);
    }
    before = last;
    last = now;
  }
  return last[b.size()];
}

void CaseSection::CheckKeys(const std::vector<const char*>& known, const std::vector<std::pair<const char*, const char*>>& elsewhere) const {
  if (node_ == nullptr) return;
  for (const auto& [key, value] : node_->entries) {
    if (std::any_of(known.begin(), known.end(), [&key](const char* k) { return key == k; })) continue;
    for (const auto& [section, other] : elsewhere) {
      if (key != other) continue;
      reader_.Refuse(value.line, fmt::format("{} is not known here; it belongs under {}.", Name(key), section));
      return;
    }
    const auto nearest =
        std::min_element(known.begin(), known.end(), [&key](const char* a, const char* b) { return EditDistance(key, a) < EditDistance(key, b); });
    std::string advice;
    if (nearest != known.end() && EditDistance(key, *nearest) <= std::max<int>(2, static_cast<int>(key.size()) / 2)) {
      advice = fmt::format("did you mean {}?", *nearest);
    } else {
      advice = "known are ";
      for (std::size_t i = 0; i < known.size(); ++i) advice += fmt::format("{}{}", i == 0 ? "" : ", ", known[i]);
      advice += ".";
    }
    reader_.Refuse(value.line, fmt::format("{} is not a key of a case file; {}", Name(key), advice));
    return;
  }
}

}  // namespace islebook
