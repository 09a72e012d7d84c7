#pragma once
// A map's curves as tables for colleagues without Islebook, and back again. CSV: one tidy table, a line a point. A spreadsheet: the sheets Map, Curves and Points.
// FORMAT.md beside this describes both.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/parcel/cell_table.h"
#include "mapstore/units/error.h"

namespace islebook {

// What was written out, so that the correction finds its way home.
struct TableOrigin {
  std::string map;       // a name on the shelf, or a file's
  std::string revision;  // id; empty: from a file
};

// Curves are numbered from 1 in the order of the document.
std::string CurvesAsCsv(const PerformanceMap& map, const TableOrigin& origin);
Result<std::string> CurvesAsWorkbook(const PerformanceMap& map, const TableOrigin& origin);

// One curve as a table gives it; what it does not say is not there.
struct TableCurve {
  std::optional<std::int64_t> number;  // of the exported map's curve; nullopt: the table has no such column, or the row was added without one
  CurveRole role = CurveRole::kOther;
  std::optional<double> value;
  std::string unit;  // a unit of documents, empty without value
  std::optional<bool> closed;
  std::optional<bool> needs_review;
  std::vector<Point2> points;  // in the units of the table's axes
  std::vector<std::optional<Point2>> sigma;
  std::string place;  // where it begins, for messages: "line 7", "row 7"
};

struct TableAxis {
  std::optional<Quantity> quantity;
  std::string unit;  // of documents, empty: the table does not say
};

// What a table of curves says.
struct CurveTables {
  std::optional<TableOrigin> origin;
  std::optional<std::string> title;
  std::optional<MapKind> kind;
  std::optional<ReferenceConditions> reference_conditions;
  TableAxis x, y, efficiency;
  std::optional<Axis> printed_x, printed_y, printed_efficiency;  // the whole axis, where a spreadsheet gives it
  std::vector<TableCurve> curves;
  bool has_sigma = false;
};

// kBadTable with the line or the sheet and row; kUnknownUnit.
Result<CurveTables> ReadCurveCsv(std::string_view text);
Result<CurveTables> ReadCurveWorkbook(std::string bytes);

// A map that was never on a sheet, from tables alone. Doubts say what had to be assumed. kBadTable.
Result<PerformanceMap> MapFromTables(const CurveTables& tables);

}  // namespace islebook
