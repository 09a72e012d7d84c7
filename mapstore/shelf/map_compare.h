#pragma once
// What changed from one state of a map to another, in the trade's words: "The 90,000 rpm speed line moved by up to 0.4 lb/min."

#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"

namespace islebook {

enum class ChangeKind {
  kMeaning,      // kind, title, what an axis measures
  kAxis,         // unit, scale, ends
  kReference,    // reference conditions
  kCalibration,  // how sheet pixels become axis values
  kSource,       // the sheet
  kRecipe,
  kDoubts,  // of the map as a whole
  kCurveAdded,
  kCurveRemoved,
  kCurveMoved,        // `amount` in `unit`
  kCurveReach,        // an open curve got longer or shorter
  kIslandGrew,        // `amount` in per cent of its area
  kIslandShrank,      // likewise, positive
  kCurveValue,        // its printed value or unit
  kCurveRole,         // what kind of curve it is
  kCurveUncertainty,  // sigma or confidence
  kCurveReview,       // whether it needs a look
};
const char* ChangeKindName(ChangeKind kind);  // "curve_moved", ...: fixed, other programs read them

struct MapChange {
  ChangeKind kind = ChangeKind::kCurveMoved;
  std::string sentence;                      // for a person
  std::optional<std::size_t> before, after;  // indices of the curve in either map
  std::optional<double> amount;              // kCurveMoved, kCurveReach: largest distance, in `unit`; islands: %; kReference: the shift of flows in %
  std::string unit;
  std::optional<Point2> at;  // kCurveMoved, kCurveReach: where, in the later map's axis units
};

// The curve of `after` that each curve of `before` became; nullopt: none. By meaning (role and value) and by place in the plot frame. Deterministic; each curve once.
std::vector<std::optional<std::size_t>> MatchCurves(const PerformanceMap& before, const PerformanceMap& after);

// In the order of importance: what concerns the whole map first, then curve by curve in the order of the later map, removed curves last. Empty: nothing that a map
// document states has changed, but for the order of the curves. Thread-safe.
std::vector<MapChange> CompareMaps(const PerformanceMap& before, const PerformanceMap& after);

// The same for one curve that became another; the maps give axes.
std::vector<MapChange> CompareCurves(const PerformanceMap& before, std::size_t before_curve, const PerformanceMap& after, std::size_t after_curve);

}  // namespace islebook
