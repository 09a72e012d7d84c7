#pragma once
// The one door to UDUNITS-2, which is not thread-safe by itself.

#include <optional>
#include <string>

#include "mapstore/units/error.h"

namespace islebook {

struct LinearUnit {
  double factor = 1.0;  // value in `to` = value * factor + offset
  double offset = 0.0;
};

// From one unit to another, both in UDUNITS's own syntax. An empty optional: one of them is unknown to UDUNITS or they do not convert.
// kInternal: the units database is not installed.
Result<std::optional<LinearUnit>> UdunitsConversion(const std::string& from, const std::string& to);

}  // namespace islebook
