#include "ui/chart/chart_files.h"

#include "ui/chart/drawing_files.h"

namespace islebook {
namespace {

Drawing DrawingOf(const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options) {
  return {map.title.empty() ? "Performance map" : map.title,
          [&map, &overlay, options](QPainter& painter, const QRectF& area) { DrawChart(painter, area, map, overlay, options); }};
}

}  // namespace

Result<std::string> ChartAsSvgText(const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options, const ChartPaper& paper) {
  if (auto ok = options.Check(); !ok) return std::unexpected(ok.error());
  return DrawingAsSvgText(DrawingOf(map, overlay, options), paper);
}

Result<void> WriteChartSvg(const std::filesystem::path& file, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options,
                           const ChartPaper& paper) {
  if (auto ok = options.Check(); !ok) return ok;
  return WriteDrawingSvg(file, DrawingOf(map, overlay, options), paper);
}

Result<void> WriteChartPng(const std::filesystem::path& file, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options,
                           const ChartPaper& paper) {
  if (auto ok = options.Check(); !ok) return ok;
  return WriteDrawingPng(file, DrawingOf(map, overlay, options), paper);
}

Result<void> WriteChartPdf(const std::filesystem::path& file, const PerformanceMap& map, const ChartOverlay& overlay, const ChartOptions& options,
                           const ChartPaper& paper) {
  if (auto ok = options.Check(); !ok) return ok;
  return WriteDrawingPdf(file, DrawingOf(map, overlay, options), paper);
}

}  // namespace islebook
