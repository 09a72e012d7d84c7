#include "ui/cli/bench_command.h"

#include <algorithm>
#include <charconv>
#include <map>
#include <memory>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/bench_json.h"
#include "mapstore/bench/case_file.h"
#include "mapstore/bench/what_first.h"
#include "mapstore/query/surge_margin.h"
#include "ui/cli/bench_text.h"
#include "ui/cli/what_first_text.h"
#include "ui/desk/open_map.h"

namespace islebook {
namespace {

// The stage's map with every point on it, and a line through the points of each altitude from low to high engine speed.
ChartOverlay StageOverlay(const BenchResult& result, std::size_t stage) {
  ChartOverlay overlay;
  struct Line {
    double altitude = 0.0;
    std::vector<std::pair<double, Point2>> places;  // engine speed, place on the map
  };
  std::map<long, Line> lines;
  for (const PointResult& point : result.points) {
    if (!point.failure.empty()) continue;
    const StageResult& at = point.stages[stage];
    const Point2 place{at.reading.map_flow, at.pressure_ratio};
    overlay.points.push_back({.at = place, .words = BenchPointWords(point, stage), .off_map = !at.reading.inside});
    const double altitude = point.input.altitude_m.value_or(AltitudeOfPressure(point.input.ambient.pressure_Pa));
    Line& line = lines[std::lround(altitude)];
    line.altitude = altitude;
    line.places.emplace_back(point.input.speed_rev_s, place);
  }
  const long lowest = lines.empty() ? 0 : lines.begin()->first, highest = lines.empty() ? 0 : lines.rbegin()->first;
  for (auto& [key, line] : lines) {
    std::stable_sort(line.places.begin(), line.places.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    // Points at one engine speed are alternatives, not a line.
    const bool rising = std::adjacent_find(line.places.begin(), line.places.end(), [](const auto& a, const auto& b) { return a.first == b.first; }) ==
                        line.places.end();
    if (line.places.size() < 2 || !rising) continue;
    ChartLine drawn;
    for (const auto& [speed, place] : line.places) drawn.points.push_back(place);
    if (lines.size() > 1) {
      drawn.words = AltitudeWords(line.altitude, result.asked.units);
      drawn.lightness = 0.65 * static_cast<double>(key - lowest) / static_cast<double>(highest - lowest);
    }
    overlay.lines.push_back(std::move(drawn));
  }
  return overlay;
}

int DrawCharts(const BenchArguments& arguments, const CommonArguments& common, const BenchResult& result, const std::vector<OpenedMap>& maps) {
  for (std::size_t i = 0; i < maps.size(); ++i) {
    ChartOptions options;
    const std::string stage = maps.size() > 1 ? result.asked.stages[i].name + " stage" : "";
    options.caption = result.asked.title + (result.asked.title.empty() || stage.empty() ? "" : ", ") + stage;
    const auto written = WriteCharts(arguments.charts, maps[i].map, StageOverlay(result, i), options, static_cast<int>(i) + 1);
    if (!written) {
      Complain(common, written.error());
      return kExitNotDone;
    }
    for (const std::filesystem::path& file : *written) Say(common, fmt::format("wrote {}", file.string()));
  }
  return kExitDone;
}

// The point that --point means.
std::optional<std::size_t> FindPoint(const BenchCase& asked, const std::string& words) {
  if (words.empty()) return 0;
  for (std::size_t i = 0; i < asked.points.size(); ++i)
    if (asked.points[i].name == words) return i;
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(words.data(), words.data() + words.size(), number);
  if (error == std::errc() && end == words.data() + words.size() && number >= 1 && number <= asked.points.size()) return number - 1;
  return std::nullopt;
}

int RankChanges(const BenchArguments& arguments, const CommonArguments& common, const BenchCase& asked, const std::vector<OpenedMap>& compressors,
                const std::vector<std::optional<OpenedMap>>& turbines, SurgeMargin margin) {
  const auto goal = ParseGoal(arguments.what_first);
  if (!goal) {
    std::string names;
    for (const GoalDefinition& definition : GoalDefinitions()) names += fmt::format("{}{}", names.empty() ? "" : ", ", definition.name);
    return RefuseArguments(
        common, {ErrorCode::kInvalidArgument, fmt::format("there is no goal \"{}\"; known are {}.", arguments.what_first, names), "--what-first"});
  }
  const auto point = FindPoint(asked, arguments.point);
  if (!point) {
    std::string names;
    for (const OperatingPoint& known : asked.points) names += fmt::format("{}\"{}\"", names.empty() ? "" : ", ", known.name);
    return RefuseArguments(common,
                           {ErrorCode::kInvalidArgument, fmt::format("the case has no point \"{}\"; it has {}.", arguments.point, names), "--point"});
  }
  constexpr std::size_t kMost = 300;
  const auto shelf = OpenShelfMaps(ShelfFile(common), kMost);
  if (!shelf) return FailCommand(common, shelf.error());
  BenchRig rig{asked, {}, {}, margin};
  for (const OpenedMap& map : compressors) rig.compressors.push_back(&map.map);
  for (const auto& map : turbines) rig.turbines.push_back(map ? &map->map : nullptr);
  std::vector<ShelfWheel> wheels;
  for (const OpenedMap& map : *shelf) wheels.push_back({map.name, &map.map});
  const auto found = FindWhatFirst(rig, *point, *goal, wheels);
  if (!found) return FailCommand(common, found.error());
  return PrintResult(common, common.json ? WhatFirstJson(*found) : WhatFirstText(*found, asked.units));
}

}  // namespace

int RunBenchCommand(const BenchArguments& arguments, const CommonArguments& common) {
  SurgeMargin margin = SurgeMargin::kConstantSpeed;
  if (!arguments.surge_margin.empty()) {
    const auto named = ParseSurgeMargin(arguments.surge_margin);
    if (!named) {
      std::string names;
      for (const SurgeMarginDefinition& definition : SurgeMarginDefinitions())
        names += fmt::format("{}{}", names.empty() ? "" : ", ", definition.name);
      return RefuseArguments(
          common, {ErrorCode::kInvalidArgument, fmt::format("there is no surge margin \"{}\"; known are {}.", arguments.surge_margin, names),
                   "--surge-margin"});
    }
    margin = *named;
  }
  const auto asked = ReadCaseFile(arguments.case_file);
  if (!asked) return FailCommand(common, asked.error());

  std::vector<OpenedMap> opened;
  std::vector<std::unique_ptr<CompressorReader>> readers;
  std::vector<const CompressorReader*> maps;
  std::vector<std::optional<OpenedMap>> opened_turbines;
  std::vector<std::unique_ptr<TurbineReader>> turbine_readers;
  std::vector<const TurbineReader*> turbines;
  for (const CompressorStage& stage : asked->stages) {
    int line = stage.line;
    const auto fail = [&](Error error) {
      error.place = fmt::format("{}, line {}{}", asked->file, line, error.place.empty() ? "" : ": " + error.place);
      return FailCommand(common, error);
    };
    auto map = OpenMap(stage.map, ShelfFile(common), arguments.case_file.parent_path());
    if (!map) return fail(map.error());
    auto reader = MakeCompressorReader(map->map, stage, map->revision, margin);
    if (!reader) return fail(reader.error());
    opened.push_back(std::move(*map));
    maps.push_back(reader->get());
    readers.push_back(std::move(*reader));
    if (!stage.turbine) continue;
    line = stage.turbine->line;
    std::optional<OpenedMap>& turbine_map = opened_turbines.emplace_back();
    if (!stage.turbine->map.empty()) {
      auto found = OpenMap(stage.turbine->map, ShelfFile(common), arguments.case_file.parent_path());
      if (!found) return fail(found.error());
      turbine_map = std::move(*found);
    }
    auto turbine = MakeTurbineReader(turbine_map ? &turbine_map->map : nullptr, *stage.turbine, stage.name, turbine_map ? turbine_map->revision : "");
    if (!turbine) return fail(turbine.error());
    turbines.push_back(turbine->get());
    turbine_readers.push_back(std::move(*turbine));
  }
  if (!arguments.what_first.empty()) return RankChanges(arguments, common, *asked, opened, opened_turbines, margin);
  const auto result = RunBench(*asked, maps, turbines);
  if (!result) return FailCommand(common, result.error());

  if (const int printed = PrintResult(common, common.json ? WriteBenchReport(*result) : BenchText(*result)); printed != kExitDone) return printed;
  if (const int drawn = DrawCharts(arguments, common, *result, opened); drawn != kExitDone) return drawn;
  for (const PointResult& point : result->points)
    if (!point.failure.empty())
      Complain(common, {ErrorCode::kBadCase, fmt::format("{} cannot be worked out: {}", point.name, point.failure),
                        fmt::format("{}, line {}", asked->file, point.line)});
  if (result->AnyFailure()) return kExitNotDone;
  return result->NeedsReview() ? kExitReview : kExitDone;
}

}  // namespace islebook
