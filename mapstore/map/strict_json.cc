#include "mapstore/map/strict_json.h"

#include <algorithm>
#include <set>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kMaxDepth = 64;

struct Refusal {
  Error error;
};

// "line 3, column 14" of a byte offset.
std::string LineAndColumn(std::string_view text, std::size_t byte) {
  const std::string_view before = text.substr(0, std::min(byte, text.size()));
  const auto line = 1 + std::ranges::count(before, '\n');
  const std::size_t start = before.rfind('\n');
  const std::size_t column = before.size() - (start == std::string_view::npos ? 0 : start + 1);
  return "line " + std::to_string(line) + ", column " + std::to_string(std::max<std::size_t>(column, 1));
}

}  // namespace

Result<Json> ParseStrictJson(std::string_view text) {
  if (text.find_first_not_of(" \t\r\n") == std::string_view::npos) return Fail(ErrorCode::kMalformedDocument, "is empty.");
  std::vector<std::set<std::string>> keys;  // of the objects that are open
  const auto watch = [&](int depth, Json::parse_event_t event, Json& parsed) {
    if (depth > kMaxDepth) throw Refusal{Error{ErrorCode::kMalformedDocument, "is nested deeper than any map document.", ""}};
    if (event == Json::parse_event_t::object_start) {
      keys.emplace_back();
    } else if (event == Json::parse_event_t::object_end) {
      keys.pop_back();
    } else if (event == Json::parse_event_t::key) {
      const std::string key = parsed.get<std::string>();
      if (!keys.back().insert(key).second)
        throw Refusal{Error{ErrorCode::kMalformedDocument, "holds the key \"" + key.substr(0, 60) + "\" twice in one object.", key}};
    }
    return true;
  };
  try {
    return Json::parse(text, watch);
  } catch (const Refusal& refusal) {
    return std::unexpected(refusal.error);
  } catch (const Json::parse_error& e) {
    const std::string place = LineAndColumn(text, e.byte);
    return Fail(ErrorCode::kMalformedDocument,
                e.byte > text.size() ? "is not complete: the JSON ends in the middle." : "is not JSON: " + place + " cannot be read.", place);
  } catch (const Json::exception&) {  // a number that no double can hold
    return Fail(ErrorCode::kMalformedDocument, "holds a number that is too large to be real.");
  }
}

}  // namespace islebook
