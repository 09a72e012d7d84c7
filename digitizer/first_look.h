#pragma once
// A first look: the lines of a sheet as they show on a copy of a fraction of its size, within a moment. For a person who waits; nothing is built on them.

#include <vector>

#include "digitizer/sheet/sheet.h"
#include "mapstore/map/performance_map.h"

namespace islebook {

struct FirstLookOptions {
  int side_px = 1200;           // the longer side of the copy
  double min_length_px = 24.0;  // of the copy; shorter lines are mostly print
  Result<void> Check() const;
};

// Polylines in the sheet's own pixels, longest first. None where the sheet shows no lines; never an error, since the digitizing that follows says what is wrong.
std::vector<std::vector<Point2>> TakeFirstLook(const Sheet& sheet, const FirstLookOptions& options = {});

}  // namespace islebook
