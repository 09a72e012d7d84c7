#pragma once
// The canonical form of JSON (RFC 8785) and its SHA-256: the same content has the same bytes, and so the same name, whoever wrote it.

#include <string>
#include <string_view>

#include "mapstore/units/error.h"

namespace islebook {

// No white space, keys sorted by their UTF-16 code units, numbers as ECMAScript writes doubles, strings with the fewest escapes.
// kMalformedDocument: not JSON, a key twice in one object, a number beyond double, nested deeper than 64.
Result<std::string> CanonicalJson(std::string_view json_text);

// 64 lower-case hex digits. Thread-safe.
std::string Sha256Hex(std::string_view bytes);

}  // namespace islebook
