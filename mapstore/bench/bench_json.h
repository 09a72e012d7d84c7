#pragma once
// A bench result, and what to change first, each as one JSON document, described in CASE_FILE.md. SI; the unit is the end of each key.

#include <string>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/what_first.h"

namespace islebook {

inline constexpr int kBenchReportSchema = 1;

std::string WriteBenchReport(const BenchResult& result);
std::string WriteBenchChanges(const WhatFirst& found);
const char* RegulationName(Regulation regulation);  // "holding", ...

}  // namespace islebook
