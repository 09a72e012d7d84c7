#include "mapstore/bench/case_edit.h"

#include <algorithm>
#include <array>
#include <charconv>

#include <fmt/format.h>

namespace islebook {
namespace {

// Keys whose value is words, even where the words look like a number.
constexpr std::array<std::string_view, 6> kWordKeys{"title", "units", "name", "compressor", "turbine", "note"};

bool IsNumber(std::string_view text) {
  if (text.empty() || (text.size() > 1 && text[0] == '0' && text[1] != '.')) return false;
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const char last = text.back(), first = text.front();
  return error == std::errc() && end == text.data() + text.size() && last >= '0' && last <= '9' && ((first >= '0' && first <= '9') || first == '-') &&
         text.find_first_not_of("0123456789.-") == std::string_view::npos;
}

std::string_view Trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

std::string Quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) {
      out += fmt::format("\\u{:04X}", static_cast<int>(static_cast<unsigned char>(c)));
    } else {
      out += c;
    }
  }
  return out + '"';
}

std::string AsToml(std::string_view key, std::string_view written) {
  const bool words = std::find(kWordKeys.begin(), kWordKeys.end(), key) != kWordKeys.end();
  // A schedule over engine speed is a table, written as it stands.
  if (!words && Trimmed(written).starts_with('{')) return std::string(Trimmed(written));
  const auto one = [words](std::string_view item) { return !words && IsNumber(item) ? std::string(item) : Quoted(item); };
  if (words || written.find(';') == std::string_view::npos) return one(Trimmed(written));
  std::string list;
  while (!written.empty()) {
    const std::size_t end = written.find(';');
    const std::string_view item = Trimmed(written.substr(0, end));
    if (!item.empty()) list += (list.empty() ? "" : ", ") + one(item);
    written = end == std::string_view::npos ? std::string_view() : written.substr(end + 1);
  }
  return "[" + list + "]";
}

const TomlNode* FindSection(const TomlNode& root, std::string_view section, std::size_t index) {
  if (section.empty()) return &root;
  const TomlNode* node = root.Find(section);
  if (node == nullptr) return nullptr;
  if (node->kind == TomlNode::Kind::kList) return index < node->items.size() ? &node->items[index] : nullptr;
  return index == 0 ? node : nullptr;
}

std::size_t EndOfLine(std::string_view text, std::size_t at) { return std::min(text.find('\n', at), text.size()); }
std::size_t StartOfLine(std::string_view text, std::size_t at) {
  const std::size_t before = at == 0 ? std::string_view::npos : text.rfind('\n', at - 1);
  return before == std::string_view::npos ? 0 : before + 1;
}

bool IsSection(const TomlNode& node) {
  return node.kind == TomlNode::Kind::kTable ||
         (node.kind == TomlNode::Kind::kList && !node.items.empty() && node.items[0].kind == TomlNode::Kind::kTable);
}

// Behind the last value of the section itself, at the end of its line.
std::optional<std::size_t> LastValueEnd(const TomlNode& section) {
  std::optional<std::size_t> end;
  for (const auto& [key, node] : section.entries)
    if (!IsSection(node) || node.is_inline) end = std::max(end.value_or(0), node.at.end);
  return end;
}

Error CannotAdd(const CasePlace& place) {
  return {ErrorCode::kBadCase,
          fmt::format("[{}] is written in braces or with dotted keys; write {} there yourself, in the case's text.", place.section, place.key), ""};
}

Result<TomlNode> Parsed(std::string_view text) { return ParseToml(text); }

}  // namespace

std::string Changed(std::string_view text, const TextChange& change) {
  std::string out(text.substr(0, change.at));
  out += change.with;
  out += text.substr(std::min(change.at + change.length, text.size()));
  return out;
}

std::optional<std::string> WrittenValue(std::string_view text, const TomlNode& root, const CasePlace& place) {
  const TomlNode* section = FindSection(root, place.section, place.index);
  const TomlNode* value = section != nullptr ? section->Find(place.key) : nullptr;
  if (value == nullptr) return std::nullopt;
  const auto one = [text](const TomlNode& node) {
    return node.kind == TomlNode::Kind::kText ? node.text : std::string(text.substr(node.at.begin, node.at.end - node.at.begin));
  };
  if (value->kind != TomlNode::Kind::kList) return one(*value);
  std::string joined;
  for (const TomlNode& item : value->items) joined += (joined.empty() ? "" : "; ") + one(item);
  return joined;
}

std::size_t CountSections(const TomlNode& root, std::string_view section) {
  const TomlNode* node = root.Find(section);
  if (node == nullptr) return 0;
  return node->kind == TomlNode::Kind::kList ? node->items.size() : 1;
}

