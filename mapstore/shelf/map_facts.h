#pragma once
// What is known about a map besides its document: tags, notes, its wheel.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/units/error.h"

namespace islebook {

// The machine that a map belongs to. Everything is optional; a value that is given is a positive number.
struct WheelData {
  std::string maker;
  std::string model;  // "Alder 52"
  std::optional<double> inducer_mm;
  std::optional<double> exducer_mm;
  std::optional<double> trim;                // 100 (inducer / exducer)^2, common practice, no source; of a turbine: 100 (exducer / inducer)^2
  std::optional<double> turbine_area_ratio;  // A/R of the housing, the number as its maker states it
  std::optional<double> speed_limit_rpm;     // the maker's
  bool operator==(const WheelData&) const = default;
};

struct MapNote {
  std::string author;
  std::string time;                     // UTC, "2025-03-14T09:26:53Z"
  std::string text;                     // not empty
  std::optional<std::string> revision;  // id, where the note is about one
  bool operator==(const MapNote&) const = default;
};

struct MapFacts {
  std::vector<std::string> tags;  // sorted
  std::vector<MapNote> notes;     // in order of time
  std::optional<WheelData> wheel;
  bool removed = false;  // off the lists
  bool operator==(const MapFacts&) const = default;
};

// A tag: 1 to 60 bytes of UTF-8, no control characters, no comma, no space at either end. kInvalidArgument.
Result<void> CheckTag(std::string_view tag);

// Text is UTF-8 without control characters and numbers are positive and of a size that a wheel can have. kInvalidArgument with the value's name.
Result<void> CheckWheel(const WheelData& wheel);

// What is doubtful about it, in sentences: a trim that the diameters do not give, an inducer larger than the exducer.
std::vector<std::string> WheelDoubts(const WheelData& wheel);

// A branch's name: as a map's (revision.h), at most 100 bytes, and not four or more hex digits alone, which would look like a revision. kInvalidArgument.
Result<void> CheckBranchName(std::string_view name);

}  // namespace islebook
