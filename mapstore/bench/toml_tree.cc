#include "mapstore/bench/toml_tree.h"

#include <algorithm>

#include <fmt/format.h>
#include <toml++/toml.h>

namespace islebook {
namespace {

TomlNode Convert(const toml::node& node, int line) {
  TomlNode out;
  out.line = line;
  if (const auto* text = node.as_string()) {
    out.kind = TomlNode::Kind::kText;
    out.text = text->get();
  } else if (const auto* whole = node.as_integer()) {
    out.kind = TomlNode::Kind::kNumber;
    out.number = static_cast<double>(whole->get());
  } else if (const auto* number = node.as_floating_point()) {
    out.kind = TomlNode::Kind::kNumber;
    out.number = number->get();
  } else if (const auto* yes = node.as_boolean()) {
    out.kind = TomlNode::Kind::kBoolean;
    out.boolean = yes->get();
  } else if (const auto* list = node.as_array()) {
    out.kind = TomlNode::Kind::kList;
    for (const toml::node& item : *list) out.items.push_back(Convert(item, static_cast<int>(item.source().begin.line)));
  } else if (const auto* table = node.as_table()) {
    out.kind = TomlNode::Kind::kTable;
    for (const auto& [key, value] : *table)
      out.entries.emplace_back(std::string(key.str()), Convert(value, static_cast<int>(key.source().begin.line)));
    std::stable_sort(out.entries.begin(), out.entries.end(), [](const auto& a, const auto& b) { return a.second.line < b.second.line; });
  }
  return out;
}

}  // namespace

const TomlNode* TomlNode::Find(std::string_view key) const {
  for (const auto& [name, value] : entries)
    if (name == key) return &value;
  return nullptr;
}

const char* TomlKindWords(TomlNode::Kind kind) {
  switch (kind) {
    case TomlNode::Kind::kText: return "text";
    case TomlNode::Kind::kNumber: return "a bare number";
    case TomlNode::Kind::kBoolean: return "true or false";
    case TomlNode::Kind::kList: return "a list";
    case TomlNode::Kind::kTable: return "a section";
    case TomlNode::Kind::kOther: return "a date or a time";
  }
  return "";
}

Result<TomlNode> ParseToml(std::string_view text) {
  if (text.size() > (8u << 20)) return Fail(ErrorCode::kBadCase, "it is larger than 8 MB; no case file is.");
  try {
    const toml::table table = toml::parse(text);
    return Convert(table, 1);
  } catch (const toml::parse_error& wrong) {
    return Fail(ErrorCode::kBadCase, fmt::format("this is not TOML: {}.", wrong.description()), fmt::format("line {}", wrong.source().begin.line));
  }
}

}  // namespace islebook
