#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "mapstore/map/map_document.h"
#include "mapstore/parcel/curve_tables.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

constexpr std::size_t kMostPoints = 20'000;  // of a curve in a table

std::unexpected<Error> Bad(std::string why, std::string place) { return Fail(ErrorCode::kBadTable, std::move(why), std::move(place)); }

std::string Lower(std::string_view text) {
  std::string low;
  for (const char c : text) low += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  return low;
}

std::string_view Trimmed(std::string_view text) {
  const std::size_t from = text.find_first_not_of(" \t");
  if (from == std::string_view::npos) return {};
  return text.substr(from, text.find_last_not_of(" \t") - from + 1);
}

// "x corrected_mass_flow [lb/min]" in its parts.
struct Header {
  std::string name, quantity, unit;
  bool has_unit = false;
};
Header ParseHeader(std::string_view text) {
  Header header;
  const std::size_t open = text.find('['), close = text.rfind(']');
  if (open != std::string_view::npos && close != std::string_view::npos && close > open) {
    header.unit = Trimmed(text.substr(open + 1, close - open - 1));
    header.has_unit = true;
    text = text.substr(0, open);
  }
  text = Trimmed(text);
  const std::size_t space = text.find(' ');
  header.name = Lower(text.substr(0, space));
  if (space != std::string_view::npos) header.quantity = Lower(Trimmed(text.substr(space)));
  return header;
}

// A unit as documents spell it. Factors are not for here: "klb/h" would need one and is refused.
Result<std::string> DocumentUnit(const std::string& text, const std::string& place) {
  if (IsDocumentUnit(text)) return text;
  const Result<Unit> unit = ParseUnit(text);
  if (!unit) return Fail(unit.error().code, unit.error().message, place);
  if (!unit->repaired && IsDocumentUnit(unit->spelling)) return unit->spelling;
  return Fail(ErrorCode::kUnknownUnit,
              fmt::format("\"{}\" is not a unit of maps; use for instance lb/min, kg/s, m3/s, rpm, % or 1.", text.substr(0, 40)), place);
}

// The columns of a table of points or curves; -1: not there.
struct Columns {
  int map = -1, curve = -1, role = -1, value = -1, unit = -1, closed = -1, review = -1, x = -1, y = -1, efficiency = -1, sigma_x = -1, sigma_y = -1;
  std::string value_unit;  // from "value [rpm]"
};

Result<void> TakeAxis(const Header& header, TableAxis& axis, const std::string& place) {
  if (!header.quantity.empty()) {
    axis.quantity = ParseQuantity(header.quantity);
    if (!axis.quantity)
      return Bad(fmt::format("\"{}\" is no quantity of maps, such as corrected_mass_flow or pressure_ratio_tt.", header.quantity.substr(0, 60)),
                 place);
  }
  if (!header.has_unit) return {};
  const Result<std::string> unit = DocumentUnit(header.unit, place);
  if (!unit) return std::unexpected(unit.error());
  axis.unit = *unit;
  return {};
}

Result<Columns> ReadColumns(const CellRow& row, CurveTables& tables, const std::string& place) {
  Columns columns;
  for (std::size_t i = 0; i < row.cells.size(); ++i) {
    const Header header = ParseHeader(row.cells[i].text);
    int* column = nullptr;
    TableAxis* axis = nullptr;
    if (header.name == "map")
      column = &columns.map;
    else if (header.name == "curve")
      column = &columns.curve;
    else if (header.name == "role")
      column = &columns.role;
    else if (header.name == "value")
      column = &columns.value;
    else if (header.name == "unit")
      column = &columns.unit;
    else if (header.name == "closed")
      column = &columns.closed;
    else if (header.name == "needs_review")
      column = &columns.review;
    else if (header.name == "sigma_x")
      column = &columns.sigma_x;
    else if (header.name == "sigma_y")
      column = &columns.sigma_y;
    else if (header.name == "x")
      column = &columns.x, axis = &tables.x;
    else if (header.name == "y")
      column = &columns.y, axis = &tables.y;
    else if (header.name == "efficiency")
      column = &columns.efficiency, axis = &tables.efficiency;
    else
      continue;  // a colleague's own column
    if (*column >= 0) return Bad(fmt::format("the column {} stands there twice.", header.name), place);
    *column = static_cast<int>(i);
    if (axis != nullptr) {
      if (const Result<void> taken = TakeAxis(header, *axis, place); !taken) return std::unexpected(taken.error());
    } else if (header.name == "value" && header.has_unit) {
      const Result<std::string> unit = DocumentUnit(header.unit, place);
      if (!unit) return std::unexpected(unit.error());
      columns.value_unit = *unit;
    }
  }
  return columns;
}

