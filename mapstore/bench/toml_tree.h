#pragma once
// A TOML file as plain values that know their line, so that an error can name it. toml_tree.cc is the only file that knows the TOML library.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "mapstore/units/error.h"

namespace islebook {

// A stretch of the text in bytes, `end` excluded.
struct TomlSpan {
  std::size_t begin = 0, end = 0;
};

struct TomlNode {
  enum class Kind { kText, kNumber, kBoolean, kList, kTable, kOther } kind = Kind::kOther;  // kOther: dates and times
  std::string text;
  double number = 0.0;
  bool boolean = false;
  std::vector<TomlNode> items;                            // of a list
  std::vector<std::pair<std::string, TomlNode>> entries;  // of a table, in the order of the file
  int line = 0;                                           // from 1; of a table's entry: the line of its key
  TomlSpan at, key;                                       // of the value (of a section: its header), and of its key
  bool is_inline = false;                                 // a table in braces, or one made by dotted keys: it has no header

  const TomlNode* Find(std::string_view wanted) const;
};

// "text", "a number", ... for messages.
const char* TomlKindWords(TomlNode::Kind kind);

// kBadCase with the line where the text is no TOML.
Result<TomlNode> ParseToml(std::string_view text);

}  // namespace islebook
