#include "mapstore/bench/balance_solver.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>
#include <Eigen/Dense>

namespace islebook {
namespace {

constexpr double kSolved = 1e-11;

using Vector = Eigen::VectorXd;

Eigen::Map<const Vector> ResidualOf(const BalanceTrial& trial) { return {trial.residual.data(), static_cast<Eigen::Index>(trial.residual.size())}; }
bool HasResidual(const BalanceTrial& trial) { return !trial.residual.empty() && ResidualOf(trial).allFinite(); }

}  // namespace

bool BalanceSolver::Newton(std::vector<double>& x, const BalanceModes& modes, BalanceTrial& trial) const {
  const auto n = static_cast<Eigen::Index>(equations_.Unknowns(modes));
  if (!equations_.Evaluate(x, modes, {}, trial)) return false;
  Eigen::MatrixXd jacobian(n, n);
  const auto fill = [&] {
    for (Eigen::Index c = 0; c < n; ++c) {
      BalanceTrial moved = trial;
      std::vector<double> at = x;
      const double step = 1e-6;
      at[static_cast<std::size_t>(c)] += step;
      const bool opening = static_cast<std::size_t>(c) >= kRatioUnknowns + equations_.Stages();
      if (opening ? !equations_.EvaluateExhaust(at, modes, {}, moved) : !equations_.Evaluate(at, modes, {}, moved)) return false;
      trial.evaluations = moved.evaluations;
      jacobian.col(c) = (ResidualOf(moved) - ResidualOf(trial)) / step;
    }
    return true;
  };
  bool fresh = false, wanted = true, filled = false;
  const auto keep = [&] {
    if (filled || fill()) trial.slopes.assign(jacobian.data(), jacobian.data() + n * n);
  };
  double last = ResidualOf(trial).norm();
  for (int iteration = 0; iteration < 50; ++iteration) {
    if (ResidualOf(trial).lpNorm<Eigen::Infinity>() < kSolved) return keep(), true;
    if (wanted) {
      if (!fill()) return false;
      fresh = filled = true;
      wanted = false;
    }
    Eigen::VectorXd step = jacobian.fullPivLu().solve(-ResidualOf(trial));
    if (!step.allFinite()) return false;
    // No unknown runs away: its own longest step.
    double share = 1.0;
    for (Eigen::Index c = 0; c < n; ++c) {
      const double longest = c == static_cast<Eigen::Index>(kManifoldUnknown) ? 0.2 : 0.6;
      share = std::min(share, longest / std::max(std::abs(step[c]), 1e-300));
    }
    bool moved = false;
    for (int k = 0; k < 9 && !moved; ++k, share *= 0.5) {
      BalanceTrial next = trial;
      std::vector<double> at = x;
      for (Eigen::Index c = 0; c < n; ++c) at[static_cast<std::size_t>(c)] += share * step[c];
      const bool good = equations_.Evaluate(at, modes, {}, next);
      trial.evaluations = next.evaluations;
      if (!good || !(ResidualOf(next).norm() < (1.0 - 1e-3 * share) * last)) {
        if (!fresh) break;  // an old slope is no reason for small steps
        continue;
      }
      const Eigen::VectorXd taken = share * step, change = ResidualOf(next) - ResidualOf(trial);
      jacobian += (change - jacobian * taken) * taken.transpose() / taken.squaredNorm();
      // Where the step brought little, the slopes are no longer true.
      wanted = ResidualOf(next).norm() > 0.3 * last && share >= 1.0;
      fresh = false;
      last = ResidualOf(next).norm();
      x = std::move(at);
      trial = std::move(next);
      moved = true;
    }
    if (moved) continue;
    if (ResidualOf(trial).lpNorm<Eigen::Infinity>() < 1e-9) return keep(), true;  // the noise of the maps' reading
    if (fresh) return false;
    wanted = true;
  }
  return false;
}

bool BalanceSolver::FromAnywhere(std::vector<double>& x, const BalanceModes& modes, BalanceTrial& trial) const {
  const auto attempt = [&](std::vector<double> start) {
    BalanceTrial tried;
    tried.evaluations = trial.evaluations;
    const bool done = Newton(start, modes, tried);
    const bool nearer = !HasResidual(trial) || (HasResidual(tried) && ResidualOf(tried).norm() < ResidualOf(trial).norm());
    if (done || nearer) {
      trial = std::move(tried);
      x = std::move(start);
    } else {
      trial.evaluations = tried.evaluations;
      if (trial.failure.empty()) trial.failure = tried.failure;
    }
    return done;
  };
  if (x.size() == equations_.Unknowns(modes) && attempt(x)) return true;
  const OperatingTarget& target = equations_.point().target;
  double overall = 2.2;
  if (target.manifold_Pa) overall = 1.05 * *target.manifold_Pa / equations_.point().ambient.pressure_Pa;
  if (target.boost_Pa) overall = 1.05 * (*target.boost_Pa / equations_.point().ambient.pressure_Pa + 1.0);
  const double each = std::pow(std::max(overall, 1.05), 1.0 / static_cast<double>(equations_.Stages()));
  // With everything fixed a balance exists and is worth looking for; what is to be held may lie out of reach.
  const bool holding = equations_.Unknowns(modes) > kRatioUnknowns + equations_.Stages();
  std::vector<double> ratios{each, 1.0 + 0.5 * (each - 1.0), 1.15};
  if (!holding) ratios.insert(ratios.end(), {1.6, 2.4, 1.02, 3.2});
  for (const double ratio : ratios)
    if (attempt(equations_.ColdStart(ratio, modes))) return true;
  return false;
}

// Solves with regulators where they stand, and moves those that would leave their travel to its ends.
bool BalanceSolver::Regulate(std::vector<double>& x, BalanceModes& modes, BalanceTrial& trial) const {
  std::vector<int> flips(equations_.Stages(), 0);
  for (int round = 0; round < 12; ++round) {
    BalanceTrial tried;
    tried.evaluations = trial.evaluations;
    const bool done = FromAnywhere(x, modes, tried);
    trial = std::move(tried);
    if (!done) return false;
    bool changed = false;
    for (std::size_t i = 0; i < equations_.Stages(); ++i) {
      if (!equations_.Holds(i)) continue;
      Regulation next = modes.regulation[i];
      if (next == Regulation::kMost) continue;
      if (next == Regulation::kHolding) {
        if (trial.turbines[i].opening < 0.0) next = Regulation::kClosed;
        if (trial.turbines[i].opening > 1.0) next = Regulation::kOpen;
      } else {
        // Closed and more than what is to be held: it would open. Open and less: it would close.
        const double held = equations_.HoldEquation(i, trial);
        if (next == Regulation::kClosed ? held > 1e-9 : held < -1e-9) next = Regulation::kHolding;
      }
      if (next == modes.regulation[i] || flips[i] > 3) continue;
      ++flips[i];
      modes.regulation[i] = next;
      modes.opening[i] = next == Regulation::kOpen ? 1.0 : 0.0;
      changed = true;
      break;  // one at a time: the others may follow by themselves
    }
    if (!changed) {
      for (std::size_t i = 0; i < equations_.Stages(); ++i) {
        if (!equations_.Holds(i) || !equations_.HasVanes(i)) continue;
        const bool shut = modes.regulation[i] == Regulation::kClosed;
        if (shut || (modes.Free(i) && OnWrongSide(i, x, modes, trial))) return SearchVanes(i, x, modes, trial);
      }
      for (std::size_t i = 0; i < equations_.Stages(); ++i)
        if (modes.Free(i) && (trial.turbines[i].opening < -1e-9 || trial.turbines[i].opening > 1.0 + 1e-9)) return false;
      return true;
    }
    // The unknowns of the next round from those of this one.
    x.resize(kRatioUnknowns + equations_.Stages());
    for (std::size_t i = 0; i < equations_.Stages(); ++i)
      if (modes.Free(i)) x.push_back(std::clamp(trial.turbines[i].opening, 0.02, 0.98));
  }
  return false;
}

// Whether vanes stand further shut than where they bring the most: opening them would bring more of what is held.
bool BalanceSolver::OnWrongSide(std::size_t stage, const std::vector<double>& x, const BalanceModes& modes, const BalanceTrial& trial) const {
  BalanceModes fixed = modes;
  fixed.regulation[stage] = Regulation::kHeld;
  fixed.opening[stage] = std::min(trial.turbines[stage].opening + 0.01, 1.0);
  std::vector<double> at(x.begin(), x.begin() + static_cast<std::ptrdiff_t>(kRatioUnknowns + equations_.Stages()));
  for (std::size_t i = 0; i < equations_.Stages(); ++i)
    if (fixed.Free(i)) at.push_back(trial.turbines[i].opening);
  BalanceTrial moved;
  return Newton(at, fixed, moved) && equations_.HoldEquation(stage, moved) > equations_.HoldEquation(stage, trial) + 1e-9;
}

// Vanes lose efficiency as they shut, so that the most they can bring may lie anywhere in their travel. From open to shut: the first opening that holds what is to be held,
// for it takes the least drive pressure; else the one that brings the most.
bool BalanceSolver::SearchVanes(std::size_t stage, std::vector<double>& x, BalanceModes& modes, BalanceTrial& trial) const {
  constexpr int kSteps = 12;
  const auto fixed_at = [&](double opening, std::vector<double>& at, BalanceTrial& tried) {
    modes.regulation[stage] = Regulation::kMost;
    modes.opening[stage] = opening;
    at.resize(std::min(at.size(), kRatioUnknowns + equations_.Stages()));
    if (at.size() == kRatioUnknowns + equations_.Stages())
      for (std::size_t i = 0; i < equations_.Stages(); ++i)
        if (modes.Free(i)) at.push_back(std::clamp(trial.turbines.size() > i ? trial.turbines[i].opening : 0.4, 0.02, 0.98));
    tried.evaluations = 0;
    const bool done = FromAnywhere(at, modes, tried);
    trial.evaluations += tried.evaluations;
    return done;
  };
  double best = -1.0, best_held = -1e9, last_held = -1e9;
  std::vector<double> at = x, best_x;
  for (int k = 0; k <= kSteps; ++k) {
    const double opening = 1.0 - static_cast<double>(k) / kSteps;
    BalanceTrial tried;
    if (!fixed_at(opening, at, tried)) continue;
    const double held = equations_.HoldEquation(stage, tried);
    if (k == 0 && held >= 0.0) {
      modes.regulation[stage] = Regulation::kOpen;
      x = at;
      const int spent = trial.evaluations;
      trial = std::move(tried);
      trial.evaluations = spent;
      return true;
    }
    if (held >= 0.0 && last_held < 0.0) {
      modes.regulation[stage] = Regulation::kHolding;
      x.assign(at.begin(), at.begin() + static_cast<std::ptrdiff_t>(kRatioUnknowns + equations_.Stages()));
      for (std::size_t i = 0; i < equations_.Stages(); ++i)
        if (modes.Free(i)) x.push_back(i == stage ? opening + 0.5 / kSteps : tried.turbines[i].opening);
      BalanceTrial holding;
      const bool done = Newton(x, modes, holding) && holding.turbines[stage].opening > -1e-9 && holding.turbines[stage].opening < 1.0 + 1e-9;
      holding.evaluations += trial.evaluations;
      trial = std::move(holding);
      return done;
    }
    last_held = held;
    if (held > best_held) {
      best_held = held;
      best = opening;
      best_x = at;
    }
  }
  if (best < 0.0) return false;
  // The most lies between the neighbors of the best step.
  double low = std::max(best - 1.0 / kSteps, 0.0), high = std::min(best + 1.0 / kSteps, 1.0);
  const auto held_at = [&](double opening, BalanceTrial& tried) {
    return fixed_at(opening, best_x, tried) ? equations_.HoldEquation(stage, tried) : -1e9;
  };
  constexpr double kGolden = 0.3819660112501051;
  for (int k = 0; k < 14; ++k) {
    BalanceTrial a, b;
    const double left = low + kGolden * (high - low), right = high - kGolden * (high - low);
    if (held_at(left, a) < held_at(right, b)) {
      low = left;
    } else {
      high = right;
    }
  }
  BalanceTrial most;
  const double opening = best == 0.0 && low == 0.0 ? 0.0 : 0.5 * (low + high);
  if (!fixed_at(opening, best_x, most)) return false;
  if (opening == 0.0) modes.regulation[stage] = Regulation::kClosed;
  most.evaluations = trial.evaluations;
  trial = std::move(most);
  x = best_x;
  return true;
}

// The slow way for one regulator: its opening is halved, each time with it fixed; vanes are searched.
bool BalanceSolver::Bisect(std::vector<double>& x, BalanceModes& modes, BalanceTrial& trial) const {
  std::size_t stage = equations_.Stages(), holders = 0;
  for (std::size_t i = 0; i < equations_.Stages(); ++i) {
    if (!equations_.Holds(i)) continue;
    stage = i;
    ++holders;
  }
  if (holders != 1) return false;
  if (equations_.HasVanes(stage)) return SearchVanes(stage, x, modes, trial);
  const auto at = [&](double opening, Regulation regulation) {
    modes.regulation[stage] = regulation;
    modes.opening[stage] = opening;
    x.resize(std::min(x.size(), kRatioUnknowns + equations_.Stages()));
    BalanceTrial tried;
    tried.evaluations = trial.evaluations;
    const bool done = FromAnywhere(x, modes, tried);
    trial = std::move(tried);
    return done;
  };
  double low = 0.0, high = 1.0;
  if (!at(low, Regulation::kClosed)) return false;
  if (equations_.HoldEquation(stage, trial) <= 0.0) return true;
  if (!at(high, Regulation::kOpen)) return false;
  if (equations_.HoldEquation(stage, trial) >= 0.0) return true;
  for (int k = 0; k < 50; ++k) {
    const double half = 0.5 * (low + high);
    if (!at(half, Regulation::kHeld)) return false;
    const double held = equations_.HoldEquation(stage, trial);
    (held > 0.0 ? low : high) = half;
    if (k < 3) continue;
    // Near enough for the last steps to be Newton's.
    std::vector<double> near(x.begin(), x.begin() + static_cast<std::ptrdiff_t>(kRatioUnknowns + equations_.Stages()));
    near.push_back(half);
    BalanceModes holding = modes;
    holding.regulation[stage] = Regulation::kHolding;
    BalanceTrial tried;
    const bool done = Newton(near, holding, tried) && near.back() >= 0.0 && near.back() <= 1.0;
    tried.evaluations += trial.evaluations;
    trial.evaluations = tried.evaluations;
    if (!done) continue;
    modes = std::move(holding);
    x = std::move(near);
    trial = std::move(tried);
    return true;
  }
  return false;
}

Result<BalanceState> BalanceSolver::Solve(const BalanceState* start) const {
  BalanceModes modes;
  for (std::size_t i = 0; i < equations_.Stages(); ++i) {
    const TurbineStage& given = *equations_.stage(i).turbine;
    const TurbineFacts& facts = equations_.turbine(i).facts();
    modes.regulation.push_back(!equations_.Holds(i) ? Regulation::kHeld : Regulation::kHolding);
    const double speed = equations_.point().speed_rev_s;
    double opening = given.wastegate_opening ? given.wastegate_opening->At(speed) : 0.0;
    if (facts.has_vanes && given.vane_opening)
      opening = (given.vane_opening->At(speed) / facts.parameter_factor - facts.closed_opening) / (facts.open_opening - facts.closed_opening);
    modes.opening.push_back(opening);
  }
  std::vector<double> x;
  BalanceTrial trial;
  if (start != nullptr && start->turbines.size() == equations_.Stages()) {
    x = start->unknowns;
    for (std::size_t i = 0; i < equations_.Stages(); ++i) {
      if (!equations_.Holds(i)) continue;
      modes.regulation[i] = start->turbines[i].regulation;
      if (modes.regulation[i] == Regulation::kHeld || modes.regulation[i] == Regulation::kMost) modes.regulation[i] = Regulation::kHolding;
      modes.opening[i] = start->turbines[i].opening;
    }
  }
  const BalanceModes first = modes;
  if (Regulate(x, modes, trial)) return Finish(x, modes, trial);
  // Slower ways, each from the start.
  modes = first;
  x.clear();
  if (Bisect(x, modes, trial)) return Finish(x, modes, trial);
  modes = first;
  for (std::size_t i = 0; i < equations_.Stages(); ++i)
    if (equations_.Holds(i)) modes.regulation[i] = Regulation::kClosed, modes.opening[i] = 0.0;
  x.clear();
  if (Regulate(x, modes, trial)) return Finish(x, modes, trial);
  return Fail(ErrorCode::kBadCase, WhatIsOut(trial));
}

BalanceState BalanceSolver::Finish(const std::vector<double>& x, const BalanceModes& modes, BalanceTrial& trial) const {
  BalanceState state;
  for (std::size_t i = 0; i < equations_.Stages(); ++i) {
    StageState& at = trial.air.stages[i];
    at.reading = equations_.compressor(i).Read({trial.air.air_flow_kg_s, at.inlet_K, at.inlet_Pa, at.pressure_ratio});
  }
  state.air = std::move(trial.air);
  state.air.iterations = trial.evaluations;
  state.exhaust = trial.exhaust;
  state.back_pressure_Pa = trial.back_pressure_Pa;
  state.drive_Pa = trial.turbines.back().inlet_Pa;
  state.residual = ResidualOf(trial).lpNorm<Eigen::Infinity>();
  state.evaluations = trial.evaluations;
  trial.air.manifold_Pa = state.air.manifold_Pa;
  trial.air.air_flow_kg_s = state.air.air_flow_kg_s;
  state.target_ratio = equations_.TargetRatio(trial);
  state.target_held = std::abs(state.target_ratio - 1.0) < 1e-7;
  for (std::size_t i = 0; i < equations_.Stages(); ++i) {
    TurbineState& at = trial.turbines[i];
    if (modes.Free(i)) at.regulation = Regulation::kHolding;
  }
  state.turbines = std::move(trial.turbines);
  state.unknowns = x;
  state.slopes = std::move(trial.slopes);
  return state;
}

// One equation left open names the element that cannot follow.
std::string BalanceSolver::WhatIsOut(const BalanceTrial& best) const {
  if (!best.failure.empty() && !HasResidual(best)) return best.failure;
  if (best.air.stages.size() != equations_.Stages() || best.turbines.size() != equations_.Stages() || best.residual.empty())
    return best.failure.empty() ? "the case gives nothing to start from; look at speed, displacement and target." : best.failure;
  for (std::size_t i = 0; i < equations_.Stages(); ++i) {
    const StageState& at = best.air.stages[i];
    const CompressorReading reading = equations_.compressor(i).Read({best.air.air_flow_kg_s, at.inlet_K, at.inlet_Pa, at.pressure_ratio});
    if (!reading.OffMap()) continue;
    return fmt::format("the compressor of stage \"{}\" is off its map ({}, at {:.4g} {} and pressure ratio {:.3f}), and no balance is found there.",
                       equations_.stage(i).name, reading.region ? MapRegionName(*reading.region) : "on which side is not known", reading.map_flow,
                       equations_.compressor(i).facts().flow_unit, at.pressure_ratio);
  }
  std::size_t worst = 0;
  for (std::size_t i = 1; i < equations_.Stages(); ++i)
    if (std::abs(best.residual[kRatioUnknowns + i]) > std::abs(best.residual[kRatioUnknowns + worst])) worst = i;
  const TurbineState& at = best.turbines[worst];
  const double passes = at.flow_kg_s + at.wastegate_flow_kg_s;
  return fmt::format(
      "the turbine of stage \"{}\" cannot be matched: at an expansion ratio of {:.2f} it and its wastegate pass {:.4g} kg/s of {:.4g} kg/s ({}).",
      equations_.stage(worst).name, at.expansion_ratio, passes, best.exhaust.flow_kg_s,
      passes < best.exhaust.flow_kg_s ? "choked: it needs a larger port or turbine" : "too large to drive its compressor");
}

BalanceSpread BalanceSolver::Spread(const BalanceState& solved) const {
  const std::size_t count = equations_.Stages();
  BalanceSpread spread;
  spread.outlet_K.assign(count, 0.0);
  spread.surge_margin.assign(count, 0.0);
  BalanceModes modes;
  for (const TurbineState& turbine : solved.turbines) {
    modes.regulation.push_back(turbine.regulation);
    modes.opening.push_back(turbine.opening);
  }
  const auto n = static_cast<Eigen::Index>(equations_.Unknowns(modes));
  if (static_cast<Eigen::Index>(solved.unknowns.size()) != n || static_cast<Eigen::Index>(solved.slopes.size()) != n * n) return spread;
  BalanceTrial base;
  if (!equations_.Evaluate(solved.unknowns, modes, {}, base)) return spread;
  const Eigen::FullPivLU<Eigen::MatrixXd> solve(Eigen::Map<const Eigen::MatrixXd>(solved.slopes.data(), n, n));
  const auto margin = [&](const BalanceTrial& trial, std::size_t i) {
    const StageState& at = trial.air.stages[i];
    return equations_.compressor(i).Read({trial.air.air_flow_kg_s, at.inlet_K, at.inlet_Pa, at.pressure_ratio}).surge_margin;
  };
  std::vector<std::optional<double>> before;
  for (std::size_t i = 0; i < count; ++i) before.push_back(margin(base, i));
  const auto add = [&](const BalanceShift& shift) {
    BalanceTrial shifted = base;
    const bool turbine_only = shift.compressor_efficiency == 0.0;
    if (turbine_only ? !equations_.EvaluateExhaust(solved.unknowns, modes, shift, shifted)
                     : !equations_.Evaluate(solved.unknowns, modes, shift, shifted))
      return;
    const Eigen::VectorXd step = solve.solve(ResidualOf(base) - ResidualOf(shifted));
    if (!step.allFinite()) return;
    std::vector<double> x = solved.unknowns;
    for (Eigen::Index c = 0; c < n; ++c) x[static_cast<std::size_t>(c)] += step[c];
    if (!equations_.Evaluate(x, modes, shift, shifted)) return;
    const auto square = [](double& sum, double moved) { sum += moved * moved; };
    square(spread.manifold_K, shifted.air.manifold_K - base.air.manifold_K);
    square(spread.manifold_Pa, shifted.air.manifold_Pa - base.air.manifold_Pa);
    square(spread.air_flow_kg_s, shifted.air.air_flow_kg_s - base.air.air_flow_kg_s);
    square(spread.drive_Pa, shifted.turbines.back().inlet_Pa - base.turbines.back().inlet_Pa);
    for (std::size_t i = 0; i < count; ++i) {
      square(spread.outlet_K[i], shifted.air.stages[i].outlet_K - base.air.stages[i].outlet_K);
      if (!before[i]) continue;
      if (const auto moved = margin(shifted, i)) square(spread.surge_margin[i], *moved - *before[i]);
    }
  };
  for (std::size_t i = 0; i < count; ++i) {
    const StageState& compressor = solved.air.stages[i];
    const TurbineReading& turbine = solved.turbines[i].reading;
    const double sigma = compressor.efficiency_assumed ? kOffMapEfficiencySigma : compressor.reading.sigma_efficiency.value_or(0.0);
    const int stage = static_cast<int>(i);
    if (sigma > 0.0) add({.stage = stage, .compressor_efficiency = -sigma});
    if (turbine.sigma_efficiency > 0.0) add({.stage = stage, .turbine_efficiency = -turbine.sigma_efficiency});
    if (turbine.sigma_flow > 0.0) add({.stage = stage, .turbine_flow = -turbine.sigma_flow});
  }
  for (double* sum : {&spread.manifold_K, &spread.manifold_Pa, &spread.air_flow_kg_s, &spread.drive_Pa}) *sum = std::sqrt(*sum);
  for (double& sum : spread.outlet_K) sum = std::sqrt(sum);
  for (double& sum : spread.surge_margin) sum = std::sqrt(sum);
  return spread;
}

}  // namespace islebook
