// How long a map takes to answer, against what a general library needs for one bicubic value: build and run `query_bench`.

#include <benchmark/benchmark.h>

#include <math.h>  // Boost 1.74 calls isnan without a namespace

#include <cmath>
#include <vector>

#include <gsl/gsl_interp2d.h>
#include <gsl/gsl_spline2d.h>
#include <boost/math/interpolators/pchip.hpp>

#include "mapstore/query/compressor_query.h"
#include "mapstore/query/map_reach.h"
#include "mapstore/query/turbine_query.h"
#include "tests/mapstore/surface/invented_maps.h"

namespace islebook {
namespace {

const InventedCompressor& Invented() {
  static const InventedCompressor invented = InventCompressor(2, {.samples = 4096});
  return invented;
}

const CompressorSurface& Surface() {
  static const CompressorSurface surface = *CompressorSurface::Build(Invented().map);
  return surface;
}

void GslBicubic(benchmark::State& state) {
  constexpr int kSize = 20;
  std::vector<double> x(kSize), y(kSize), z(kSize * kSize);
  for (int i = 0; i < kSize; ++i) x[i] = y[i] = i + 0.3 * std::sin(i);
  for (int j = 0; j < kSize; ++j)
    for (int i = 0; i < kSize; ++i) z[j * kSize + i] = std::sin(0.2 * i) * std::cos(0.3 * j);
  gsl_spline2d* spline = gsl_spline2d_alloc(gsl_interp2d_bicubic, kSize, kSize);
  gsl_spline2d_init(spline, x.data(), y.data(), z.data(), kSize, kSize);
  gsl_interp_accel *ax = gsl_interp_accel_alloc(), *ay = gsl_interp_accel_alloc();
  paint::Random random(5);
  std::vector<double> px(4096), py(4096);
  for (int i = 0; i < 4096; ++i) px[i] = random.Between(x.front(), x.back()), py[i] = random.Between(y.front(), y.back());
  const bool slopes = state.range(0) != 0;
  std::size_t i = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(gsl_spline2d_eval(spline, px[i & 4095], py[i & 4095], ax, ay));
    if (slopes) {
      benchmark::DoNotOptimize(gsl_spline2d_eval_deriv_x(spline, px[i & 4095], py[i & 4095], ax, ay));
      benchmark::DoNotOptimize(gsl_spline2d_eval_deriv_y(spline, px[i & 4095], py[i & 4095], ax, ay));
    }
    ++i;
  }
  gsl_interp_accel_free(ax);
  gsl_interp_accel_free(ay);
  gsl_spline2d_free(spline);
}
BENCHMARK(GslBicubic)->Arg(0)->ArgName("slopes")->Arg(1);

void BoostPchip(benchmark::State& state) {
  std::vector<double> x(20), y(20);
  for (int i = 0; i < 20; ++i) x[i] = i, y[i] = std::sin(0.3 * i);
  const boost::math::interpolators::pchip<std::vector<double>> spline(std::move(x), std::move(y));
  paint::Random random(6);
  std::vector<double> places(4096);
  for (double& place : places) place = random.Between(0.0, 19.0);
  std::size_t i = 0;
  for (auto _ : state) benchmark::DoNotOptimize(spline(places[i++ & 4095]));
}
BENCHMARK(BoostPchip);

void FlowAndPressureRatio(benchmark::State& state) {
  const CompressorQuery query(Surface(), {.sigma = state.range(0) != 0});
  const std::vector<ExactSample>& samples = Invented().samples;
  std::size_t i = 0;
  for (auto _ : state) {
    const ExactSample& sample = samples[i++ & 4095];
    benchmark::DoNotOptimize(query.AtFlowAndPressureRatio(sample.flow, sample.pressure_ratio));
  }
}
BENCHMARK(FlowAndPressureRatio)->Arg(0)->ArgName("sigma")->Arg(1);

void SpeedAndFlow(benchmark::State& state) {
  const std::vector<ExactSample>& samples = Invented().samples;
  const CompressorSurface& surface = Surface();
  std::size_t i = 0;
  for (auto _ : state) {
    const ExactSample& sample = samples[i++ & 4095];
    benchmark::DoNotOptimize(surface.PressureRatioAt(sample.speed, sample.flow));
  }
}
BENCHMARK(SpeedAndFlow);

void SpeedAndFlowAllAnswers(benchmark::State& state) {
  const CompressorQuery query(Surface(), {.sigma = state.range(0) != 0});
  const std::vector<ExactSample>& samples = Invented().samples;
  std::size_t i = 0;
  for (auto _ : state) {
    const ExactSample& sample = samples[i++ & 4095];
    benchmark::DoNotOptimize(query.AtSpeedAndFlow(sample.speed, sample.flow));
  }
}
BENCHMARK(SpeedAndFlowAllAnswers)->Arg(0)->ArgName("sigma")->Arg(1);

void Slopes(benchmark::State& state) {
  const CompressorQuery query(Surface(), {.sigma = false});
  const std::vector<ExactSample>& samples = Invented().samples;
  std::size_t i = 0;
  for (auto _ : state) {
    const ExactSample& sample = samples[i++ & 4095];
    benchmark::DoNotOptimize(query.Slopes({sample.flow, std::nullopt, sample.speed}));
  }
}
BENCHMARK(Slopes);

void EdgesEachWay(benchmark::State& state) {
  const std::vector<ExactSample>& samples = Invented().samples;
  std::size_t i = 0;
  for (auto _ : state) {
    const ExactSample& sample = samples[i++ & 4095];
    benchmark::DoNotOptimize(DistancesToEdges(Surface(), sample.flow, sample.pressure_ratio));
  }
}
BENCHMARK(EdgesEachWay)->Unit(benchmark::kMicrosecond);

// A million questions. On two free cores real time halves; beside other work compare the processor time of the calling thread, which shares the questions evenly.
void MillionQuestions(benchmark::State& state) {
  const CompressorQuery query(Surface(), {.sigma = false});
  std::vector<CompressorQuestion> questions(1000000);
  for (std::size_t i = 0; i < questions.size(); ++i) {
    const ExactSample& sample = Invented().samples[i & 4095];
    questions[i] = {sample.flow, sample.pressure_ratio, std::nullopt};
  }
  std::vector<CompressorAnswer> answers(questions.size());
  for (auto _ : state) query.AskAll(questions, answers, static_cast<int>(state.range(0)));
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(questions.size()));
}
BENCHMARK(MillionQuestions)->Arg(1)->Arg(2)->ArgName("threads")->UseRealTime()->Unit(benchmark::kMillisecond);

void TurbineFlowAndEfficiency(benchmark::State& state) {
  static const TurbineQuery query(*TurbineSurface::Build(InventTurbine(3, false).map));
  const TurbineSurface& surface = query.surface();
  paint::Random random(7);
  std::vector<TurbineQuestion> questions(4096);
  for (TurbineQuestion& question : questions) {
    question.parameter = random.Between(surface.LineValues().front(), surface.LineValues().back());
    question.expansion_ratio = random.Between(surface.MinExpansionRatio(*question.parameter), surface.MaxExpansionRatio(*question.parameter));
  }
  std::size_t i = 0;
  for (auto _ : state) benchmark::DoNotOptimize(query.Ask(questions[i++ & 4095]));
}
BENCHMARK(TurbineFlowAndEfficiency);

void BuildSurface(benchmark::State& state) {
  CompressorSurfaceOptions options;
  options.estimate_sigma = state.range(0) != 0;
  for (auto _ : state) benchmark::DoNotOptimize(CompressorSurface::Build(Invented().map, options));
}
BENCHMARK(BuildSurface)->Arg(0)->ArgName("sigma")->Arg(1)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace islebook

BENCHMARK_MAIN();
