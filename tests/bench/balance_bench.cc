// A sweep of 200 operating points with two stages, turbines and wastegate: shafts balanced at each point, with and without what the maps' uncertainty makes of them.

#include <benchmark/benchmark.h>

#include "mapstore/bench/bench.h"
#include "tests/mapstore/bench/balance_case.h"

namespace {

using namespace islebook;

bench_test::DrawnCase SweepCase() {
  paint::Random random(3);
  bench_test::DrawnCase drawn = bench_test::DrawCase(random, 2);
  const OperatingPoint first = drawn.asked.points[0];
  drawn.asked.points.clear();
  for (int altitude = 0; altitude < 4; ++altitude)
    for (int i = 0; i < 50; ++i) {
      OperatingPoint point = first;
      point.altitude_m = 700.0 * altitude;
      point.ambient = *AmbientAtAltitude(*point.altitude_m);
      point.speed_rev_s = first.speed_rev_s * (0.7 + 0.6 * i / 49);
      drawn.asked.points.push_back(point);
    }
  return drawn;
}

void SolveSweep(benchmark::State& state) {
  const bench_test::DrawnCase drawn = SweepCase();
  int evaluations = 0;
  for (auto _ : state) {
    std::optional<BalanceState> before;
    evaluations = 0;
    for (const OperatingPoint& point : drawn.asked.points) {
      auto equations = BalanceEquations::Make(point, drawn.asked, drawn.compressors, drawn.turbines);
      auto solved = BalanceSolver(std::move(*equations)).Solve(before ? &*before : nullptr);
      if (!solved) state.SkipWithError(solved.error().message.c_str());
      evaluations += solved->evaluations;
      before = std::move(*solved);
    }
  }
  state.counters["evaluations"] = evaluations;
}
BENCHMARK(SolveSweep)->Unit(benchmark::kMillisecond);

void ReportSweep(benchmark::State& state) {
  const bench_test::DrawnCase drawn = SweepCase();
  for (auto _ : state) benchmark::DoNotOptimize(RunBench(drawn.asked, drawn.compressors, drawn.turbines));
}
BENCHMARK(ReportSweep)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
