#include "ui/desk/bench_run.h"

#include <fmt/format.h>

namespace islebook {
namespace {

// More than any case names; beyond it the kept ones are of cases long closed.
constexpr std::size_t kMostKept = 40;

std::string Number(const std::optional<double>& value) { return value ? fmt::format("{:a}", *value) : "-"; }

// All that a reader takes from its stage.
std::string KeyOf(const OpenedMap* map, const CompressorStage& stage) {
  return fmt::format("{} {} {} {}", static_cast<const void*>(map), Number(stage.reference_K), Number(stage.reference_Pa),
                     Number(stage.assumed_efficiency)) +
         "\n" + stage.name + "\n" + stage.map;
}
std::string KeyOf(const OpenedMap* map, const TurbineStage& stage, const std::string& name) {
  return fmt::format("{} {} {} {} {} {} {}", static_cast<const void*>(map), Number(stage.effective_area_m2), Number(stage.assumed_efficiency),
                     Number(stage.reference_K), Number(stage.reference_Pa), Number(stage.wheel_diameter_m), Number(stage.map_air_K)) +
         "\n" + name + "\n" + stage.map;
}

}  // namespace

Result<BenchResult> CaseMaps::Run(const BenchCase& asked) const {
  std::vector<const CompressorReader*> compressor_list;
  std::vector<const TurbineReader*> turbine_list;
  for (const auto& reader : compressor_readers) compressor_list.push_back(reader.get());
  for (const auto& reader : turbine_readers) turbine_list.push_back(reader.get());
  return RunBench(asked, compressor_list, turbine_list);
}

BenchRig CaseMaps::Rig(const BenchCase& asked, SurgeMargin surge_margin) const {
  BenchRig rig{asked, {}, {}, surge_margin};
  for (const auto& map : compressors) rig.compressors.push_back(&map->map);
  for (const auto& map : turbines) rig.turbines.push_back(map ? &map->map : nullptr);
  return rig;
}

Result<CaseMaps> MapDrawer::Open(const BenchCase& asked, const std::filesystem::path& folder) {
  if (maps_.size() + compressors_.size() + turbines_.size() > kMostKept) Forget();
  CaseMaps out;
  for (const CompressorStage& stage : asked.stages) {
    int line = stage.line;
    const auto fail = [&](Error error) {
      error.place = fmt::format("{}, line {}{}", asked.file, line, error.place.empty() ? "" : ": " + error.place);
      return std::unexpected(std::move(error));
    };
    auto map = Map(stage.map, folder);
    if (!map) return fail(map.error());
    auto& reader = compressors_[KeyOf(map->get(), stage)];
    if (!reader) {
      auto made = MakeCompressorReader((*map)->map, stage, (*map)->revision, surge_margin_);
      if (!made) return fail(made.error());
      reader = std::move(*made);
    }
    out.compressors.push_back(*map);
    out.compressor_readers.push_back(reader);
    if (!stage.turbine) continue;
    line = stage.turbine->line;
    std::shared_ptr<const OpenedMap> turbine_map;
    if (!stage.turbine->map.empty()) {
      auto found = Map(stage.turbine->map, folder);
      if (!found) return fail(found.error());
      turbine_map = *found;
    }
    auto& turbine = turbines_[KeyOf(turbine_map.get(), *stage.turbine, stage.name)];
    if (!turbine) {
      auto made = MakeTurbineReader(turbine_map ? &turbine_map->map : nullptr, *stage.turbine, stage.name, turbine_map ? turbine_map->revision : "");
      if (!made) return fail(made.error());
      turbine = std::move(*made);
    }
    out.turbines.push_back(turbine_map);
    out.turbine_readers.push_back(turbine);
  }
  return out;
}

Result<std::shared_ptr<const AskableMap>> MapDrawer::Ask(const std::shared_ptr<const OpenedMap>& map) {
  auto& kept = asked_[map.get()];
  if (!kept) {
    AskableMapOptions options;
    if (map->map.kind == MapKind::kCompressor) options.surge_margin = surge_margin_;
    auto made = AskableMap::Make(map->map, map->name, map->revision, options);
    if (!made) return std::unexpected(made.error());
    kept = std::make_shared<const AskableMap>(std::move(*made));
  }
  return kept;
}

void MapDrawer::Forget() {
  asked_.clear();
  turbines_.clear();
  compressors_.clear();
  maps_.clear();
}

Result<std::shared_ptr<const OpenedMap>> MapDrawer::Map(const std::string& spec, const std::filesystem::path& folder) {
  // A file that was written again is another map.
  std::filesystem::path file = spec;
  if (file.is_relative() && !folder.empty()) file = folder / file;
  std::error_code ignored;
  std::string key = spec + "\n" + folder.string();
  if (std::filesystem::is_regular_file(file, ignored))
    key += fmt::format("\n{}", std::filesystem::last_write_time(file, ignored).time_since_epoch().count());
  auto& kept = maps_[key];
  if (!kept) {
    auto opened = OpenMap(spec, shelf_file_, folder);
    if (!opened) return std::unexpected(opened.error());
    kept = std::make_shared<const OpenedMap>(std::move(*opened));
  }
  return kept;
}

}  // namespace islebook
