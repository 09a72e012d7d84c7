#pragma once
// The air that a point breathes, as a gas, and what pipes take from its pressure.

#include "mapstore/bench/bench_case.h"
#include "mapstore/bench/gas.h"

namespace islebook {

struct IntakeAir {
  WorkingGas gas = WorkingGas::DryAir();
  double humidity_ratio = 0.0;  // kg of water per kg of dry air
};

IntakeAir IntakeAirOf(const OperatingPoint& point);

// Pa; `before_Pa` stands before the loss.
double PressureDrop(const PressureLoss& loss, double before_Pa, double flow_kg_s);

}  // namespace islebook
