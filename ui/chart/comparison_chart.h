#pragma once
// Several maps on common axes: they differ by line pattern and a letter, never by color. What was converted stands under the chart in words.

#include <filesystem>
#include <string>
#include <vector>

#include "mapstore/query/common_axes.h"
#include "ui/chart/chart_files.h"
#include "ui/chart/chart_frame.h"

namespace islebook {

inline constexpr std::size_t kMostCompared = 6;  // line patterns that can be told apart

struct ComparedMap {
  std::string name;
  MapOnAxes on_axes;
};

// "A", "B" ... in the order given.
std::string ComparisonLetter(std::size_t place);

// Brings the maps to common axes. kInvalidArgument: fewer than two maps or more than kMostCompared; others as BringToCommonAxes, the place being the map's name.
Result<std::vector<ComparedMap>> PrepareComparison(const std::vector<std::string>& names, const std::vector<PerformanceMap>& maps,
                                                   const CommonAxesOptions& options = {});

// Of `options` those that a comparison has a use for: night, show_title, show_key, text_size, caption.
void DrawComparison(QPainter& painter, const QRectF& area, const std::vector<ComparedMap>& maps, const ChartOptions& options);
ChartFrame FrameOfComparison(const QRectF& area, const std::vector<ComparedMap>& maps, const ChartOptions& options);

Result<void> WriteComparisonSvg(const std::filesystem::path& file, const std::vector<ComparedMap>& maps, const ChartOptions& options,
                                const ChartPaper& paper = {});
Result<void> WriteComparisonPng(const std::filesystem::path& file, const std::vector<ComparedMap>& maps, const ChartOptions& options,
                                const ChartPaper& paper = {});
Result<void> WriteComparisonPdf(const std::filesystem::path& file, const std::vector<ComparedMap>& maps, const ChartOptions& options,
                                const ChartPaper& paper = {});

}  // namespace islebook
