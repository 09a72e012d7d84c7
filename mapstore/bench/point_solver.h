#pragma once
// Solves one operating point: the loop from manifold temperature through density, flow, pressure ratios and efficiencies back to the manifold temperature.
//
// Where the case gives no split between stages, it is the one of least work that leaves room: every stage on its map where any split does that, and the work
// weighed against surge and choke margins that fall short of room (half of the usual work where a margin is all gone), because a little less work
// is a poor bargain for a wheel at its edge.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/bench/bench_case.h"
#include "mapstore/bench/compressor_reader.h"
#include "mapstore/bench/gas.h"
#include "mapstore/units/error.h"

namespace islebook {

struct StageState {
  double inlet_K = 0.0, inlet_Pa = 0.0, pressure_ratio = 1.0, outlet_Pa = 0.0, outlet_K = 0.0, isentropic_outlet_K = 0.0;
  double work_J_kg = 0.0, inlet_heat_J_kg = 0.0;  // heat given off to the cooler before the stage
  double efficiency = 0.0;
  bool efficiency_assumed = false;
  CompressorReading reading;
};

struct PointState {
  double air_flow_kg_s = 0.0, manifold_Pa = 0.0, manifold_K = 0.0;
  double inlet_loss_Pa = 0.0, cooler_loss_Pa = 0.0;
  double cooler_heat_J_kg = 0.0;
  std::vector<StageState> stages;
  int iterations = 0;
  bool on_an_edge = false;  // the efficiency came and went between iterations; it was held at the assumed one
  bool split_unsettled = false;
  bool no_split_on_maps = false;  // no split puts every stage on its map
};

// Efficiency taken where a map says none, and how far it may be wrong.
inline constexpr double kOffMapEfficiencySigma = 0.05;

class PointSolver {
 public:
  PointSolver(const OperatingPoint& point, const BenchCase& asked, const std::vector<const CompressorReader*>& maps);

  // kBadCase with a sentence that says what makes the point impossible.
  Result<PointState> Solve() const;
  // The same with `efficiency_shift` added to each stage's efficiency and the split held, to learn what its uncertainty does.
  Result<PointState> SolveShifted(const PointState& solved, const std::vector<double>& efficiency_shift) const;
  bool LeastWork() const { return least_work_; }
  const WorkingGas& gas() const { return gas_; }
  // kg of water per kg of dry air.
  double HumidityRatio() const { return humidity_ratio_; }

 private:
  struct Trial;
  Result<PointState> Evaluate(double manifold_K, const Trial& trial) const;
  Result<void> Compressors(PointState& state, double last_outlet_Pa, const Trial& trial) const;
  Result<PointState> Settle(double manifold_K, Trial& trial) const;
  struct Cost;
  Cost CostOf(const PointState& state) const;
  Cost SplitCost(const PointState& at, const Trial& trial) const;
  bool FindSplitOnMaps(Trial& trial, PointState& settled) const;
  static unsigned OffStages(const PointState& state);
  bool ImproveSplit(const PointState& at, Trial& trial, bool everywhere) const;

  const OperatingPoint& point_;
  const std::vector<CompressorStage>& stages_;
  const std::vector<const CompressorReader*>& maps_;
  const BenchLimits& limits_;
  WorkingGas gas_;
  double humidity_ratio_ = 0.0;
  bool least_work_ = false;
};

}  // namespace islebook
