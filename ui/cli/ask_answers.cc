#include "ui/cli/ask_answers.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "mapstore/answers/answer_text.h"
#include "mapstore/map/curve_words.h"
#include "ui/desk/answer_words.h"

namespace islebook {
namespace {

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

std::string Number(std::optional<double> value, std::optional<double> sigma, int most = 6, int usual = 4) {
  return value ? WithSigma(*value, sigma, most, usual) : "-";
}

const char* BeyondWords(MapRegion region) {
  switch (region) {
    case MapRegion::kLeftOfSurge: return "toward surge";
    case MapRegion::kPastChoke: return "toward choke";
    case MapRegion::kOverSpeed: return "toward higher speed";
    case MapRegion::kUnderSpeed: return "toward lower speed";
    case MapRegion::kOnMap: break;
  }
  return "across a gap in the map";
}

const std::string kRatioUnit = "1";

std::string Spaced(std::string name) {
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

std::string Heading(const AskableMap& map) {
  const std::string& title = map.map().title;
  std::string text = title.empty() || title == map.name() ? map.name() : fmt::format("{} ({})", title, map.name());
  if (!map.revision().empty()) text += fmt::format(", revision {}", map.revision().substr(0, 12));
  return text + "\n";
}

std::vector<std::string> HeadingRow(const AskableMap& map) {
  if (!map.is_turbine())
    return {"", WithUnit("flow", map.flow_unit()), "PR", WithUnit("speed", map.speed_unit()), "efficiency", "surge margin", "choke margin", "where"};
  const std::string parameter = !map.has_parameter()        ? "line"
                                : !map.speed_unit().empty() ? WithUnit("speed", map.speed_unit())
                                                            : WithUnit("vane opening", map.vane_opening_unit());
  return {"", "expansion ratio", parameter, WithUnit("flow", map.flow_unit()), "efficiency", "where"};
}

std::vector<std::string> Row(const AskableMap& map, const MapAnswer& answer, std::string label) {
  if (map.is_turbine()) {
    if (!answer.asked) return {label, "-", "-", "-", "-", "not asked"};
    return {label,
            Number(answer.expansion_ratio, std::nullopt),
            map.has_parameter() ? AsGiven(answer.speed ? answer.speed : answer.vane_opening) : "the only one",
            Number(answer.flow, answer.sigma_flow, 5),
            Number(answer.efficiency, answer.sigma_efficiency, 4),
            WhereWords(map, answer)};
  }
  if (!answer.asked) return {label, "-", "-", "-", "-", "-", "-", "not asked"};
  // What was given has no uncertainty of its own.
  return {label,
          answer.sigma_flow ? Number(answer.flow, answer.sigma_flow) : AsGiven(answer.flow),
          answer.sigma_pressure_ratio ? Number(answer.pressure_ratio, answer.sigma_pressure_ratio) : AsGiven(answer.pressure_ratio),
          answer.sigma_speed && *answer.sigma_speed == 0.0 ? AsGiven(answer.speed) : Number(answer.speed, answer.sigma_speed, 6, 6),
          Number(answer.efficiency, answer.sigma_efficiency, 4, 4),
          PercentWithSigma(answer.surge_margin, answer.sigma_surge_margin),
          PercentWithSigma(answer.choke_margin, std::nullopt),
          WhereWords(map, answer)};
}

}  // namespace

AnswerPrinter::AnswerPrinter(const AskableMap& map, AnswerForm form) : map_(map), form_(form), json_(map) {
  switch (form_) {
    case AnswerForm::kText: pending_ = Heading(map_); break;
    case AnswerForm::kJson: pending_ = "["; break;
    case AnswerForm::kCsv: AppendAnswerCsvHeader(pending_, map_); break;
  }
}

void AnswerPrinter::Add(const MapAnswer& answer) {
  ++count_;
  if (form_ == AnswerForm::kJson) {
    pending_ += count_ == 1 ? "\n  " : ",\n  ";
    json_.Append(pending_, answer, count_ == 1);
    return;
  }
  if (form_ == AnswerForm::kCsv) {
    AppendAnswerCsv(pending_, map_, answer);
    return;
  }
  if (rows_.empty()) rows_.push_back(HeadingRow(map_));
  rows_.push_back(Row(map_, answer, std::to_string(count_)));
  for (const MapAnswer& other : answer.alternatives) rows_.push_back(Row(map_, other, "or"));
  if (answer.details) Details(*answer.details);
  if (!answer.reason.empty()) Remark(answer.reason);
  if (rows_.size() > kRowsInTable) EndTable();
}

// The same remark for several points stands once: "2, 5: The point ..."
void AnswerPrinter::Remark(const std::string& words) {
  for (RemarkLine& known : remarks_) {
    if (known.words != words) continue;
    if (known.points.size() < kPointsInRemark) known.points.push_back(count_);
    ++known.count;
    return;
  }
  if (remarks_.size() < kMostRemarks) {
    remarks_.push_back({words, {count_}, 1});
  } else {
    ++further_remarks_;
  }
}

void AnswerPrinter::Details(const AnswerDetails& details) {
  if (map_.options().slopes) {
    std::string line;
    const auto add = [&](const char* name, QuestionValue by, double slope) {
      line += fmt::format("{}{} by {} {:.5g}", line.empty() ? "" : "; ", Spaced(name), Spaced(QuestionValueName(by)), slope);
    };
    for (const NamedSlope& named : NamedSlopes()) {
      if (!details.slopes || !((*details.slopes).*named.slope)) continue;
      const Slope& slope = *((*details.slopes).*named.slope);
      add(named.name, details.slopes->first, slope.by_first);
      if (details.slopes->second) add(named.name, *details.slopes->second, slope.by_second);
    }
    details_ += fmt::format("{}: slopes: {}.\n", count_, line.empty() ? "not known there" : line);
  }
  if (!map_.options().edges) return;
  if (!details.edges) {
    details_ += fmt::format("{}: the point is not on the map, so that there is no distance to its edges.\n", count_);
    return;
  }
  std::string line;
  for (const NamedEdge& way : NamedEdges()) {
    const EdgeHit* hit = HitOf(*details.edges, way);
    if (hit == nullptr || way.hit == nullptr) continue;
    line +=
        fmt::format("{}{} {}{}", line.empty() ? "" : "; ", Spaced(way.name), hit->change < 0.0 ? "-" : "+", NumberInWords(std::abs(hit->change), 4));
    const std::string_view changes = way.changes;
    const std::string& unit = changes == "flow" ? map_.flow_unit() : changes == "speed" ? map_.speed_unit() : kRatioUnit;
    if (unit != kRatioUnit && !unit.empty()) line += " " + unit;
  }
  const EdgeHit& nearest = details.edges->nearest;
  details_ += fmt::format("{}: to the edges: {}; the nearest is {:.1f} % of the map's extent away, {}.\n", count_, line, 100.0 * nearest.share,
                          BeyondWords(nearest.beyond));
}

void AnswerPrinter::EndTable() {
  if (rows_.empty()) return;
  pending_ += Table(rows_);
  rows_.clear();
  pending_ += std::exchange(details_, {});
}

std::string AnswerPrinter::Take() { return std::exchange(pending_, {}); }

std::string AnswerPrinter::End() {
  if (form_ == AnswerForm::kJson) pending_ += count_ == 0 ? "]" : "\n]";
  if (form_ != AnswerForm::kText) return Take();
  EndTable();
  std::string text = Take();
  if (!map_.is_turbine())
    text += fmt::format("Surge margin ({}): {}. Choke margin: W_choke / W - 1 at constant corrected speed.\n", map_.surge_margin().name,
                        map_.surge_margin().definition);
  if (const auto& reference = map_.map().reference_conditions)
    text += fmt::format("Flow and speed are corrected to {:g} K and {:g} kPa ({}).\n", reference->temperature_K, reference->pressure_Pa / 1000.0,
                        reference->basis == ReferenceConditions::Basis::kPrinted ? "as the sheet prints" : "assumed: the sheet does not say");
  else if (LacksReference(map_.map()))
    text +=
        "The sheet states no reference conditions: corrected flow and speed are as printed and may be several per cent off another map's; ask the "
        "maker.\n";
  if (text.find("±") != std::string::npos)
    text += "±: one standard uncertainty of reading the sheet, nothing more; the maker's tolerance and the scatter of the test rig come on top.\n";
  for (const RemarkLine& remark : remarks_) {
    std::string list;
    for (const std::size_t point : remark.points) list += (list.empty() ? "" : ", ") + std::to_string(point);
    if (remark.count > remark.points.size()) list += fmt::format(" and {} more", remark.count - remark.points.size());
    text += count_ > 1 ? fmt::format("{}: {}\n", list, remark.words) : remark.words + "\n";
  }
  if (further_remarks_ > 0) text += fmt::format("And {} further remarks.\n", further_remarks_);
  if (!map_.doubts().empty()) {
    text += "About this map:\n";
    for (const std::string& doubt : map_.doubts()) text += "  " + doubt + "\n";
  }
  return text;
}

}  // namespace islebook
