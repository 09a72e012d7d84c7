#pragma once
// One operating point with turbines: every shaft's turbine power meets its compressor power, the exhaust goes on through wastegates and turbines, and the engine
// breathes what reaches its manifold.
//
// The equations are those of balance_equations.h, solved by Newton's method with Broyden's updates to 1e-11 of each. A wastegate or vanes at the end of their travel are
// held there, and what they should hold is left short or exceeded, and said so.

#include <string>
#include <vector>

#include "mapstore/bench/balance_equations.h"
#include "mapstore/units/error.h"

namespace islebook {

struct BalanceState {
  PointState air;
  EngineExhaust exhaust;
  std::vector<TurbineState> turbines;  // one a stage, in the order of the air
  double drive_Pa = 0.0;               // before the first turbine
  double back_pressure_Pa = 0.0;
  bool target_held = false;   // false: the target was not reached, or nothing regulates for it
  double target_ratio = 1.0;  // reached over wanted: manifold pressure or air flow
  double residual = 0.0;      // the largest of all equations
  int evaluations = 0;
  std::vector<double> unknowns, slopes;  // to start the next point from
};

struct BalanceSpread {  // standard uncertainties that the maps' own make
  double manifold_K = 0.0, manifold_Pa = 0.0, air_flow_kg_s = 0.0, drive_Pa = 0.0;
  std::vector<double> outlet_K, surge_margin;  // one a stage
};

class BalanceSolver {
 public:
  explicit BalanceSolver(BalanceEquations equations) : equations_(std::move(equations)) {}
  // `start`: a neighbor's solution, or null. kBadCase with the element that is out, where no solution is found.
  Result<BalanceState> Solve(const BalanceState* start = nullptr) const;
  BalanceSpread Spread(const BalanceState& solved) const;

 private:
  bool Newton(std::vector<double>& x, const BalanceModes& modes, BalanceTrial& trial) const;
  bool FromAnywhere(std::vector<double>& x, const BalanceModes& modes, BalanceTrial& trial) const;
  bool Regulate(std::vector<double>& x, BalanceModes& modes, BalanceTrial& trial) const;
  bool SearchVanes(std::size_t stage, std::vector<double>& x, BalanceModes& modes, BalanceTrial& trial) const;
  bool OnWrongSide(std::size_t stage, const std::vector<double>& x, const BalanceModes& modes, const BalanceTrial& trial) const;
  bool Bisect(std::vector<double>& x, BalanceModes& modes, BalanceTrial& trial) const;
  BalanceState Finish(const std::vector<double>& x, const BalanceModes& modes, BalanceTrial& trial) const;
  std::string WhatIsOut(const BalanceTrial& best) const;

  BalanceEquations equations_;
};

}  // namespace islebook
