#include "mapstore/bench/opened_bench.h"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "mapstore/map/curve_words.h"

namespace islebook {

namespace {

// More than any case names; beyond it the kept ones are of cases long closed.
constexpr std::size_t kMostKept = 40;

std::string Number(const std::optional<double>& value) { return value ? fmt::format("{:a}", *value) : "-"; }

// All that a reader takes from its map and stage.
std::string KeyOf(const BenchMap& map, const CompressorStage& stage, SurgeMargin surge_margin) {
  return fmt::format("{} {} {} {} {}\n{}\n{}\n{}", static_cast<const void*>(map.map.get()), static_cast<int>(surge_margin), Number(stage.reference_K),
                     Number(stage.reference_Pa), Number(stage.assumed_efficiency), stage.name, stage.map, map.revision);
}
std::string KeyOf(const BenchMap* map, const TurbineStage& stage, const std::string& name) {
  return fmt::format("{} {} {} {} {} {} {}\n{}\n{}\n{}", static_cast<const void*>(map != nullptr ? map->map.get() : nullptr),
                     Number(stage.effective_area_m2), Number(stage.assumed_efficiency), Number(stage.reference_K), Number(stage.reference_Pa),
                     Number(stage.wheel_diameter_m), Number(stage.map_air_K), name, stage.map, map != nullptr ? map->revision : std::string());
}

}  // namespace

void BenchReaders::Forget() {
  compressors_.clear();
  turbines_.clear();
}

Result<OpenedBench> OpenedBench::Open(BenchCase asked, const BenchMapFinder& find, SurgeMargin surge_margin, BenchReaders* kept) {
  BenchReaders own;
  BenchReaders& readers = kept != nullptr ? *kept : own;
  if (readers.compressors_.size() + readers.turbines_.size() > kMostKept) readers.Forget();
  OpenedBench bench;
  bench.surge_margin_ = surge_margin;
  for (CompressorStage& stage : asked.stages) {
    int line = stage.line;
    const auto fail = [&](Error error) {
      const std::string file = asked.file.empty() ? "the case" : asked.file;
      error.place = fmt::format("{}, line {}{}", file, line, error.place.empty() ? "" : ": " + error.place);
      return std::unexpected(std::move(error));
    };
    auto map = find(stage.map);
    if (!map) return fail(map.error());
    auto& compressor = readers.compressors_[KeyOf(*map, stage, surge_margin)];
    if (!compressor.reader) {
      auto made = MakeCompressorReader(*map->map, stage, map->revision, surge_margin);
      if (!made) return fail(made.error());
      compressor = {map->map, std::move(*made)};
    }
    // A map in tip speeds would need the wheel's diameter to be held against it.
    if (!stage.speed_limit && map->speed_limit_rpm && !compressor.reader->facts().speed_is_tip_speed) {
      stage.speed_limit = *map->speed_limit_rpm / 60.0;
      asked.assumed.push_back({fmt::format("stage {}.speed_limit", &stage - asked.stages.data() + 1), NumberInWords(*map->speed_limit_rpm) + " rpm",
                               "on record for this wheel on the shelf"});
    }
    bench.compressor_readers_.push_back(compressor.reader);
    bench.compressors_.push_back(std::move(*map));
    if (!stage.turbine) continue;
    line = stage.turbine->line;
    std::optional<BenchMap>& turbine_map = bench.turbines_.emplace_back();
    if (!stage.turbine->map.empty()) {
      auto found = find(stage.turbine->map);
      if (!found) return fail(found.error());
      turbine_map = std::move(*found);
    }
    auto& turbine = readers.turbines_[KeyOf(turbine_map ? &*turbine_map : nullptr, *stage.turbine, stage.name)];
    if (!turbine.reader) {
      auto made = MakeTurbineReader(turbine_map ? turbine_map->map.get() : nullptr, *stage.turbine, stage.name,
                                    turbine_map ? turbine_map->revision : std::string());
      if (!made) return fail(made.error());
      turbine = {turbine_map ? turbine_map->map : nullptr, std::move(*made)};
    }
    bench.turbine_readers_.push_back(turbine.reader);
  }
  bench.asked_ = std::move(asked);
  return bench;
}

Result<BenchResult> OpenedBench::Run() const {
  std::vector<const CompressorReader*> compressors;
  std::vector<const TurbineReader*> turbines;
  for (const auto& reader : compressor_readers_) compressors.push_back(reader.get());
  for (const auto& reader : turbine_readers_) turbines.push_back(reader.get());
  return RunBench(asked_, compressors, turbines);
}

Result<std::size_t> OpenedBench::FindPoint(std::string_view words) const {
  if (words.empty()) return 0;
  for (std::size_t i = 0; i < asked_.points.size(); ++i)
    if (asked_.points[i].name == words) return i;
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(words.data(), words.data() + words.size(), number);
  if (error == std::errc() && end == words.data() + words.size() && number >= 1 && number <= asked_.points.size()) return number - 1;
  constexpr std::size_t kMostNamed = 20;
  std::string names;
  for (std::size_t i = 0; i < std::min(asked_.points.size(), kMostNamed); ++i)
    names += fmt::format("{}\"{}\"", names.empty() ? "" : ", ", asked_.points[i].name);
  if (asked_.points.size() > kMostNamed) names += fmt::format(" and {} more", asked_.points.size() - kMostNamed);
  return Fail(ErrorCode::kInvalidArgument, fmt::format("the case has no point \"{}\"; it has {}.", words, names), "point");
}

Result<WhatFirst> OpenedBench::WhatToChange(Goal goal, std::size_t point, std::span<const ShelfWheel> wheels,
                                            const WhatFirstProgress& progress) const {
  BenchRig rig{asked_, {}, {}, surge_margin_};
  for (const BenchMap& map : compressors_) rig.compressors.push_back(map.map.get());
  for (const auto& map : turbines_) rig.turbines.push_back(map ? map->map.get() : nullptr);
  return FindWhatFirst(rig, point, goal, wheels, progress);
}

Result<WhatFirst> OpenedBench::WhatToChange(std::string_view goal, std::string_view point, std::span<const ShelfWheel> wheels,
                                            const WhatFirstProgress& progress) const {
  const auto known = ParseGoal(goal);
  if (!known) {
    std::string names;
    for (const GoalDefinition& definition : GoalDefinitions()) names += fmt::format("{}{}", names.empty() ? "" : ", ", definition.name);
    return Fail(ErrorCode::kInvalidArgument, fmt::format("there is no goal \"{}\"; known are {}.", goal, names), "what_first");
  }
  const auto index = FindPoint(point);
  if (!index) return std::unexpected(index.error());
  return WhatToChange(*known, *index, wheels, progress);
}

}  // namespace islebook
