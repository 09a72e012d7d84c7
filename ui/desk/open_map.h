#pragma once
// A map by what a person calls it: a map file or a name on the shelf.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

class Shelf;

struct OpenedMap {
  PerformanceMap map;
  std::string name;                       // the file's name, or the name on the shelf
  std::string revision;                   // id of the shelf's revision; empty for a file
  std::optional<double> speed_limit_rpm;  // the maker's, as the shelf has it on record for this wheel
};

// `spec`: a file that exists (looked for beside `folder` where that is given and the path is relative), else a name on the shelf, NAME or NAME@REVISION.
// Whatever ends in .json or holds a slash is a file only. kNotFound says where was looked; errors of the document name their place.
Result<OpenedMap> OpenMap(const std::string& spec, const std::string& shelf_place, const std::filesystem::path& folder = {});

// `spec` (NAME, NAME@REVISION, NAME@BRANCH) with the name as the shelf writes it: the same, else the only one that differs in nothing but capitals and in spaces,
// hyphens or underscores. `spec` itself where none does; kNotFound where several do.
Result<std::string> SpecOnShelf(Shelf& shelf, const std::string& spec);

// Whether that names a file, so that no shelf is looked into.
bool NamesMapFile(const std::string& spec, const std::filesystem::path& folder = {});

// Every map on the shelf that can be read, by name; none where there is no shelf. kOutOfRange where it holds more than `most`.
Result<std::vector<OpenedMap>> OpenShelfMaps(const std::string& shelf_place, std::size_t most);

}  // namespace islebook
