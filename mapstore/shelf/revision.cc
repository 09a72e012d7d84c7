#include "mapstore/shelf/revision.h"

#include <algorithm>
#include <charconv>
#include <chrono>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "mapstore/map/canonical_json.h"
#include "mapstore/map/json_text.h"

namespace islebook {
namespace {

bool IsLowerHex(char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); }

}  // namespace

// Keys in sorted order, no space, strings as RFC 8785 wants them: this is canonical as it is written.
std::string RevisionRecordJson(const RevisionRecord& revision) {
  std::string json = "{\"author\":" + JsonString(revision.author) + ",\"document\":" + JsonString(revision.document_sha256) +
                     ",\"message\":" + JsonString(revision.message) + ",\"parents\":[";
  for (std::size_t i = 0; i < revision.parents.size(); ++i) json += (i == 0 ? "" : ",") + JsonString(revision.parents[i]);
  return json + "],\"schema\":" + std::to_string(kRevisionSchema) + ",\"time\":" + JsonString(revision.time) + "}";
}

std::string RevisionId(const RevisionRecord& revision) { return Sha256Hex(RevisionRecordJson(revision)); }

Result<void> CheckMapName(std::string_view name) {
  const auto refuse = [&](const char* why) {
    return Fail(ErrorCode::kInvalidArgument, fmt::format("this cannot be a map's name: {}; choose another.", why), ValidUtf8(name));
  };
  if (name.empty()) return refuse("it is empty");
  if (name.size() > 200) return refuse("it is longer than 200 bytes");
  if (ValidUtf8(name) != name) return refuse("it is not UTF-8 text");
  if (name.front() == ' ' || name.back() == ' ') return refuse("it begins or ends with a space");
  for (const char c : name) {
    if (c == '@') return refuse("'@' parts a name from a revision");
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) return refuse("it has a control character");
  }
  return {};
}

Result<void> CheckRevisionTime(std::string_view time) {
  const auto number = [&](std::size_t from, std::size_t length) {
    int value = -1;
    const char* end = time.data() + from + length;
    const auto [stopped, error] = std::from_chars(time.data() + from, end, value);
    return error == std::errc() && stopped == end ? value : -1;
  };
  const std::string_view form = "dddd-dd-ddTdd:dd:ddZ";
  bool good = time.size() == form.size();
  for (std::size_t i = 0; good && i < form.size(); ++i) good = form[i] == 'd' ? (time[i] >= '0' && time[i] <= '9') : time[i] == form[i];
  if (good) {
    const std::chrono::year_month_day day(std::chrono::year(number(0, 4)), std::chrono::month(static_cast<unsigned>(number(5, 2))),
                                          std::chrono::day(static_cast<unsigned>(number(8, 2))));
    good = day.ok() && number(11, 2) < 24 && number(14, 2) < 60 && number(17, 2) < 60;
  }
  if (good) return {};
  return Fail(ErrorCode::kInvalidArgument, "a revision's time is written in UTC as 2025-03-14T09:26:53Z.", ValidUtf8(time));
}

std::string CurrentRevisionTime() {
  const auto now = std::chrono::time_point_cast<std::chrono::seconds>(std::chrono::system_clock::now());
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(std::chrono::system_clock::to_time_t(now)));
}

bool IsSha256Hex(std::string_view text) { return text.size() == 64 && std::all_of(text.begin(), text.end(), IsLowerHex); }

}  // namespace islebook
