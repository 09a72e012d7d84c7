#pragma once
// What a colleague's table changes about a map: the corrected map, and every difference in words, so that nobody takes over a change unseen.

#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/parcel/curve_tables.h"
#include "mapstore/units/error.h"

namespace islebook {

// One change to one curve, for whoever writes it into the map's recipe.
struct CurveChange {
  enum class What { kMeaning, kPoints, kAccepted, kDoubted, kAdded, kRemoved };
  What what = What::kMeaning;
  std::optional<Curve> before;  // as it was; nullopt for kAdded
  std::optional<Curve> after;   // as it is now; nullopt for kRemoved
};

struct MapCorrection {
  PerformanceMap map;                // corrected
  std::vector<std::string> changes;  // every difference, one sentence each; empty: there is none
  std::vector<std::string> doubts;   // what does not look right about the corrected map and was not so before
  std::vector<CurveChange> curves;
  bool title_changed = false;
  bool reference_changed = false;
  bool axes_changed = false;
};

// Curves with a number are the base's, those without are matched by role and value. Points that did not move keep their place on the sheet and their uncertainty; others
// are placed by the map's own points around them. Tables in other units of the same kind are converted. kBadTable: an axis that the base does not have, units of
// another kind, curves that cannot be told apart; kMalformedDocument: absurd numbers.
Result<MapCorrection> CorrectMap(const PerformanceMap& base, const CurveTables& tables);

}  // namespace islebook
