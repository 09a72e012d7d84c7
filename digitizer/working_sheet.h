#pragma once
// The picture that the stages work on. In a small picture lines are a pixel wide and lie a few pixels apart, closer than a ridge's blur; there it is
// the sheet at twice its size. A page that is a scan is worked on at the scan's own resolution. A sheet that lies on its side or head is turned by quarter turns, which moves pixels and changes none. What the stages
// find is brought back to the sheet's own pixels at the end.

#include <memory>

#include "digitizer/recipe/recipe.h"
#include "digitizer/sheet/sheet.h"
#include "mapstore/map/performance_map.h"

namespace islebook {

struct WorkingSheet {
  std::shared_ptr<const Sheet> sheet;  // the sheet itself where it is large enough and upright
  double scale = 1.0;                  // working pixels per sheet pixel
  int quarter_turns = 0;               // clockwise, of the sheet, 0..3
  int sheet_width = 0, sheet_height = 0;
};

WorkingSheet PrepareWorkingSheet(std::shared_ptr<const Sheet> sheet, int quarter_turns = 0);

// A recipe's places in working pixels and back, and a map's places back in sheet pixels. Pixel centers are whole numbers in both.
Recipe ToWorkingPixels(Recipe recipe, const WorkingSheet& work);
Recipe ToSheetPixels(Recipe recipe, const WorkingSheet& work);
void ToSheetPixels(PerformanceMap& map, const WorkingSheet& work);
Point2 SheetFromWorking(Point2 p, const WorkingSheet& work);

}  // namespace islebook
