#pragma once
// Draws planned charts as a maker's page would show them, and notes where everything lies.

#include <array>
#include <vector>

#include <QByteArray>
#include <QImage>

#include "tests/support/chart_plan.h"
#include "tests/support/sheet_style.h"
#include "tests/support/sheet_truth.h"

namespace islebook::paint {

struct PaintedSheet {
  QImage image;               // RGB32
  std::vector<TrueMap> maps;  // one per chart, top or left first
  double scale = 1.0;         // pixels per page unit
};

// A QGuiApplication must exist. `scale` finer pages for wear that needs resolution.
PaintedSheet PaintSheet(const SheetStyle& style, std::vector<ChartPlan> plans, double scale, Random& random);

// The same as a PDF page or an SVG drawing; its truth is in pixels of the page at 300 dpi.
struct PaintedPage {
  QByteArray bytes;
  std::vector<TrueMap> maps;
  std::array<int, 2> size_px{};  // at 300 dpi
};
PaintedPage PaintPdf(const SheetStyle& style, std::vector<ChartPlan> plans, Random& random);
PaintedPage PaintSvg(const SheetStyle& style, std::vector<ChartPlan> plans, Random& random);

// A whole sheet from a style's name: invented wheels, style and layout from the seed.
PaintedSheet PaintStyle(const std::string& style, std::uint64_t seed, double scale);
PaintedPage PaintStylePdf(const std::string& style, std::uint64_t seed);
PaintedPage PaintStyleSvg(const std::string& style, std::uint64_t seed);

// The same with a given wheel ("Alder 44") of a given size; one chart.
PaintedSheet PaintWheel(const std::string& style, std::uint64_t seed, double scale, const std::string& wheel, double size_mm);

// Names of trees for wheels.
const std::vector<std::string>& TreeNames();

}  // namespace islebook::paint
