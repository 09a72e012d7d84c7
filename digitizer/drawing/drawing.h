#pragma once
// A drawing: a PDF or SVG page whose lines and words are known exactly. It hands on what the ridge and print stages find in a picture, from paths and text
// instead of pixels, so that axes, curves, labels and judging work unchanged on better evidence. Places are pixels of the drawn sheet.
// A page that shows a scan, or whose paths make no chart, has no drawing: the picture serves, and the report says why.

#include <memory>
#include <vector>

#include "digitizer/drawing/letters.h"
#include "digitizer/page/page.h"
#include "digitizer/print/print.h"
#include "digitizer/ridges/ridges.h"

namespace islebook {

struct DrawingOptions {
  double most_picture = 0.12;     // part of the page that raster pictures may cover; beyond, the page is a scan or holds its chart as a picture
  double least_line_part = 0.15;  // of the page's longer side: a chart has at least two lines of this length
  Result<void> Check() const;
};

struct DrawingFound {
  bool usable = false;  // false: the rest is empty, and the report says why
  RidgesFound ridges;   // exact
  PrintFound print;
  std::vector<DrawnLetter> letters;  // what the glyphs say
  Page print_page;                   // the page with its print alone, for what no letter tells
  StageReport report;
};

// Errors: none that would stop the work; what cannot be used says so. Deterministic.
Result<DrawingFound> ReadDrawing(const Sheet& sheet, const Page& page, const PrintOptions& print, const DrawingOptions& options = {});

// Answers with the drawing's own letters, and asks `reader`, which must outlive it, for the rest.
std::unique_ptr<PrintReader> MakeExactReader(const DrawingFound& drawing, PrintReader& reader);

}  // namespace islebook
