#include "ui/cli/ask_answers.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;

Json OrNull(const std::optional<double>& value) { return value && std::isfinite(*value) ? Json(*value) : Json(nullptr); }
Json RevisionOrNull(const AskFacts& facts) { return facts.revision.empty() ? Json(nullptr) : Json(facts.revision); }

std::size_t Width(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

// Columns two spaces apart; numbers line up on the right.
std::string Table(const std::vector<std::vector<std::string>>& rows) {
  std::vector<std::size_t> widths;
  for (const auto& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (i == widths.size()) widths.push_back(0);
      widths[i] = std::max(widths[i], Width(row[i]));
    }
  std::string text;
  for (const auto& row : rows) {
    std::string line;
    for (std::size_t i = 0; i < row.size(); ++i) {
      const std::string space(widths[i] - Width(row[i]), ' ');
      const bool last = i + 1 == widths.size();
      line += last ? row[i] : space + row[i] + "  ";
    }
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  }
  return text;
}

std::string Thousands(std::string digits) {
  const std::size_t sign = digits.starts_with('-') ? 1 : 0, dot = std::min(digits.find('.'), digits.size());
  if (digits.find('e') != std::string::npos || dot < sign + 5) return digits;
  for (std::size_t i = dot; i > sign + 3; i -= 3) digits.insert(i - 3, ",");
  return digits;
}

std::string Number(std::optional<double> value, std::optional<double> sigma, int most = 6, int usual = 4) {
  return value ? WithSigma(*value, sigma, most, usual) : "-";
}

// A number as it was asked for.
std::string AsGiven(std::optional<double> value) {
  if (!value || !std::isfinite(*value)) return "-";
  const double size = std::abs(*value);
  return size != 0.0 && (size < 1e-4 || size >= 1e9) ? fmt::format("{:.6g}", *value)
                                                     : Thousands(fmt::format("{:.10g}", std::stod(fmt::format("{:.6g}", *value))));
}

std::string Percent(std::optional<double> value, std::optional<double> sigma) {
  if (!value) return "-";
  std::optional<double> shown = sigma ? std::optional<double>(100.0 * *sigma) : std::nullopt;
  const double percent = 100.0 * *value;
  if (shown && *shown >= 0.05) return WithSigma(percent, shown, 4, 3) + " %";
  return fmt::format("{:.1f} %", percent);
}

const char* RegionWords(const CompressorAnswer& answer) {
  if (answer.doubts & kBadQuestion) return "not asked";
  switch (answer.region) {
    case MapRegion::kOnMap: return "on the map";
    case MapRegion::kLeftOfSurge: return "left of the surge line";
    case MapRegion::kPastChoke: return "past choke";
    case MapRegion::kOverSpeed: return "over speed";
    case MapRegion::kUnderSpeed: return "under speed";
  }
  return "";
}

std::string WithUnit(const std::string& word, const std::string& unit) {
  return unit.empty() || unit == "1" ? word : fmt::format("{} {}", word, unit);
}

std::string Heading(const AskFacts& facts) {
  std::string text = facts.title.empty() || facts.title == facts.name ? facts.name : fmt::format("{} ({})", facts.title, facts.name);
  if (!facts.revision.empty()) text += fmt::format(", revision {}", facts.revision.substr(0, 12));
  return text + "\n";
}

std::string Footing(const AskFacts& facts, const std::vector<std::string>& remarks) {
  std::string text;
  if (facts.reference)
    text += fmt::format("Flow and speed are corrected to {:g} K and {:g} kPa ({}).\n", facts.reference->temperature_K,
                        facts.reference->pressure_Pa / 1000.0,
                        facts.reference->basis == ReferenceConditions::Basis::kPrinted ? "as the sheet prints" : "assumed: the sheet does not say");
  for (const std::string& remark : remarks) text += remark + "\n";
  if (!facts.doubts.empty()) {
    text += "About this map:\n";
    for (const std::string& doubt : facts.doubts) text += "  " + doubt + "\n";
  }
  return text;
}

// The same remark for several points stands once: "2, 5: The point ..."
class Remarks {
 public:
  void Add(std::size_t point, const std::string& words) {
    if (words.empty()) return;
    for (auto& [known, points] : remarks_) {
      if (known != words) continue;
      points.push_back(point);
      return;
    }
    remarks_.push_back({words, {point}});
  }
  std::vector<std::string> Lines(bool numbered) const {
    std::vector<std::string> lines;
    for (const auto& [words, points] : remarks_) {
      if (!numbered) {
        lines.push_back(words);
        continue;
      }
      std::string list;
      for (std::size_t i = 0; i < points.size() && i < 8; ++i) list += (i > 0 ? ", " : "") + std::to_string(points[i] + 1);
      if (points.size() > 8) list += fmt::format(" and {} more", points.size() - 8);
      lines.push_back(fmt::format("{}: {}", list, words));
    }
    return lines;
  }

 private:
  std::vector<std::pair<std::string, std::vector<std::size_t>>> remarks_;
};

std::string ItemLabel(std::size_t i, bool alternative) { return alternative ? "or" : std::to_string(i + 1); }

Json CompressorObject(const AskFacts& facts, const CompressorQuery& query, const CompressorAnswer& answer) {
  Json object;
  object["flow"] = OrNull(answer.flow);
  object["pressure_ratio"] = OrNull(answer.pressure_ratio);
  object["speed"] = OrNull(answer.speed);
  object["efficiency"] = OrNull(answer.efficiency);
  object["surge_margin"] = OrNull(answer.surge_margin);
  object["choke_margin"] = OrNull(answer.choke_margin);
  object["inside"] = answer.inside;
  object["region"] = answer.doubts & kBadQuestion ? Json(nullptr) : Json(MapRegionName(answer.region));
  object["sigma"] = {
      {"speed", OrNull(answer.sigma_speed)}, {"efficiency", OrNull(answer.sigma_efficiency)}, {"surge_margin", OrNull(answer.sigma_surge_margin)}};
  if (answer.sigma_flow) object["sigma"]["flow"] = OrNull(answer.sigma_flow);
  if (answer.sigma_pressure_ratio) object["sigma"]["pressure_ratio"] = OrNull(answer.sigma_pressure_ratio);
  object["flow_unit"] = facts.flow_unit;
  object["speed_unit"] = query.surface().SpeedUnit();
  object["surge_margin_definition"] = DefinitionOf(query.options().surge_margin).name;
  object["revision"] = RevisionOrNull(facts);
  if (const std::string words = DoubtWords(answer, query.surface()); !words.empty()) object["reason"] = words;
  if (!answer.alternatives.empty()) {
    Json others = Json::array();
    for (const CompressorAnswer& other : answer.alternatives) others.push_back(CompressorObject(facts, query, other));
    object["alternatives"] = std::move(others);
  }
  return object;
}

Json TurbineObject(const AskFacts& facts, const TurbineQuery& query, const TurbineAnswer& answer) {
  const TurbineSurface& surface = query.surface();
  Json object;
  object["expansion_ratio"] = OrNull(answer.expansion_ratio);
  object["flow"] = OrNull(answer.flow);
  object["efficiency"] = OrNull(answer.efficiency);
  if (surface.Parameter() == TurbineParameter::kSpeed) {
    object["speed"] = OrNull(answer.parameter);
    object["speed_unit"] = surface.ParameterUnit();
  } else if (surface.Parameter() == TurbineParameter::kVaneOpening) {
    object["vane_opening"] = OrNull(answer.parameter);
    object["vane_opening_unit"] = surface.ParameterUnit();
  }
  object["inside"] = answer.inside;
  object["sigma"] = {{"flow", OrNull(answer.sigma_flow)}, {"efficiency", OrNull(answer.sigma_efficiency)}};
  object["flow_unit"] = facts.flow_unit;
  object["revision"] = RevisionOrNull(facts);
  if (!answer.reason.empty()) object["reason"] = answer.reason;
  if (!answer.alternatives.empty()) {
    Json others = Json::array();
    for (const TurbineAnswer& other : answer.alternatives) others.push_back(TurbineObject(facts, query, other));
    object["alternatives"] = std::move(others);
  }
  return object;
}

std::string Dump(const Json& document) { return document.dump(2, ' ', false, Json::error_handler_t::replace); }

}  // namespace

