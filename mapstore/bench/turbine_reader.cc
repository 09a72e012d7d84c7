#include "mapstore/bench/turbine_reader.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "mapstore/bench/nozzle.h"
#include "mapstore/surface/turbine_surface.h"
#include "mapstore/units/correction.h"
#include "mapstore/units/isentropic.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

// Speeds of turbine maps that name no reference: a hot gas stand's usual inlet.
constexpr double kStandTemperature = 873.15;

class AreaReader : public TurbineReader {
 public:
  AreaReader(double area, double efficiency, TurbineFacts facts) : area_(area), efficiency_(efficiency), facts_(std::move(facts)) {}
  const TurbineFacts& facts() const override { return facts_; }
  TurbineReading Read(const TurbineInlet& inlet, const WorkingGas& gas) const override {
    TurbineReading reading;
    reading.flow_kg_s =
        area_ * inlet.inlet_Pa / std::sqrt(gas.GasConstant() * inlet.inlet_K) * FlowFunction(gas.Gamma(inlet.inlet_K), inlet.expansion_ratio);
    reading.efficiency = efficiency_;
    reading.sigma_flow = 0.02;
    reading.sigma_efficiency = 0.04;
    return reading;
  }

 private:
  double area_, efficiency_;
  TurbineFacts facts_;
};

class MapReader : public TurbineReader {
 public:
  struct Scales {
    double flow_si = 1.0;  // one map unit of flow in kg/s, or of the flow parameter in kg K0.5 / (s Pa)
    double reference_K = 288.15, reference_Pa = 101325.0;
    bool flow_parameter = false;
    double speed_si = 0.0;  // one label in rev/s; 0: not a rotational speed
    double speed_reference_K = kStandTemperature;
    double wheel_diameter_m = 0.0;
    std::optional<Gas> stand_gas;  // what the map was measured with, where that is not the engine's exhaust
  };
  MapReader(TurbineSurface surface, Scales scales, double assumed_efficiency, TurbineFacts facts)
      : surface_(std::move(surface)), scales_(scales), assumed_efficiency_(assumed_efficiency), facts_(std::move(facts)) {}
  const TurbineFacts& facts() const override { return facts_; }

  TurbineReading Read(const TurbineInlet& asked, const WorkingGas& gas) const override {
    TurbineReading reading;
    const Similar similar = SimilarOnTheStand({gas.Gamma(asked.inlet_K), gas.GasConstant()}, asked);
    const TurbineInlet& inlet = similar.inlet;
    const std::vector<double>& lines = surface_.LineValues();
    double wanted = lines.front();
    if (facts_.has_vanes) {
      wanted = inlet.vane_opening;
    } else if (surface_.Parameter() == TurbineParameter::kSpeed) {
      wanted = inlet.speed_rev_s && scales_.speed_si > 0.0
                   ? *inlet.speed_rev_s / scales_.speed_si / std::sqrt(inlet.inlet_K / scales_.speed_reference_K)
                   : 0.5 * (lines.front() + lines.back());
    }
    const double parameter = std::clamp(wanted, lines.front(), lines.back());
    reading.parameter = wanted;
    const bool off_lines = std::abs(wanted - parameter) > 1e-9 * std::abs(lines.back());
    ReadFlow(inlet, parameter, reading);
    reading.flow_kg_s *= similar.flow_factor;
    // Vanes beyond their outermost lines keep opening as they did between them, so that a search can step back in.
    if (facts_.has_vanes && off_lines) reading.flow_kg_s *= BeyondVanes(wanted, parameter);
    ReadEfficiency(inlet, parameter, reading);
    reading.flow_beyond = reading.flow_beyond || off_lines;
    reading.efficiency_beyond = reading.efficiency_beyond || off_lines;
    return reading;
  }

 private:
  struct Similar {
    TurbineInlet inlet;        // with the expansion ratio and the shaft speed at which the stand's gas flows alike
    double flow_factor = 1.0;  // flow of this gas over that of the stand's, at the same inlet temperature and pressure
  };
  // The "equivalent" values of NASA TN D-7881, p. 4, from one gas to another: the flow as epsilon sqrt(theta_cr) has it, which is the choked flow of the two gases; the speed as
  // sqrt(theta_cr); the expansion ratio of the same work over theta_cr.
  Similar SimilarOnTheStand(const Gas& gas, const TurbineInlet& asked) const {
    Similar similar{asked};
    if (!scales_.stand_gas) return similar;
    const Gas& stand = *scales_.stand_gas;
    const auto critical = [](const Gas& of) { return of.gamma / (of.gamma + 1.0) * of.gas_constant; };
    similar.flow_factor = ChokedFlowFunction(gas.gamma) / ChokedFlowFunction(stand.gamma) * std::sqrt(stand.gas_constant / gas.gas_constant);
    similar.inlet.expansion_ratio = EquivalentPressureRatio(asked.expansion_ratio, gas.gamma, stand.gamma);
    if (asked.speed_rev_s) similar.inlet.speed_rev_s = *asked.speed_rev_s * std::sqrt(critical(stand) / critical(gas));
    similar.inlet.ideal_work_J_kg *= critical(stand) / critical(gas);  // so that the velocity ratio stays what it is
    return similar;
  }

