#include "mapstore/bench/opened_bench.h"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>

namespace islebook {

Result<OpenedBench> OpenedBench::Open(BenchCase asked, const BenchMapFinder& find, SurgeMargin surge_margin) {
  OpenedBench bench;
  bench.surge_margin_ = surge_margin;
  for (const CompressorStage& stage : asked.stages) {
    int line = stage.line;
    const auto fail = [&](Error error) {
      const std::string file = asked.file.empty() ? "the case" : asked.file;
      error.place = fmt::format("{}, line {}{}", file, line, error.place.empty() ? "" : ": " + error.place);
      return std::unexpected(std::move(error));
    };
    auto map = find(stage.map);
    if (!map) return fail(map.error());
    auto reader = MakeCompressorReader(*map->map, stage, map->revision, surge_margin);
    if (!reader) return fail(reader.error());
    bench.compressors_.push_back(std::move(*map));
    bench.compressor_readers_.push_back(std::move(*reader));
    if (!stage.turbine) continue;
    line = stage.turbine->line;
    std::optional<BenchMap>& turbine_map = bench.turbines_.emplace_back();
    if (!stage.turbine->map.empty()) {
      auto found = find(stage.turbine->map);
      if (!found) return fail(found.error());
      turbine_map = std::move(*found);
    }
    auto turbine = MakeTurbineReader(turbine_map ? turbine_map->map.get() : nullptr, *stage.turbine, stage.name,
                                     turbine_map ? turbine_map->revision : std::string());
    if (!turbine) return fail(turbine.error());
    bench.turbine_readers_.push_back(std::move(*turbine));
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

Result<WhatFirst> OpenedBench::WhatToChange(std::string_view goal, std::string_view point, std::span<const ShelfWheel> wheels) const {
  const auto known = ParseGoal(goal);
  if (!known) {
    std::string names;
    for (const GoalDefinition& definition : GoalDefinitions()) names += fmt::format("{}{}", names.empty() ? "" : ", ", definition.name);
    return Fail(ErrorCode::kInvalidArgument, fmt::format("there is no goal \"{}\"; known are {}.", goal, names), "what_first");
  }
  const auto index = FindPoint(point);
  if (!index) return std::unexpected(index.error());
  BenchRig rig{asked_, {}, {}, surge_margin_};
  for (const BenchMap& map : compressors_) rig.compressors.push_back(map.map.get());
  for (const auto& map : turbines_) rig.turbines.push_back(map ? map->map.get() : nullptr);
  return FindWhatFirst(rig, *index, *known, wheels);
}

}  // namespace islebook
