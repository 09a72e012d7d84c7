#include "mapstore/bench/balance_solver.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Dense>
#include <boost/math/tools/toms748_solve.hpp>
#include <fmt/format.h>

#include "mapstore/bench/compression.h"
#include "mapstore/bench/engine.h"
#include "mapstore/bench/intake_air.h"
#include "mapstore/bench/nozzle.h"

namespace islebook {
namespace {

// Order of the unknowns.
constexpr std::size_t kFlow = 0, kManifold = 1, kRatios = 2;  // ln of the air flow; K / 300; ln ln PR of each stage; then openings
constexpr double kKelvins = 300.0;
constexpr double kHighestLogExpansion = 3.0;  // an expansion ratio of 20
constexpr double kSolved = 1e-11;

double RatioOf(double unknown) { return std::exp(std::exp(std::clamp(unknown, -14.0, 1.2))); }
double UnknownOf(double ratio) { return std::log(std::log(std::max(ratio, 1.0 + 1e-6))); }

bool HasVanes(const TurbineReader& turbine) { return turbine.facts().has_vanes; }

}  // namespace

// What each stage's regulator does in one attempt, and the opening where it is fixed.
struct BalanceSolver::Modes {
  std::vector<Regulation> regulation;
  std::vector<double> opening;
  bool Free(std::size_t stage) const { return regulation[stage] == Regulation::kHolding; }
};

// One quantity of one stage moved, to learn what its uncertainty does.
struct BalanceSolver::Shift {
  int stage = -1;
  double compressor_efficiency = 0.0, turbine_efficiency = 0.0, turbine_flow = 0.0;  // the last as a part of the flow
};

struct BalanceSolver::Trial {
  PointState air;
  EngineExhaust exhaust;
  std::vector<TurbineState> turbines;
  std::vector<CompressorWork> work;
  std::vector<double> log_expansion;  // where the last search of each stage ended
  double back_pressure_Pa = 0.0;
  Eigen::VectorXd residual;
  std::string failure;
  mutable int evaluations = 0;
};

BalanceSolver::BalanceSolver(const OperatingPoint& point, const BenchCase& asked, const std::vector<const CompressorReader*>& compressors,
                             const std::vector<const TurbineReader*>& turbines, ExhaustModel exhaust)
    : point_(&point), case_(&asked), compressors_(&compressors), turbines_(&turbines), air_gas_(WorkingGas::DryAir()), exhaust_(std::move(exhaust)) {
  const IntakeAir air = IntakeAirOf(point);
  air_gas_ = air.gas;
  humidity_ratio_ = air.humidity_ratio;
}

Result<BalanceSolver> BalanceSolver::Make(const OperatingPoint& point, const BenchCase& asked, const std::vector<const CompressorReader*>& compressors,
                                          const std::vector<const TurbineReader*>& turbines) {
  const IntakeAir air = IntakeAirOf(point);
  auto exhaust = ExhaustModel::Make(point, air.gas, air.humidity_ratio);
  if (!exhaust) return std::unexpected(exhaust.error());
  BalanceSolver solver(point, asked, compressors, turbines, std::move(*exhaust));
  solver.holds_.assign(asked.stages.size(), Holds::kNothing);
  int holder = -1;
  for (std::size_t i = 0; i < asked.stages.size(); ++i) {
    const CompressorStage& stage = asked.stages[i];
    if (!stage.turbine) return Fail(ErrorCode::kBadCase, fmt::format("stage \"{}\" has no turbine, and the others have; give each one or none.", stage.name));
    const bool vanes = HasVanes(*turbines[i]) && !stage.turbine->vane_opening;
    const bool gate = stage.turbine->wastegate_area_m2 > 0.0 && !stage.turbine->wastegate_opening;
    if (stage.turbine->vane_opening && !HasVanes(*turbines[i]))
      return Fail(ErrorCode::kBadCase, fmt::format("stage \"{}\" is given a vane_opening, and the lines of its turbine map are not labeled with openings.", stage.name));
    if (stage.turbine->vane_opening) {
      const TurbineFacts& facts = turbines[i]->facts();
      const double label = *stage.turbine->vane_opening / facts.parameter_factor;
      if (label < facts.closed_opening - 1e-9 || label > facts.open_opening + 1e-9)
        return Fail(ErrorCode::kBadCase, fmt::format("stage \"{}\": a vane_opening of {:.4g} {} lies outside the lines of the turbine map, {:.4g} to {:.4g}.", stage.name,
                                                     label, facts.parameter_unit, facts.closed_opening, facts.open_opening));
    }
    if (vanes && gate)
      return Fail(ErrorCode::kBadCase, fmt::format("stage \"{}\" has vanes and a wastegate that both regulate; give vane_opening or wastegate_opening.", stage.name));
    const bool own = stage.pressure_ratio || stage.outlet_Pa;
    if (own && !vanes && !gate)
      return Fail(ErrorCode::kBadCase, fmt::format("stage \"{}\" is given a pressure to hold and has nothing to hold it with: a wastegate_diameter without "
                                                   "wastegate_opening, or a map with vanes without vane_opening.",
                                                   stage.name));
    if (own) {
      solver.holds_[i] = Holds::kOutlet;
    } else if (vanes || gate) {
      if (holder >= 0)
        return Fail(ErrorCode::kBadCase, fmt::format("stages \"{}\" and \"{}\" both regulate, and only the last can hold the engine's target; give the first an "
                                                     "outlet_pressure or pressure_ratio to hold, or a fixed opening.",
                                                     asked.stages[static_cast<std::size_t>(holder)].name, stage.name));
      holder = static_cast<int>(i);
      solver.holds_[i] = Holds::kTarget;
    }
  }
  return solver;
}

std::size_t BalanceSolver::Unknowns(const Modes& modes) const {
  std::size_t count = kRatios + holds_.size();
  for (std::size_t i = 0; i < holds_.size(); ++i) count += modes.Free(i) ? 1 : 0;
  return count;
}

bool BalanceSolver::Compressors(const std::vector<double>& x, const Shift& shift, Trial& trial) const {
  PointState& air = trial.air;
  air.air_flow_kg_s = std::exp(x[kFlow]);
  air.manifold_K = x[kManifold] * kKelvins;
  if (!(air.manifold_K > 180.0 && air.manifold_K < 1500.0 && std::isfinite(air.air_flow_kg_s))) return false;
  air.inlet_loss_Pa = PressureDrop(point_->inlet_loss, point_->ambient.pressure_Pa, air.air_flow_kg_s);
  double pressure = point_->ambient.pressure_Pa - air.inlet_loss_Pa, temperature = point_->ambient.temperature_K;
  for (std::size_t i = 0; i < holds_.size(); ++i) {
    const CompressorStage& stage = case_->stages[i];
    StageState& at = air.stages[i];
    if (i > 0) {
      const double before = temperature;
      temperature = CoolerOutletTemperature(temperature, stage.inlet_cooler.coolant_K, stage.inlet_cooler.effectiveness);
      at.inlet_heat_J_kg = air_gas_.Enthalpy(before) - air_gas_.Enthalpy(temperature);
      pressure -= PressureDrop(stage.inlet_loss, pressure, air.air_flow_kg_s);
    }
    if (!(pressure > 0.3 * point_->ambient.pressure_Pa)) {
      trial.failure = fmt::format("the losses before stage \"{}\" take more than two thirds of the ambient pressure at {:.4g} kg/s; look at inlet_loss.", stage.name,
                                  air.air_flow_kg_s);
      return false;
    }
    at.inlet_K = temperature;
    at.inlet_Pa = pressure;
    at.pressure_ratio = RatioOf(x[kRatios + i]);
    trial.work[i] = (*compressors_)[i]->Work({air.air_flow_kg_s, temperature, pressure, at.pressure_ratio});
    at.efficiency = trial.work[i].efficiency;
    if (shift.stage == static_cast<int>(i)) at.efficiency = std::clamp(at.efficiency + shift.compressor_efficiency, 0.05, 1.0);
    at.efficiency_assumed = trial.work[i].guessed;
    const auto change = Compress(air_gas_, temperature, at.pressure_ratio, at.efficiency);
    if (!change) return false;
    at.outlet_K = change->outlet_temperature_K;
    at.isentropic_outlet_K = change->isentropic_temperature_K;
    at.work_J_kg = change->work_J_kg;
    at.outlet_Pa = pressure * at.pressure_ratio;
    temperature = at.outlet_K;
    pressure = at.outlet_Pa;
  }
  air.cooler_loss_Pa = PressureDrop(point_->cooler_loss, pressure, air.air_flow_kg_s);
  air.manifold_Pa = pressure - air.cooler_loss_Pa;
  if (!(air.manifold_Pa > 0.2 * point_->ambient.pressure_Pa)) {
    trial.failure = "the losses before the manifold take nearly all the pressure; look at inlet_loss and cooler_loss.";
    return false;
  }
  const double cooled = CoolerOutletTemperature(temperature, point_->cooler.coolant_K, point_->cooler.effectiveness);
  air.cooler_heat_J_kg = air_gas_.Enthalpy(temperature) - air_gas_.Enthalpy(cooled);
  const double breathed = EngineAirFlow(point_->engine, point_->speed_rev_s, air.manifold_Pa, air.manifold_K, air_gas_.GasConstant());
  trial.residual[kFlow] = x[kFlow] - std::log(breathed);
  trial.residual[kManifold] = x[kManifold] - cooled / kKelvins;
  return true;
}

// Finds the expansion ratio at which the turbine gives `power_W`, and returns ln of what turbine and wastegate pass over the exhaust flow. `at` holds inlet temperature, outlet
// pressure and opening.
double BalanceSolver::DriveStage(std::size_t stage, double power_W, double exhaust_flow, const Shift& shift, TurbineState& at) const {
  const TurbineStage& given = *case_->stages[stage].turbine;
  const TurbineReader& turbine = *(*turbines_)[stage];
  const WorkingGas& gas = exhaust_.gas();
  const double enthalpy = gas.Enthalpy(at.inlet_K), gamma = gas.Gamma(at.inlet_K);
  const bool vanes = HasVanes(turbine);
  TurbineInlet inlet{.inlet_K = at.inlet_K, .speed_rev_s = at.speed_rev_s};
  if (vanes) inlet.vane_opening = turbine.facts().closed_opening + at.opening * (turbine.facts().open_opening - turbine.facts().closed_opening);
  const auto power_at = [&](double log_ratio) {
    at.expansion_ratio = std::exp(log_ratio);
    at.inlet_Pa = at.outlet_Pa * at.expansion_ratio;
    const auto ideal = gas.IsentropicTemperature(at.inlet_K, 1.0 / at.expansion_ratio);
    inlet.ideal_work_J_kg = ideal ? enthalpy - gas.Enthalpy(*ideal) : 0.0;
    inlet.inlet_Pa = at.inlet_Pa;
    inlet.expansion_ratio = at.expansion_ratio;
    at.reading = turbine.Read(inlet, gas);
    if (shift.stage == static_cast<int>(stage)) {
      at.reading.efficiency = std::clamp(at.reading.efficiency + shift.turbine_efficiency, 0.02, 1.0);
      at.reading.flow_kg_s *= 1.0 + shift.turbine_flow;
    }
    at.flow_kg_s = at.reading.flow_kg_s;
    at.work_J_kg = inlet.ideal_work_J_kg * at.reading.efficiency;
    return at.flow_kg_s * at.work_J_kg;
  };
  const double scale = std::max(power_W, 1e-3);
  const auto off = [&](double log_ratio) { return power_at(log_ratio) / scale - 1.0; };
  // Outward from a guess until the power is bracketed.
  double low = 1e-7, high = kHighestLogExpansion;
  double guess = std::clamp(at.expansion_ratio > 1.0 ? std::log(at.expansion_ratio) : 0.4, 1e-4, 2.5), value = off(guess);
  for (double factor = 1.02; value != 0.0; factor *= factor) {
    (value > 0.0 ? high : low) = guess;
    const double next = std::clamp(value > 0.0 ? guess / factor : guess * factor, 1e-7, kHighestLogExpansion);
    if (next == guess) break;
    const double there = off(next);
    const bool crossed = (there > 0.0) != (value > 0.0);
    (there > 0.0 ? high : low) = next;
    guess = next;
    value = there;
    if (crossed) break;
  }
  if (value != 0.0 && low < high) {
    const double at_low = off(low), at_high = off(high);
    if (at_low < 0.0 && at_high > 0.0) {
      std::uintmax_t most = 60;
      const auto root = boost::math::tools::toms748_solve(off, low, high, at_low, at_high, boost::math::tools::eps_tolerance<double>(48), most);
      power_at(0.5 * (root.first + root.second));
    } else {
      power_at(at_high <= 0.0 ? high : low);
    }
  }
  const double port = vanes && given.wastegate_opening ? *given.wastegate_opening : vanes ? 0.0 : at.opening;
  at.wastegate_flow_kg_s = given.wastegate_discharge * given.wastegate_area_m2 * port * at.inlet_Pa / std::sqrt(gas.GasConstant() * at.inlet_K) *
                           FlowFunction(gamma, at.expansion_ratio);
  if (vanes) at.vane_opening = inlet.vane_opening;
  return std::log(std::max(at.flow_kg_s + at.wastegate_flow_kg_s, 1e-6 * exhaust_flow) / exhaust_flow);
}

bool BalanceSolver::Turbines(const std::vector<double>& x, const Modes& modes, const Shift& shift, Trial& trial) const {
  const auto exhaust = exhaust_.At(trial.air.air_flow_kg_s, trial.air.manifold_K);
  if (!exhaust) {
    trial.failure = exhaust.error().message;
    return false;
  }
  trial.exhaust = *exhaust;
  const std::size_t count = holds_.size();
  const WorkingGas& gas = exhaust_.gas();
  // Down from the manifold: what each shaft takes out decides how hot the next turbine's gas is.
  std::vector<double> power(count);
  double enthalpy = gas.Enthalpy(exhaust->turbine_K), temperature = exhaust->turbine_K;
  std::size_t opening = kRatios + count;
  for (std::size_t i = 0; i < count; ++i) {
    TurbineState& at = trial.turbines[i];
    at.opening = modes.Free(i) ? x[opening++] : modes.opening[i];
    at.regulation = modes.regulation[i];
    at.speed_rev_s = trial.work[i].speed_rev_s;
  }
  for (std::size_t k = count; k-- > 0;) {
    TurbineState& at = trial.turbines[k];
    at.inlet_K = temperature;
    power[k] = trial.air.air_flow_kg_s * trial.air.stages[k].work_J_kg / case_->stages[k].turbine->shaft_efficiency;
    enthalpy -= power[k] / exhaust->flow_kg_s;
    const auto after = gas.TemperatureAtEnthalpy(enthalpy);
    if (!after) {
      trial.failure = fmt::format("the compressor of stage \"{}\" asks for more power than the exhaust holds.", case_->stages[k].name);
      return false;
    }
    at.outlet_K = temperature = *after;
  }
  // Up from the open air.
  trial.back_pressure_Pa = PressureDrop(point_->exhaust.back_pressure, point_->ambient.pressure_Pa, exhaust->flow_kg_s);
  double pressure = point_->ambient.pressure_Pa + trial.back_pressure_Pa;
  for (std::size_t i = 0; i < count; ++i) {
    TurbineState& at = trial.turbines[i];
    at.outlet_Pa = pressure;
    trial.residual[static_cast<Eigen::Index>(kRatios + i)] = DriveStage(i, power[i], exhaust->flow_kg_s, shift, at);
    pressure = at.inlet_Pa;
  }
  return true;
}

double BalanceSolver::TargetRatio(const Trial& trial) const {
  const OperatingTarget& target = point_->target;
  if (target.manifold_Pa) return trial.air.manifold_Pa / *target.manifold_Pa;
  if (target.boost_Pa) return trial.air.manifold_Pa / (point_->ambient.pressure_Pa + *target.boost_Pa);
  if (target.air_flow_kg_s) return trial.air.air_flow_kg_s / *target.air_flow_kg_s;
  const double fuel = target.fuel_flow_kg_s ? *target.fuel_flow_kg_s : target.power_W.value_or(0.0) * target.fuel_consumption_kg_J.value_or(0.0);
  return trial.air.air_flow_kg_s / (fuel * target.air_fuel_ratio.value_or(0.0) * (1.0 + humidity_ratio_));
}

// ln of what stands over what is to be held.
double BalanceSolver::HoldEquation(std::size_t stage, const Trial& trial) const {
  if (holds_[stage] == Holds::kTarget) return std::log(TargetRatio(trial));
  const CompressorStage& given = case_->stages[stage];
  const StageState& at = trial.air.stages[stage];
  return given.outlet_Pa ? std::log(at.outlet_Pa / *given.outlet_Pa) : std::log(at.pressure_ratio / *given.pressure_ratio);
}

bool BalanceSolver::Evaluate(const std::vector<double>& x, const Modes& modes, const Shift& shift, Trial& trial) const {
  const std::size_t count = holds_.size(), unknowns = Unknowns(modes);
  trial.air.stages.resize(count);
  trial.turbines.resize(count);
  trial.work.resize(count);
  trial.residual.resize(static_cast<Eigen::Index>(unknowns));
  trial.failure.clear();
  ++trial.evaluations;
  if (!Compressors(x, shift, trial) || !Turbines(x, modes, shift, trial)) return false;
  Eigen::Index row = static_cast<Eigen::Index>(kRatios + count);
  for (std::size_t i = 0; i < count; ++i)
    if (modes.Free(i)) trial.residual[row++] = HoldEquation(i, trial);
  return trial.residual.allFinite();
}

bool BalanceSolver::Newton(std::vector<double>& x, const Modes& modes, Trial& trial) const {
  const auto n = static_cast<Eigen::Index>(Unknowns(modes));
  if (!Evaluate(x, modes, {}, trial)) return false;
  Eigen::MatrixXd jacobian(n, n);
  const auto fill = [&] {
    for (Eigen::Index c = 0; c < n; ++c) {
      Trial moved = trial;
      std::vector<double> at = x;
      const double step = 1e-6;
      at[static_cast<std::size_t>(c)] += step;
      if (!Evaluate(at, modes, {}, moved)) return false;
      trial.evaluations = moved.evaluations;
      jacobian.col(c) = (moved.residual - trial.residual) / step;
    }
    return true;
  };
  bool fresh = false, wanted = true;
  double last = trial.residual.norm();
  for (int iteration = 0; iteration < 80; ++iteration) {
    if (trial.residual.lpNorm<Eigen::Infinity>() < kSolved) return true;
    if (wanted) {
      if (!fill()) return false;
      fresh = true;
      wanted = false;
    }
    Eigen::VectorXd step = jacobian.fullPivLu().solve(-trial.residual);
    if (!step.allFinite()) return false;
    // No unknown runs away: its own longest step.
    double share = 1.0;
    for (Eigen::Index c = 0; c < n; ++c) {
      const double longest = c == static_cast<Eigen::Index>(kManifold) ? 0.2 : 0.6;
      share = std::min(share, longest / std::max(std::abs(step[c]), 1e-300));
    }
    bool moved = false;
    for (int k = 0; k < 9 && !moved; ++k, share *= 0.5) {
      Trial next = trial;
      std::vector<double> at = x;
      for (Eigen::Index c = 0; c < n; ++c) at[static_cast<std::size_t>(c)] += share * step[c];
      const bool good = Evaluate(at, modes, {}, next);
      trial.evaluations = next.evaluations;
      if (!good || !(next.residual.norm() < (1.0 - 1e-3 * share) * last)) {
        if (!fresh) break;  // an old slope is no reason for small steps
        continue;
      }
      const Eigen::VectorXd taken = share * step, change = next.residual - trial.residual;
      jacobian += (change - jacobian * taken) * taken.transpose() / taken.squaredNorm();
      // Where the step brought little, the slopes are no longer true.
      wanted = next.residual.norm() > 0.3 * last && share >= 1.0;
      fresh = false;
      last = next.residual.norm();
      x = std::move(at);
      trial = std::move(next);
      moved = true;
    }
    if (moved) continue;
    if (trial.residual.lpNorm<Eigen::Infinity>() < 1e-9) return true;  // the noise of the maps' reading
    if (fresh) return false;
    wanted = true;
  }
  return false;
}

std::vector<double> BalanceSolver::ColdStart(double ratio, const Modes& modes) const {
  std::vector<double> x(kRatios);
  const double count = static_cast<double>(holds_.size());
  const double manifold_K = point_->cooler.effectiveness > 0.5 ? point_->cooler.coolant_K + 15.0 : point_->ambient.temperature_K + 60.0;
  const double manifold_Pa = point_->ambient.pressure_Pa * std::pow(ratio, count) * 0.95;
  x[kFlow] = std::log(EngineAirFlow(point_->engine, point_->speed_rev_s, manifold_Pa, manifold_K, air_gas_.GasConstant()));
  x[kManifold] = manifold_K / kKelvins;
  for (std::size_t i = 0; i < holds_.size(); ++i) x.push_back(UnknownOf(ratio));
  for (std::size_t i = 0; i < holds_.size(); ++i)
    if (modes.Free(i)) x.push_back(0.4);
  return x;
}

bool BalanceSolver::FromAnywhere(std::vector<double>& x, const Modes& modes, Trial& trial) const {
  const auto attempt = [&](std::vector<double> start) {
    Trial tried;
    tried.evaluations = trial.evaluations;
    const bool done = Newton(start, modes, tried);
    const bool nearer = trial.residual.size() == 0 || (tried.residual.size() > 0 && tried.residual.allFinite() && tried.residual.norm() < trial.residual.norm());
    if (done || nearer) {
      trial = std::move(tried);
      x = std::move(start);
    } else {
      trial.evaluations = tried.evaluations;
      if (trial.failure.empty()) trial.failure = tried.failure;
    }
    return done;
  };
  if (x.size() == Unknowns(modes) && attempt(x)) return true;
  const OperatingTarget& target = point_->target;
  double overall = 2.2;
  if (target.manifold_Pa) overall = 1.05 * *target.manifold_Pa / point_->ambient.pressure_Pa;
  if (target.boost_Pa) overall = 1.05 * (*target.boost_Pa / point_->ambient.pressure_Pa + 1.0);
  const double each = std::pow(std::max(overall, 1.05), 1.0 / static_cast<double>(holds_.size()));
  for (const double ratio : {each, 1.0 + 0.5 * (each - 1.0), 1.15, 1.6, 2.4, 1.02, 3.2})
    if (attempt(ColdStart(ratio, modes))) return true;
  return false;
}

// Solves with regulators where they stand, and moves those that would leave their travel to its ends.
bool BalanceSolver::Regulate(std::vector<double>& x, Modes& modes, Trial& trial) const {
  std::vector<int> flips(holds_.size(), 0);
  for (int round = 0; round < 12; ++round) {
    Trial tried;
    tried.evaluations = trial.evaluations;
    const bool done = FromAnywhere(x, modes, tried);
    trial = std::move(tried);
    if (!done) return false;
    bool changed = false;
    for (std::size_t i = 0; i < holds_.size(); ++i) {
      if (holds_[i] == Holds::kNothing) continue;
      Regulation next = modes.regulation[i];
      if (next == Regulation::kHolding) {
        if (trial.turbines[i].opening < 0.0) next = Regulation::kClosed;
        if (trial.turbines[i].opening > 1.0) next = Regulation::kOpen;
      } else {
        // Closed and more than what is to be held: it would open. Open and less: it would close.
        const double held = HoldEquation(i, trial);
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
      return std::none_of(holds_.begin(), holds_.end(), [&](const Holds& holds) {
        const auto i = static_cast<std::size_t>(&holds - holds_.data());
        return modes.Free(i) && (trial.turbines[i].opening < -1e-9 || trial.turbines[i].opening > 1.0 + 1e-9);
      });
    }
    // The unknowns of the next round from those of this one.
    x.resize(kRatios + holds_.size());
    for (std::size_t i = 0; i < holds_.size(); ++i)
      if (modes.Free(i)) x.push_back(std::clamp(trial.turbines[i].opening, 0.02, 0.98));
  }
  return false;
}

// The slow way for one regulator: its opening is stepped and halved, each time with it fixed.
bool BalanceSolver::Bisect(std::vector<double>& x, Modes& modes, Trial& trial) const {
  const auto holder = std::find_if(holds_.begin(), holds_.end(), [](Holds holds) { return holds != Holds::kNothing; });
  if (holder == holds_.end() || std::count_if(holds_.begin(), holds_.end(), [](Holds holds) { return holds != Holds::kNothing; }) > 1) return false;
  const auto stage = static_cast<std::size_t>(holder - holds_.begin());
  const auto at = [&](double opening, Regulation regulation) {
    modes.regulation[stage] = regulation;
    modes.opening[stage] = opening;
    x.resize(std::min(x.size(), kRatios + holds_.size()));
    Trial tried;
    tried.evaluations = trial.evaluations;
    const bool done = FromAnywhere(x, modes, tried);
    trial = std::move(tried);
    return done;
  };
  double low = 0.0, high = 1.0;
  if (!at(low, Regulation::kClosed)) return false;
  if (HoldEquation(stage, trial) <= 0.0) return true;
  if (!at(high, Regulation::kOpen)) return false;
  if (HoldEquation(stage, trial) >= 0.0) return true;
  for (int k = 0; k < 60; ++k) {
    const double half = 0.5 * (low + high);
    if (!at(half, Regulation::kHeld)) return false;
    const double held = HoldEquation(stage, trial);
    if (std::abs(held) < kSolved) break;
    (held > 0.0 ? low : high) = half;
  }
  trial.turbines[stage].regulation = Regulation::kHolding;
  return std::abs(HoldEquation(stage, trial)) < 1e-8;
}

Result<BalanceState> BalanceSolver::Solve(const BalanceState* start) const {
  Modes modes;
  for (std::size_t i = 0; i < holds_.size(); ++i) {
    const TurbineStage& given = *case_->stages[i].turbine;
    const TurbineFacts& facts = (*turbines_)[i]->facts();
    modes.regulation.push_back(holds_[i] == Holds::kNothing ? Regulation::kHeld : Regulation::kHolding);
    double opening = given.wastegate_opening.value_or(0.0);
    if (facts.has_vanes && given.vane_opening)
      opening = (*given.vane_opening / facts.parameter_factor - facts.closed_opening) / (facts.open_opening - facts.closed_opening);
    modes.opening.push_back(opening);
  }
  std::vector<double> x;
  Trial trial;
  if (start != nullptr && start->turbines.size() == holds_.size()) {
    x = start->unknowns;
    for (std::size_t i = 0; i < holds_.size(); ++i) {
      if (holds_[i] == Holds::kNothing) continue;
      modes.regulation[i] = start->turbines[i].regulation;
      if (modes.regulation[i] == Regulation::kHeld) modes.regulation[i] = Regulation::kHolding;
      modes.opening[i] = start->turbines[i].opening;
    }
  }
  const Modes first = modes;
  if (Regulate(x, modes, trial)) return Finish(x, modes, trial);
  modes = first;
  for (std::size_t i = 0; i < holds_.size(); ++i)
    if (holds_[i] != Holds::kNothing) modes.regulation[i] = Regulation::kClosed, modes.opening[i] = 0.0;
  x.clear();
  if (Regulate(x, modes, trial)) return Finish(x, modes, trial);
  modes = first;
  x.clear();
  if (Bisect(x, modes, trial)) return Finish(x, modes, trial);
  return Fail(ErrorCode::kBadCase, WhatIsOut(trial));
}

BalanceState BalanceSolver::Finish(const std::vector<double>& x, const Modes& modes, Trial& trial) const {
  BalanceState state;
  for (std::size_t i = 0; i < holds_.size(); ++i) {
    StageState& at = trial.air.stages[i];
    at.reading = (*compressors_)[i]->Read({trial.air.air_flow_kg_s, at.inlet_K, at.inlet_Pa, at.pressure_ratio});
  }
  state.air = std::move(trial.air);
  state.air.iterations = trial.evaluations;
  state.exhaust = trial.exhaust;
  state.back_pressure_Pa = trial.back_pressure_Pa;
  state.drive_Pa = trial.turbines.back().inlet_Pa;
  state.residual = trial.residual.lpNorm<Eigen::Infinity>();
  state.evaluations = trial.evaluations;
  trial.air.manifold_Pa = state.air.manifold_Pa;
  trial.air.air_flow_kg_s = state.air.air_flow_kg_s;
  state.target_ratio = TargetRatio(trial);
  state.target_held = std::abs(state.target_ratio - 1.0) < 1e-7;
  for (std::size_t i = 0; i < holds_.size(); ++i) {
    TurbineState& at = trial.turbines[i];
    if (modes.Free(i)) at.regulation = Regulation::kHolding;
  }
  state.turbines = std::move(trial.turbines);
  state.unknowns = x;
  return state;
}

// One equation left open names the element that cannot follow.
std::string BalanceSolver::WhatIsOut(const Trial& best) const {
  if (!best.failure.empty() && (best.residual.size() == 0 || !best.residual.allFinite())) return best.failure;
  if (best.air.stages.size() != holds_.size() || best.turbines.size() != holds_.size() || best.residual.size() == 0)
    return best.failure.empty() ? "the case gives nothing to start from; look at speed, displacement and target." : best.failure;
  for (std::size_t i = 0; i < holds_.size(); ++i) {
    const StageState& at = best.air.stages[i];
    const CompressorReading reading = (*compressors_)[i]->Read({best.air.air_flow_kg_s, at.inlet_K, at.inlet_Pa, at.pressure_ratio});
    if (reading.inside) continue;
    return fmt::format("the compressor of stage \"{}\" is off its map ({}, at {:.4g} {} and pressure ratio {:.3f}), and no balance is found there.",
                       case_->stages[i].name, MapRegionName(reading.region), reading.map_flow, (*compressors_)[i]->facts().flow_unit, at.pressure_ratio);
  }
  std::size_t worst = 0;
  for (std::size_t i = 1; i < holds_.size(); ++i)
    if (std::abs(best.residual[static_cast<Eigen::Index>(kRatios + i)]) > std::abs(best.residual[static_cast<Eigen::Index>(kRatios + worst)])) worst = i;
  const TurbineState& at = best.turbines[worst];
  const double passes = at.flow_kg_s + at.wastegate_flow_kg_s;
  return fmt::format("the turbine of stage \"{}\" cannot be matched: at an expansion ratio of {:.2f} it and its wastegate pass {:.4g} kg/s of {:.4g} kg/s ({}).",
                     case_->stages[worst].name, at.expansion_ratio, passes, best.exhaust.flow_kg_s,
                     passes < best.exhaust.flow_kg_s ? "choked: it needs a larger port or turbine" : "too large to drive its compressor");
}

BalanceSpread BalanceSolver::Spread(const BalanceState& solved) const {
  const std::size_t count = holds_.size();
  BalanceSpread spread;
  spread.outlet_K.assign(count, 0.0);
  spread.surge_margin.assign(count, 0.0);
  Modes modes;
  for (const TurbineState& turbine : solved.turbines) {
    modes.regulation.push_back(turbine.regulation);
    modes.opening.push_back(turbine.opening);
  }
  const auto n = static_cast<Eigen::Index>(Unknowns(modes));
  if (static_cast<Eigen::Index>(solved.unknowns.size()) != n) return spread;
  Trial base;
  if (!Evaluate(solved.unknowns, modes, {}, base)) return spread;
  Eigen::MatrixXd jacobian(n, n);
  for (Eigen::Index c = 0; c < n; ++c) {
    Trial moved = base;
    std::vector<double> x = solved.unknowns;
    x[static_cast<std::size_t>(c)] += 1e-6;
    if (!Evaluate(x, modes, {}, moved)) return spread;
    jacobian.col(c) = (moved.residual - base.residual) / 1e-6;
  }
  const Eigen::FullPivLU<Eigen::MatrixXd> solve(jacobian);
  const auto margin = [&](const Trial& trial, std::size_t i) {
    const StageState& at = trial.air.stages[i];
    return (*compressors_)[i]->Read({trial.air.air_flow_kg_s, at.inlet_K, at.inlet_Pa, at.pressure_ratio}).surge_margin;
  };
  const auto add = [&](const Shift& shift) {
    Trial shifted = base;
    if (!Evaluate(solved.unknowns, modes, shift, shifted)) return;
    const Eigen::VectorXd step = solve.solve(base.residual - shifted.residual);
    if (!step.allFinite()) return;
    std::vector<double> x = solved.unknowns;
    for (Eigen::Index c = 0; c < n; ++c) x[static_cast<std::size_t>(c)] += step[c];
    if (!Evaluate(x, modes, shift, shifted)) return;
    const auto square = [](double& sum, double moved) { sum += moved * moved; };
    square(spread.manifold_K, shifted.air.manifold_K - base.air.manifold_K);
    square(spread.manifold_Pa, shifted.air.manifold_Pa - base.air.manifold_Pa);
    square(spread.air_flow_kg_s, shifted.air.air_flow_kg_s - base.air.air_flow_kg_s);
    square(spread.drive_Pa, shifted.turbines.back().inlet_Pa - base.turbines.back().inlet_Pa);
    for (std::size_t i = 0; i < count; ++i) {
      square(spread.outlet_K[i], shifted.air.stages[i].outlet_K - base.air.stages[i].outlet_K);
      const auto moved = margin(shifted, i), before = margin(base, i);
      if (moved && before) square(spread.surge_margin[i], *moved - *before);
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
