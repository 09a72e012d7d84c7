#pragma once
// A drawn page as the drawing itself says it: paths and glyphs in the order of painting, in pixels of the sheet. Internal to drawing.
// What is read is the SVG that cairo writes (poppler's pdftocairo): absolute M, L, C and Z; matrices; glyphs as uses of symbols; clips as paths.

#include <cstddef>
#include <string>
#include <vector>

#include <opencv2/core/matx.hpp>
#include <opencv2/core/types.hpp>

#include "digitizer/sheet/points.h"
#include "digitizer/sheet/sheet.h"

namespace islebook {

struct DrawnLimits {
  int max_depth = 48;                  // of elements in elements
  std::size_t max_elements = 300'000;  // drawn, repeated uses counted again
  std::size_t max_points = 4'000'000;
  double flatness_px = 0.01;  // how far a chord may stray from its curve
};

// One run of the pen; a closed one does not repeat its first point.
struct Polyline {
  std::vector<ImagePoint> points;
  bool closed = false;
};

struct DrawnShape {
  std::vector<Polyline> lines;
  bool stroked = false, filled = false;  // one of the two: cairo writes a shape with both as two
  cv::Vec3b color;                       // BGR, opacity already mixed with white
  double width_px = 0.0;                 // of a stroke
  std::vector<double> dashes_px;         // of a stroke: on, off, ...; empty: solid
  std::vector<int> clips;                // into DrawnPage::clips: only what lies inside all of them shows
};

struct DrawnGlyph {
  int symbol = 0;
  ImagePoint origin;
  int show = 0;  // glyphs shown by one call share this
  cv::Vec3b color;
  std::vector<int> clips;
};

struct GlyphSymbol {
  int font = 0;                 // glyphs of one face, size and tilt share this
  std::vector<Polyline> lines;  // about its origin, px; empty for a space
  cv::Rect2d box;
};

struct DrawnPage {
  std::vector<DrawnShape> shapes;
  std::vector<DrawnGlyph> glyphs;
  std::vector<GlyphSymbol> symbols;
  std::vector<std::vector<Polyline>> clips;
  std::vector<std::vector<cv::Point2d>> images;  // corners of the raster pictures on the page
};

// A word as the page's text says it, with its upright box in px.
struct PageWord {
  std::string text;  // UTF-8
  cv::Rect2d box;
};

// How a page of points lies on the picture: `px_per_point`, or 0 where the page fills the picture; turned clockwise by quarter turns first.
struct PageScale {
  cv::Size size_px;  // of the picture, turned
  double px_per_point = 0.0;
  int quarter_turns = 0;

  cv::Size Unturned() const { return quarter_turns % 2 == 0 ? size_px : cv::Size(size_px.height, size_px.width); }
};

// Errors: kSheetTooLarge beyond the limits, kNotASheet where the text is none that cairo writes.
Result<DrawnPage> ReadDrawnPage(const std::string& svg, const PageScale& scale, const DrawnLimits& limits = {});
// The words of pdftotext -bbox. Words that cannot be read are left out: the print is then read from the picture.
std::vector<PageWord> ReadPageWords(const std::string& xhtml, const PageScale& scale);

cv::Rect2d BoxOf(const std::vector<Polyline>& lines);
bool InsideClip(const std::vector<Polyline>& clip, ImagePoint p);

}  // namespace islebook
