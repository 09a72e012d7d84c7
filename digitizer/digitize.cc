#include "digitizer/digitize.h"

#include <algorithm>
#include <memory>

#include <opencv2/core/utility.hpp>

#include "digitizer/session.h"

namespace islebook {

Result<void> DigitizeOptions::Check() const {
  for (const auto& checked : {page.Check(), ridges.Check(), print.Check(), drawing.Check(), axes.Check(), curves.Check(), labels.Check()})
    if (!checked) return checked;
  return {};
}

bool NeedsReview(const PerformanceMap& map) {
  return !map.needs_review.empty() || std::ranges::any_of(map.curves, [](const Curve& curve) { return curve.needs_review; });
}

SheetOptions SheetOptionsFor(const Recipe& recipe, SheetOptions options) {
  if (recipe.settings.page) options.page = *recipe.settings.page;
  if (recipe.settings.dpi) options.page_dpi = *recipe.settings.dpi;
  return options;
}

void LimitThreads(int threads) { cv::setNumThreads(threads == 0 ? -1 : threads); }

Result<DigitizeResult> Digitize(const Sheet& sheet, const Recipe& recipe, const DigitizeOptions& options, const Progress& progress) {
  // The session only looks at the sheet while this call lasts.
  Session session(std::shared_ptr<const Sheet>(&sheet, [](const Sheet*) {}), options);
  session.SetRecipe(recipe);
  return session.Run(progress);
}

}  // namespace islebook
