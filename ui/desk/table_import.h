#pragma once
// Curves from a table that a colleague wrote or changed, as a correction of the map that they came from or as a map of its own; a map document likewise. Read and
// looked at first, kept afterwards: every door says what would change before anything does.

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"
#include "ui/desk/open_map.h"

namespace islebook {

struct ImportOrder {
  std::filesystem::path file;           // .csv, .xlsx or .map.json
  std::optional<std::string> corrects;  // a map file or NAME[@REVISION]; nullopt: as the table says
  bool as_new = false;                  // a map of its own, whatever the table says
};

// What is imported, and what it stands on.
struct Import {
  std::string document;  // the map document that comes of it
  PerformanceMap map;
  std::string file;                  // name of the file, without folder
  std::string name;                  // on the shelf, of what it corrects; empty: of none
  std::optional<OpenedMap> base;     // that it corrects
  std::vector<std::string> changes;  // against the base, one sentence each
  std::vector<std::string> doubts;   // that came with it
  int recipe_entries = 0;            // of the map's recipe, so that the corrections stand when the sheet is digitized again
  bool is_document = false;

  // It corrects a map and says the same as that does.
  bool ChangesNothing() const { return base && !is_document && changes.empty(); }
  // The name for the shelf where a person gives none.
  std::string ProposedName() const;
};

// Errors name the file and the place within it.
Result<Import> ReadImport(const ImportOrder& order, const std::string& shelf_place);

struct KeepOrder {
  std::string name;  // on the shelf; empty: ProposedName()
  std::string author;
  std::string message;  // empty: the file and the changes
};
struct KeptImport {
  std::string name, revision, branch;
  bool is_new = false;    // false: the shelf held it already
  bool diverged = false;  // the map had moved on since the table was written: the correction stands on a branch, to be compared and merged
};

// A new revision on what it corrects: on the main line if that has not moved since, else on a branch of its own.
Result<KeptImport> KeepImport(const Import& import, const KeepOrder& order, const std::string& shelf_place);

}  // namespace islebook