std::string WithSigma(double value, std::optional<double> sigma, int most, int usual) {
  if (!std::isfinite(value)) return "-";
  const int magnitude = value != 0.0 ? static_cast<int>(std::floor(std::log10(std::abs(value)))) : 0;
  if (!sigma || !std::isfinite(*sigma) || *sigma <= 0.0) return Thousands(fmt::format("{:.{}f}", value, std::clamp(usual - 1 - magnitude, 0, 9)));
  // Two digits of an uncertainty that begins with 1, one otherwise.
  int last = static_cast<int>(std::floor(std::log10(*sigma)));
  if (*sigma / std::pow(10.0, last) < 1.95) --last;
  const int most_digits = most - 1 - magnitude;
  const int digits = std::clamp(-last, 0, std::max(most_digits, 0));
  double shown = *sigma;
  if (-last > digits) shown = std::max(shown, std::pow(10.0, -digits));  // below what is shown, it is less than the last digit
  if (last > 0) {
    const double step = std::pow(10.0, last);
    return Thousands(fmt::format("{:.0f}", std::round(value / step) * step)) + " ± " +
           Thousands(fmt::format("{:.0f}", std::ceil(shown / step - 0.5) * step));
  }
  return Thousands(fmt::format("{:.{}f}", value, digits)) + " ± " + Thousands(fmt::format("{:.{}f}", shown, digits));
}

