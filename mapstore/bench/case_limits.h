#pragma once
// The [limits] of a case file: where a number stops being "room" and where it is "over".

#include <vector>

#include "mapstore/bench/case_reader.h"

namespace islebook {

const std::vector<const char*>& LimitKeys();
// The defaults of BenchLimits where a key is absent. What contradicts itself is refused in `reader`.
BenchLimits ParseLimits(const CaseSection& section, CaseReader& reader);

}  // namespace islebook
