#pragma once
// Any drawing as a file, whole or not at all. For this folder's own use.

#include <filesystem>
#include <functional>
#include <string>

#include <QRectF>

#include "mapstore/units/error.h"
#include "ui/chart/chart_files.h"

class QPainter;

namespace islebook {

struct Drawing {
  std::string title;
  std::function<void(QPainter&, const QRectF&)> draw;
};

// kInvalidArgument, kCannotWrite.
Result<std::string> DrawingAsSvgText(const Drawing& drawing, const ChartPaper& paper);
Result<void> WriteDrawingSvg(const std::filesystem::path& file, const Drawing& drawing, const ChartPaper& paper);
Result<void> WriteDrawingPng(const std::filesystem::path& file, const Drawing& drawing, const ChartPaper& paper);
Result<void> WriteDrawingPdf(const std::filesystem::path& file, const Drawing& drawing, const ChartPaper& paper);

}  // namespace islebook
