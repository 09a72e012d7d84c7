#include "mapstore/map/document_units.h"

namespace islebook {

bool IsDocumentUnit(std::string_view text) {
  for (const char* unit : {"lb/min", "lb/s", "kg/s", "kg/min", "kg/h", "g/s", "m3/s", "m3/min", "m3/h", "ft3/min", "1", "%", "rpm", "krpm", "m/s", "kg s-1 K0.5 kPa-1"})
    if (text == unit) return true;
  return false;
}

std::optional<std::string> DocumentUnit(std::string_view text) {
  if (IsDocumentUnit(text)) return std::string(text);
  return std::nullopt;
}

}  // namespace islebook
