#include "mapstore/bench/point_solver.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include <fmt/format.h>
#include <boost/math/tools/minima.hpp>

#include "mapstore/bench/compression.h"
#include "mapstore/bench/intake_air.h"

namespace islebook {
namespace {

// Pressure before the loss, where the pressure after it is known.
double Before(const PressureLoss& loss, double after_Pa, double flow_kg_s) {
  if (loss.fixed_Pa > 0.0) return after_Pa + PressureDrop(loss, 0.0, flow_kg_s);
  const double share = PressureDrop({0.0, loss.fraction, loss.at_flow_kg_s}, 1.0, flow_kg_s);
  return share < 0.9 ? after_Pa / (1.0 - share) : std::numeric_limits<double>::infinity();
}

std::string Bar(double pascal) { return fmt::format("{:.3f} bar absolute", pascal / 1e5); }

}  // namespace

struct PointSolver::Trial {
  std::vector<double> ratios;      // least work: of all stages but the last
  std::vector<double> shift;       // of the efficiencies
  std::vector<char> hold_assumed;  // the map's efficiency is not asked for
};

PointSolver::PointSolver(const OperatingPoint& point, const BenchCase& asked, const std::vector<const CompressorReader*>& maps)
    : point_(point), stages_(asked.stages), maps_(maps), limits_(asked.limits), gas_(WorkingGas::DryAir()) {
  const IntakeAir air = IntakeAirOf(point);
  gas_ = air.gas;
  humidity_ratio_ = air.humidity_ratio;
  least_work_ =
      stages_.size() > 1 && std::none_of(stages_.begin(), stages_.end(), [](const CompressorStage& s) { return s.pressure_ratio || s.outlet_Pa; });
}

Result<PointState> PointSolver::Evaluate(double manifold_K, const Trial& trial) const {
  PointState state;
  state.manifold_K = manifold_K;
  const OperatingTarget& target = point_.target;
  const double gas_constant = gas_.GasConstant();
  if (target.manifold_Pa || target.boost_Pa) {
    state.manifold_Pa = target.manifold_Pa ? *target.manifold_Pa : point_.ambient.pressure_Pa + *target.boost_Pa;
    state.air_flow_kg_s = EngineAirFlow(point_.engine, point_.speed_rev_s, state.manifold_Pa, manifold_K, gas_constant);
  } else {
    if (target.air_flow_kg_s) {
      state.air_flow_kg_s = *target.air_flow_kg_s;
    } else {
      const double fuel = target.fuel_flow_kg_s ? *target.fuel_flow_kg_s : target.power_W.value_or(0.0) * target.fuel_consumption_kg_J.value_or(0.0);
      state.air_flow_kg_s = fuel * target.air_fuel_ratio.value_or(0.0) * (1.0 + humidity_ratio_);
    }
    state.manifold_Pa = ManifoldPressureForFlow(point_.engine, point_.speed_rev_s, state.air_flow_kg_s, manifold_K, gas_constant);
  }
  if (!(state.air_flow_kg_s > 0.0 && state.manifold_Pa > 0.0 && std::isfinite(state.air_flow_kg_s) && std::isfinite(state.manifold_Pa)))
    return Fail(ErrorCode::kBadCase, "the target gives no air flow; look at displacement, speed and target.");
  state.inlet_loss_Pa = PressureDrop(point_.inlet_loss, point_.ambient.pressure_Pa, state.air_flow_kg_s);
  if (!(state.inlet_loss_Pa < 0.5 * point_.ambient.pressure_Pa))
    return Fail(ErrorCode::kBadCase,
                fmt::format("the inlet loss would be {:.1f} kPa, half of the ambient pressure or more, at {:.4g} kg/s; look at inlet_loss.",
                            state.inlet_loss_Pa / 1000, state.air_flow_kg_s));
  const double last_outlet = Before(point_.cooler_loss, state.manifold_Pa, state.air_flow_kg_s);
  if (!(last_outlet < 2.0 * state.manifold_Pa + 1e5))
    return Fail(ErrorCode::kBadCase,
                fmt::format("the cooler loss would be larger than the manifold pressure at {:.4g} kg/s; look at cooler_loss.", state.air_flow_kg_s));
  state.cooler_loss_Pa = last_outlet - state.manifold_Pa;
  if (auto done = Compressors(state, last_outlet, trial); !done) return std::unexpected(done.error());
  return state;
}

Result<void> PointSolver::Compressors(PointState& state, double last_outlet_Pa, const Trial& trial) const {
  double pressure = point_.ambient.pressure_Pa - state.inlet_loss_Pa;
  double temperature = point_.ambient.temperature_K;
  state.stages.resize(stages_.size());
  for (std::size_t i = 0; i < stages_.size(); ++i) {
    const CompressorStage& stage = stages_[i];
    StageState& at = state.stages[i];
    const bool last = i + 1 == stages_.size();
    if (i > 0) {
      const double before = temperature;
      temperature = CoolerOutletTemperature(temperature, stage.inlet_cooler.coolant_K, stage.inlet_cooler.effectiveness);
      at.inlet_heat_J_kg = gas_.Enthalpy(before) - gas_.Enthalpy(temperature);
      pressure -= PressureDrop(stage.inlet_loss, pressure, state.air_flow_kg_s);
      if (!(pressure > 1e3))
        return Fail(ErrorCode::kBadCase, fmt::format("the loss before stage \"{}\" takes all the pressure; look at its inlet_loss.", stage.name));
    }
    at.inlet_K = temperature;
    at.inlet_Pa = pressure;
    if (last) {
      at.pressure_ratio = last_outlet_Pa / pressure;
    } else if (stage.outlet_Pa) {
      at.pressure_ratio = *stage.outlet_Pa / pressure;
    } else {
      at.pressure_ratio = least_work_ ? trial.ratios[i] : stage.pressure_ratio.value_or(1.0);
    }
    if (!(at.pressure_ratio >= 1.0)) {
      if (last && i == 0)
        return Fail(ErrorCode::kBadCase, fmt::format("the manifold pressure of {} is reached without a compressor: {} stands before it.",
                                                     Bar(state.manifold_Pa), Bar(pressure)));
      return Fail(ErrorCode::kBadCase,
                  fmt::format("nothing is left for stage \"{}\": {} stands before it and {} is wanted behind it; lower the stages before it.",
                              stage.name, Bar(pressure), Bar(at.pressure_ratio * pressure)));
    }
    at.reading = maps_[i]->Read({state.air_flow_kg_s, temperature, pressure, at.pressure_ratio});
    const bool held = i < trial.hold_assumed.size() && trial.hold_assumed[i] != 0;
    at.efficiency_assumed = held || !at.reading.efficiency;
    at.efficiency = at.efficiency_assumed ? stage.assumed_efficiency.value_or(kOffMapEfficiency) : *at.reading.efficiency;
    if (i < trial.shift.size()) at.efficiency = std::clamp(at.efficiency + trial.shift[i], 0.05, 1.0);
    const auto change = Compress(gas_, temperature, at.pressure_ratio, at.efficiency);
    if (!change)
      return Fail(ErrorCode::kBadCase, fmt::format("stage \"{}\" at pressure ratio {:.3g} and efficiency {:.2g}: {}", stage.name, at.pressure_ratio,
                                                   at.efficiency, change.error().message));
    at.outlet_K = change->outlet_temperature_K;
    at.isentropic_outlet_K = change->isentropic_temperature_K;
    at.work_J_kg = change->work_J_kg;
    at.outlet_Pa = pressure * at.pressure_ratio;
    temperature = at.outlet_K;
    pressure = at.outlet_Pa;
  }
  return {};
}

// Repeats the loop at a fixed split until the manifold temperature stands still.
Result<PointState> PointSolver::Settle(double manifold_K, Trial& trial) const {
  constexpr int kMost = 300;
  trial.hold_assumed.assign(stages_.size(), 0);
  std::vector<int> changes(stages_.size(), 0);
  std::vector<char> was(stages_.size(), -1);
  double lowest = 1e9, highest = 0.0;
  for (int i = 1; i <= kMost; ++i) {
    auto state = Evaluate(manifold_K, trial);
    if (!state) return state;
    const double before_cooler = state->stages.back().outlet_K;
    const double next = CoolerOutletTemperature(before_cooler, point_.cooler.coolant_K, point_.cooler.effectiveness);
    // Across an edge of the map the efficiency jumps, and the loop may step to and fro for ever: then the assumed one is held.
    for (std::size_t s = 0; s < stages_.size(); ++s) {
      const char assumed = state->stages[s].efficiency_assumed ? 1 : 0;
      if (was[s] >= 0 && was[s] != assumed && ++changes[s] > 5) trial.hold_assumed[s] = 1;
      was[s] = assumed;
    }
    if (i > kMost - 20) {
      lowest = std::min(lowest, next);
      highest = std::max(highest, next);
    }
    const double moved = std::abs(next - manifold_K);
    // A map read to fewer digits than that settles at its own noise.
    if (moved <= (i < 60 ? 1e-12 : 1e-9) * next) {
      state->iterations = i;
      state->cooler_heat_J_kg = gas_.Enthalpy(before_cooler) - gas_.Enthalpy(manifold_K);
      state->on_an_edge = std::any_of(trial.hold_assumed.begin(), trial.hold_assumed.end(), [](char held) { return held != 0; });
      return state;
    }
    // Half steps once it is plain that whole ones swing.
    manifold_K = i < 60 ? next : 0.5 * (next + manifold_K);
  }
  return Fail(ErrorCode::kBadCase,
              fmt::format("no steady manifold temperature is found: efficiency and density chase each other between {:.1f} and {:.1f} K; the map is "
                          "uneven there, look at its islands near this point.",
                          lowest, highest));
}

// Of a split: stages off their maps first, then work with what short margins weigh.
struct PointSolver::Cost {
  int off_map = 0;
  double work = 0.0;
  bool operator<(const Cost& other) const { return off_map != other.off_map ? off_map < other.off_map : work < other.work; }
};

PointSolver::Cost PointSolver::CostOf(const PointState& state) const {
  Cost cost;
  double shortage = 0.0;
  for (const StageState& stage : state.stages) {
    cost.work += stage.work_J_kg;
    if (stage.reading.OffMap()) ++cost.off_map;
    const auto add = [&shortage](const std::optional<double>& margin, double room) {
      if (margin && room > 0.0) shortage += std::pow(std::clamp(1.0 - *margin / room, 0.0, 1.0), 2);
    };
    add(stage.reading.surge_margin, limits_.surge_margin_room);
    add(stage.reading.choke_margin, limits_.choke_margin_room);
  }
  cost.work *= 1.0 + 0.5 * shortage;
  return cost;
}

PointSolver::Cost PointSolver::SplitCost(const PointState& at, const Trial& trial) const {
  PointState state = at;
  if (!Compressors(state, at.manifold_Pa + at.cooler_loss_Pa, trial)) return {1000, 0.0};
  return CostOf(state);
}

// One round over the free ratios, `everywhere` or near where they stand; true if any moved by more than a hair.
bool PointSolver::ImproveSplit(const PointState& at, Trial& trial, bool everywhere) const {
  bool moved = false;
  const double overall = (at.manifold_Pa + at.cooler_loss_Pa) / at.stages.front().inlet_Pa;
  const double highest = std::log(std::max(overall * 1.2, 1.02));
  constexpr int kSteps = 48;
  const double step = highest / kSteps;
  for (std::size_t i = 0; i < trial.ratios.size(); ++i) {
    Trial tried = trial;
    const auto cost = [&](double log_ratio) {
      tried.ratios[i] = std::exp(log_ratio);
      return SplitCost(at, tried);
    };
    Cost least = cost(std::log(trial.ratios[i]));
    double chosen = std::log(trial.ratios[i]);
    const auto consider = [&](double log_ratio) {
      const Cost here = cost(log_ratio);
      if (here < least) {
        least = here;
        chosen = log_ratio;
      }
    };
    for (int k = 0; everywhere && k <= kSteps; ++k) consider(step * k);
    // Between the neighbors, among splits that keep as many stages on their maps: an edge of a map may cut the span short, so it is found first.
    const double middle = chosen;
    const int off_map = least.off_map;
    const auto reach = [&](double end) {
      double good = middle, bad = std::clamp(end, 0.0, highest);
      if (cost(bad).off_map <= off_map) return bad;
      for (int k = 0; k < 40; ++k) {
        const double half = 0.5 * (good + bad);
        (cost(half).off_map <= off_map ? good : bad) = half;
      }
      return good;
    };
    const double low = reach(middle - step), high = reach(middle + step);
    consider(low);
    consider(high);
    if (high > low) consider(boost::math::tools::brent_find_minima([&](double x) { return cost(x).work; }, low, high, 24).first);
    moved = moved || std::abs(chosen - std::log(trial.ratios[i])) > 1e-5;
    trial.ratios[i] = std::exp(chosen);
  }
  return moved;
}

// A bit a stage that is off its map.
unsigned PointSolver::OffStages(const PointState& state) {
  unsigned off = 0;
  for (std::size_t i = 0; i < state.stages.size(); ++i)
    if (state.stages[i].reading.OffMap()) off |= 1U << i;
  return off;
}

// Off the maps efficiencies are guesses, and so are the flows that come of them: a split that is right once all has settled may look wrong from there. So each
// is settled first. True where one was found that keeps every stage on its map; `trial` and `settled` are the best of them then.
bool PointSolver::FindSplitOnMaps(Trial& trial, PointState& settled) const {
  constexpr int kSteps = 96, kHalvings = 25;
  const double manifold_K = settled.manifold_K;
  const double overall = (settled.manifold_Pa + settled.cooler_loss_Pa) / settled.stages.front().inlet_Pa;
  const double step = std::log(std::max(overall * 1.2, 1.02)) / kSteps;
  Cost least{1000, 0.0};
  for (std::size_t i = 0; i < trial.ratios.size(); ++i) {
    Trial tried = trial;
    struct Seen {
      Cost cost;
      unsigned off = ~0U;
    };
    const auto look = [&](double log_ratio) {
      tried.ratios[i] = std::exp(log_ratio);
      auto state = Settle(manifold_K, tried);
      if (!state) return Seen{{1000, 0.0}};
      const Seen seen{CostOf(*state), OffStages(*state)};
      if (seen.off == 0 && seen.cost < least) {
        least = seen.cost;
        trial = tried;
        settled = std::move(*state);
      }
      return seen;
    };
    unsigned before = look(0.0).off;
    for (int k = 1; k <= kSteps; ++k) {
      const unsigned here = look(step * k).off;
      // Every stage's map may be reached between two steps only; then an edge of one of them bounds what is looked for.
      for (unsigned left = least.off_map == 0 ? 0 : before ^ here; left != 0; left &= left - 1) {
        const unsigned stage = left & ~(left - 1);
        double on = step * ((before & stage) != 0 ? k : k - 1), beyond = step * ((before & stage) != 0 ? k - 1 : k);
        for (int halving = 0; halving < kHalvings && least.off_map != 0; ++halving) {
          const double half = 0.5 * (on + beyond);
          ((look(half).off & stage) != 0 ? beyond : on) = half;
        }
      }
      before = here;
    }
    if (least.off_map != 0) continue;
    const double middle = std::log(trial.ratios[i]);
    boost::math::tools::brent_find_minima(
        [&](double x) {
          const Seen seen = look(x);
          return seen.off == 0 ? seen.cost.work : 2.0 * least.work;
        },
        middle - step, middle + step, 20);
    return true;
  }
  return false;
}

Result<PointState> PointSolver::SolveShifted(const PointState& solved, const std::vector<double>& efficiency_shift) const {
  Trial trial;
  trial.shift = efficiency_shift;
  for (std::size_t i = 0; i + 1 < solved.stages.size(); ++i) trial.ratios.push_back(solved.stages[i].pressure_ratio);
  return Settle(solved.manifold_K, trial);
}

Result<PointState> PointSolver::Solve() const {
  Trial trial;
  const double start = point_.cooler.effectiveness > 0.5 ? point_.cooler.coolant_K + 15.0 : point_.ambient.temperature_K + 60.0;
  if (!least_work_) return Settle(start, trial);

  // Equal ratios first; then the split and the loop take turns.
  trial.ratios.assign(stages_.size() - 1, 1.0);
  const auto first = Evaluate(start, trial);
  if (!first) return first;
  const double overall = std::max(1.0, (first->manifold_Pa + first->cooler_loss_Pa) / first->stages.front().inlet_Pa);
  const std::vector<double> equal(stages_.size() - 1, std::pow(overall, 1.0 / static_cast<double>(stages_.size())));
  trial.ratios = equal;
  auto settled = Settle(start, trial);
  if (!settled) return settled;
  bool moved = true;
  for (int round = 0; round < 40 && moved; ++round) {
    trial.hold_assumed.assign(stages_.size(), 0);
    const PointState before = *settled;
    moved = ImproveSplit(before, trial, round < 2);
    settled = Settle(before.manifold_K, trial);
    if (!settled) return settled;
  }
  bool off_map = OffStages(*settled) != 0;
  if (off_map && FindSplitOnMaps(trial, *settled)) off_map = moved = false;
  if (off_map) {
    // Off the map the work is a guess, and so is its least: equal ratios are at least plain.
    trial.ratios = equal;
    settled = Settle(settled->manifold_K, trial);
    if (!settled) return settled;
    moved = false;
  }
  settled->no_split_on_maps = off_map;
  settled->split_unsettled = moved;
  return settled;
}

}  // namespace islebook
