#include "mapstore/bench/balance_equations.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>
#include <boost/math/tools/toms748_solve.hpp>

#include "mapstore/bench/compression.h"
#include "mapstore/bench/engine.h"
#include "mapstore/bench/intake_air.h"
#include "mapstore/bench/nozzle.h"

namespace islebook {
namespace {

constexpr double kKelvins = 300.0;
constexpr double kHighestLogExpansion = 3.0;  // an expansion ratio of 20

double RatioOf(double unknown) { return std::exp(std::exp(std::clamp(unknown, -14.0, 1.2))); }
double UnknownOf(double ratio) { return std::log(std::log(std::max(ratio, 1.0 + 1e-6))); }

}  // namespace

BalanceEquations::BalanceEquations(const OperatingPoint& point, const BenchCase& asked, const std::vector<const CompressorReader*>& compressors,
                                   const std::vector<const TurbineReader*>& turbines, ExhaustModel exhaust)
    : point_(&point), case_(&asked), compressors_(&compressors), turbines_(&turbines), air_gas_(WorkingGas::DryAir()), exhaust_(std::move(exhaust)) {
  const IntakeAir air = IntakeAirOf(point);
  air_gas_ = air.gas;
  humidity_ratio_ = air.humidity_ratio;
}

Result<BalanceEquations> BalanceEquations::Make(const OperatingPoint& point, const BenchCase& asked,
                                                const std::vector<const CompressorReader*>& compressors,
                                                const std::vector<const TurbineReader*>& turbines) {
  const IntakeAir air = IntakeAirOf(point);
  auto exhaust = ExhaustModel::Make(point, air.gas, air.humidity_ratio);
  if (!exhaust) return std::unexpected(exhaust.error());
  BalanceEquations equations(point, asked, compressors, turbines, std::move(*exhaust));
  equations.holds_.assign(asked.stages.size(), Held::kNothing);
  int holder = -1;
  for (std::size_t i = 0; i < asked.stages.size(); ++i) {
    const CompressorStage& stage = asked.stages[i];
    if (!stage.turbine)
      return Fail(ErrorCode::kBadCase, fmt::format("stage \"{}\" has no turbine, and the others have; give each one or none.", stage.name));
    const bool vanes = turbines[i]->facts().has_vanes && !stage.turbine->vane_opening;
    const bool gate = stage.turbine->wastegate_area_m2 > 0.0 && !stage.turbine->wastegate_opening;
    if (stage.turbine->vane_opening && !turbines[i]->facts().has_vanes)
      return Fail(ErrorCode::kBadCase,
                  fmt::format("stage \"{}\" is given a vane_opening, and the lines of its turbine map are not labeled with openings.", stage.name));
    if (stage.turbine->vane_opening) {
      const TurbineFacts& facts = turbines[i]->facts();
      const double lowest = stage.turbine->vane_opening->Lowest() / facts.parameter_factor;
      const double highest = stage.turbine->vane_opening->Highest() / facts.parameter_factor;
      const double label = lowest < facts.closed_opening - 1e-9 ? lowest : highest;
      if (lowest < facts.closed_opening - 1e-9 || highest > facts.open_opening + 1e-9)
        return Fail(ErrorCode::kBadCase,
                    fmt::format("stage \"{}\": a vane_opening of {:.4g} {} lies outside the lines of the turbine map, {:.4g} to {:.4g}.", stage.name,
                                label, facts.parameter_unit, facts.closed_opening, facts.open_opening));
    }
    if (vanes && gate)
      return Fail(ErrorCode::kBadCase,
                  fmt::format("stage \"{}\" has vanes and a wastegate that both regulate; give vane_opening or wastegate_opening.", stage.name));
    const bool own = stage.pressure_ratio || stage.outlet_Pa;
    if (own && !vanes && !gate)
      return Fail(ErrorCode::kBadCase,
                  fmt::format("stage \"{}\" is given a pressure to hold and has nothing to hold it with: a wastegate_diameter without "
                              "wastegate_opening, or a map with vanes without vane_opening.",
                              stage.name));
    if (own) {
      equations.holds_[i] = Held::kOutlet;
    } else if (vanes || gate) {
      if (holder >= 0)
        return Fail(ErrorCode::kBadCase,
                    fmt::format("stages \"{}\" and \"{}\" both regulate, and only the last can hold the engine's target; give the first an "
                                "outlet_pressure or pressure_ratio to hold, or a fixed opening.",
                                asked.stages[static_cast<std::size_t>(holder)].name, stage.name));
      holder = static_cast<int>(i);
      equations.holds_[i] = Held::kTarget;
    }
  }
  return equations;
}

std::size_t BalanceEquations::Unknowns(const BalanceModes& modes) const {
  std::size_t count = kRatioUnknowns + holds_.size();
  for (std::size_t i = 0; i < holds_.size(); ++i) count += modes.Free(i) ? 1 : 0;
  return count;
}

bool BalanceEquations::Compressors(const std::vector<double>& x, const BalanceShift& shift, BalanceTrial& trial) const {
  PointState& air = trial.air;
  air.air_flow_kg_s = std::exp(x[kFlowUnknown]);
  air.manifold_K = x[kManifoldUnknown] * kKelvins;
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
      trial.failure =
          fmt::format("the losses before stage \"{}\" take more than two thirds of the ambient pressure at {:.4g} kg/s; look at inlet_loss.",
                      stage.name, air.air_flow_kg_s);
      return false;
    }
    at.inlet_K = temperature;
    at.inlet_Pa = pressure;
    at.pressure_ratio = RatioOf(x[kRatioUnknowns + i]);
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
  trial.residual[kFlowUnknown] = x[kFlowUnknown] - std::log(breathed);
  trial.residual[kManifoldUnknown] = x[kManifoldUnknown] - cooled / kKelvins;
  return true;
}

