#pragma once
// Sheets in files to map documents in files: what the command line, the window and the service share.

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "digitizer/recipe/recipe.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

struct DigitizeSheetsOptions {
  std::filesystem::path out;                    // STEM.map.json; a second map on the same sheet: STEM-2.map.json
  Recipe recipe;                                // for every sheet
  bool proof = false;                           // also STEM.proof.png
  std::optional<std::filesystem::path> stages;  // also one picture of every stage: STEM.1-page.png ...
  int jobs = 0;                                 // sheets worked on at a time; 0: as many as there are processors
  Result<void> Check() const;
};

struct WrittenMap {
  std::filesystem::path file;
  std::optional<std::filesystem::path> proof;
  std::optional<std::filesystem::path> kept;  // where the document that stood there went, with a person's corrections that this one has not
  PerformanceMap map;
};

struct SheetOutcome {
  std::filesystem::path sheet;
  std::vector<WrittenMap> maps;
  std::vector<Error> errors;  // something asked for could not be done; what is in `maps` was
  double seconds = 0.0;
  bool begun = false;         // false after an interrupt: not worked on
  bool needs_review = false;  // some map asks for a person's eye
};

struct DigitizeSheetsWatch {
  std::function<bool()> stop;                                                       // true: stop as soon as may be; nothing half-written is left
  std::function<void(std::size_t sheet, const char* stage, double part)> progress;  // of one sheet; called from any thread, one at a time
  std::function<void(const SheetOutcome&)> done;                                    // a sheet is finished; called from any thread, one at a time
};

// One outcome a sheet, in the order given. Two sheets that would write the same file: the later one is refused, the rest is done.
// A document that holds corrections is never overwritten by one without any: it is kept beside as STEM.kept-1.map.json.
// The folders must exist (output_file.h).
std::vector<SheetOutcome> DigitizeSheets(const std::vector<std::filesystem::path>& sheets, const DigitizeSheetsOptions& options,
                                         const DigitizeSheetsWatch& watch = {});

}  // namespace islebook
