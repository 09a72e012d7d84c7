#include "ui/cli/bench_command.h"

#include <algorithm>
#include <charconv>
#include <optional>

#include <fmt/format.h>

#include "mapstore/bench/bench.h"
#include "mapstore/bench/bench_json.h"
#include "mapstore/bench/bench_table.h"
#include "mapstore/bench/case_file.h"
#include "mapstore/bench/what_first.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/query/surge_margin.h"
#include "ui/cli/bench_text.h"
#include "ui/cli/what_first_text.h"
#include "ui/desk/bench_run.h"
#include "ui/desk/open_map.h"
#include "ui/report/bench_report.h"
#include "ui/report/stage_overlay.h"

namespace islebook {
namespace {

int DrawCharts(const BenchArguments& arguments, const CommonArguments& common, const BenchResult& result, const CaseMaps& maps) {
  ChartFileArguments charts = arguments.charts;
  if (charts.pdf) {
    StartWithoutScreen();
    std::vector<const PerformanceMap*> stages;
    for (const auto& map : maps.compressors) stages.push_back(&map->map);
    if (const auto written = WriteBenchReportPdf(*charts.pdf, result, stages); !written) {
      Complain(common, written.error());
      return kExitNotDone;
    }
    Say(common, fmt::format("Wrote {}.", OnOneLine(charts.pdf->string())));
    charts.pdf.reset();
  }
  for (std::size_t i = 0; i < maps.compressors.size(); ++i) {
    ChartOptions options;
    const std::string stage = maps.compressors.size() > 1 ? result.asked.stages[i].name + " stage" : "";
    options.caption = result.asked.title + (result.asked.title.empty() || stage.empty() ? "" : ", ") + stage;
    const auto written = WriteCharts(charts, maps.compressors[i]->map, StageOverlay(result, i), options, static_cast<int>(i) + 1);
    if (!written) {
      Complain(common, written.error());
      return kExitNotDone;
    }
    for (const std::filesystem::path& file : *written) Say(common, fmt::format("Wrote {}.", OnOneLine(file.string())));
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

int RankChanges(const BenchArguments& arguments, const CommonArguments& common, const BenchCase& asked, const CaseMaps& maps, SurgeMargin margin) {
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
  const auto shelf = OpenShelfMaps(ShelfPlace(common), kMost);
  if (!shelf) return FailCommand(common, shelf.error());
  std::vector<ShelfWheel> wheels;
  for (const OpenedMap& map : *shelf) wheels.push_back({map.name, &map.map});
  const auto found = FindWhatFirst(maps.Rig(asked, margin), *point, *goal, wheels);
  if (!found) return FailCommand(common, found.error());
  for (const auto& file : {arguments.charts.svg, arguments.charts.png, arguments.charts.pdf}) {
    if (!file) continue;
    StartWithoutScreen();
    if (const auto written = WriteChangesChart(*file, *found, asked.units); !written) return FailCommand(common, written.error());
    Say(common, fmt::format("Wrote {}.", OnOneLine(file->string())));
  }
  return PrintResult(common, common.json ? WriteBenchChanges(*found) : WhatFirstText(*found, asked.units));
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

  MapDrawer drawer(ShelfPlace(common), margin);
  const auto maps = drawer.Open(*asked, arguments.case_file.parent_path());
  if (!maps) return FailCommand(common, maps.error());
  if (!arguments.what_first.empty()) return RankChanges(arguments, common, *asked, *maps, margin);
  const auto result = maps->Run(*asked);
  if (!result) return FailCommand(common, result.error());

  if (const int printed = PrintResult(common, common.json ? WriteBenchReport(*result) : BenchText(*result)); printed != kExitDone) return printed;
  if (arguments.csv) {
    if (const auto written = ReplaceFileContents(*arguments.csv, WriteBenchCsv(*result)); !written) {
      Complain(common, written.error());
      return kExitNotDone;
    }
    Say(common, fmt::format("Wrote {}.", OnOneLine(arguments.csv->string())));
  }
  if (const int drawn = DrawCharts(arguments, common, *result, *maps); drawn != kExitDone) return drawn;
  for (const PointResult& point : result->points)
    if (!point.failure.empty())
      Complain(common, {ErrorCode::kBadCase, fmt::format("{} cannot be worked out: {}", point.name, point.failure),
                        fmt::format("{}, line {}", asked->file, point.line)});
  if (result->AnyFailure()) return kExitNotDone;
  return result->NeedsReview() ? kExitReview : kExitDone;
}

}  // namespace islebook
