#pragma once
// A turbine as the bench reads it: a map, or a nozzle of a given area. Asked at an inlet state in SI, answered in SI. Beyond its map it continues (choked flow stays choked,
// efficiency stays as at the edge) and says so. Immutable, any number of threads.

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/bench/bench_case.h"
#include "mapstore/bench/gas.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

struct TurbineInlet {
  double inlet_K = 873.15;  // totals at the inlet flange
  double inlet_Pa = 200000.0;
  double expansion_ratio = 1.5;       // inlet total over outlet static
  std::optional<double> speed_rev_s;  // of the shaft
  double vane_opening = 0.0;          // as the map's labels count it; not used without vanes
  double ideal_work_J_kg = 0.0;       // of the isentropic expansion; for maps over the velocity ratio
};

struct TurbineReading {
  double flow_kg_s = 0.0;           // that it swallows
  double efficiency = 0.7;          // total to static
  double map_flow = 0.0;            // in the unit of the map's flow axis; 0 without a map
  std::optional<double> parameter;  // corrected speed or vane opening at which the map was read
  double sigma_flow = 0.0;          // as a part of the flow
  double sigma_efficiency = 0.0;
  bool flow_beyond = false;        // outside the map's lines
  bool efficiency_beyond = false;  // likewise; or the map has none
};

struct TurbineFacts {
  std::string title, source, revision;
  std::string flow_unit, parameter_unit;
  double parameter_factor = 1.0;  // one parameter_unit in 1, rev/s or what it is
  bool has_map = false;
  bool has_vanes = false;
  double closed_opening = 0.0, open_opening = 0.0;  // the outermost lines of a map with vanes
  bool has_efficiency = false;
  std::vector<std::string> doubts;  // in words
};

class TurbineReader {
 public:
  virtual ~TurbineReader() = default;
  virtual TurbineReading Read(const TurbineInlet& inlet, const WorkingGas& gas) const = 0;
  virtual const TurbineFacts& facts() const = 0;
};

// Efficiency taken where neither map nor case says one.
inline constexpr double kAssumedTurbineEfficiency = 0.70;

// `map` null: the stage's effective area. Errors: kWrongKind for a map of another kind, those of TurbineSurface::Build, kBadCase for a map without flow lines.
Result<std::unique_ptr<TurbineReader>> MakeTurbineReader(const PerformanceMap* map, const TurbineStage& stage, const std::string& stage_name,
                                                         const std::string& revision = {});

}  // namespace islebook
