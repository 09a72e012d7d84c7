#pragma once
// The example shelf: sheets of invented wheels that are installed with the program, digitized and put on the shelf, so that the first day does not begin with nothing.

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "mapstore/shelf/shelf.h"
#include "mapstore/units/error.h"

namespace islebook {

struct ExampleMap {
  std::string name;             // on the shelf
  std::filesystem::path sheet;  // absolute
  std::string message;          // of its first revision
  WheelData wheel;
  std::vector<std::string> tags;
};

// share/islebook/sample_maps beside the program's folder, installed or as built. Nullopt: not there.
std::optional<std::filesystem::path> ExampleFolder();

// What shelf.json in that folder lists. kCannotRead, kMalformedDocument.
Result<std::vector<ExampleMap>> ReadExamples(const std::filesystem::path& folder);

// Digitizes one example and puts it on the shelf with its sheet, wheel and tags; one that is there already is left as it is. `watch`: false stops: kCancelled.
Result<void> AddExample(Shelf& shelf, const ExampleMap& example, const std::string& author, const std::function<bool(double part)>& watch = {});

}  // namespace islebook
