#include "mapstore/shelf/map_facts.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "mapstore/map/json_text.h"
#include "mapstore/shelf/revision.h"

namespace islebook {
namespace {

bool HasControlCharacter(std::string_view text) {
  return std::any_of(text.begin(), text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; });
}

}  // namespace

Result<void> CheckTag(std::string_view tag) {
  const auto refuse = [&](const char* why) {
    return Fail(ErrorCode::kInvalidArgument, fmt::format("this cannot be a tag: {}; choose another.", why), ValidUtf8(tag));
  };
  if (tag.empty()) return refuse("it is empty");
  if (tag.size() > 60) return refuse("it is longer than 60 bytes");
  if (ValidUtf8(tag) != tag) return refuse("it is not UTF-8 text");
  if (tag.front() == ' ' || tag.back() == ' ') return refuse("it begins or ends with a space");
  if (tag.find(',') != std::string_view::npos) return refuse("it has a comma");
  if (HasControlCharacter(tag)) return refuse("it has a control character");
  return {};
}

Result<void> CheckWheel(const WheelData& wheel) {
  for (const auto& [word, text] : {std::pair("maker", &wheel.maker), std::pair("model", &wheel.model)}) {
    if (text->size() > 200 || ValidUtf8(*text) != *text || HasControlCharacter(*text))
      return Fail(ErrorCode::kInvalidArgument, fmt::format("the {} is not a short line of UTF-8 text.", word), ValidUtf8(*text));
  }
  struct Bound {
    const char* word;
    const std::optional<double>& value;
    double least, most;
    const char* unit;
  };
  const Bound bounds[] = {{"inducer diameter", wheel.inducer_mm, 1, 5000, " mm"},
                          {"exducer diameter", wheel.exducer_mm, 1, 5000, " mm"},
                          {"trim", wheel.trim, 1, 100, ""},
                          {"turbine area ratio", wheel.turbine_area_ratio, 0.01, 1000, ""},
                          {"speed limit", wheel.speed_limit_rpm, 100, 2000000, " rpm"}};
  for (const Bound& bound : bounds) {
    if (bound.value && !(*bound.value >= bound.least && *bound.value <= bound.most))
      return Fail(ErrorCode::kInvalidArgument,
                  fmt::format("the {} must be between {} and {}{}, not {}.", bound.word, bound.least, bound.most, bound.unit, *bound.value));
  }
  return {};
}

std::vector<std::string> WheelDoubts(const WheelData& wheel) {
  std::vector<std::string> doubts;
  if (wheel.inducer_mm && wheel.exducer_mm) {
    const double small = std::min(*wheel.inducer_mm, *wheel.exducer_mm), large = std::max(*wheel.inducer_mm, *wheel.exducer_mm);
    const double trim = 100.0 * (small / large) * (small / large);
    if (*wheel.inducer_mm == *wheel.exducer_mm) doubts.emplace_back("Inducer and exducer are the same size; check both.");
    if (wheel.trim && std::abs(*wheel.trim - trim) > 1.5)
      doubts.push_back(fmt::format("Diameters of {} and {} mm give a trim of {:.1f}, not {}; check the three.", *wheel.inducer_mm, *wheel.exducer_mm,
                                   trim, *wheel.trim));
  }
  return doubts;
}

Result<void> CheckBranchName(std::string_view name) {
  if (const Result<void> good = CheckMapName(name); !good)
    return Fail(ErrorCode::kInvalidArgument, "a branch's name is made as a map's: UTF-8 text without '@', control characters and spaces at its ends.",
                ValidUtf8(name));
  if (name.size() > 100) return Fail(ErrorCode::kInvalidArgument, "a branch's name has at most 100 bytes.", std::string(name));
  const bool hex = std::all_of(name.begin(), name.end(), [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); });
  if (hex && name.size() >= 4)
    return Fail(ErrorCode::kInvalidArgument, "this looks like the beginning of a revision's id; give the branch another name.", std::string(name));
  return {};
}

}  // namespace islebook
