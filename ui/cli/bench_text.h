#pragma once
// A bench result as text for a person, in the units the case asks for.

#include <string>

#include "mapstore/bench/bench.h"

namespace islebook {

std::string BenchText(const BenchResult& result);

// A point in a few words, for the key of a chart: "1,800 rpm: surge margin 14 % ± 1 %, close".
std::string BenchPointWords(const PointResult& point, std::size_t stage);

}  // namespace islebook
