#pragma once
// A map on a grid, for programs that interpolate tables themselves.
//
// A compressor: lines of constant speed, on each beta from 0 (surge line) to 1 (choke end), so that every cell of the grid lies on the map and no line is flat or
// vertical in it. A turbine: lines of constant speed or vane opening, on each beta from the lowest to the highest expansion ratio that the lines about it cover.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/answers/askable_map.h"
#include "mapstore/units/error.h"

namespace islebook {

struct MapTableOptions {
  int rows_between_lines = 3;  // rows added between two labeled lines, 0..50
  int betas = 21;              // columns, 2..500
  Result<void> Check() const;
};

enum class Standing { kKnown = 0, kExtrapolated = 1, kUnknown = 2 };  // of an efficiency

struct TableCell {
  MapAnswer answer;
  double flow = 0.0, ratio = 0.0;  // always there: of the surface
  double efficiency = 0.0;         // of the surface; see standing
  Standing standing = Standing::kUnknown;
};

struct MapTable {
  std::vector<double> lines;                  // ascending: speeds, vane openings, or one zero where the map has a single line
  std::vector<double> betas;                  // 0..1
  std::vector<std::vector<TableCell>> cells;  // [line][beta]
};

// kInvalidArgument: options; kNotEnoughCurves: a turbine map without flow lines.
Result<MapTable> MakeTable(const AskableMap& map, const MapTableOptions& options = {});

// CSV (RFC 4180), one line a cell: line, beta, and everything that an answer there has.
std::string TableAsCsv(const AskableMap& map, const MapTable& table);

// The text format that the Modelica Standard Library's tables read ("#1", then matrices; Modelica.Blocks.Types.ExternalCombiTable2D): flow, pressure_ratio or
// expansion_ratio, efficiency and efficiency_standing over line (first column) and beta (first row). Its tables must be full: an efficiency that is extrapolated or cannot
// be known stands there all the same, and efficiency_standing says so (0 known, 1 extrapolated, 2 unknown: not to be used).
std::string TableAsModelica(const AskableMap& map, const MapTable& table);

}  // namespace islebook
