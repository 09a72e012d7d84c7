#pragma once
// From a sheet to its maps: a pure function of the sheet's bytes and the recipe. Together with session.cc the only file that knows all stages.

#include <string>
#include <vector>

#include "digitizer/assemble/assemble.h"
#include "digitizer/axes/axes.h"
#include "digitizer/curves/curves.h"
#include "digitizer/drawing/drawing.h"
#include "digitizer/labels/labels.h"
#include "digitizer/page/page.h"
#include "digitizer/print/print.h"
#include "digitizer/recipe/recipe.h"
#include "digitizer/ridges/ridges.h"
#include "digitizer/sheet/sheet.h"
#include "mapstore/map/performance_map.h"

namespace islebook {

struct DigitizeOptions {
  PageOptions page;
  RidgeOptions ridges;
  PrintOptions print;
  DrawingOptions drawing;
  AxesOptions axes;
  CurveOptions curves;
  LabelOptions labels;
  Result<void> Check() const;
};

struct StageTime {
  std::string stage;
  double seconds = 0.0;
};

struct DigitizeResult {
  std::vector<PerformanceMap> maps;  // at least one: a sheet that can be read always gives a document, if need be without curves and with the reason
  std::vector<StageTime> times;
};

// Whether anything in the map asks for a person's eye.
bool NeedsReview(const PerformanceMap& map);

// How to read the sheet's file as the recipe wants it (page, dpi).
SheetOptions SheetOptionsFor(const Recipe& recipe, SheetOptions options = {});

// How many threads one sheet may use: 0 as many as there are processors, 1 where several sheets are worked on side by side. Holds for the whole program.
void LimitThreads(int threads);

// Errors: kCancelled when `progress` says so; kNoReader; kInternal. A correction that does not apply is a doubt of the map, not an error.
// Thread safe; sheets may be worked on side by side.
Result<DigitizeResult> Digitize(const Sheet& sheet, const Recipe& recipe = {}, const DigitizeOptions& options = {}, const Progress& progress = {});

}  // namespace islebook