const Cell& At(const CellRow& row, int column) {
  static const Cell kNone;
  return column >= 0 && static_cast<std::size_t>(column) < row.cells.size() ? row.cells[static_cast<std::size_t>(column)] : kNone;
}

Result<std::optional<double>> NumberAt(const CellRow& row, int column, const char* what, const std::string& place) {
  const Cell& cell = At(row, column);
  if (cell.IsEmpty()) return std::nullopt;
  // A spreadsheet program may have made text of a number.
  if (!cell.number) {
    const Result<CellTable> again = ReadCsv(cell.text + ";;\n");
    if (again && again->rows.size() == 1 && again->rows[0].cells[0].number) return again->rows[0].cells[0].number;
    return Bad(fmt::format("{} is \"{}\", which is no number.", what, cell.text.substr(0, 40)), place);
  }
  return cell.number;
}

Result<std::optional<bool>> FlagAt(const CellRow& row, int column, const char* what, const std::string& place) {
  const Cell& cell = At(row, column);
  if (cell.IsEmpty()) return std::nullopt;
  const std::string word = Lower(cell.text);
  if (word == "true" || word == "yes" || word == "1") return true;
  if (word == "false" || word == "no" || word == "0") return false;
  return Bad(fmt::format("{} is \"{}\"; it must be true or false.", what, cell.text.substr(0, 40)), place);
}

Result<std::optional<std::int64_t>> CurveNumberAt(const CellRow& row, int column, const std::string& place) {
  const Result<std::optional<double>> number = NumberAt(row, column, "curve", place);
  if (!number) return std::unexpected(number.error());
  if (!*number) return std::nullopt;
  if (**number < 1 || **number > 1e6 || **number != std::floor(**number)) return Bad("curve is no number of a curve; they count from 1.", place);
  return static_cast<std::int64_t>(**number);
}

// Everything about a curve but its points.
Result<TableCurve> ReadCurveFacts(const CellRow& row, const Columns& columns, const std::string& place) {
  TableCurve curve;
  curve.place = place;
  const Result<std::optional<std::int64_t>> number = CurveNumberAt(row, columns.curve, place);
  if (!number) return std::unexpected(number.error());
  curve.number = *number;
  std::string role = Lower(At(row, columns.role).text);
  std::replace(role.begin(), role.end(), ' ', '_');
  const std::optional<CurveRole> known = ParseCurveRole(role);
  if (!known)
    return Bad(fmt::format("role is \"{}\"; it must be speed_line, surge_line, choke_line, efficiency_island, flow_line, efficiency_line or other.",
                           role.substr(0, 40)),
               place);
  curve.role = *known;
  const Result<std::optional<double>> value = NumberAt(row, columns.value, "value", place);
  if (!value) return std::unexpected(value.error());
  curve.value = *value;
  if (curve.value) {
    if (const Cell& unit = At(row, columns.unit); !unit.IsEmpty()) {
      const Result<std::string> spelling = DocumentUnit(unit.text, place);
      if (!spelling) return std::unexpected(spelling.error());
      curve.unit = *spelling;
    } else {
      curve.unit = columns.value_unit;
    }
    if (curve.unit.empty()) return Bad("the value has no unit; give it in the column unit, or in the header as \"value [rpm]\".", place);
  }
  const Result<std::optional<bool>> closed = FlagAt(row, columns.closed, "closed", place);
  if (!closed) return std::unexpected(closed.error());
  curve.closed = *closed;
  const Result<std::optional<bool>> review = FlagAt(row, columns.review, "needs_review", place);
  if (!review) return std::unexpected(review.error());
  curve.needs_review = *review;
  return curve;
}

