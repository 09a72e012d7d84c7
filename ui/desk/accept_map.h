#pragma once
// A digitized map put on the shelf, with its sheet.

#include <filesystem>
#include <optional>
#include <string>

#include "mapstore/map/performance_map.h"
#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

struct MapToAccept {
  PerformanceMap map;
  std::string sheet;  // bytes
  std::string name;   // on the shelf
  std::string author;
  std::string message;
  std::optional<std::string> follows;  // id of the revision of that name that was corrected
};

// The shelf is made where there is none. kInvalidArgument: a bad name, no author, a map that was changed since `follows`; a name that is taken by another
// map while nothing was corrected is no error: it becomes that map's next revision. Otherwise as Shelf::AddRevision.
Result<AddedRevision> AcceptMap(const std::filesystem::path& shelf_file, const MapToAccept& accepted);

// A name for the shelf from a title ("Fellside Rotors Alder 52" -> "fellside-rotors-alder-52"), else from the sheet's file name.
std::string ProposeMapName(const PerformanceMap& map);

}  // namespace islebook
