#include "ui/cli/shelf_common.h"

#include <algorithm>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/shelf/open_shelf.h"
#include "ui/desk/open_map.h"

namespace islebook::shelf_cli {

int PrintJson(const CommonArguments& common, const Json& document) {
  return PrintResult(common, document.dump(2, ' ', false, Json::error_handler_t::replace));
}

Result<std::unique_ptr<Shelf>> OpenShelf(const CommonArguments& common, ShelfAccess access) {
  return islebook::OpenShelf(ShelfPlace(common), {.access = access});
}

Result<std::string> AsOnShelf(Shelf& shelf, const std::string& spec) { return shelf.Show(spec) ? spec : SpecOnShelf(shelf, spec); }

std::string ShortId(const std::string& id) { return id.substr(0, 12); }

std::string Count(std::int64_t n, std::string_view one, std::string_view many) { return fmt::format("{} {}", n, n == 1 ? one : many); }

std::string Bytes(std::int64_t bytes) {
  if (bytes < 1000) return Count(bytes, "byte", "bytes");
  if (bytes < 1000000) return fmt::format("{:.1f} kB", static_cast<double>(bytes) / 1e3);
  return fmt::format("{:.1f} MB", static_cast<double>(bytes) / 1e6);
}

// Text in columns, two spaces between, nothing after the last.
std::string Table(const std::vector<std::vector<std::string>>& rows) {
  const auto width_of = [](const std::string& text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
  };
  std::vector<std::size_t> widths;
  for (const auto& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (i == widths.size()) widths.push_back(0);
      widths[i] = std::max(widths[i], width_of(row[i]));
    }
  std::string text;
  for (const auto& row : rows) {
    std::string line;
    for (std::size_t i = 0; i < row.size(); ++i) line += row[i] + std::string(widths[i] - width_of(row[i]) + 2, ' ');
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  }
  return text;
}

// A message's first line, for a table.
std::string FirstLine(const std::string& message) { return message.substr(0, message.find('\n')); }

Json RevisionJson(const RevisionRecord& revision) {
  return {{"revision", revision.id},   {"parents", revision.parents}, {"document_sha256", revision.document_sha256},
          {"author", revision.author}, {"time", revision.time},       {"message", revision.message}};
}

Json SheetJson(const std::optional<std::string>& sha256) { return sha256 ? Json(*sha256) : Json(nullptr); }

Json WheelJson(const std::optional<WheelData>& wheel) {
  if (!wheel) return nullptr;
  const auto number = [](const std::optional<double>& value) { return value ? Json(*value) : Json(nullptr); };
  return {{"maker", wheel->maker},
          {"model", wheel->model},
          {"inducer_mm", number(wheel->inducer_mm)},
          {"exducer_mm", number(wheel->exducer_mm)},
          {"trim", number(wheel->trim)},
          {"turbine_area_ratio", number(wheel->turbine_area_ratio)},
          {"speed_limit_rpm", number(wheel->speed_limit_rpm)}};
}

std::string WheelText(const WheelData& wheel) {
  std::string text = wheel.maker;
  if (!wheel.model.empty()) text += (text.empty() ? "" : ", ") + wheel.model;
  const auto add = [&](const char* word, const std::optional<double>& value, const char* unit) {
    if (value) text += fmt::format("{}{} {}{}", text.empty() ? "" : ", ", word, *value, unit);
  };
  add("inducer", wheel.inducer_mm, " mm");
  add("exducer", wheel.exducer_mm, " mm");
  add("trim", wheel.trim, "");
  add("area ratio", wheel.turbine_area_ratio, "");
  add("limit", wheel.speed_limit_rpm, " rpm");
  return text;
}

std::string Joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : ", ") + word;
  return text;
}

}  // namespace islebook::shelf_cli
