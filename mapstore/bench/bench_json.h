#pragma once
// A bench result as one JSON document, described in CASE_FILE.md ("The report as JSON"). SI; the unit is the end of each key.

#include <string>

#include "mapstore/bench/bench.h"

namespace islebook {

inline constexpr int kBenchReportSchema = 1;

std::string WriteBenchReport(const BenchResult& result);

}  // namespace islebook
