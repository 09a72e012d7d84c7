#pragma once
// The shelf digitized anew: a map's own sheet and recipe through the digitizer of today, so that a better digitizer helps maps of years ago. What a person
// corrected is in the recipe and is done again. Nothing is put on the shelf before somebody accepts it.

#include <functional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/shelf/map_compare.h"
#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

struct RedigitizedMap {
  std::string name;
  std::string revision;  // that it would follow
  PerformanceMap before, after;
  std::vector<MapChange> changes;  // empty: the digitizer of today reads the same
  bool has_recipe = false;         // false: it was digitized as if nobody had corrected anything
};

// The head of `name`. Of several maps on its sheet the one that is most like it is taken. kNotFound: no such map, or its sheet is not on the shelf;
// kBadRecipe; kCancelled; otherwise as Digitize.
Result<RedigitizedMap> RedigitizeMap(Shelf& shelf, const std::string& name, const std::function<bool(const char* stage, double part)>& progress = {});

// A new revision after the one it was made from. kInvalidArgument: the map has been changed meanwhile.
Result<AddedRevision> AcceptRedigitized(Shelf& shelf, const RedigitizedMap& map, const std::string& author, const std::string& message);

}  // namespace islebook
