#pragma once
// What every CSV writer here must do alike (RFC 4180): its fields. Rows end in CRLF; columns are the writer's.

#include <string>
#include <string_view>

namespace islebook {

// Quoted where a comma, a quotation mark or a line break asks for it.
void AppendCsvField(std::string& out, std::string_view text);

}  // namespace islebook