// The point of a row, on the efficiency axis for lines that belong there and a table that has it.
Result<void> ReadPoint(const CellRow& row, const Columns& columns, TableCurve& curve, const std::string& place) {
  const bool on_efficiency = curve.role == CurveRole::kEfficiencyLine && columns.efficiency >= 0;
  const Result<std::optional<double>> x = NumberAt(row, columns.x, "x", place);
  if (!x) return std::unexpected(x.error());
  const Result<std::optional<double>> y = NumberAt(row, on_efficiency ? columns.efficiency : columns.y, on_efficiency ? "efficiency" : "y", place);
  if (!y) return std::unexpected(y.error());
  if (!*x || !*y)
    return Bad(fmt::format("the point has no {}; fill it in or delete the row.", !*x ? "x" : on_efficiency ? "efficiency" : "y"), place);
  if (curve.points.size() == kMostPoints) return Bad(fmt::format("the curve has more than {} points.", kMostPoints), place);
  curve.points.push_back({**x, **y});
  const Result<std::optional<double>> sigma_x = NumberAt(row, columns.sigma_x, "sigma_x", place);
  if (!sigma_x) return std::unexpected(sigma_x.error());
  const Result<std::optional<double>> sigma_y = NumberAt(row, columns.sigma_y, "sigma_y", place);
  if (!sigma_y) return std::unexpected(sigma_y.error());
  for (const auto& sigma : {*sigma_x, *sigma_y})
    if (sigma && *sigma < 0) return Bad("an uncertainty is negative.", place);
  curve.sigma.push_back(*sigma_x && *sigma_y ? std::optional(Point2{**sigma_x, **sigma_y}) : std::nullopt);
  return {};
}

// "NAME@0123456789abcdef", as CurvesAsCsv writes it.
TableOrigin ParseOrigin(const std::string& text) {
  const std::size_t at = text.rfind('@');
  if (at == std::string::npos) return {text, ""};
  return {text.substr(0, at), text.substr(at + 1)};
}

std::string Same(const std::optional<double>& value, const std::string& unit) { return value ? fmt::format("{} {}", *value, unit) : "no value"; }

const CellTable* FindSheet(const std::vector<CellTable>& sheets, std::string_view name) {
  for (const CellTable& sheet : sheets)
    if (Lower(sheet.name) == name) return &sheet;
  return nullptr;
}

