#pragma once
// What a person's curve leaves of the others: ink that they say belongs to it was found as another curve, or as several, by mistake. Internal to recipe.

#include <optional>

#include "digitizer/curves/curves.h"

namespace islebook {

// What is left of `found` where `drawn` has taken its ink: all of it if they share little, as lines do that cross or run into each other; the longest stretch
// beside it; nothing if most of it was a piece of that ink.
std::optional<TracedCurve> LeftBeside(const TracedCurve& drawn, const TracedCurve& found);

}  // namespace islebook
