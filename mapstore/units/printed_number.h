#pragma once
// Numbers as people type and print them: decimal point or comma, thousands parted by comma, point, space or apostrophe.

#include <optional>
#include <string_view>
#include <vector>

namespace islebook {

struct PrintedNumber {
  std::vector<double> values;  // what it may mean, likeliest first; two where "1,234" may be 1234 or 1.234
  std::size_t length = 0;      // bytes of `text` that it takes
  bool repaired = false;       // letters taken for digits: l I | for 1, O o for 0
};

// The number at the very front of `text`, which went through FoldPrint. Nullopt if there is none. A group of three after a space belongs to the number ("101 325").
std::optional<PrintedNumber> ReadPrintedNumber(std::string_view text, bool allow_misread = false);

}  // namespace islebook
