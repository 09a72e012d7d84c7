#pragma once
// JSON text read the strict way that documents and hashes need: one value, UTF-8, no key twice in an object, no number that a double cannot hold, at most 64 levels deep.

#include <string_view>

#include <nlohmann/json_fwd.hpp>

#include "mapstore/units/error.h"

namespace islebook {

// kMalformedDocument; the message reads on after the document's name ("is not JSON: line 3, column 14 cannot be read.").
Result<nlohmann::ordered_json> ParseStrictJson(std::string_view text);

}  // namespace islebook
