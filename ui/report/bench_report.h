#pragma once
// A bench result as a PDF for a customer: what matters in one line, the points, boost and drive pressure over engine speed, every stage's map with the points on it, all
// verdicts, what was given and taken, the cautions.

#include <filesystem>
#include <vector>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/what_first.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

// `maps`: of the compressors, one a stage. A QGuiApplication must exist. kCannotWrite: nothing half-written is left.
Result<void> WriteBenchReportPdf(const std::filesystem::path& file, const BenchResult& result, const std::vector<const PerformanceMap*>& maps);

// What to change first as a drawing: a bar a change, the gain to the right. The ending says what it becomes: .svg, .png or .pdf. kInvalidArgument: another ending.
Result<void> WriteChangesChart(const std::filesystem::path& file, const WhatFirst& found, UnitHabit units);

}  // namespace islebook