// The sheet Map: names and values, one a row.
Result<void> ReadFacts(const CellTable& sheet, CurveTables& tables) {
  std::map<std::string, std::pair<const Cell*, std::string>> facts;
  for (const CellRow& row : sheet.rows) {
    const std::string name = Lower(Trimmed(At(row, 0).text));
    const std::string place = fmt::format("sheet {}, row {}", sheet.name, row.line);
    if (name.empty() || name == "doubt") continue;
    if (!facts.emplace(name, std::pair(&At(row, 1), place)).second) return Bad(fmt::format("\"{}\" stands there twice.", name.substr(0, 60)), place);
  }
  const auto cell = [&](const std::string& name) -> const Cell* {
    const auto found = facts.find(name);
    return found == facts.end() || found->second.first->IsEmpty() ? nullptr : found->second.first;
  };
  const auto place = [&](const std::string& name) { return facts.at(name).second; };
  const auto number = [&](const std::string& name) -> Result<std::optional<double>> {
    if (cell(name) == nullptr) return std::nullopt;
    return NumberAt(CellRow{0, {*cell(name)}}, 0, name.c_str(), place(name));
  };
  if (cell("map") != nullptr) tables.origin = TableOrigin{cell("map")->text, cell("revision") == nullptr ? "" : cell("revision")->text};
  if (facts.contains("title")) tables.title = cell("title") == nullptr ? "" : cell("title")->text;
  if (cell("kind") != nullptr) {
    tables.kind = ParseMapKind(Lower(cell("kind")->text));
    if (!tables.kind) return Bad("kind must be compressor or turbine.", place("kind"));
  }
  const std::pair<const char*, std::optional<Axis>*> axes[] = {
      {"x", &tables.printed_x}, {"y", &tables.printed_y}, {"efficiency", &tables.printed_efficiency}};
  for (const auto& [name, axis] : axes) {
    const std::string prefix = std::string(name) + " ";
    if (cell(prefix + "quantity") == nullptr) continue;
    Axis read;
    const std::optional<Quantity> quantity = ParseQuantity(Lower(cell(prefix + "quantity")->text));
    if (!quantity) return Bad("this is no quantity of maps, such as corrected_mass_flow or pressure_ratio_tt.", place(prefix + "quantity"));
    read.quantity = *quantity;
    if (cell(prefix + "unit") == nullptr) return Bad(fmt::format("the axis {} has no unit.", name), place(prefix + "quantity"));
    const Result<std::string> unit = DocumentUnit(cell(prefix + "unit")->text, place(prefix + "unit"));
    if (!unit) return std::unexpected(unit.error());
    read.unit = *unit;
    if (cell(prefix + "scale") != nullptr) {
      const std::optional<AxisScale> scale = ParseAxisScale(Lower(cell(prefix + "scale")->text));
      if (!scale) return Bad("scale must be linear or log.", place(prefix + "scale"));
      read.scale = *scale;
    }
    const Result<std::optional<double>> low = number(prefix + "min"), high = number(prefix + "max");
    if (!low) return std::unexpected(low.error());
    if (!high) return std::unexpected(high.error());
    if (!*low || !*high) return Bad(fmt::format("the axis {} has no min and max.", name), place(prefix + "quantity"));
    read.min = **low;
    read.max = **high;
    *axis = read;
  }
  const Result<std::optional<double>> temperature = number("reference temperature [k]"), pressure = number("reference pressure [pa]");
  if (!temperature) return std::unexpected(temperature.error());
  if (!pressure) return std::unexpected(pressure.error());
  if (temperature->has_value() != pressure->has_value())
    return Bad("reference conditions are a temperature and a pressure; give both or none.", fmt::format("sheet {}", sheet.name));
  if (*temperature) {
    ReferenceConditions reference{**temperature, **pressure, ReferenceConditions::Basis::kAssumed};
    if (cell("reference basis") != nullptr) {
      const std::string basis = Lower(cell("reference basis")->text);
      if (basis != "printed" && basis != "assumed") return Bad("reference basis must be printed or assumed.", place("reference basis"));
      if (basis == "printed") reference.basis = ReferenceConditions::Basis::kPrinted;
    }
    tables.reference_conditions = reference;
  }
  return {};
}

}  // namespace

Result<CurveTables> ReadCurveCsv(std::string_view text) {
  const Result<CellTable> table = ReadCsv(text);
  if (!table) return std::unexpected(table.error());
  if (table->rows.empty())
    return Bad("the table is empty; its first line must name the columns, for instance role,value [rpm],x [lb/min],y [1].", "line 1");
  CurveTables tables;
  const Result<Columns> columns = ReadColumns(table->rows[0], tables, fmt::format("line {}", table->rows[0].line));
  if (!columns) return std::unexpected(columns.error());
  if (columns->role < 0 || columns->x < 0 || (columns->y < 0 && columns->efficiency < 0))
    return Bad("this is no table of curves: the first line must name the columns role, x and y, for instance role,value [rpm],x [lb/min],y [1].",
               "line 1");
  tables.has_sigma = columns->sigma_x >= 0 && columns->sigma_y >= 0;
  std::map<std::int64_t, std::size_t> by_number;
  for (std::size_t i = 1; i < table->rows.size(); ++i) {
    const CellRow& row = table->rows[i];
    const std::string place = fmt::format("line {}", row.line);
    if (const Cell& origin = At(row, columns->map); !origin.IsEmpty()) {
      TableOrigin read = ParseOrigin(origin.text);
      if (tables.origin && (tables.origin->map != read.map || tables.origin->revision != read.revision))
        return Bad("the table holds more than one map; give one file a map.", place);
      tables.origin = std::move(read);
    }
    Result<TableCurve> facts = ReadCurveFacts(row, *columns, place);
    if (!facts) return std::unexpected(facts.error());
    TableCurve* curve = nullptr;
    if (facts->number) {
      const auto [found, is_new] = by_number.emplace(*facts->number, tables.curves.size());
      if (!is_new) curve = &tables.curves[found->second];
    } else if (!tables.curves.empty()) {
      TableCurve& last = tables.curves.back();
      if (!last.number && last.role == facts->role && last.value == facts->value && last.unit == facts->unit) curve = &last;
    }
    if (curve == nullptr) {
      tables.curves.push_back(std::move(*facts));
      curve = &tables.curves.back();
    } else if (curve->role != facts->role || curve->value != facts->value || curve->unit != facts->unit || curve->closed != facts->closed ||
               curve->needs_review != facts->needs_review) {
      return Bad(fmt::format("curve {} is a {} with {} here and a {} with {} in {}; all of its lines must say the same.", facts->number.value_or(0),
                             CurveRoleName(facts->role), Same(facts->value, facts->unit), CurveRoleName(curve->role), Same(curve->value, curve->unit),
                             curve->place),
                 place);
    }
    if (const Result<void> read = ReadPoint(row, *columns, *curve, place); !read) return std::unexpected(read.error());
  }
  return tables;
}

