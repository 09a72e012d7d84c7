#pragma once
// Marker seeds: places that may be a marker by the looks of one of them alone. Internal to curves.

#include <vector>

#include "digitizer/curves/markers.h"
#include "digitizer/page/page.h"
#include "digitizer/print/print.h"
#include "digitizer/sheet/points.h"

namespace islebook {

struct MarkerSeed {
  ImagePoint center;
  double radius_px = 0.0;
  bool print = false;  // part of a word of unlike glyphs
};

// Round or many-cornered holes, holes that a line parts in two, lone spots, and spots on lines that are thicker than the lines. `lines`, `furniture`: as FindMarkers.
std::vector<MarkerSeed> FindMarkerSeeds(const Page& page, cv::Rect where, const PrintFound& print, const LineWidths& lines,
                                        const cv::Mat1b& furniture);

// Whether a word of unlike glyphs stands at the place.
class PrintAt {
 public:
  explicit PrintAt(const PrintFound& print);
  bool operator()(ImagePoint p) const;

 private:
  std::vector<cv::Rect> glyphs_;  // of such words
};

}  // namespace islebook
