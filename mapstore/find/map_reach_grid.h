#pragma once
// What one compressor map covers, boiled down to a small grid: at each of a few pressure ratios the flow at the surge side and at the choke side, and between the
// two the efficiency and the surge margin. It knows how far it may be off, and is a thousand times quicker to look into; whatever is near a limit is
// asked of the map itself.
//
// Flows are in kg/s corrected to 288.15 K and 101325 Pa, whatever the map prints.

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

class CompressorQuery;

// What a map's printed flow is multiplied by to be kg/s at 288.15 K and 101325 Pa; a map without reference conditions is taken at those.
// kIncompatibleUnit, kWrongKind: no flow axis.
Result<double> StandardFlowFactor(const PerformanceMap& map);

// Of the entries that MakeReachEntry() makes; others are made anew.
std::int64_t ReachVersion();

// An entry without bands where the map cannot be asked.
ReachEntry MakeReachEntry(const std::string& name, const std::string& revision, const PerformanceMap& map);

// What a band's grid says at a point.
struct GridAnswer {
  std::optional<double> efficiency;          // fraction
  std::optional<double> surge_margin;        // fraction, at constant corrected speed
  double efficiency_error = 0.0;             // how far off either may be, as measured between the grid's points when it was made
  double surge_margin_error = 0.0;           // where `near_edge` says nothing
  std::optional<double> efficiency_at_most;  // where efficiency is not known just here, but is beside it
  bool near_edge = false;                    // so close to the edge or to a hole that only the map itself knows
};
// nullopt: the point is off the map. Bytes that are no grid count as off the map.
std::optional<GridAnswer> LookInto(std::string_view grid, double flow, double pressure_ratio);

// A map as an entry keeps it: what `ask` has behind it, without the uncertainty of speeds.
struct KeptMap {
  std::unique_ptr<CompressorQuery> query;
  double factor = 1.0;             // printed flow to kg/s
  bool total_to_static = false;    // its pressure ratio is printed so
  bool reference_assumed = false;  // its reference conditions are not printed or not there
};
std::optional<KeptMap> OpenKeptMap(std::string_view kept);  // nullopt: of another version, or damaged
// kWrongKind and others of CompressorSurface::Build: the map cannot be asked.
Result<KeptMap> MakeKeptMap(const PerformanceMap& map);

// How two outlines differ: root mean square of the relative differences of the flows at surge and at choke over the common part of their heights, and
// of the highest pressure ratio less one.
struct OutlineDifference {
  double flow = 0.0;                      // relative
  double pressure_ratio = 0.0;            // relative, of the highest pressure ratio less one
  std::optional<double> peak_efficiency;  // difference, fraction
  double Whole() const;                   // one number to rank by
};
std::optional<OutlineDifference> CompareOutlines(std::string_view a, std::string_view b);

}  // namespace islebook
