#include "mapstore/shelf/shelf_maps.h"

#include <utility>

#include <fmt/format.h>

#include "mapstore/map/map_document.h"

namespace islebook {

std::optional<double> SpeedLimitOnRecord(Shelf& shelf, const std::string& name) {
  const auto facts = shelf.Facts(name);
  return facts && facts->wheel ? facts->wheel->speed_limit_rpm : std::nullopt;
}

Result<ShelfMap> ReadShelfMap(Shelf& shelf, const std::string& name) {
  auto shown = shelf.Show(name);
  if (!shown) return std::unexpected(shown.error());
  auto map = ParseMapDocument(shown->document);
  if (!map) return std::unexpected(map.error());
  return ShelfMap{std::move(*map), shown->name, shown->revision.id, SpeedLimitOnRecord(shelf, shown->name)};
}

Result<std::vector<ShelfMap>> ReadShelfMaps(Shelf& shelf, std::size_t most) {
  const auto entries = shelf.List();
  if (!entries) return std::unexpected(entries.error());
  if (entries->size() > most)
    return Fail(ErrorCode::kOutOfRange, fmt::format("the shelf holds {} maps, and at most {} are tried at a time.", entries->size(), most));
  std::vector<ShelfMap> maps;
  for (const ShelfEntry& entry : *entries)
    if (auto map = ReadShelfMap(shelf, entry.name)) maps.push_back(std::move(*map));
  return maps;
}

}  // namespace islebook
