#pragma once
// What is drawn, sorted: lines as chains; glyphs and whatever else is small and filled as print. Internal to drawing.

#include <vector>

#include "digitizer/drawing/drawn_page.h"
#include "digitizer/page/page.h"
#include "digitizer/ridges/ridges.h"

namespace islebook {

struct SortedShapes {
  std::vector<RidgeChain> chains;
  std::vector<const DrawnShape*> small;          // filled shapes of a letter's size: letters drawn as outlines, markers
  std::vector<const DrawnShape*> small_strokes;  // strokes of that size: letters of a plotter's pen, ticks, dashes
  int hidden = 0;                                // lines that do not show: painted over, or of the paper's color
};

// Strokes, thin filled strips along their middle, and the edges of filled areas where no stroke runs along them. What the page's picture does not show is left out.
SortedShapes SortShapes(const DrawnPage& drawn, const Page& page);

}  // namespace islebook
