#pragma once
// Engines with turbines for tests: a shelf of invented compressors and turbines in graded sizes, and cases drawn from them.

#include <memory>
#include <string>
#include <vector>

#include "mapstore/bench/balance_solver.h"
#include "mapstore/bench/bench_case.h"
#include "mapstore/bench/compressor_reader.h"
#include "mapstore/bench/turbine_reader.h"
#include "mapstore/map/performance_map.h"
#include "tests/support/random.h"
#include "tests/support/turbine_model.h"

namespace islebook::bench_test {

PerformanceMap MapOfTurbine(const paint::TurbineModel& model);

// Compressors and turbines from small to large, built once.
class WheelShelf {
 public:
  static const WheelShelf& Get();
  // The smallest whose map reaches so far beyond the flow, at its reference conditions.
  const CompressorReader& CompressorFor(double flow_kg_s) const;
  // The smallest that passes that flow parameter, kg/s sqrt(K)/kPa, at high expansion ratios.
  const TurbineReader& TurbineFor(double flow_parameter, bool vanes) const;

 private:
  WheelShelf();
  std::vector<std::pair<double, std::unique_ptr<CompressorReader>>> compressors_;    // by choke flow
  std::vector<std::pair<double, std::unique_ptr<TurbineReader>>> turbines_, vaned_;  // by choked flow parameter
};

// The text of a case: a 6.6-liter diesel with a large and a small stage, each with compressor "rowan" and turbine "elm", a port round the small turbine. `port`: the keys of
// that port; `more` stands before the stages, `points` behind them.
std::string PairText(const std::string& port, const std::string& points, const std::string& more = "");

// A case with what stands behind its stages.
struct DrawnCase {
  BenchCase asked;
  std::vector<const CompressorReader*> compressors;
  std::vector<const TurbineReader*> turbines;
};
// A plausible diesel with one to three stages in one operating point, wheels sized for its rated air flow with the scatter of hasty choices.
DrawnCase DrawCase(paint::Random& random, int stages);

}  // namespace islebook::bench_test