std::string CompressorText(const AskFacts& facts, const CompressorQuery& query, const std::vector<CompressorItem>& items) {
  std::vector<std::vector<std::string>> rows;
  rows.push_back({"", WithUnit("flow", facts.flow_unit), "PR", WithUnit("speed", query.surface().SpeedUnit()), "efficiency", "surge margin",
                  "choke margin", "where"});
  Remarks remarks;
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (!items[i].error.empty()) {
      rows.push_back({ItemLabel(i, false), "-", "-", "-", "-", "-", "-", "not asked"});
      remarks.Add(i, items[i].error);
      continue;
    }
    const auto add = [&](const CompressorAnswer& answer, bool alternative) {
      // What was given has no uncertainty of its own.
      rows.push_back({ItemLabel(i, alternative), answer.sigma_flow ? Number(answer.flow, answer.sigma_flow) : AsGiven(answer.flow),
                      answer.sigma_pressure_ratio ? Number(answer.pressure_ratio, answer.sigma_pressure_ratio) : AsGiven(answer.pressure_ratio),

                      answer.sigma_speed && *answer.sigma_speed == 0.0 ? AsGiven(answer.speed) : Number(answer.speed, answer.sigma_speed, 6, 6),
                      Number(answer.efficiency, answer.sigma_efficiency, 4, 4), Percent(answer.surge_margin, answer.sigma_surge_margin),
                      Percent(answer.choke_margin, std::nullopt), RegionWords(answer)});
    };
    add(items[i].answer, false);
    for (const CompressorAnswer& other : items[i].answer.alternatives) add(other, true);
    remarks.Add(i, DoubtWords(items[i].answer, query.surface()));
  }
  const SurgeMarginDefinition& definition = DefinitionOf(query.options().surge_margin);
  return Heading(facts) + Table(rows) +
         fmt::format("Surge margin ({}): {}. Choke margin: W_choke / W - 1 at constant corrected speed.\n", definition.name, definition.definition) +
         Footing(facts, remarks.Lines(items.size() > 1));
}

