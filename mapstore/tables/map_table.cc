#include "mapstore/tables/map_table.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/answers/answer_text.h"
#include "mapstore/map/csv_text.h"
#include "mapstore/map/json_text.h"

namespace islebook {
namespace {

std::vector<double> Between(const std::vector<double>& lines, int more) {
  std::vector<double> rows;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    rows.push_back(lines[i]);
    if (i + 1 == lines.size()) break;
    for (int k = 1; k <= more; ++k) rows.push_back(lines[i] + (lines[i + 1] - lines[i]) * k / (more + 1));
  }
  return rows;
}

TableCell CompressorCell(const AskableMap& map, double speed, double beta) {
  const CompressorSurface& surface = *map.compressor();
  TableCell cell;
  const SurfaceJet jet = surface.At({speed, beta});
  cell.flow = jet.flow;
  cell.ratio = jet.pressure_ratio;
  // The ends of a line are asked a hair inside, where rounding cannot put them off the map.
  const SurfaceJet inside = surface.At({speed, std::clamp(beta, 1e-9, 1.0 - 1e-9)});
  Question question;
  question.Set(QuestionValue::kFlow, inside.flow);
  question.Set(QuestionValue::kPressureRatio, inside.pressure_ratio);
  cell.answer = map.Ask(question);
  constexpr double kNoise = 1e-6;  // of the hair and of finding the place again
  if (beta == 0.0 && cell.answer.surge_margin && std::abs(*cell.answer.surge_margin) < kNoise) cell.answer.surge_margin = 0.0;
  cell.answer.flow = jet.flow;
  cell.answer.pressure_ratio = jet.pressure_ratio;
  cell.answer.speed = speed;
  if (surface.HasEfficiency()) {
    const EfficiencyJet efficiency = surface.EfficiencyAt({speed, beta});
    cell.efficiency = std::clamp(efficiency.value, 0.0, 1.0);
    cell.standing = efficiency.extrapolated ? Standing::kExtrapolated : Standing::kKnown;
    if (cell.answer.asked && cell.answer.inside && !cell.answer.efficiency) cell.standing = Standing::kUnknown;
  }
  return cell;
}

TableCell TurbineCell(const AskableMap& map, double parameter, double beta) {
  const TurbineSurface& surface = *map.turbine();
  TableCell cell;
  const double low = surface.MinExpansionRatio(parameter), high = surface.MaxExpansionRatio(parameter);
  cell.ratio = low + (high - low) * beta;
  Question question;
  question.Set(QuestionValue::kExpansionRatio, cell.ratio);
  if (!map.speed_unit().empty())
    question.Set(QuestionValue::kSpeed, parameter);
  else if (map.has_parameter())
    question.Set(QuestionValue::kVaneOpening, parameter);
  cell.answer = map.Ask(question);
  cell.flow = cell.answer.flow.value_or(0.0);
  if (cell.answer.efficiency) {
    cell.efficiency = *cell.answer.efficiency;
    cell.standing = cell.answer.reason.empty() ? Standing::kKnown : Standing::kExtrapolated;
  }
  return cell;
}

std::string LineWord(const AskableMap& map) {
  if (!map.speed_unit().empty() || !map.is_turbine()) return "speed";
  return map.has_parameter() ? "vane_opening" : "line";
}

std::string LineUnit(const AskableMap& map) {
  return !map.speed_unit().empty() ? map.speed_unit() : map.vane_opening_unit().empty() ? "1" : map.vane_opening_unit();
}

// One line of a comment, whatever the title holds.
std::string Comment(std::string_view text) {
  std::string line = ValidUtf8(text);
  for (char& c : line)
    if (static_cast<unsigned char>(c) < 0x20) c = ' ';
  return "# " + line + "\n";
}

template <typename Value>
void AppendMatrix(std::string& out, const MapTable& table, const char* name, const char* words, Value value) {
  out += fmt::format("\n# {}\ndouble {}({},{})\n0", words, name, table.lines.size() + 1, table.betas.size() + 1);
  for (const double beta : table.betas) out += " " + JsonNumber(beta);
  out += "\n";
  for (std::size_t i = 0; i < table.lines.size(); ++i) {
    out += JsonNumber(table.lines[i]);
    for (const TableCell& cell : table.cells[i]) out += " " + JsonNumber(value(cell));
    out += "\n";
  }
}

}  // namespace

