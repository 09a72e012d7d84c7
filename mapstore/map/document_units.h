#pragma once
// The unit spellings of map documents.

#include <optional>
#include <string>
#include <string_view>

namespace islebook {

// The document's spelling of a unit: itself if it is one, else what ParseUnit (units/unit.h) makes of it where that loses nothing; nullopt otherwise.
std::optional<std::string> DocumentUnit(std::string_view text);

// Whether `text` is one of the spellings themselves.
bool IsDocumentUnit(std::string_view text);

}  // namespace islebook