std::string TurbineText(const AskFacts& facts, const TurbineQuery& query, const std::vector<TurbineItem>& items) {
  const TurbineSurface& surface = query.surface();
  const bool has_parameter = surface.Parameter() != TurbineParameter::kNone;
  const std::string parameter = WithUnit(surface.Parameter() == TurbineParameter::kSpeed ? "speed" : "vane opening", surface.ParameterUnit());
  std::vector<std::vector<std::string>> rows;
  rows.push_back({"", "expansion ratio", has_parameter ? parameter : "line", WithUnit("flow", facts.flow_unit), "efficiency", "where"});
  Remarks remarks;
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (!items[i].error.empty()) {
      rows.push_back({ItemLabel(i, false), "-", "-", "-", "-", "not asked"});
      remarks.Add(i, items[i].error);
      continue;
    }
    const auto add = [&](const TurbineAnswer& answer, bool alternative) {
      rows.push_back({ItemLabel(i, alternative), Number(answer.expansion_ratio, std::nullopt),
                      has_parameter ? AsGiven(answer.parameter) : "the only one", Number(answer.flow, answer.sigma_flow, 5),
                      Number(answer.efficiency, answer.sigma_efficiency, 4), answer.inside ? "on the map" : "outside the lines"});
    };
    add(items[i].answer, false);
    for (const TurbineAnswer& other : items[i].answer.alternatives) add(other, true);
    remarks.Add(i, items[i].answer.reason);
  }
  return Heading(facts) + Table(rows) + Footing(facts, remarks.Lines(items.size() > 1));
}

std::string CompressorJson(const AskFacts& facts, const CompressorQuery& query, const std::vector<CompressorItem>& items) {
  Json list = Json::array();
  for (const CompressorItem& item : items) {
    if (item.error.empty()) {
      list.push_back(CompressorObject(facts, query, item.answer));
    } else {
      CompressorAnswer none;
      none.doubts = kBadQuestion;
      Json object = CompressorObject(facts, query, none);
      object["reason"] = item.error;
      list.push_back(std::move(object));
    }
  }
  return Dump(list);
}

std::string TurbineJson(const AskFacts& facts, const TurbineQuery& query, const std::vector<TurbineItem>& items) {
  Json list = Json::array();
  for (const TurbineItem& item : items) {
    TurbineAnswer answer = item.answer;
    if (!item.error.empty()) answer = TurbineAnswer{.reason = item.error};
    list.push_back(TurbineObject(facts, query, answer));
  }
  return Dump(list);
}

std::string CompressorWords(const CompressorAnswer& answer, const CompressorSurface& surface) {
  std::string words;
  const auto add = [&](const std::string& part) { words += (words.empty() ? "" : ", ") + part; };
  if (!answer.inside) add(RegionWords(answer));
  if (answer.speed) add(WithUnit(WithSigma(*answer.speed, answer.sigma_speed, 6, 5), surface.SpeedUnit()));
  if (answer.efficiency) add("efficiency " + WithSigma(*answer.efficiency, answer.sigma_efficiency, 3, 3));
  if (answer.surge_margin) add("surge margin " + Percent(answer.surge_margin, std::nullopt));
  return words;
}

std::string TurbineWords(const TurbineAnswer& answer, const TurbineSurface& surface) {
  std::string words;
  const auto add = [&](const std::string& part) { words += (words.empty() ? "" : ", ") + part; };
  if (answer.parameter) add(WithUnit(AsGiven(answer.parameter), surface.ParameterUnit()));
  if (answer.efficiency) add("efficiency " + WithSigma(*answer.efficiency, answer.sigma_efficiency, 3, 3));
  if (!answer.inside) add("outside the lines");
  return words;
}

}  // namespace islebook
