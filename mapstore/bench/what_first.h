#pragma once
// What to change first: one element of a case at a time is changed, the goal worked out again, and the changes ranked by what they bring.
//
// Candidates: every compressor and turbine on the shelf in each stage, each stage's own wheel one size up and down by similarity (marked as estimated), the bore of the
// wastegate, openings that the case fixes, the cooler, and without turbines the split. A state holds where no verdict is over (bench.h), but for efficiency and drive
// pressure, which are signs of a poor match and no ends; what the map does not say ends nothing either.

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/case_edit.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

enum class Goal {
  kPower,       // the most power at the point's engine speed; W
  kLowSpeed,    // the lowest engine speed that still has the point's manifold pressure; rev/s
  kDriveRatio,  // drive pressure over boost at the point; needs turbines
  kAltitude,    // the highest altitude to which the point holds; m
};

struct GoalDefinition {
  Goal goal;
  const char* name;   // "power", "low-speed", "drive-ratio", "altitude"
  const char* words;  // "most power at this engine speed"
  bool more_is_better;
};
std::span<const GoalDefinition> GoalDefinitions();
const GoalDefinition& DefinitionOf(Goal goal);
std::optional<Goal> ParseGoal(std::string_view name);

// In the order of what a change commonly costs; common practice, no source.
enum class ChangedElement { kSplit, kOpening, kWastegate, kCooler, kTurbine, kCompressor };
const char* ChangedElementName(ChangedElement element);  // "split", "opening", "wastegate", "cooler", "turbine", "compressor"

// A value as SetCaseValue writes it into a case; empty: the key goes.
struct CaseValue {
  CasePlace place;
  std::string written;
};

struct RankedChange {
  ChangedElement element = ChangedElement::kCooler;
  int stage = -1;                // -1: of the case as a whole
  std::string words;             // "Rowan 64 stage: wastegate port 36.3 mm instead of 31.8 mm"
  bool estimated = false;        // by similarity, or a part that no map describes
  std::optional<double> value;   // of the goal with the change; nullopt: it holds nowhere
  std::optional<double> gain;    // how much better than now, above 0 is better
  std::string limited_by;        // the verdict that ends it
  std::vector<CaseValue> takes;  // what makes the case so; empty: no case can say it (a wheel that no map describes)
};

// More maps than that are no question but a search (mapstore/find).
inline constexpr std::size_t kMostShelfWheels = 300;

// A map that may take a stage's place.
struct ShelfWheel {
  std::string name;
  const PerformanceMap* map = nullptr;
  std::optional<double> speed_limit_rpm;  // the maker's, as the shelf has it on record for this wheel
};

// A case with the maps of its stages. `turbines`: one a stage, null for an effective area; empty without turbines.
struct BenchRig {
  BenchCase asked;
  std::vector<const PerformanceMap*> compressors;
  std::vector<const PerformanceMap*> turbines;
  SurgeMargin surge_margin = SurgeMargin::kConstantSpeed;
};

struct WhatFirst {
  Goal goal = Goal::kPower;
  std::string point;
  std::optional<double> now;
  std::string limited_by;
  std::vector<RankedChange> changes;  // best first; of equal gain the cheaper first
  std::vector<std::string> left_out;  // candidates that cannot be read, in words
  std::size_t not_tried = 0;          // candidates left when the search was ended early
};

// What a search that is under way is told before each candidate. kEnd: what was tried so far is ranked. kCancel: ends with kCancelled.
enum class SearchStep { kGoOn, kEnd, kCancel };
using WhatFirstProgress = std::function<SearchStep(std::size_t done, std::size_t all)>;

// `point`: index in the case. kInvalidArgument: no such point; kBadCase: the goal cannot be asked of this case (drive pressure without turbines, power without mixture).
// What can be changed about the parts that are there is tried before the wheels of the shelf.
Result<WhatFirst> FindWhatFirst(const BenchRig& rig, std::size_t point, Goal goal, std::span<const ShelfWheel> shelf,
                                const WhatFirstProgress& progress = {});

}  // namespace islebook