Result<CurveTables> ReadCurveWorkbook(std::string bytes) {
  const Result<std::vector<CellTable>> sheets = ReadWorkbook(std::move(bytes));
  if (!sheets) return std::unexpected(sheets.error());
  const CellTable *facts = FindSheet(*sheets, "map"), *curves = FindSheet(*sheets, "curves"), *points = FindSheet(*sheets, "points");
  if (curves == nullptr || points == nullptr || curves->rows.empty() || points->rows.empty())
    return Bad("this spreadsheet holds no map: it needs the sheets Curves and Points, as islebook export --spreadsheet writes them.", "");
  CurveTables tables;
  if (facts != nullptr)
    if (const Result<void> read = ReadFacts(*facts, tables); !read) return std::unexpected(read.error());
  const auto place_of = [](const CellTable& sheet, const CellRow& row) { return fmt::format("sheet {}, row {}", sheet.name, row.line); };
  CurveTables ignored;
  const Result<Columns> curve_columns = ReadColumns(curves->rows[0], ignored, place_of(*curves, curves->rows[0]));
  if (!curve_columns) return std::unexpected(curve_columns.error());
  if (curve_columns->curve < 0 || curve_columns->role < 0)
    return Bad("the sheet needs the columns curve and role.", place_of(*curves, curves->rows[0]));
  const Result<Columns> point_columns = ReadColumns(points->rows[0], tables, place_of(*points, points->rows[0]));
  if (!point_columns) return std::unexpected(point_columns.error());
  if (point_columns->curve < 0 || point_columns->x < 0 || (point_columns->y < 0 && point_columns->efficiency < 0))
    return Bad("the sheet needs the columns curve, x and y.", place_of(*points, points->rows[0]));
  tables.has_sigma = point_columns->sigma_x >= 0 && point_columns->sigma_y >= 0;
  std::map<std::int64_t, std::size_t> by_number;
  for (std::size_t i = 1; i < curves->rows.size(); ++i) {
    Result<TableCurve> curve = ReadCurveFacts(curves->rows[i], *curve_columns, place_of(*curves, curves->rows[i]));
    if (!curve) return std::unexpected(curve.error());
    if (!curve->number) return Bad("the curve has no number.", curve->place);
    if (!by_number.emplace(*curve->number, tables.curves.size()).second)
      return Bad(fmt::format("curve {} stands there twice.", *curve->number), curve->place);
    tables.curves.push_back(std::move(*curve));
  }
  for (std::size_t i = 1; i < points->rows.size(); ++i) {
    const CellRow& row = points->rows[i];
    const std::string place = place_of(*points, row);
    const Result<std::optional<std::int64_t>> number = CurveNumberAt(row, point_columns->curve, place);
    if (!number) return std::unexpected(number.error());
    const auto found = *number ? by_number.find(**number) : by_number.end();
    if (found == by_number.end())
      return Bad(*number ? fmt::format("there is no curve {} on the sheet {}.", **number, curves->name) : std::string("the point has no curve."),
                 place);
    if (const Result<void> read = ReadPoint(row, *point_columns, tables.curves[found->second], place); !read) return std::unexpected(read.error());
  }
  for (const TableCurve& curve : tables.curves)
    if (curve.points.empty())
      return Bad(fmt::format("curve {} has no points on the sheet {}; delete its row here too to remove it.", curve.number.value_or(0), points->name),
                 curve.place);
  return tables;
}

}  // namespace islebook
