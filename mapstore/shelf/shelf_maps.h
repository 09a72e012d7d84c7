#pragma once
// Maps read from an open shelf.

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

struct ShelfMap {
  PerformanceMap map;
  std::string name;
  std::string revision;
  std::optional<double> speed_limit_rpm;  // the maker's, as the shelf has it on record for this wheel
};

// What the shelf has on record for that map's wheel; nullopt where there is nothing, or it cannot be read.
std::optional<double> SpeedLimitOnRecord(Shelf& shelf, const std::string& name);

// NAME, or NAME@REVISION for an earlier one. Errors of Shelf::Show and of the document.
Result<ShelfMap> ReadShelfMap(Shelf& shelf, const std::string& name);

// Every map that can be read, by name. kOutOfRange where there are more than `most`.
Result<std::vector<ShelfMap>> ReadShelfMaps(Shelf& shelf, std::size_t most);

}  // namespace islebook
