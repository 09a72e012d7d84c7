#pragma once
// Replays a recipe's corrections over what the stages found. A correction that does not apply becomes a doubt in words, never silently lost.

#include <string>
#include <vector>

#include "digitizer/assemble/assemble.h"
#include "digitizer/axes/axes.h"
#include "digitizer/page/page.h"
#include "digitizer/recipe/recipe.h"
#include "digitizer/ridges/ridges.h"

namespace islebook {

// A correction that could not be carried out, and why.
struct FailedCorrection {
  std::size_t index;  // in the recipe
  std::string reason;
};

// Frame and axis corrections, before curves are traced. `axes` may hold no panel yet: four corners and both axes given by hand make one.
std::vector<FailedCorrection> ApplyAxesCorrections(const Recipe& recipe, const Page& page, const RidgesFound& ridges, AxesFound& axes);

// Curve corrections, after curves are judged.
struct CurveCorrections {
  std::vector<bool> applied;  // per correction of the recipe: it found its curve or plot here. With several maps on a sheet it may be another's
  std::vector<FailedCorrection> failed;  // those that could not be carried out though their curve was found
  bool changed = false;                  // a curve was corrected; the others are to be judged again
};
// `scale`: px of the page for one of the sheet, in which a person pointed.
CurveCorrections ApplyCurveCorrections(const Recipe& recipe, const Page& page, const PrintFound& print, const AxesFound& axes, JudgedMap& judged,
                                       double scale = 1.0);

// Title and reference conditions, once the map is calibrated.
void ApplyMapCorrections(const Recipe& recipe, PerformanceMap& map);

// Per curve of the map, whether a person has looked at it and accepted it.
std::vector<bool> AcceptedCurves(const Recipe& recipe, const PerformanceMap& map);

// The doubt for a correction that found nothing to apply to.
std::string LostCorrection(std::size_t index, const Correction& correction, const std::string& reason);

}  // namespace islebook
