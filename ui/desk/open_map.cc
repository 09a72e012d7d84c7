#include "ui/desk/open_map.h"

#include <algorithm>

#include <fmt/format.h>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/open_shelf.h"
#include "mapstore/shelf/shelf_maps.h"
#include "mapstore/units/print_text.h"

namespace islebook {
namespace {

std::filesystem::path FileOf(const std::string& spec, const std::filesystem::path& folder) {
  const std::filesystem::path file = spec;
  return file.is_relative() && !folder.empty() ? folder / file : file;
}

std::string Folded(std::string_view name) {
  std::string folded = LowerAscii(name);
  std::ranges::replace_if(folded, [](char c) { return c == '-' || c == '_'; }, ' ');
  return folded;
}

}  // namespace

Result<std::string> SpecOnShelf(Shelf& shelf, const std::string& spec) {
  const std::size_t end = std::min(spec.find('@'), spec.size());
  const std::string name = spec.substr(0, end), folded = Folded(name);
  const auto entries = shelf.List();
  if (!entries) return std::unexpected(entries.error());
  std::string found;
  for (const ShelfEntry& entry : *entries) {
    if (entry.name == name) return spec;
    if (Folded(entry.name) != folded) continue;
    if (!found.empty())
      return Fail(ErrorCode::kNotFound, fmt::format("it may be \"{}\" or \"{}\"; write it as the shelf does.", found, entry.name), spec);
    found = entry.name;
  }
  return found.empty() ? spec : found + spec.substr(end);
}

bool NamesMapFile(const std::string& spec, const std::filesystem::path& folder) {
  std::error_code ignored;
  return spec.find('/') != std::string::npos || spec.ends_with(".json") || std::filesystem::is_regular_file(FileOf(spec, folder), ignored);
}

Result<OpenedMap> OpenMap(const std::string& spec, const std::string& shelf_place, const std::filesystem::path& folder) {
  if (NamesMapFile(spec, folder)) {
    const std::filesystem::path file = FileOf(spec, folder);
    if (std::error_code ignored; !std::filesystem::exists(file, ignored))
      return Fail(ErrorCode::kNotFound,
                  fmt::format("there is no map file \"{}\"; give the path of a .map.json file or a name on the shelf.", file.string()));
    auto map = ReadMapFile(file);
    if (!map) return std::unexpected(map.error());
    return OpenedMap{std::move(*map), std::filesystem::path(spec).filename().string(), {}, std::nullopt};
  }
  auto shelf = OpenShelf(shelf_place, {.access = ShelfAccess::kRead});
  if (!shelf && shelf.error().code == ErrorCode::kNotFound)
    return Fail(ErrorCode::kNotFound, fmt::format("there is no map file \"{}\", and no shelf at {} that could hold a map of that name.", spec,
                                                  ShelfForPeople(shelf_place)));
  if (!shelf) return std::unexpected(shelf.error());
  auto shown = (*shelf)->Show(spec);
  if (!shown && shown.error().code == ErrorCode::kNotFound) {
    const auto meant = SpecOnShelf(**shelf, spec);
    if (!meant) return std::unexpected(meant.error());
    if (*meant != spec) shown = (*shelf)->Show(*meant);
  }
  if (!shown && shown.error().code == ErrorCode::kNotFound)
    return Fail(ErrorCode::kNotFound,
                fmt::format("there is no map file \"{}\", and on the shelf {}: {}", spec, ShelfForPeople(shelf_place), shown.error().message));
  if (!shown) return std::unexpected(shown.error());
  auto map = ParseMapDocument(shown->document);
  if (!map) return std::unexpected(map.error());
  return OpenedMap{std::move(*map), shown->name, shown->revision.id, SpeedLimitOnRecord(**shelf, shown->name)};
}

Result<std::vector<OpenedMap>> OpenShelfMaps(const std::string& shelf_place, std::size_t most) {
  auto shelf = OpenShelf(shelf_place, {.access = ShelfAccess::kRead});
  std::vector<OpenedMap> maps;
  if (!shelf && shelf.error().code == ErrorCode::kNotFound) return maps;
  if (!shelf) return std::unexpected(shelf.error());
  const auto entries = (*shelf)->List();
  if (!entries) return std::unexpected(entries.error());
  if (entries->size() > most)
    return Fail(ErrorCode::kOutOfRange,
                fmt::format("the shelf {} holds {} maps, and at most {} are tried at a time.", ShelfForPeople(shelf_place), entries->size(), most));
  for (const ShelfEntry& entry : *entries) {
    auto shown = (*shelf)->Show(entry.name);
    if (!shown) return std::unexpected(shown.error());
    auto map = ParseMapDocument(shown->document);
    if (map) maps.push_back({std::move(*map), entry.name, shown->revision.id, SpeedLimitOnRecord(**shelf, entry.name)});
  }
  return maps;
}

}  // namespace islebook
