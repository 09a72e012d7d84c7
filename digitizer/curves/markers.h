#pragma once
// Markers: small rings printed on curves at the measured points. Internal to curves.

#include <vector>

#include "digitizer/page/page.h"
#include "digitizer/sheet/points.h"

namespace islebook {

struct Marker {
  ImagePoint center;
  double radius_px = 0.0;  // to the outside of its ink
};

// Round holes of one size, at least four of them. `print`: glyphs, whose holes do not count; may be empty.
std::vector<Marker> FindMarkers(const Page& page, cv::Rect where, const cv::Mat1b& print);

}  // namespace islebook
