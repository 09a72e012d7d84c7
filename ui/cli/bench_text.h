#pragma once
// A bench result as text for a person, in the units the case asks for.

#include <string>

#include "mapstore/bench/bench.h"

namespace islebook {

std::string BenchText(const BenchResult& result);

}  // namespace islebook
