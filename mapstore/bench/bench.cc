#include "mapstore/bench/bench.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/bench/point_solver.h"
#include "mapstore/bench/verdicts.h"

namespace islebook {
namespace {

void FillStages(const PointState& state, const BenchCase& asked, PointResult& result) {
  result.air_flow_kg_s = state.air_flow_kg_s;
  result.manifold_Pa = state.manifold_Pa;
  result.manifold_K = state.manifold_K;
  result.inlet_loss_Pa = state.inlet_loss_Pa;
  result.cooler_loss_Pa = state.cooler_loss_Pa;
  result.cooler_W = state.air_flow_kg_s * state.cooler_heat_J_kg;
  result.overall_pressure_ratio = state.stages.back().outlet_Pa / state.stages.front().inlet_Pa;
  result.iterations = state.iterations;
  for (std::size_t i = 0; i < state.stages.size(); ++i) {
    const StageState& from = state.stages[i];
    StageResult stage;
    stage.name = asked.stages[i].name;
    stage.flow_kg_s = state.air_flow_kg_s;
    stage.inlet_K = from.inlet_K;
    stage.inlet_Pa = from.inlet_Pa;
    stage.pressure_ratio = from.pressure_ratio;
    stage.outlet_K = from.outlet_K;
    stage.outlet_Pa = from.outlet_Pa;
    stage.isentropic_outlet_K = from.isentropic_outlet_K;
    stage.power_W = state.air_flow_kg_s * from.work_J_kg;
    stage.inlet_cooler_W = state.air_flow_kg_s * from.inlet_heat_J_kg;
    stage.efficiency = from.efficiency;
    stage.efficiency_assumed = from.efficiency_assumed;
    stage.reading = from.reading;
    result.compressor_power_W += stage.power_W;
    result.stages.push_back(std::move(stage));
  }
}

// What each stage's doubt about its efficiency does to the rest, by solving again with the efficiency moved by one standard uncertainty.
void FillUncertainty(const PointSolver& solver, const PointState& state, PointResult& result) {
  const std::size_t count = state.stages.size();
  std::vector<double> outlet(count, 0.0), margin(count, 0.0);
  double manifold = 0.0, flow = 0.0;
  bool any = false;
  for (std::size_t i = 0; i < count; ++i) {
    const StageState& stage = state.stages[i];
    const double sigma = stage.efficiency_assumed ? kOffMapEfficiencySigma : stage.reading.sigma_efficiency.value_or(0.0);
    if (!(sigma > 0.0)) continue;
    std::vector<double> shift(count, 0.0);
    shift[i] = -sigma;
    const auto moved = solver.SolveShifted(state, shift);
    if (!moved) continue;
    any = true;
    manifold += std::pow(moved->manifold_K - state.manifold_K, 2);
    flow += std::pow(moved->air_flow_kg_s - state.air_flow_kg_s, 2);
    for (std::size_t k = 0; k < count; ++k) {
      outlet[k] += std::pow(moved->stages[k].outlet_K - state.stages[k].outlet_K, 2);
      const auto &a = moved->stages[k].reading.surge_margin, &b = state.stages[k].reading.surge_margin;
      if (a && b) margin[k] += std::pow(*a - *b, 2);
    }
  }
  if (any) {
    result.sigma_manifold_K = std::sqrt(manifold);
    result.sigma_air_flow = std::sqrt(flow);
  }
  for (std::size_t k = 0; k < count; ++k) {
    StageResult& stage = result.stages[k];
    if (any) stage.sigma_outlet_K = std::sqrt(outlet[k]);
    if (stage.reading.sigma_surge_margin) stage.sigma_surge_margin = std::hypot(*stage.reading.sigma_surge_margin, std::sqrt(margin[k]));
  }
}

void FillFuel(double humidity_ratio, PointResult& result) {
  const OperatingTarget& target = result.input.target;
  if (target.fuel_flow_kg_s) {
    result.fuel_flow_kg_s = target.fuel_flow_kg_s;
  } else if (target.air_fuel_ratio) {
    result.fuel_flow_kg_s = result.air_flow_kg_s / (1.0 + humidity_ratio) / *target.air_fuel_ratio;
  }
  if (target.power_W) {
    result.power_W = target.power_W;
  } else if (result.fuel_flow_kg_s && target.fuel_consumption_kg_J) {
    result.power_W = *result.fuel_flow_kg_s / *target.fuel_consumption_kg_J;
  }
}

void FillDoubts(const PointState& state, PointResult& result) {
  for (const StageResult& stage : result.stages) {
    if (!stage.reading.reason.empty()) result.doubts.push_back(fmt::format("{}: {}", stage.name, stage.reading.reason));
    if (stage.efficiency_assumed)
      result.doubts.push_back(
          fmt::format("{}: the map says no efficiency here; {:.0f} % is assumed, so temperatures, density and air flow are estimates.", stage.name,
                      100 * stage.efficiency));
  }
  if (state.on_an_edge)
    result.doubts.push_back("The point lies on the edge of a map: with and without the map's efficiency it falls on different sides.");
  if (state.no_split_on_maps) result.doubts.push_back("No split of the pressure ratio puts every compressor on its map; equal ratios are shown.");
  if (state.split_unsettled)
    result.doubts.push_back("The split of least work did not settle; two splits are nearly as good, and one of them is shown.");
  const double eta_v = result.input.engine.volumetric_efficiency;
  if (eta_v > 1.05 && result.input.engine.strokes == 4)
    result.doubts.push_back(fmt::format(
        "A volumetric efficiency of {:.0f} % is high for one referred to the manifold; one referred to the ambient air does not belong here.",
        100 * eta_v));
  if (result.manifold_Pa < result.input.ambient.pressure_Pa)
    result.doubts.push_back(
        "The manifold pressure is below the ambient pressure; if it was read off a gauge, add the barometer or write it as boost.");
}

void FillTurbineDoubts(const BenchCase& asked, const std::vector<const TurbineReader*>& turbines, PointResult& result) {
  for (std::size_t i = 0; i < result.stages.size(); ++i) {
    const TurbineReading& reading = result.stages[i].turbine->reading;
    const TurbineFacts& facts = turbines[i]->facts();
    if (!facts.has_map) continue;
    if (reading.flow_beyond)
      result.doubts.push_back(fmt::format("{}: the turbine runs beyond the lines of its map; what it swallows there is continued from their ends.",
                                          asked.stages[i].name));
    if (reading.efficiency_beyond && facts.has_efficiency)
      result.doubts.push_back(fmt::format("{}: the turbine's efficiency is beyond the lines of its map; {:.0f} % is taken from their ends.",
                                          asked.stages[i].name, 100 * reading.efficiency));
  }
}

template <typename Visit>
void ForEachVerdict(const PointResult& point, Visit visit) {
  for (const Verdict& verdict : point.verdicts) visit(verdict, -1);
  for (std::size_t i = 0; i < point.stages.size(); ++i)
    for (const Verdict& verdict : point.stages[i].verdicts) visit(verdict, static_cast<int>(i));
}

bool HasUnknown(const PointResult& point) {
  bool unknown = false;
  ForEachVerdict(point, [&unknown](const Verdict& verdict, int) { unknown = unknown || verdict.grade == Grade::kUnknown; });
  return unknown;
}

// Over an edge, the edges that break things come first; else what is nearest to its edge.
bool Worse(const Verdict& a, const Verdict& b) {
  if (a.grade != b.grade) return a.grade > b.grade;
  const auto rank = [](const Verdict& verdict) {
    switch (verdict.kind) {
      case VerdictKind::kOnMap: return 0;
      case VerdictKind::kSurge: return 1;
      case VerdictKind::kChoke: return 2;
      case VerdictKind::kSpeed: return 3;
      case VerdictKind::kOutletTemperature: return 4;
      case VerdictKind::kManifoldTemperature: return 5;
      case VerdictKind::kTurbineTemperature: return 6;
      case VerdictKind::kTarget: return 7;
      case VerdictKind::kDriveRatio: return 8;
      case VerdictKind::kTurbineMap: return 9;
      case VerdictKind::kEfficiency: return 10;
    }
    return 11;
  };
  if (a.grade == Grade::kOver && rank(a) != rank(b)) return rank(a) < rank(b);
  return a.shortfall > b.shortfall;
}

void FillTurbines(const BalanceState& state, const BalanceSpread& spread, PointResult& result) {
  PointResult::ExhaustSide side;
  side.engine = state.exhaust;
  side.drive_Pa = state.drive_Pa;
  side.back_pressure_Pa = state.back_pressure_Pa;
  const double ambient = result.input.ambient.pressure_Pa, boost = state.air.manifold_Pa - ambient;
  side.drive_ratio = boost > 0.01 * ambient ? (state.drive_Pa - ambient) / boost : 0.0;
  side.target_ratio = state.target_ratio;
  side.sigma_drive_Pa = spread.drive_Pa;
  side.sigma_manifold_Pa = spread.manifold_Pa;
  side.residual = state.residual;
  result.exhaust = side;
  result.sigma_manifold_K = spread.manifold_K;
  result.sigma_air_flow = spread.air_flow_kg_s;
  for (std::size_t i = 0; i < result.stages.size(); ++i) {
    StageResult& stage = result.stages[i];
    stage.turbine = state.turbines[i];
    stage.sigma_outlet_K = spread.outlet_K[i];
    if (stage.reading.sigma_surge_margin) stage.sigma_surge_margin = std::hypot(*stage.reading.sigma_surge_margin, spread.surge_margin[i]);
  }
}

PointResult SolvePoint(const OperatingPoint& point, const BenchCase& asked, const std::vector<const CompressorReader*>& maps,
                       const std::vector<const TurbineReader*>& turbines, std::optional<BalanceState>& neighbor) {
  PointResult result;
  result.name = point.name;
  result.line = point.line;
  result.input = point;
  const auto fail = [&result](const Error& error) {
    result.failure = error.message;
    result.grade = Grade::kUnknown;
    return result;
  };
  if (turbines.empty()) {
    const PointSolver solver(point, asked, maps);
    const auto state = solver.Solve();
    if (!state) return fail(state.error());
    result.least_work_split = solver.LeastWork();
    FillStages(*state, asked, result);
    FillUncertainty(solver, *state, result);
    FillFuel(solver.HumidityRatio(), result);
    FillDoubts(*state, result);
  } else {
    auto equations = BalanceEquations::Make(point, asked, maps, turbines);
    if (!equations) return fail(equations.error());
    const BalanceSolver solver(std::move(*equations));
    auto state = solver.Solve(neighbor ? &*neighbor : nullptr);
    if (!state) return fail(state.error());
    FillStages(state->air, asked, result);
    FillTurbines(*state, solver.Spread(*state), result);
    result.fuel_flow_kg_s = state->exhaust.fuel_flow_kg_s;
    if (state->exhaust.brake_W > 0.0) result.power_W = state->exhaust.brake_W;
    FillDoubts(state->air, result);
    FillTurbineDoubts(asked, turbines, result);
    neighbor = std::move(*state);
  }
  for (std::size_t i = 0; i < result.stages.size(); ++i)
    result.stages[i].verdicts = StageVerdicts(result.stages[i], asked.stages[i], maps[i]->facts(), asked.limits, asked.units);
  result.verdicts = PointVerdicts(result, asked.limits, asked.units);
  result.grade = Grade::kRoom;
  ForEachVerdict(result, [&result](const Verdict& verdict, int) { result.grade = std::max(result.grade, verdict.grade); });
  return result;
}

// Places a point: "1,600 rpm" does not say where the engine stands.
std::string PointWords(const PointResult& point, const UnitHabit& units) {
  std::string words = point.name;
  if (!point.input.altitude_m) return words;
  const std::string place = AltitudeWords(*point.input.altitude_m, units);
  if (words.find(place) == std::string::npos) words += ", " + place;
  return words;
}

void Summarize(BenchResult& result) {
  const Verdict* worst = nullptr;
  int failures = 0, first_failure = -1;
  for (std::size_t p = 0; p < result.points.size(); ++p) {
    const PointResult& point = result.points[p];
    if (!point.failure.empty()) {
      if (failures++ == 0) first_failure = static_cast<int>(p);
      continue;
    }
    ForEachVerdict(point, [&](const Verdict& verdict, int stage) {
      if (worst != nullptr && !Worse(verdict, *worst)) return;
      worst = &verdict;
      result.worst_point = static_cast<int>(p);
      result.worst_stage = stage;
    });
  }
  if (failures > 0) {
    const PointResult& point = result.points[static_cast<std::size_t>(first_failure)];
    result.summary = failures == 1 ? fmt::format("{} cannot be worked out: {}", PointWords(point, result.asked.units), point.failure)
                                   : fmt::format("{} of {} points cannot be worked out; the first, {}: {}", failures, result.points.size(),
                                                 PointWords(point, result.asked.units), point.failure);
  }
  if (worst == nullptr) return;
  result.grade = worst->grade;
  const PointResult& point = result.points[static_cast<std::size_t>(result.worst_point)];
  std::string where = PointWords(point, result.asked.units);
  if (result.worst_stage >= 0 && point.stages.size() > 1)
    where += fmt::format(", {} stage", point.stages[static_cast<std::size_t>(result.worst_stage)].name);
  std::string line;
  switch (worst->grade) {
    case Grade::kRoom: line = fmt::format("Room everywhere. Tightest: {} at {}.", worst->words, where); break;
    case Grade::kClose: line = fmt::format("Close: {} at {}.", worst->words, where); break;
    case Grade::kUnknown: line = fmt::format("The map does not say: {} at {}.", worst->words, where); break;
    case Grade::kOver: line = fmt::format("Over: {} at {}.", worst->words, where); break;
  }
  const auto silent = std::count_if(result.points.begin(), result.points.end(), HasUnknown);
  if (silent > 0 && worst->grade != Grade::kUnknown)
    line += fmt::format(" At {} {} the map does not say everything.", silent, silent == 1 ? "point" : "points");
  if (!result.doubts.empty()) line += result.maps.size() > 1 ? " The maps need a look first: see below." : " The map needs a look first: see below.";
  result.summary = result.summary.empty() ? line : line + " " + result.summary;
}

}  // namespace

const char* GradeName(Grade grade) {
  switch (grade) {
    case Grade::kRoom: return "room";
    case Grade::kClose: return "close";
    case Grade::kUnknown: return "unknown";
    case Grade::kOver: return "over";
  }
  return "";
}

const char* VerdictName(VerdictKind kind) {
  switch (kind) {
    case VerdictKind::kOnMap: return "on_map";
    case VerdictKind::kSurge: return "surge";
    case VerdictKind::kChoke: return "choke";
    case VerdictKind::kSpeed: return "speed";
    case VerdictKind::kEfficiency: return "efficiency";
    case VerdictKind::kOutletTemperature: return "outlet_temperature";
    case VerdictKind::kManifoldTemperature: return "manifold_temperature";
    case VerdictKind::kTarget: return "target";
    case VerdictKind::kDriveRatio: return "drive_ratio";
    case VerdictKind::kTurbineTemperature: return "turbine_temperature";
    case VerdictKind::kTurbineMap: return "turbine_map";
  }
  return "";
}

bool BenchResult::AnyFailure() const {
  return std::any_of(points.begin(), points.end(), [](const PointResult& point) { return !point.failure.empty(); });
}

bool BenchResult::NeedsReview() const {
  return grade == Grade::kOver || !doubts.empty() ||
         std::any_of(points.begin(), points.end(), [](const PointResult& point) { return !point.doubts.empty() || HasUnknown(point); });
}

Result<BenchResult> RunBench(const BenchCase& asked, const std::vector<const CompressorReader*>& maps,
                             const std::vector<const TurbineReader*>& turbines) {
  if (asked.points.empty() || asked.stages.empty()) return Fail(ErrorCode::kInvalidArgument, "the case has no operating point or no stage.");
  if (asked.stages.size() != maps.size() || std::any_of(maps.begin(), maps.end(), [](const CompressorReader* map) { return map == nullptr; }))
    return Fail(ErrorCode::kInvalidArgument, fmt::format("the case has {} stages and {} maps were given.", asked.stages.size(), maps.size()));
  if (asked.HasTurbines() ? turbines.size() != asked.stages.size() : !turbines.empty())
    return Fail(ErrorCode::kInvalidArgument, fmt::format("the case has {} stages with turbines and {} turbines were given.",
                                                         asked.HasTurbines() ? asked.stages.size() : 0, turbines.size()));
  BenchResult result;
  result.asked = asked;
  for (std::size_t i = 0; i < maps.size(); ++i) {
    result.maps.push_back(maps[i]->facts());
    for (const std::string& doubt : maps[i]->facts().doubts)
      result.doubts.push_back(maps.size() > 1 ? fmt::format("{}: {}", asked.stages[i].name, doubt) : doubt);
  }
  for (std::size_t i = 0; i < turbines.size(); ++i) {
    result.turbines.push_back(turbines[i]->facts());
    for (const std::string& doubt : turbines[i]->facts().doubts)
      result.doubts.push_back(turbines.size() > 1 ? fmt::format("{}, turbine: {}", asked.stages[i].name, doubt) : "Turbine: " + doubt);
  }
  std::optional<BalanceState> neighbor;
  for (const OperatingPoint& point : asked.points) result.points.push_back(SolvePoint(point, asked, maps, turbines, neighbor));
  Summarize(result);
  return result;
}

const std::vector<std::string>& BenchCautions() {
  static const std::vector<std::string> cautions{
      "Keep every wheel below its maker's speed limit: a wheel that bursts throws fragments. The maker's limits come before anything said here.",
      "Margins come from a map measured on a test stand; bends at the inlet, pulsation and altitude move the surge line. Leave room.",
      "More air allows more fuel, and more fuel raises cylinder pressure and exhaust temperature: stay within what the engine's maker allows.",
      "Compressor outlets, turbines and charge pipes are hot and under pressure; let them cool and bleed off before work.",
      "This is an aid to a trained person, not an approval. Local codes and licensed practice apply, on vessels and on the road.",
  };
  return cautions;
}

}  // namespace islebook