  void ReadFlow(const TurbineInlet& inlet, double parameter, TurbineReading& reading) const {
    const double highest = surface_.MaxExpansionRatio(parameter);
    const double ratio = std::min(inlet.expansion_ratio, highest);
    reading.flow_beyond = inlet.expansion_ratio > highest * (1 + 1e-9) || inlet.expansion_ratio < surface_.MinExpansionRatio(parameter) * (1 - 1e-9);
    const auto flow = surface_.Flow(parameter, ratio, false);
    if (!flow) {
      reading.flow_beyond = true;
      return;
    }
    reading.map_flow = flow->value;
    reading.sigma_flow = flow->value > 0.0 ? flow->sigma / flow->value : 0.0;
    const double si = flow->value * scales_.flow_si;
    if (scales_.flow_parameter) {
      reading.flow_kg_s = si * inlet.inlet_Pa / std::sqrt(inlet.inlet_K);
    } else {
      reading.flow_kg_s = si * inlet.inlet_Pa / scales_.reference_Pa / std::sqrt(inlet.inlet_K / scales_.reference_K);
    }
  }

  double BeyondVanes(double wanted, double parameter) const {
    const double span = facts_.open_opening - facts_.closed_opening;
    return std::exp(2.0 * (wanted - parameter) / span);
  }

  void ReadEfficiency(const TurbineInlet& inlet, double parameter, TurbineReading& reading) const {
    reading.efficiency = assumed_efficiency_;
    reading.sigma_efficiency = 0.04;
    std::optional<TurbineValue> value;
    if (surface_.HasEfficiency()) {
      const double low = surface_.MinExpansionRatio(parameter), high = surface_.MaxExpansionRatio(parameter);
      const double ratio = std::clamp(inlet.expansion_ratio, low, high);
      reading.efficiency_beyond = std::abs(ratio - inlet.expansion_ratio) > 1e-9 * ratio;
      value = surface_.Efficiency(parameter, ratio, false);
    } else if (surface_.HasEfficiencyOverVelocityRatio() && scales_.wheel_diameter_m > 0.0 && inlet.speed_rev_s && inlet.ideal_work_J_kg > 0.0) {
      const double tip = std::numbers::pi * scales_.wheel_diameter_m * *inlet.speed_rev_s;
      value = surface_.EfficiencyAtVelocityRatio(parameter, tip / std::sqrt(2.0 * inlet.ideal_work_J_kg));
    }
    if (!value || !(value->value > 0.05)) {
      reading.efficiency_beyond = true;
      return;
    }
    reading.efficiency = value->value;
    reading.sigma_efficiency = value->sigma;
  }

  TurbineSurface surface_;
  Scales scales_;
  double assumed_efficiency_;
  TurbineFacts facts_;
};

}  // namespace

