#include "mapstore/map/canonical_json.h"

#include <algorithm>
#include <utility>
#include <vector>

#include <sodium.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/json_text.h"
#include "mapstore/map/strict_json.h"

namespace islebook {
namespace {

// The text as UTF-16 code units; the input is valid UTF-8.
std::u16string Utf16(std::string_view text) {
  std::u16string units;
  for (std::size_t i = 0; i < text.size();) {
    const auto lead = static_cast<unsigned char>(text[i]);
    const std::size_t length = lead < 0x80 ? 1 : lead < 0xE0 ? 2 : lead < 0xF0 ? 3 : 4;
    char32_t point = length == 1 ? lead : lead & (0x7Fu >> length);
    for (std::size_t k = 1; k < length && i + k < text.size(); ++k) point = (point << 6) | (static_cast<unsigned char>(text[i + k]) & 0x3Fu);
    if (point < 0x10000) {
      units += static_cast<char16_t>(point);
    } else {
      units += static_cast<char16_t>(0xD800 + ((point - 0x10000) >> 10));
      units += static_cast<char16_t>(0xDC00 + ((point - 0x10000) & 0x3FF));
    }
    i += length;
  }
  return units;
}

void Append(std::string& out, const nlohmann::ordered_json& json) {
  if (json.is_object()) {
    std::vector<std::pair<std::u16string, const nlohmann::ordered_json::object_t::value_type*>> members;
    for (const auto& member : json.get_ref<const nlohmann::ordered_json::object_t&>()) members.emplace_back(Utf16(member.first), &member);
    std::ranges::sort(members, {}, [](const auto& member) -> const std::u16string& { return member.first; });
    char separator = '{';
    for (const auto& [key, member] : members) {
      out += std::exchange(separator, ',');
      out += JsonString(member->first);
      out += ':';
      Append(out, member->second);
    }
    if (members.empty()) out += '{';
    out += '}';
  } else if (json.is_array()) {
    out += '[';
    for (std::size_t i = 0; i < json.size(); ++i) {
      if (i > 0) out += ',';
      Append(out, json[i]);
    }
    out += ']';
  } else if (json.is_string()) {
    out += JsonString(json.get_ref<const std::string&>());
  } else if (json.is_number()) {
    out += JsonNumber(json.get<double>());
  } else if (json.is_boolean()) {
    out += json.get<bool>() ? "true" : "false";
  } else {
    out += "null";
  }
}

}  // namespace

Result<std::string> CanonicalJson(std::string_view json_text) {
  const auto json = ParseStrictJson(json_text);
  if (!json) return std::unexpected(json.error());
  std::string out;
  Append(out, *json);
  return out;
}

std::string Sha256Hex(std::string_view bytes) {
  unsigned char hash[crypto_hash_sha256_BYTES];
  crypto_hash_sha256(hash, reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size());
  std::string hex;
  for (const unsigned char byte : hash) {
    hex += "0123456789abcdef"[byte >> 4];
    hex += "0123456789abcdef"[byte & 15];
  }
  return hex;
}

}  // namespace islebook
