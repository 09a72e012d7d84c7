#pragma once
// A compressor map as the bench reads it: asked at an inlet state in SI, answered in SI and in the map's own units. The map's reference conditions, flow unit and
// speed unit are dealt with here and nowhere else in the bench.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/bench/bench_case.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/query/surge_margin.h"
#include "mapstore/surface/compressor_surface.h"
#include "mapstore/units/error.h"

namespace islebook {

// Efficiency taken where a map says none.
inline constexpr double kOffMapEfficiency = 0.65;

struct CompressorState {
  double flow_kg_s = 0.0;
  double inlet_K = 288.15;  // totals at the inlet flange
  double inlet_Pa = 101325.0;
  double pressure_ratio = 1.0;
};

// Nothing is NaN; what cannot be known is nullopt and `reason` says why.
struct CompressorReading {
  double corrected_flow_kg_s = 0.0;              // at the map's reference conditions
  double map_flow = 0.0;                         // the same in the unit of the map's axis
  std::optional<double> corrected_speed, speed;  // as the map labels it (facts().speed_unit); speed is the physical one
  std::optional<double> efficiency;
  std::optional<double> surge_margin, choke_margin;
  std::optional<double> sigma_speed, sigma_efficiency, sigma_surge_margin;  // sigma_speed: of the physical speed
  std::optional<MapRegion> region = MapRegion::kOnMap;  // nullopt: nothing sound tells where the map ends on its left (query/left_edge.h)
  bool inside = false;                                  // region is kOnMap
  bool off_lines = false;                               // region is not known, and the lines as they stand do not reach there
  std::string reason;
  bool OffMap() const { return region ? !inside : off_lines; }
};

// What a solver works with while it searches: an answer everywhere, on the map the same as Read's.
struct CompressorTrial {
  std::optional<double> speed_rev_s;  // of the shaft; nullopt where the map's labels are no rotational speeds
  double efficiency = 0.65;
  bool guessed = false;  // off the map, or where the map says no efficiency: continued from its nearest place
};

struct CompressorFacts {
  std::string title;
  std::string source;    // as the case names it
  std::string revision;  // on the shelf; empty for a file
  std::string flow_unit, speed_unit;
  ReferenceConditions reference;
  bool has_efficiency = false;
  bool total_to_static = false;
  std::optional<double> top_speed;  // of the highest speed line, corrected, in speed_unit
  double speed_unit_si = 0.0;       // one speed_unit in rev/s or m/s; 0: the labels are no speed (percent)
  bool speed_is_tip_speed = false;
  std::string surge_margin_definition;  // in words
  std::vector<std::string> doubts;      // about the map, in words
};

class CompressorReader {
 public:
  virtual ~CompressorReader() = default;
  virtual CompressorReading Read(const CompressorState& state) const = 0;  // any number of threads
  virtual CompressorTrial Work(const CompressorState& state) const = 0;
  virtual const CompressorFacts& facts() const = 0;
};

// `stage` gives what the map leaves out (reference conditions). Errors: kWrongKind for a turbine map or a chart of another kind, those of
// CompressorSurface::Build, and kBadCase for a map without efficiency where the stage assumes none.
Result<std::unique_ptr<CompressorReader>> MakeCompressorReader(const PerformanceMap& map, const CompressorStage& stage,
                                                               const std::string& revision = {},
                                                               SurgeMargin surge_margin = SurgeMargin::kConstantSpeed);

}  // namespace islebook
