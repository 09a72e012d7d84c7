#pragma once
// The picture that the stages work on. In a small picture lines are a pixel wide and lie a few pixels apart, closer than a ridge's blur; there it is
// the sheet at twice its size, and what the stages find is brought back to the sheet's own pixels at the end.

#include <memory>

#include "digitizer/recipe/recipe.h"
#include "digitizer/sheet/sheet.h"
#include "mapstore/map/performance_map.h"

namespace islebook {

struct WorkingSheet {
  std::shared_ptr<const Sheet> sheet;  // the sheet itself where it is large enough
  double scale = 1.0;                  // working pixels per sheet pixel
};

WorkingSheet PrepareWorkingSheet(std::shared_ptr<const Sheet> sheet);

// A recipe's places in working pixels, and a map's places back in sheet pixels. Pixel centers are whole numbers in both.
Recipe ToWorkingPixels(Recipe recipe, double scale);
void ToSheetPixels(PerformanceMap& map, double scale);

}  // namespace islebook