Result<void> MapTableOptions::Check() const {
  if (rows_between_lines < 0 || rows_between_lines > 50)
    return Fail(ErrorCode::kInvalidArgument, "rows between lines are 0 to 50.", "rows_between_lines");
  if (betas < 2 || betas > 500) return Fail(ErrorCode::kInvalidArgument, "there are 2 to 500 betas.", "betas");
  return {};
}

Result<MapTable> MakeTable(const AskableMap& map, const MapTableOptions& options) {
  if (auto checked = options.Check(); !checked) return std::unexpected(checked.error());
  if (map.is_turbine() && !map.turbine()->HasFlow())
    return Fail(ErrorCode::kNotEnoughCurves, "the map has no flow lines, so that no table of flows can be made.", map.name());
  MapTable table;
  const std::vector<double> lines = map.is_turbine() ? map.turbine()->LineValues() : map.compressor()->LineSpeeds();
  table.lines = lines.empty() ? std::vector<double>{0.0} : Between(lines, options.rows_between_lines);
  for (int i = 0; i < options.betas; ++i) table.betas.push_back(static_cast<double>(i) / (options.betas - 1));
  for (const double line : table.lines) {
    std::vector<TableCell>& row = table.cells.emplace_back();
    for (const double beta : table.betas) row.push_back(map.is_turbine() ? TurbineCell(map, line, beta) : CompressorCell(map, line, beta));
  }
  return table;
}

std::string TableAsCsv(const AskableMap& map, const MapTable& table) {
  std::string out;
  const std::string unit = LineUnit(map);
  AppendCsvField(out, unit == "1" ? "line_" + LineWord(map) : fmt::format("line_{} [{}]", LineWord(map), unit));
  out += ",beta,efficiency_standing,";
  AppendAnswerCsvHeader(out, map);
  for (std::size_t i = 0; i < table.lines.size(); ++i)
    for (std::size_t k = 0; k < table.betas.size(); ++k) {
      const TableCell& cell = table.cells[i][k];
      const char* standing = cell.standing == Standing::kKnown ? "known" : cell.standing == Standing::kExtrapolated ? "extrapolated" : "unknown";
      out += fmt::format("{},{},{},", JsonNumber(table.lines[i]), JsonNumber(table.betas[k]), standing);
      AppendAnswerCsv(out, map, cell.answer);
    }
  return out;
}

std::string TableAsModelica(const AskableMap& map, const MapTable& table) {
  std::string out = "#1\n";
  const std::string& title = map.map().title;
  out += Comment(fmt::format("{}{}{}", title.empty() ? map.name() : title, map.revision().empty() ? "" : ", revision ", map.revision()));
  out += Comment("An estimate read from a sheet. The makers' limits, local codes and licensed practice come first.");
  out += Comment(
      fmt::format("First column: {} in {}. First row: beta, 0 at {}.", LineWord(map), LineUnit(map),
                  map.is_turbine() ? "the lowest expansion ratio of the lines there, 1 at the highest" : "the surge line, 1 at the choke end"));
  if (const auto& reference = map.map().reference_conditions)
    out += Comment(fmt::format("Flow and speed are corrected to {:g} K and {:g} Pa ({}).", reference->temperature_K, reference->pressure_Pa,
                               reference->basis == ReferenceConditions::Basis::kPrinted ? "as the sheet prints" : "assumed: the sheet does not say"));
  for (const std::string& doubt : map.doubts()) out += Comment("Doubt: " + doubt);
  AppendMatrix(out, table, "flow", fmt::format("Flow in {}", map.flow_unit()).c_str(), [](const TableCell& cell) { return cell.flow; });
  AppendMatrix(out, table, map.is_turbine() ? "expansion_ratio" : "pressure_ratio", map.is_turbine() ? "Expansion ratio" : "Pressure ratio",
               [](const TableCell& cell) { return cell.ratio; });
  const bool has_efficiency = map.is_turbine() ? map.turbine()->HasEfficiency() : map.compressor()->HasEfficiency();
  if (has_efficiency) {
    AppendMatrix(out, table, "efficiency", "Efficiency, a fraction; only as good as efficiency_standing says",
                 [](const TableCell& cell) { return cell.efficiency; });
    AppendMatrix(out, table, "efficiency_standing", "0 known, 1 extrapolated beyond the printed efficiencies, 2 unknown: not to be used",
                 [](const TableCell& cell) { return static_cast<double>(cell.standing); });
  }
  return out;
}

}  // namespace islebook
