#pragma once
// Markers: small like shapes printed at the measured points of curves: rings, discs, squares, triangles, diamonds, crosses. Internal to curves.

#include <vector>

#include "digitizer/page/page.h"
#include "digitizer/print/print.h"
#include "digitizer/sheet/points.h"

namespace islebook {

struct Marker {
  ImagePoint center;
  double radius_px = 0.0;  // to the outside of its ink
  int shape = 0;           // markers of one number look alike
  cv::Vec3f lab{};         // of its ink, CIE Lab (L 0..100)
};

// Of the lines inside the panel. Where filled markers stand side by side the usual one may be theirs.
struct LineWidths {
  double fine_px = 2.0, usual_px = 2.0;
  double level = 0.0;  // ink on their centers, 0..255
};

// Every shape that stands at least five times in `where`, also where its neighbors hide half of it.
// Markers are thicker than `lines`. `furniture`: 255 on frame, grid and ticks, whose cells are no markers; may be empty.
std::vector<Marker> FindMarkers(const Page& page, cv::Rect where, const PrintFound& print, const LineWidths& lines, const cv::Mat1b& furniture);

}  // namespace islebook
