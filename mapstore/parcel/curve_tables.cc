#include "mapstore/parcel/curve_tables.h"

#include <fmt/format.h>

#include "mapstore/map/map_document.h"

namespace islebook {
namespace {

constexpr const char* kHowTo[] = {
    "How to correct this map",
    "1. On the sheet Points, change x and y where a curve is wrong. Add rows (with the curve's number) or delete rows; the order is the curve's.",
    "2. On the sheet Curves, change the role, value or unit of a curve. needs_review: false says that you have looked at it and found it right.",
    "3. To remove a curve, delete its row on Curves and its rows on Points. To add one, give it a number of its own on both.",
    "4. On the sheet Map, change the title, the axes or the reference conditions. Leave map, revision and document as they are: they say what you "
    "corrected.",
    "5. Save in this format (.xlsx) and send it back. Whoever has Islebook runs: islebook import FILE.xlsx. It says every difference before it is "
    "kept as a new revision.",
    "sigma_x and sigma_y are standard uncertainties; leave them empty for points of your own.",
    "A map read from a picture is an estimate. The makers' limits come first.",
};

std::string AxisHeader(const char* name, const Axis& axis) { return fmt::format("{} {} [{}]", name, QuantityName(axis.quantity), axis.unit); }

Cell Flag(bool value) { return Cell(std::string(value ? "true" : "false")); }

Cell ValueCell(const Curve& curve) { return curve.value ? Cell(*curve.value) : Cell(); }

std::string OriginText(const TableOrigin& origin) { return origin.revision.empty() ? origin.map : origin.map + "@" + origin.revision.substr(0, 16); }

bool IsOnEfficiencyAxis(const PerformanceMap& map, const Curve& curve) {
  return curve.role == CurveRole::kEfficiencyLine && map.efficiency.has_value();
}

void AddAxisRows(CellTable& table, const char* name, const std::optional<Axis>& axis) {
  if (!axis) return;
  const auto add = [&](const char* what, Cell value) { table.rows.push_back({0, {Cell(fmt::format("{} {}", name, what)), std::move(value)}}); };
  add("quantity", Cell(std::string(QuantityName(axis->quantity))));
  add("unit", Cell(axis->unit));
  add("scale", Cell(std::string(AxisScaleName(axis->scale))));
  add("min", Cell(axis->min));
  add("max", Cell(axis->max));
}

}  // namespace

std::string CurvesAsCsv(const PerformanceMap& unrounded, const TableOrigin& origin) {
  const PerformanceMap map = AsWritten(unrounded);
  CellTable table;
  CellRow header;
  for (const char* name : {"map", "curve", "role", "value", "unit", "closed", "needs_review"}) header.cells.emplace_back(std::string(name));
  header.cells.emplace_back(map.x ? AxisHeader("x", *map.x) : std::string("x"));
  header.cells.emplace_back(map.y ? AxisHeader("y", *map.y) : std::string("y"));
  if (map.efficiency) header.cells.emplace_back(AxisHeader("efficiency", *map.efficiency));
  header.cells.emplace_back(std::string("sigma_x"));
  header.cells.emplace_back(std::string("sigma_y"));
  table.rows.push_back(std::move(header));
  for (std::size_t i = 0; i < map.curves.size(); ++i) {
    const Curve& curve = map.curves[i];
    for (std::size_t k = 0; k < curve.points.size(); ++k) {
      CellRow row;
      row.cells = {Cell(OriginText(origin)),
                   Cell(static_cast<double>(i + 1)),
                   Cell(std::string(CurveRoleName(curve.role))),
                   ValueCell(curve),
                   Cell(curve.unit),
                   Flag(curve.closed),
                   Flag(curve.needs_review),
                   Cell(curve.points[k].x)};
      const bool on_efficiency = IsOnEfficiencyAxis(map, curve);
      row.cells.push_back(on_efficiency ? Cell() : Cell(curve.points[k].y));
      if (map.efficiency) row.cells.push_back(on_efficiency ? Cell(curve.points[k].y) : Cell());
      row.cells.push_back(curve.sigma.empty() ? Cell() : Cell(curve.sigma[k].x));
      row.cells.push_back(curve.sigma.empty() ? Cell() : Cell(curve.sigma[k].y));
      table.rows.push_back(std::move(row));
    }
  }
  return WriteCsv(table);
}

Result<std::string> CurvesAsWorkbook(const PerformanceMap& unrounded, const TableOrigin& origin) {
  const PerformanceMap map = AsWritten(unrounded);
  CellTable facts{"Map", {}}, curves{"Curves", {}}, points{"Points", {}}, how{"How to correct", {}};
  const auto fact = [&facts](const char* name, Cell value) { facts.rows.push_back({0, {Cell(std::string(name)), std::move(value)}}); };
  fact("what", Cell(std::string("value")));
  fact("map", Cell(origin.map));
  if (!origin.revision.empty()) fact("revision", Cell(origin.revision));
  fact("title", Cell(map.title));
  fact("kind", Cell(std::string(map.kind ? MapKindName(*map.kind) : "")));
  AddAxisRows(facts, "x", map.x);
  AddAxisRows(facts, "y", map.y);
  AddAxisRows(facts, "efficiency", map.efficiency);
  if (const auto& reference = map.reference_conditions) {
    fact("reference temperature [K]", Cell(reference->temperature_K));
    fact("reference pressure [Pa]", Cell(reference->pressure_Pa));
    fact("reference basis", Cell(std::string(reference->basis == ReferenceConditions::Basis::kPrinted ? "printed" : "assumed")));
  }
  for (const std::string& doubt : map.needs_review) fact("doubt", Cell(doubt));

  CellRow header;
  for (const char* name : {"curve", "role", "value", "unit", "closed", "needs_review", "reasons"}) header.cells.emplace_back(std::string(name));
  curves.rows.push_back(std::move(header));
  header = {};
  header.cells = {Cell(std::string("curve")), Cell(map.x ? AxisHeader("x", *map.x) : std::string("x")),
                  Cell(map.y ? AxisHeader("y", *map.y) : std::string("y"))};
  if (map.efficiency) header.cells.emplace_back(AxisHeader("efficiency", *map.efficiency));
  header.cells.emplace_back(std::string("sigma_x"));
  header.cells.emplace_back(std::string("sigma_y"));
  points.rows.push_back(std::move(header));
  for (std::size_t i = 0; i < map.curves.size(); ++i) {
    const Curve& curve = map.curves[i];
    const Cell number(static_cast<double>(i + 1));
    std::string reasons;
    for (const std::string& reason : curve.reasons) reasons += (reasons.empty() ? "" : "; ") + reason;
    curves.rows.push_back({0,
                           {number, Cell(std::string(CurveRoleName(curve.role))), ValueCell(curve), Cell(curve.unit), Flag(curve.closed),
                            Flag(curve.needs_review), Cell(reasons)}});
    const bool on_efficiency = IsOnEfficiencyAxis(map, curve);
    for (std::size_t k = 0; k < curve.points.size(); ++k) {
      CellRow row{0, {number, Cell(curve.points[k].x), on_efficiency ? Cell() : Cell(curve.points[k].y)}};
      if (map.efficiency) row.cells.push_back(on_efficiency ? Cell(curve.points[k].y) : Cell());
      row.cells.push_back(curve.sigma.empty() ? Cell() : Cell(curve.sigma[k].x));
      row.cells.push_back(curve.sigma.empty() ? Cell() : Cell(curve.sigma[k].y));
      points.rows.push_back(std::move(row));
    }
  }
  for (const char* line : kHowTo) how.rows.push_back({0, {Cell(std::string(line))}});
  return WriteWorkbook({facts, curves, points, how});
}

}  // namespace islebook