Result<TextChange> SetCaseValue(std::string_view text, const CasePlace& place, std::string_view written) {
  const auto root = Parsed(text);
  if (!root) return std::unexpected(root.error());
  const bool taken_away = Trimmed(written).empty();
  const TomlNode* section = FindSection(*root, place.section, place.index);
  const TomlNode* value = section != nullptr ? section->Find(place.key) : nullptr;
  if (value != nullptr) {
    if (!taken_away) return TextChange{value->at.begin, value->at.end - value->at.begin, AsToml(place.key, written)};
    if (section->is_inline && section != &*root) return std::unexpected(CannotAdd(place));
    // The line goes, a comment behind the value stays as a line of its own.
    const std::size_t start = StartOfLine(text, value->key.begin), end = EndOfLine(text, value->at.end);
    const std::string_view rest = Trimmed(text.substr(value->at.end, end - value->at.end));
    if (!rest.empty()) return TextChange{start, end - start, std::string(rest)};
    return TextChange{start, std::min(end + 1, text.size()) - start, ""};
  }
  if (taken_away) return TextChange{};
  const std::string line = fmt::format("{} = {}", place.key, AsToml(place.key, written));
  if (section == nullptr) {
    if (place.index > 0) return Fail(ErrorCode::kInvalidArgument, fmt::format("the case has no [[{}]] of that number.", place.section));
    const std::string head = fmt::format("[{}]\n{}\n\n", place.section, line);
    // Before the stages, where a reader looks for it.
    if (const TomlNode* stages = root->Find("stage"); stages != nullptr && IsSection(*stages)) {
      const TomlNode& first = stages->kind == TomlNode::Kind::kList ? stages->items[0] : *stages;
      if (!first.is_inline) return TextChange{StartOfLine(text, first.at.begin), 0, head};
    }
    return TextChange{text.size(), 0, (text.empty() || text.ends_with('\n') ? "\n" : "\n\n") + head};
  }
  if (const auto last = LastValueEnd(*section)) {
    if (section->is_inline && section != &*root) return std::unexpected(CannotAdd(place));
    return TextChange{EndOfLine(text, *last), 0, "\n" + line};
  }
  if (section == &*root) {  // nothing stands at the top yet
    std::size_t at = text.size();
    for (const auto& [key, node] : root->entries)
      at = std::min(at, StartOfLine(text, node.kind == TomlNode::Kind::kList && !node.items.empty() ? node.items[0].at.begin : node.at.begin));
    return TextChange{at, 0, line + "\n\n"};
  }
  if (section->is_inline) return std::unexpected(CannotAdd(place));
  return TextChange{EndOfLine(text, section->at.end), 0, "\n" + line};
}

Result<TextChange> AddCaseSection(std::string_view text, const std::string& section, const std::vector<std::pair<std::string, std::string>>& values) {
  const auto root = Parsed(text);
  if (!root) return std::unexpected(root.error());
  std::string lines = fmt::format("[[{}]]\n", section);
  for (const auto& [key, written] : values)
    if (!Trimmed(written).empty()) lines += fmt::format("{} = {}\n", key, AsToml(key, written));
  const TomlNode* node = root->Find(section);
  if (node != nullptr && (node->kind != TomlNode::Kind::kList || !IsSection(*node) || node->items.back().is_inline))
    return Fail(ErrorCode::kBadCase, fmt::format("{} is not written as [[{}]]; add to it yourself, in the case's text.", section, section));
  if (node != nullptr) {
    const TomlNode& last = node->items.back();
    const std::size_t end = EndOfLine(text, std::max(last.at.end, LastValueEnd(last).value_or(0)));
    return TextChange{end, 0, "\n\n" + lines.substr(0, lines.size() - 1)};
  }
  return TextChange{text.size(), 0, (text.empty() ? "" : text.ends_with('\n') ? "\n" : "\n\n") + lines};
}

Result<TextChange> RemoveCaseSection(std::string_view text, const std::string& section, std::size_t index) {
  const auto root = Parsed(text);
  if (!root) return std::unexpected(root.error());
  const TomlNode* node = FindSection(*root, section, index);
  if (node == nullptr || node == &*root) return Fail(ErrorCode::kInvalidArgument, fmt::format("the case has no [[{}]] of that number.", section));
  if (node->is_inline)
    return Fail(ErrorCode::kBadCase, fmt::format("{} is not written as [[{}]]; take it away yourself, in the case's text.", section, section));
  const std::size_t start = StartOfLine(text, node->at.begin);
  std::size_t end = EndOfLine(text, std::max(node->at.end, LastValueEnd(*node).value_or(0)));
  end = std::min(end + 1, text.size());
  // One blank line with it, so that sections stay one apart.
  if (end < text.size() && text[end] == '\n') ++end;
  return TextChange{start, end - start, ""};
}

}  // namespace islebook