Result<std::unique_ptr<TurbineReader>> MakeTurbineReader(const PerformanceMap* map, const TurbineStage& stage, const std::string& stage_name,
                                                         const std::string& revision) {
  TurbineFacts facts;
  facts.source = stage.map;
  facts.revision = revision;
  const double assumed = stage.assumed_efficiency.value_or(kAssumedTurbineEfficiency);
  if (map == nullptr) {
    if (!stage.effective_area_m2)
      return Fail(ErrorCode::kBadCase, fmt::format("stage \"{}\" has a turbine without map or effective area.", stage_name));
    facts.title = fmt::format("effective area {:.4g} cm2, efficiency {:.3g} %", *stage.effective_area_m2 * 1e4, 100 * assumed);
    return std::make_unique<AreaReader>(*stage.effective_area_m2, assumed, std::move(facts));
  }
  if (map->kind != MapKind::kTurbine)
    return Fail(ErrorCode::kWrongKind, fmt::format("stage \"{}\" wants a turbine map, and \"{}\" is {}.", stage_name, stage.map,
                                                   map->kind == MapKind::kCompressor ? "a compressor map" : "no performance map"));
  auto surface = TurbineSurface::Build(*map);
  if (!surface) {
    Error error = surface.error();
    error.message = fmt::format("the map \"{}\" cannot be read: {}", stage.map, error.message);
    return std::unexpected(error);
  }
  if (!surface->HasFlow())
    return Fail(ErrorCode::kBadCase, fmt::format("the map \"{}\" has no flow lines, so it does not say what the turbine swallows; give "
                                                 "turbine_effective_area instead.",
                                                 stage.map));
  const Axis& flow_axis =
      map->y && (map->y->quantity == Quantity::kExpansionRatioTotalToStatic || map->y->quantity == Quantity::kExpansionRatioTotalToTotal) ? *map->x
                                                                                                                                          : *map->y;
  MapReader::Scales scales;
  const auto flow_unit = ParseUnit(flow_axis.unit);
  if (!flow_unit) return std::unexpected(flow_unit.error());
  scales.flow_si = flow_unit->factor;
  scales.flow_parameter = flow_unit->dimension == Dimension::kFlowParameter;
  if (!scales.flow_parameter && flow_unit->dimension != Dimension::kMassFlow)
    return Fail(ErrorCode::kIncompatibleUnit,
                fmt::format("the flow axis of the map \"{}\" is in {}; a turbine's flow is a corrected mass flow or W sqrt(T)/p.", stage.map,
                            flow_axis.unit));
  const bool printed = map->reference_conditions && map->reference_conditions->basis == ReferenceConditions::Basis::kPrinted;
  if (map->reference_conditions) {
    scales.reference_K = map->reference_conditions->temperature_K;
    scales.reference_Pa = map->reference_conditions->pressure_Pa;
  }
  if (printed) scales.speed_reference_K = scales.reference_K;
  if (stage.reference_K) scales.reference_K = scales.speed_reference_K = *stage.reference_K;
  if (stage.reference_Pa) scales.reference_Pa = *stage.reference_Pa;
  scales.wheel_diameter_m = stage.wheel_diameter_m.value_or(0.0);
  if (stage.map_air_K) {
    const WorkingGas air = WorkingGas::DryAir();
    scales.stand_gas = Gas{air.Gamma(*stage.map_air_K), air.GasConstant()};
  }

  facts.has_map = true;
  facts.title = map->title;
  facts.flow_unit = flow_axis.unit;
  facts.parameter_unit = surface->ParameterUnit();
  if (const auto unit = ParseUnit(facts.parameter_unit)) facts.parameter_factor = unit->factor;
  facts.has_vanes = surface->Parameter() == TurbineParameter::kVaneOpening && surface->LineValues().size() > 1;
  facts.closed_opening = surface->LineValues().front();
  facts.open_opening = surface->LineValues().back();
  facts.has_efficiency = surface->HasEfficiency() || (surface->HasEfficiencyOverVelocityRatio() && stage.wheel_diameter_m);
  if (surface->Parameter() == TurbineParameter::kSpeed) {
    const auto speed_unit = ParseUnit(facts.parameter_unit);
    if (speed_unit && speed_unit->dimension == Dimension::kRotationalSpeed) scales.speed_si = speed_unit->factor / (2.0 * std::numbers::pi);
  }
  if (!printed && !stage.reference_K) {
    if (!scales.flow_parameter)
      facts.doubts.push_back(
          fmt::format("The turbine sheet does not print its reference conditions; its flow is taken as corrected to {:.2f} K and {:.2f} kPa. "
                      "Give turbine_reference_temperature and turbine_reference_pressure if you know them.",
                      scales.reference_K, scales.reference_Pa / 1000));
    if (scales.speed_si > 0.0)
      facts.doubts.push_back(
          "The turbine sheet does not say what its speeds are corrected to; 600 °C at the inlet is taken. Give "
          "turbine_reference_temperature if you know it.");
  }
  if (!facts.has_efficiency && !stage.assumed_efficiency)
    facts.doubts.push_back(
        fmt::format("The turbine map shows no efficiency that can be used; {:.0f} % is assumed. Write turbine_efficiency if you know it.",
                    100 * kAssumedTurbineEfficiency));
  for (const std::string& doubt : map->needs_review) facts.doubts.push_back(doubt);
  for (const std::string& note : surface->Notes()) facts.doubts.push_back(note);
  return std::make_unique<MapReader>(std::move(*surface), scales, assumed, std::move(facts));
}

}  // namespace islebook
