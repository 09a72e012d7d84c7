#pragma once
// The map document (*.map.json): a PerformanceMap as JSON text, schema 1. Described by map_schema.json beside this file.
// Reading is strict about what it understands and silent about keys it does not know, so that later writers may add some.

#include <filesystem>
#include <string>
#include <string_view>

#include "mapstore/map/performance_map.h"
#include "mapstore/units/error.h"

namespace islebook {

inline constexpr int kMapSchema = 1;

// Errors name the place in the document ("curves[2].points[7]"):
// kMalformedDocument: not JSON, a key missing or of the wrong type, lists of unequal length, a number absurd for what it is;
// kUnsupportedSchema: written by a newer version; kUnknownUnit: a unit outside the list that no usual spelling explains.
Result<PerformanceMap> ParseMapDocument(std::string_view text);

// Never fails. Points are written with 8 significant digits, sheet pixels with 3 decimals, standard uncertainties with 4 digits, all else exactly;
// a recipe that is no JSON object is left out and its absence noted among the document's doubts.
std::string WriteMapDocument(const PerformanceMap& map);

// The map as a reader of the written document will see it. ParseMapDocument(WriteMapDocument(m)) == AsWritten(m), and AsWritten(AsWritten(m)) == AsWritten(m).
PerformanceMap AsWritten(const PerformanceMap& map);

// kMalformedDocument with the first place whose value a document cannot hold or a reader would refuse (not finite, absurd, lists of unequal length).
Result<void> CheckWritable(const PerformanceMap& map);

// A file whole or not at all. Read errors as above with the file as place, or kCannotRead; write errors kMalformedDocument (from CheckWritable) or kCannotWrite.
Result<PerformanceMap> ReadMapFile(const std::filesystem::path& file);
Result<void> WriteMapFile(const std::filesystem::path& file, const PerformanceMap& map);

}  // namespace islebook
