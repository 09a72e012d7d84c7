#pragma once
// What leaves the engine for the turbines: how much gas, of what mixture, how hot. SI.
//
// Energy balance of the engine at a steady point, heats counted from 25 degrees C: air + fuel's heating value = brake power + heat to coolant + exhaust. The fuel
// burns completely (gas.h); its consumption is given, so that what pumping costs is part of it.

#include <optional>

#include "mapstore/bench/bench_case.h"
#include "mapstore/bench/gas.h"
#include "mapstore/units/error.h"

namespace islebook {

// Diesel fuel, common practice, no source: CH1.85.
inline constexpr double kFuelHeatingValue_J_kg = 42.8e6;
inline constexpr double kHeatDatum_K = 298.15;

struct EngineExhaust {
  double air_flow_kg_s = 0.0, fuel_flow_kg_s = 0.0;
  double flow_kg_s = 0.0;  // of exhaust
  double valve_K = 0.0;    // behind the valves
  double turbine_K = 0.0;  // before the first turbine: the manifold has lost some heat
  double brake_W = 0.0, coolant_W = 0.0, manifold_loss_W = 0.0;
};

// Per point: the mixture does not change with the flow, because the air-fuel ratio is held.
class ExhaustModel {
 public:
  // `gas`: the air, as the compressors take it in. kBadCase: the point has no air-fuel ratio, or one too rich to burn; or neither fuel consumption nor exhaust temperature.
  static Result<ExhaustModel> Make(const OperatingPoint& point, const WorkingGas& air, double humidity_ratio);
  // kBadCase: the balance leaves the gas colder than the manifold's air or hotter than 1,600 K; the numbers given do not fit together.
  Result<EngineExhaust> At(double air_flow_kg_s, double manifold_K) const;
  const WorkingGas& gas() const { return gas_; }

 private:
  ExhaustModel(const OperatingPoint& point, WorkingGas air, WorkingGas gas) : point_(&point), air_(air), gas_(gas) {}
  const OperatingPoint* point_;
  WorkingGas air_, gas_;
  double fuel_per_air_ = 0.0;    // moist air
  double power_per_fuel_ = 0.0;  // J/kg; 0: not needed
};

}  // namespace islebook
