#pragma once
// The part of a case file about turbines, wastegates and the exhaust.

#include <optional>
#include <vector>

#include "mapstore/bench/case_reader.h"

namespace islebook {

// Keys of [[stage]] that only a turbine has, and those of [exhaust].
const std::vector<const char*>& TurbineKeys();
const std::vector<const char*>& ExhaustKeys();

// nullopt: the stage has no turbine. What is wrong is refused in the section's reader.
std::optional<TurbineStage> ParseTurbine(const CaseSection& stage, CaseReader& reader, std::vector<AssumedValue>& assumed);
// A point's own keys go before the section's: exhaust_temperature, back_pressure.
ExhaustPath ParseExhaust(const CaseSection& point, const CaseSection& exhaust, bool needed, std::vector<AssumedValue>& assumed);

// Where a case with turbines needs more of its points than one without: mixture and fuel consumption, with their defaults.
void FillFuel(bool needed, OperatingPoint& point, std::vector<AssumedValue>& assumed);

}  // namespace islebook
