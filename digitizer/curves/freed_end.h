#pragma once
// Freed ends: an end of a path without its last px, which print beside it has led astray. Internal to curves.

#include <optional>

#include "digitizer/curves/joining.h"

namespace islebook {

inline constexpr double kKnowsPx = 60.0;  // a path of this length knows its way without its last px, times the unit

struct FreedEnd {
  PathEnd end;
  std::size_t points = 0;  // that are left out
};

// Nothing where the last px go on as the rest does, where no print is by (`cover`), or where too little is left.
std::optional<FreedEnd> FreeEnd(const Path& path, bool front, const cv::Mat1b& cover, double unit_px);

// A path without so many points at its front and back.
Path Shortened(const Path& path, std::size_t front, std::size_t back);

}  // namespace islebook
