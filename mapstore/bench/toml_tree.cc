#include "mapstore/bench/toml_tree.h"

#include <algorithm>

#include <fmt/format.h>
#include <toml++/toml.h>

namespace islebook {
namespace {

// The library counts lines and characters from 1; an edit wants bytes.
class Places {
 public:
  explicit Places(std::string_view text) : text_(text) {
    lines_.push_back(0);
    for (std::size_t i = 0; i < text.size(); ++i)
      if (text[i] == '\n') lines_.push_back(i + 1);
  }
  TomlSpan Span(const toml::source_region& region) const { return {Byte(region.begin), Byte(region.end)}; }
  bool IsHeader(const TomlSpan& span) const { return span.begin < text_.size() && text_[span.begin] == '['; }

 private:
  std::size_t Byte(const toml::source_position& at) const {
    if (at.line < 1 || at.line > lines_.size()) return text_.size();
    std::size_t byte = lines_[at.line - 1];
    if (at.line == 1 && text_.starts_with("\xEF\xBB\xBF")) byte += 3;
    for (toml::source_index left = at.column > 0 ? at.column - 1 : 0; left > 0 && byte < text_.size(); --left) {
      ++byte;
      while (byte < text_.size() && (static_cast<unsigned char>(text_[byte]) & 0xC0) == 0x80) ++byte;
    }
    return byte;
  }

  std::string_view text_;
  std::vector<std::size_t> lines_;
};

TomlNode Convert(const toml::node& node, int line, const Places& places) {
  TomlNode out;
  out.line = line;
  out.at = places.Span(node.source());
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
    for (const toml::node& item : *list) out.items.push_back(Convert(item, static_cast<int>(item.source().begin.line), places));
  } else if (const auto* table = node.as_table()) {
    out.kind = TomlNode::Kind::kTable;
    out.is_inline = !places.IsHeader(out.at);
    for (const auto& [name, value] : *table) {
      out.entries.emplace_back(std::string(name.str()), Convert(value, static_cast<int>(name.source().begin.line), places));
      out.entries.back().second.key = places.Span(name.source());
    }
    std::stable_sort(out.entries.begin(), out.entries.end(), [](const auto& a, const auto& b) { return a.second.line < b.second.line; });
  }
  return out;
}

}  // namespace

const TomlNode* TomlNode::Find(std::string_view wanted) const {
  for (const auto& [name, value] : entries)
    if (name == wanted) return &value;
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
    return Convert(table, 1, Places(text));
  } catch (const toml::parse_error& wrong) {
    return Fail(ErrorCode::kBadCase, fmt::format("this is not TOML: {}.", wrong.description()), fmt::format("line {}", wrong.source().begin.line));
  }
}

}  // namespace islebook
