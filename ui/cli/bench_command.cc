#include "ui/cli/bench_command.h"

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
#include "ui/desk/map_drawer.h"
#include "ui/desk/open_map.h"
#include "ui/report/bench_report.h"
#include "ui/report/stage_overlay.h"

namespace islebook {
namespace {

int DrawCharts(const BenchArguments& arguments, const CommonArguments& common, const BenchResult& result, const OpenedBench& bench) {
  ChartFileArguments charts = arguments.charts;
  if (charts.pdf) {
    StartWithoutScreen();
    std::vector<const PerformanceMap*> stages;
    for (const BenchMap& map : bench.compressors()) stages.push_back(map.map.get());
    if (const auto written = WriteBenchReportPdf(*charts.pdf, result, stages); !written) {
      Complain(common, written.error());
      return kExitNotDone;
    }
    Say(common, fmt::format("Wrote {}.", OnOneLine(charts.pdf->string())));
    charts.pdf.reset();
  }
  for (std::size_t i = 0; i < bench.compressors().size(); ++i) {
    ChartOptions options;
    const std::string stage = bench.compressors().size() > 1 ? result.asked.stages[i].name + " stage" : "";
    options.caption = result.asked.title + (result.asked.title.empty() || stage.empty() ? "" : ", ") + stage;
    const auto written = WriteCharts(charts, *bench.compressors()[i].map, StageOverlay(result, i), options, static_cast<int>(i) + 1);
    if (!written) {
      Complain(common, written.error());
      return kExitNotDone;
    }
    for (const std::filesystem::path& file : *written) Say(common, fmt::format("Wrote {}.", OnOneLine(file.string())));
  }
  return kExitDone;
}

int RankChanges(const BenchArguments& arguments, const CommonArguments& common, const OpenedBench& bench) {
  const auto shelf = OpenShelfMaps(ShelfPlace(common), kMostShelfWheels);
  if (!shelf) return FailCommand(common, shelf.error());
  std::vector<ShelfWheel> wheels;
  for (const OpenedMap& map : *shelf) wheels.push_back({map.name, &map.map, map.speed_limit_rpm});
  const auto found = bench.WhatToChange(arguments.what_first, arguments.point, wheels);
  if (!found && found.error().code == ErrorCode::kInvalidArgument)
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, found.error().message, found.error().place == "point" ? "--point" : "--what-first"});
  if (!found) return FailCommand(common, found.error());
  const UnitHabit units = bench.asked().units;
  for (const auto& file : {arguments.charts.svg, arguments.charts.png, arguments.charts.pdf}) {
    if (!file) continue;
    StartWithoutScreen();
    if (const auto written = WriteChangesChart(*file, *found, units); !written) return FailCommand(common, written.error());
    Say(common, fmt::format("Wrote {}.", OnOneLine(file->string())));
  }
  return PrintResult(common, common.json ? WriteBenchChanges(*found) : WhatFirstText(*found, units));
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
  auto asked = ReadCaseFile(arguments.case_file);
  if (!asked) return FailCommand(common, asked.error());

  MapDrawer drawer(ShelfPlace(common), margin);
  const auto bench = drawer.Open(std::move(*asked), arguments.case_file.parent_path());
  if (!bench) return FailCommand(common, bench.error());
  if (!arguments.what_first.empty()) return RankChanges(arguments, common, *bench);
  const auto result = bench->Run();
  if (!result) return FailCommand(common, result.error());

  if (const int printed = PrintResult(common, common.json ? WriteBenchReport(*result) : BenchText(*result)); printed != kExitDone) return printed;
  if (arguments.csv) {
    if (const auto written = ReplaceFileContents(*arguments.csv, WriteBenchCsv(*result)); !written) {
      Complain(common, written.error());
      return kExitNotDone;
    }
    Say(common, fmt::format("Wrote {}.", OnOneLine(arguments.csv->string())));
  }
  if (const int drawn = DrawCharts(arguments, common, *result, *bench); drawn != kExitDone) return drawn;
  for (const PointResult& point : result->points)
    if (!point.failure.empty())
      Complain(common, {ErrorCode::kBadCase, fmt::format("{} cannot be worked out: {}", point.name, point.failure),
                        fmt::format("{}, line {}", result->asked.file, point.line)});
  if (result->AnyFailure()) return kExitNotDone;
  return result->NeedsReview() ? kExitReview : kExitDone;
}

}  // namespace islebook
