#pragma once
// One operating point with turbines: every shaft's turbine power meets its compressor power, the exhaust goes on through wastegates and turbines, and the engine
// breathes what reaches its manifold.
//
// Unknowns: air flow, manifold temperature, each stage's pressure ratio, and the opening of each wastegate or set of vanes that holds something. Equations: the engine's
// air flow; the cooler; for each stage that turbine and open wastegate pass the exhaust at the expansion ratio whose power drives the compressor; what is held. Solved by
// Newton's method with Broyden's updates in logarithms, to 1e-11 of each equation. A wastegate or vanes at the end of their travel are held there and what they
// should hold is left short or exceeded, and said so. Pressures between the stages follow from the last outlet upward, temperatures from the manifold downward.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/bench/bench_case.h"
#include "mapstore/bench/compressor_reader.h"
#include "mapstore/bench/exhaust.h"
#include "mapstore/bench/point_solver.h"
#include "mapstore/bench/turbine_reader.h"
#include "mapstore/units/error.h"

namespace islebook {

// kHeld: at an opening that the case gives, or nothing to open. kHolding: where what it holds is held. kClosed, kOpen: at that end of its travel, not enough.
enum class Regulation { kHeld, kHolding, kClosed, kOpen };

struct TurbineState {
  double inlet_K = 0.0, inlet_Pa = 0.0, outlet_Pa = 0.0;
  double outlet_K = 0.0;  // behind turbine and wastegate, mixed
  double expansion_ratio = 1.0;
  double flow_kg_s = 0.0, wastegate_flow_kg_s = 0.0;
  double work_J_kg = 0.0;               // given out by what goes through the turbine
  double opening = 0.0;                 // 0 to 1 of the wastegate's port or of the vanes' travel
  std::optional<double> vane_opening;   // as the map's lines are labeled
  std::optional<double> speed_rev_s;    // of the shaft
  Regulation regulation = Regulation::kHeld;
  TurbineReading reading;
};

struct BalanceState {
  PointState air;
  EngineExhaust exhaust;
  std::vector<TurbineState> turbines;  // one a stage, in the order of the air
  double drive_Pa = 0.0;               // before the first turbine
  double back_pressure_Pa = 0.0;
  bool target_held = false;            // false: the target was not reached, or nothing regulates for it
  double target_ratio = 1.0;           // reached over wanted: manifold pressure or air flow
  double residual = 0.0;               // the largest of all equations
  int evaluations = 0;
  std::vector<double> unknowns;        // to start the next point from
};

struct BalanceSpread {  // standard uncertainties that the maps' own make
  double manifold_K = 0.0, manifold_Pa = 0.0, air_flow_kg_s = 0.0, drive_Pa = 0.0;
  std::vector<double> outlet_K, surge_margin;  // one a stage
};

class BalanceSolver {
 public:
  // The readers must outlive the solver. kBadCase with a sentence: what the case gives does not close the system (a regulator with nothing to hold and the like).
  static Result<BalanceSolver> Make(const OperatingPoint& point, const BenchCase& asked, const std::vector<const CompressorReader*>& compressors,
                                    const std::vector<const TurbineReader*>& turbines);
  // `start`: a neighbor's solution, or null. kBadCase with the element that is out, where no solution is found.
  Result<BalanceState> Solve(const BalanceState* start = nullptr) const;
  BalanceSpread Spread(const BalanceState& solved) const;
  double HumidityRatio() const { return humidity_ratio_; }
  const WorkingGas& gas() const { return air_gas_; }

 private:
  enum class Holds { kNothing, kTarget, kOutlet };
  struct Modes;
  struct Shift;
  struct Trial;
  BalanceSolver(const OperatingPoint& point, const BenchCase& asked, const std::vector<const CompressorReader*>& compressors,
                const std::vector<const TurbineReader*>& turbines, ExhaustModel exhaust);

  std::size_t Unknowns(const Modes& modes) const;
  bool Compressors(const std::vector<double>& x, const Shift& shift, Trial& trial) const;
  bool Turbines(const std::vector<double>& x, const Modes& modes, const Shift& shift, Trial& trial) const;
  double DriveStage(std::size_t stage, double power_W, double exhaust_flow, const Shift& shift, TurbineState& at) const;
  double HoldEquation(std::size_t stage, const Trial& trial) const;
  double TargetRatio(const Trial& trial) const;
  bool Evaluate(const std::vector<double>& x, const Modes& modes, const Shift& shift, Trial& trial) const;
  bool Newton(std::vector<double>& x, const Modes& modes, Trial& trial) const;
  bool FromAnywhere(std::vector<double>& x, const Modes& modes, Trial& trial) const;
  bool Regulate(std::vector<double>& x, Modes& modes, Trial& trial) const;
  bool Bisect(std::vector<double>& x, Modes& modes, Trial& trial) const;
  std::vector<double> ColdStart(double ratio_of_stage, const Modes& modes) const;
  BalanceState Finish(const std::vector<double>& x, const Modes& modes, Trial& trial) const;
  std::string WhatIsOut(const Trial& best) const;

  const OperatingPoint* point_;
  const BenchCase* case_;
  const std::vector<const CompressorReader*>* compressors_;
  const std::vector<const TurbineReader*>* turbines_;
  WorkingGas air_gas_;
  double humidity_ratio_ = 0.0;
  ExhaustModel exhaust_;
  std::vector<Holds> holds_;  // one a stage
};

}  // namespace islebook