// Finds the expansion ratio at which the turbine gives `power_W`, and returns ln of what turbine and wastegate pass over the exhaust flow. `at` holds inlet temperature, outlet
// pressure and opening.
double BalanceEquations::DriveStage(std::size_t stage, double power_W, double exhaust_flow, const BalanceShift& shift, TurbineState& at) const {
  const TurbineStage& given = *case_->stages[stage].turbine;
  const TurbineReader& turbine = *(*turbines_)[stage];
  const WorkingGas& gas = exhaust_.gas();
  const double enthalpy = gas.Enthalpy(at.inlet_K), gamma = gas.Gamma(at.inlet_K);
  const bool vanes = turbine.facts().has_vanes;
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
  const double port = vanes && given.wastegate_opening ? given.wastegate_opening->At(point_->speed_rev_s) : vanes ? 0.0 : at.opening;
  at.wastegate_flow_kg_s = given.wastegate_discharge * given.wastegate_area_m2 * port * at.inlet_Pa / std::sqrt(gas.GasConstant() * at.inlet_K) *
                           FlowFunction(gamma, at.expansion_ratio);
  if (vanes) at.vane_opening = inlet.vane_opening;
  return std::log(std::max(at.flow_kg_s + at.wastegate_flow_kg_s, 1e-6 * exhaust_flow) / exhaust_flow);
}

bool BalanceEquations::Turbines(const std::vector<double>& x, const BalanceModes& modes, const BalanceShift& shift, BalanceTrial& trial) const {
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
  std::size_t opening = kRatioUnknowns + count;
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
    trial.residual[kRatioUnknowns + i] = DriveStage(i, power[i], exhaust->flow_kg_s, shift, at);
    pressure = at.inlet_Pa;
  }
  return true;
}

double BalanceEquations::TargetRatio(const BalanceTrial& trial) const {
  const OperatingTarget& target = point_->target;
  if (target.manifold_Pa) return trial.air.manifold_Pa / *target.manifold_Pa;
  if (target.boost_Pa) return trial.air.manifold_Pa / (point_->ambient.pressure_Pa + *target.boost_Pa);
  if (target.air_flow_kg_s) return trial.air.air_flow_kg_s / *target.air_flow_kg_s;
  const double fuel = target.fuel_flow_kg_s ? *target.fuel_flow_kg_s : target.power_W.value_or(0.0) * target.fuel_consumption_kg_J.value_or(0.0);
  return trial.air.air_flow_kg_s / (fuel * target.air_fuel_ratio.value_or(0.0) * (1.0 + humidity_ratio_));
}

// ln of what stands over what is to be held.
double BalanceEquations::HoldEquation(std::size_t stage, const BalanceTrial& trial) const {
  if (holds_[stage] == Held::kTarget) return std::log(TargetRatio(trial));
  const CompressorStage& given = case_->stages[stage];
  const StageState& at = trial.air.stages[stage];
  return given.outlet_Pa ? std::log(at.outlet_Pa / *given.outlet_Pa) : std::log(at.pressure_ratio / *given.pressure_ratio);
}

bool BalanceEquations::Evaluate(const std::vector<double>& x, const BalanceModes& modes, const BalanceShift& shift, BalanceTrial& trial) const {
  const std::size_t count = holds_.size(), unknowns = Unknowns(modes);
  trial.air.stages.resize(count);
  trial.turbines.resize(count);
  trial.work.resize(count);
  trial.residual.resize(unknowns);
  trial.failure.clear();
  ++trial.evaluations;
  return Compressors(x, shift, trial) && EvaluateExhaust(x, modes, shift, trial);
}

bool BalanceEquations::EvaluateExhaust(const std::vector<double>& x, const BalanceModes& modes, const BalanceShift& shift,
                                       BalanceTrial& trial) const {
  const std::size_t count = holds_.size();
  if (!Turbines(x, modes, shift, trial)) return false;
  std::size_t row = kRatioUnknowns + count;
  for (std::size_t i = 0; i < count; ++i)
    if (modes.Free(i)) trial.residual[row++] = HoldEquation(i, trial);
  return std::all_of(trial.residual.begin(), trial.residual.end(), [](double value) { return std::isfinite(value); });
}

std::vector<double> BalanceEquations::ColdStart(double ratio, const BalanceModes& modes) const {
  std::vector<double> x(kRatioUnknowns);
  const double count = static_cast<double>(holds_.size());
  const double manifold_K = point_->cooler.effectiveness > 0.5 ? point_->cooler.coolant_K + 15.0 : point_->ambient.temperature_K + 60.0;
  const double manifold_Pa = point_->ambient.pressure_Pa * std::pow(ratio, count) * 0.95;
  x[kFlowUnknown] = std::log(EngineAirFlow(point_->engine, point_->speed_rev_s, manifold_Pa, manifold_K, air_gas_.GasConstant()));
  x[kManifoldUnknown] = manifold_K / kKelvins;
  for (std::size_t i = 0; i < holds_.size(); ++i) x.push_back(UnknownOf(ratio));
  for (std::size_t i = 0; i < holds_.size(); ++i)
    if (modes.Free(i)) x.push_back(0.4);
  return x;
}

}  // namespace islebook
