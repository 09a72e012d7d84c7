#pragma once
// A compressor map as an engineer reads it: speed lines in order of speed, each from surge to choke; surge and choke line; islands by efficiency.
// A view built from a PerformanceMap's curves; every line says which curves it came from.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

// Points and their standard uncertainty; sigma is empty where the map states none.
struct MapLine {
  std::vector<Point2> points;
  std::vector<Point2> sigma;
  std::vector<std::size_t> curves;  // indices into PerformanceMap::curves
  bool needs_review = false;        // one of them does
};

struct CompressorSpeedLine {
  double speed = 0.0;  // in CompressorMap::speed_unit
  MapLine line;        // (flow, pressure ratio), from surge to choke
};

struct IslandPiece {
  MapLine line;         // (flow, pressure ratio)
  bool closed = false;  // first point not repeated at the end
};

struct EfficiencyIsland {
  double efficiency = 0.0;  // a fraction
  std::vector<IslandPiece> pieces;
};

struct CompressorMap {
  Axis flow;            // quantity, unit and scale of points' x
  Axis pressure_ratio;  // of points' y
  std::optional<ReferenceConditions> reference_conditions;
  std::string speed_unit;                        // as on the labels; empty without speed lines
  std::vector<CompressorSpeedLine> speed_lines;  // slowest first
  std::optional<MapLine> surge_line;             // upwards
  std::optional<MapLine> choke_line;             // upwards
  std::vector<EfficiencyIsland> islands;         // lowest efficiency first
  std::vector<std::string> left_out;             // what could not be used and why, in sentences
};

// Pieces of one line are joined where they do not overlap; a sheet with pressure ratio along x is turned round.
// kWrongKind: a turbine, a map of unknown kind, or axes that are not flow and pressure ratio.
Result<CompressorMap> AsCompressorMap(const PerformanceMap& map);

}  // namespace islebook
