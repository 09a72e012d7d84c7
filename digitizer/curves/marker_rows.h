#pragma once
// Marker rows: markers that follow one another along a curve, with short pieces of line between them or none at all. The curve is then taken from
// marker to marker. Markers far apart on a line that shows well need no row: their line is joined across them like any other. Internal to curves.

#include <vector>

#include "digitizer/curves/markers.h"
#include "digitizer/curves/strokes.h"

namespace islebook {

struct MarkerRow {
  std::vector<Marker> markers;  // in order
  bool inked = true;            // a line shows between them
  bool unsure = false;          // its markers could be put in another order, or belong to a neighbor
};

// Shapes that stand neither on lines nor in rows are dust or print: they are taken out of `markers`. `free_px`: how long a piece of line must be to be a stroke of its own. `furniture`: 255 on frame, grid and ticks, which link no markers; may be empty.
std::vector<MarkerRow> FindMarkerRows(const Page& page, std::vector<Marker>& markers, double free_px, const cv::Mat1b& furniture);

// Lays a stroke through every row whose ink is the page's own (a layer holds that of one color only), in place of the scraps between its markers.
// Returns which rows were laid.
std::vector<char> LayMarkerRows(const Page& page, const std::vector<MarkerRow>& rows, std::vector<Stroke>& strokes);

}  // namespace islebook
