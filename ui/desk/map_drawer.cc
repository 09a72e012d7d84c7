#include "ui/desk/map_drawer.h"

#include <fmt/format.h>

#include "ui/desk/open_map.h"

namespace islebook {
namespace {

// More than any case names; beyond it the kept ones are of cases long closed.
constexpr std::size_t kMostKept = 20;

}  // namespace

Result<OpenedBench> MapDrawer::Open(BenchCase asked, const std::filesystem::path& folder) {
  if (maps_.size() > kMostKept) Forget();
  return OpenedBench::Open(std::move(asked), [&](const std::string& spec) { return Find(spec, folder); }, surge_margin_, &readers_);
}

Result<std::shared_ptr<const AskableMap>> MapDrawer::Ask(const BenchMap& map) {
  Asked& kept = asked_[map.map.get()];
  if (!kept.askable) {
    AskableMapOptions options;
    if (map.map->kind == MapKind::kCompressor) options.surge_margin = surge_margin_;
    auto made = AskableMap::Make(*map.map, map.name, map.revision, options);
    if (!made) return std::unexpected(made.error());
    kept = {map.map, std::make_shared<const AskableMap>(std::move(*made))};
  }
  return kept.askable;
}

void MapDrawer::Forget() {
  asked_.clear();
  readers_.Forget();
  maps_.clear();
}

Result<BenchMap> MapDrawer::Find(const std::string& spec, const std::filesystem::path& folder) {
  // A file that was written again is another map.
  std::filesystem::path file = spec;
  if (file.is_relative() && !folder.empty()) file = folder / file;
  std::error_code ignored;
  std::string key = spec + "\n" + folder.string();
  if (std::filesystem::is_regular_file(file, ignored))
    key += fmt::format("\n{}", std::filesystem::last_write_time(file, ignored).time_since_epoch().count());
  BenchMap& kept = maps_[key];
  if (!kept.map) {
    auto opened = OpenMap(spec, shelf_file_, folder);
    if (!opened) return std::unexpected(opened.error());
    kept = {std::make_shared<const PerformanceMap>(std::move(opened->map)), opened->name, opened->revision, opened->speed_limit_rpm};
  }
  return kept;
}

}  // namespace islebook
