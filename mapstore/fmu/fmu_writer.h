#pragma once
// A map as a functional mock-up: one FMU file (FMI 2.0, model exchange and co-simulation; a ZIP with modelDescription.xml, the library for Linux on x86-64 and the map).

#include <filesystem>
#include <string>

#include "mapstore/answers/askable_map.h"
#include "mapstore/units/error.h"

namespace islebook {

// The mock-up's bytes. The same map and library give the same bytes. `library`: the mock-up's shared library as it was built (islebook-fmu.so). Inputs start at a point in
// the middle of the map. kCannotRead: no library there; kNotEnoughCurves: no point on the map can be found to start from.
Result<std::string> WriteFmu(const AskableMap& map, const std::filesystem::path& library);

}  // namespace islebook
