#pragma once
// A chart as a file. Each is written whole or not at all. A QGuiApplication must exist (the offscreen platform serves).

#include <filesystem>
#include <string>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"
#include "ui/chart/chart.h"

namespace islebook {

struct ChartPaper {
  double width = 1600.0;  // SVG: user units; PNG: pixels
  double height = 1180.0;
  double dpi = 150.0;     // said in the PNG
  bool landscape = true;  // PDF: A4
};

// An SVG file's text; the same map and options give the same text on the same machine (fonts differ). kInvalidArgument.
Result<std::string> ChartAsSvgText(const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options, const ChartPaper& paper = {});

// Text stays text. Errors: kCannotWrite, kInvalidArgument.
Result<void> WriteChartSvg(const std::filesystem::path& file, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options,
                           const ChartPaper& paper = {});
Result<void> WriteChartPng(const std::filesystem::path& file, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options,
                           const ChartPaper& paper = {});
Result<void> WriteChartPdf(const std::filesystem::path& file, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options,
                           const ChartPaper& paper = {});

}  // namespace islebook
