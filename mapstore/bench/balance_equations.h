#pragma once
// The equations of one operating point with turbines: what does not fit at a guess of the unknowns. balance_solver.h finds the guess at which all fits.
//
// Unknowns: ln of the air flow, the manifold temperature / 300 K, ln ln of each stage's pressure ratio (so that every real number is a pressure ratio above 1), and the opening
// of each wastegate or set of vanes that holds something. Residuals, all relative: the engine's air flow; the cooler; for each stage ln of what turbine and open wastegate
// pass, at the expansion ratio whose power drives the compressor, over the exhaust flow; ln of what is held over what is wanted. Pressures between the stages follow
// from the last outlet upward, temperatures from the manifold downward: what a shaft takes out, not how, decides how hot the gas is behind it.

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

// kHeld: at an opening that the case gives, or nothing to open. kHolding: where what it holds is held. kClosed, kOpen: at that end of its travel, not enough. kMost: vanes
// where they bring the most, which is not enough; further shut they lose more efficiency than they gain in pressure.
enum class Regulation { kHeld, kHolding, kClosed, kOpen, kMost };

struct TurbineState {
  double inlet_K = 0.0, inlet_Pa = 0.0, outlet_Pa = 0.0;
  double outlet_K = 0.0;  // behind turbine and wastegate, mixed
  double expansion_ratio = 1.0;
  double flow_kg_s = 0.0, wastegate_flow_kg_s = 0.0;
  double work_J_kg = 0.0;              // given out by what goes through the turbine
  double opening = 0.0;                // 0 to 1 of the wastegate's port or of the vanes' travel
  std::optional<double> vane_opening;  // as the map's lines are labeled
  std::optional<double> speed_rev_s;   // of the shaft
  Regulation regulation = Regulation::kHeld;
  TurbineReading reading;
};

// Order of the unknowns and of the first residuals.
inline constexpr std::size_t kFlowUnknown = 0, kManifoldUnknown = 1, kRatioUnknowns = 2;

// What each stage's regulator does in one attempt, and the opening where it is fixed.
struct BalanceModes {
  std::vector<Regulation> regulation;
  std::vector<double> opening;
  bool Free(std::size_t stage) const { return regulation[stage] == Regulation::kHolding; }
};

// One quantity of one stage moved, to learn what its uncertainty does.
struct BalanceShift {
  int stage = -1;
  double compressor_efficiency = 0.0, turbine_efficiency = 0.0, turbine_flow = 0.0;  // the last as a part of the flow
};

struct BalanceTrial {
  PointState air;
  EngineExhaust exhaust;
  std::vector<TurbineState> turbines;  // one a stage, in the order of the air
  std::vector<CompressorTrial> work;
  double back_pressure_Pa = 0.0;
  std::vector<double> residual;
  std::vector<double> slopes;  // of the residuals by the unknowns, column by column; the solver's, near enough at its end
  std::string failure;         // in words, where the guess makes no sense
  int evaluations = 0;
};

class BalanceEquations {
 public:
  // The readers must outlive this. kBadCase with a sentence: what the case gives does not close the system (a regulator with nothing to hold and the like).
  static Result<BalanceEquations> Make(const OperatingPoint& point, const BenchCase& asked, const std::vector<const CompressorReader*>& compressors,
                                       const std::vector<const TurbineReader*>& turbines);

  std::size_t Stages() const { return holds_.size(); }
  bool Holds(std::size_t stage) const { return holds_[stage] != Held::kNothing; }
  bool HasVanes(std::size_t stage) const { return turbine(stage).facts().has_vanes; }
  const CompressorReader& compressor(std::size_t stage) const { return *(*compressors_)[stage]; }
  const TurbineReader& turbine(std::size_t stage) const { return *(*turbines_)[stage]; }
  const CompressorStage& stage(std::size_t index) const { return case_->stages[index]; }
  const OperatingPoint& point() const { return *point_; }

  std::size_t Unknowns(const BalanceModes& modes) const;
  // Somewhere to begin, with the same pressure ratio in every stage.
  std::vector<double> ColdStart(double ratio, const BalanceModes& modes) const;
  // Fills `trial`, whose turbines may hold a neighbor's answer to begin from. False, mostly with a failure in words: no state at all.
  bool Evaluate(const std::vector<double>& x, const BalanceModes& modes, const BalanceShift& shift, BalanceTrial& trial) const;
  // The same where the compressors in `trial` stand at x already: only openings, turbines or what is shifted of them differ. Quicker.
  bool EvaluateExhaust(const std::vector<double>& x, const BalanceModes& modes, const BalanceShift& shift, BalanceTrial& trial) const;
  // Reached over wanted: manifold pressure or air flow.
  double TargetRatio(const BalanceTrial& trial) const;
  // ln of what the stage's regulator finds over what it is to hold.
  double HoldEquation(std::size_t stage, const BalanceTrial& trial) const;

 private:
  enum class Held { kNothing, kTarget, kOutlet };
  BalanceEquations(const OperatingPoint& point, const BenchCase& asked, const std::vector<const CompressorReader*>& compressors,
                   const std::vector<const TurbineReader*>& turbines, ExhaustModel exhaust);
  bool Compressors(const std::vector<double>& x, const BalanceShift& shift, BalanceTrial& trial) const;
  bool Turbines(const std::vector<double>& x, const BalanceModes& modes, const BalanceShift& shift, BalanceTrial& trial) const;
  double DriveStage(std::size_t stage, double power_W, double exhaust_flow, const BalanceShift& shift, TurbineState& at) const;

  const OperatingPoint* point_;
  const BenchCase* case_;
  const std::vector<const CompressorReader*>* compressors_;
  const std::vector<const TurbineReader*>* turbines_;
  WorkingGas air_gas_;
  double humidity_ratio_ = 0.0;
  ExhaustModel exhaust_;
  std::vector<Held> holds_;  // one a stage
};

}  // namespace islebook
