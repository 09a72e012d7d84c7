#pragma once
// Changes of single values in a case file's text. Whatever stands around a value, comments above all, stays as a person wrote it.

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "mapstore/bench/toml_tree.h"
#include "mapstore/units/error.h"

namespace islebook {

struct CasePlace {
  std::string section;    // "engine", "stage"; empty: the top of the file
  std::size_t index = 0;  // of a [[stage]] or [[point]], from 0
  std::string key;        // "displacement"
};

// Put `with` in place of `length` bytes at `at`.
struct TextChange {
  std::size_t at = 0, length = 0;
  std::string with;
};
std::string Changed(std::string_view text, const TextChange& change);

// A value as a form shows it: text without its quotes, numbers as written, a list's items with "; " between. nullopt: it is not there.
std::optional<std::string> WrittenValue(std::string_view text, const TomlNode& root, const CasePlace& place);
// How many [[section]] there are; a single [section] counts as one.
std::size_t CountSections(const TomlNode& root, std::string_view section);

// The change that makes the value at `place` be `written`, in the form of WrittenValue; empty takes the key away, so that its default holds. A section that is not
// there is made. kBadCase: the text is no TOML, or the place is written in a way (braces, dotted keys) that only a person can add to.
Result<TextChange> SetCaseValue(std::string_view text, const CasePlace& place, std::string_view written);

// A new [[section]] with these lines (key, written value) behind the last of its kind, else at the end.
Result<TextChange> AddCaseSection(std::string_view text, const std::string& section, const std::vector<std::pair<std::string, std::string>>& values);
// Takes the section's header and values away; comments between its values go with them. kInvalidArgument: there is no such section.
Result<TextChange> RemoveCaseSection(std::string_view text, const std::string& section, std::size_t index);

}  // namespace islebook
