#pragma once
// A TOML file as plain values that know their line, so that an error can name it. toml_tree.cc is the only file that knows the TOML library.

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "mapstore/units/error.h"

namespace islebook {

struct TomlNode {
  enum class Kind { kText, kNumber, kBoolean, kList, kTable, kOther } kind = Kind::kOther;  // kOther: dates and times
  std::string text;
  double number = 0.0;
  bool boolean = false;
  std::vector<TomlNode> items;                            // of a list
  std::vector<std::pair<std::string, TomlNode>> entries;  // of a table, in the order of the file
  int line = 0;                                           // from 1; of a table's entry: the line of its key

  const TomlNode* Find(std::string_view key) const;
};

// "text", "a number", ... for messages.
const char* TomlKindWords(TomlNode::Kind kind);

// kBadCase with the line where the text is no TOML.
Result<TomlNode> ParseToml(std::string_view text);

}  // namespace islebook
