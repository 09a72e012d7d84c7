#pragma once
// A colleague's corrections written into a map's recipe, so that they stand when the sheet is digitized again.

#include "mapstore/parcel/correction.h"
#include "mapstore/units/error.h"

namespace islebook {

// Adds the corrections that a recipe can say to the recipe of correction.map: meaning of curves, points, removed and added curves, title, reference conditions, axes.
// Returns how many were added. Without a sheet, or for curves without a place on it, nothing can be said and the revision alone carries the change.
int AddToRecipe(const PerformanceMap& base, MapCorrection& correction);

}  // namespace islebook
