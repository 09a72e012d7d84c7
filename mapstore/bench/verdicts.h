#pragma once
// Grades numbers in words.

#include <string>
#include <vector>

#include "mapstore/bench/bench.h"

namespace islebook {

// `stage` complete but for its verdicts. `units` is for their words.
std::vector<Verdict> StageVerdicts(const StageResult& stage, const CompressorStage& asked, const CompressorFacts& map, const BenchLimits& limits,
                                   const UnitHabit& units);
std::vector<Verdict> PointVerdicts(const PointResult& point, const BenchLimits& limits, const UnitHabit& units);

// What a person should read: all that is not room, and of a wheel off its map not each thing that is not known because of that.
std::vector<Verdict> VerdictsThatMatter(const std::vector<Verdict>& verdicts);

// The points' doubts, each once, with the points that have it.
struct SharedDoubt {
  std::string words;
  std::vector<std::size_t> points;
};
std::vector<SharedDoubt> DoubtsOfPoints(const BenchResult& result);
// "(at rated)", "(at every point)", "(at 1,000 rpm, sea level; 1,200 rpm, sea level and 7 more)".
std::string PointsInWords(const BenchResult& result, const std::vector<std::size_t>& points);

// "room at 15 % and more, over below 0", for every limit in force: what a report lists.
struct LimitWords {
  std::string name, words;
};
std::vector<LimitWords> DescribeLimits(const BenchLimits& limits, const UnitHabit& units, bool with_turbines);

}  // namespace islebook
