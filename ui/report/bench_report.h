#pragma once
// A bench result as a PDF for a customer: what matters in one line, the points, boost and drive pressure over engine speed, every stage's map with the points on it, all
// verdicts, what was given and taken, the cautions.

#include <filesystem>
#include <string>
#include <vector>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/what_first.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"
#include "ui/chart/strip.h"

class QPagedPaintDevice;

namespace islebook {

// `maps`: of the compressors, one a stage. A QGuiApplication must exist. kCannotWrite: nothing half-written is left.
Result<void> WriteBenchReportPdf(const std::filesystem::path& file, const BenchResult& result, const std::vector<const PerformanceMap*>& maps);

// The same on a device of the caller's (a printer), whose page it takes as it finds it. kCannotWrite where the device does not begin.
Result<void> DrawBenchReport(QPagedPaintDevice& device, const BenchResult& result, const std::vector<const PerformanceMap*>& maps);

// A bar a change, best first, as many as one can take in; and what stands above them.
std::vector<StripBar> ChangeBars(const WhatFirst& found, const UnitHabit& units);
std::string ChangesTitle(const WhatFirst& found, const UnitHabit& units);
// What to change first as a drawing: a bar a change, the gain to the right. The ending says what it becomes: .svg, .png or .pdf. kInvalidArgument: another ending.
Result<void> WriteChangesChart(const std::filesystem::path& file, const WhatFirst& found, const UnitHabit& units);

}  // namespace islebook
