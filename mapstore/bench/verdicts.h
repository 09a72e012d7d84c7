#pragma once
// Grades numbers in words.

#include <vector>

#include "mapstore/bench/bench.h"

namespace islebook {

// `stage` complete but for its verdicts. `units` is for their words.
std::vector<Verdict> StageVerdicts(const StageResult& stage, const CompressorStage& asked, const CompressorFacts& map, const BenchLimits& limits,
                                   const UnitHabit& units);
std::vector<Verdict> PointVerdicts(const PointResult& point, const BenchLimits& limits, const UnitHabit& units);

// "room at 15 % and more, over below 0", for every limit in force: what a report lists.
struct LimitWords {
  std::string name, words;
};
std::vector<LimitWords> DescribeLimits(const BenchLimits& limits, const UnitHabit& units, bool with_turbines);

}  // namespace islebook
