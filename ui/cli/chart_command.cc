#include "ui/cli/chart_command.h"

#include <cstdint>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/whole_file.h"
#include "mapstore/query/compressor_query.h"
#include "mapstore/query/left_edge.h"
#include "mapstore/query/question_table.h"
#include "mapstore/query/turbine_query.h"
#include "ui/chart/chart_words.h"
#include "ui/chart/comparison_chart.h"
#include "ui/chart/ticks.h"
#include "ui/desk/open_map.h"

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;

std::optional<double> ValueOf(const TableQuestion& question, QuestionValue which) { return question.values[static_cast<std::size_t>(which)]; }

std::string RegionWords(MapRegion region) {
  switch (region) {
    case MapRegion::kOnMap: return "on the map";
    case MapRegion::kLeftOfSurge: return "left of surge";
    case MapRegion::kPastChoke: return "past choke";
    case MapRegion::kOverSpeed: return "over the highest speed line";
    case MapRegion::kUnderSpeed: return "under the lowest speed line";
  }
  return "";
}

// What became of one line of the points file.
struct PlacedPoint {
  std::int64_t line = 0;
  std::optional<ChartPoint> point;
  std::string error;
};

PlacedPoint PlaceCompressorPoint(const CompressorQuery& query, const PerformanceMap& map, const TableQuestion& question) {
  PlacedPoint placed{question.line, std::nullopt, question.error};
  if (!placed.error.empty()) return placed;
  const CompressorAnswer answer = query.Ask(
      {ValueOf(question, QuestionValue::kFlow), ValueOf(question, QuestionValue::kPressureRatio), ValueOf(question, QuestionValue::kSpeed)});
  if (!answer.flow || !answer.pressure_ratio) {
    placed.error = "the point cannot be found on the map: " + DoubtWords(answer, query.surface());
    return placed;
  }
  const std::string unit = UnitWords(map.x->unit);
  std::string words = fmt::format("{:.4g}{}, pressure ratio {:.3g}: ", *answer.flow, unit.empty() ? "" : " " + unit, *answer.pressure_ratio);
  const bool open = LeftEdgeIsDoubtful(answer, query.surface());  // then neither region nor surge margin is known
  if (open) words += "on the map or not, that cannot be told";
  if (!answer.inside) {
    if (!open) words += RegionWords(answer.region);
  } else {
    if (open) words += "; ";
    if (answer.speed) words += NumberOnChart(*answer.speed, *answer.speed < 1000 ? 1 : 0) + " " + UnitWords(query.surface().SpeedUnit());
    if (answer.efficiency) words += fmt::format(", efficiency {:.3f}", *answer.efficiency);
    if (answer.surge_margin && !open) words += fmt::format(", surge margin {:.0f} %", 100 * *answer.surge_margin);
  }
  placed.point = ChartPoint{.at = {*answer.flow, *answer.pressure_ratio}, .words = std::move(words), .off_map = !answer.inside && !open};
  return placed;
}

PlacedPoint PlaceTurbinePoint(const TurbineQuery& query, const PerformanceMap& map, const TableQuestion& question) {
  PlacedPoint placed{question.line, std::nullopt, question.error};
  if (!placed.error.empty()) return placed;
  const std::optional<double> speed = ValueOf(question, QuestionValue::kSpeed);
  const TurbineAnswer answer = query.Ask({ValueOf(question, QuestionValue::kExpansionRatio), ValueOf(question, QuestionValue::kFlow),
                                          speed ? speed : ValueOf(question, QuestionValue::kVaneOpening)});
  if (!answer.expansion_ratio || !answer.flow) {
    placed.error = "the point cannot be found on the map: " + answer.reason;
    return placed;
  }
  std::string words = fmt::format("expansion ratio {:.3g}, flow {:.4g} {}", *answer.expansion_ratio, *answer.flow, UnitWords(map.y->unit));
  if (!answer.inside) words += ": off the map";
  if (answer.efficiency) words += fmt::format(", efficiency {:.3f}", *answer.efficiency);
  ChartPoint point{.at = {*answer.expansion_ratio, *answer.flow}, .words = std::move(words), .off_map = !answer.inside};
  if (answer.efficiency && map.efficiency) point.efficiency = *answer.efficiency * (map.efficiency->unit == "%" ? 100 : 1);
  placed.point = std::move(point);
  return placed;
}

Result<std::vector<PlacedPoint>> PlacePoints(const std::filesystem::path& file, const PerformanceMap& map) {
  const auto fail = [&file](Error error) {
    error.place = error.place.empty() ? file.string() : file.string() + ", " + error.place;
    return std::unexpected(std::move(error));
  };
  const auto text = ReadFileContents(file);
  if (!text) return std::unexpected(text.error());
  const auto units = QuestionUnits::For(map);
  if (!units) return fail(units.error());
  const auto table = ReadQuestionTable(*text, *units);
  if (!table) return fail(table.error());
  std::vector<PlacedPoint> placed;
  if (map.kind == MapKind::kTurbine) {
    auto surface = TurbineSurface::Build(map);
    if (!surface) return std::unexpected(surface.error());
    const TurbineQuery query(std::move(*surface));
    for (const TableQuestion& question : table->questions) placed.push_back(PlaceTurbinePoint(query, map, question));
  } else {
    auto surface = CompressorSurface::Build(map, {.estimate_sigma = false});
    if (!surface) return std::unexpected(surface.error());
    const CompressorQuery query(std::move(*surface), {.sigma = false});
    for (const TableQuestion& question : table->questions) placed.push_back(PlaceCompressorPoint(query, map, question));
  }
  return placed;
}

// Two or more maps on common axes.
int RunComparison(const ChartArguments& arguments, const CommonArguments& common) {
  if (arguments.points)
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "points are drawn on one map: leave out --with or --points.", ""});
  std::vector<std::string> specs = {arguments.map}, names;
  specs.insert(specs.end(), arguments.with.begin(), arguments.with.end());
  std::vector<PerformanceMap> maps;
  for (const std::string& spec : specs) {
    auto opened = OpenMap(spec, ShelfPlace(common));
    if (!opened) return FailCommand(common, opened.error());
    names.push_back(opened->name);
    maps.push_back(std::move(opened->map));
  }
  const Result<std::vector<ComparedMap>> compared = PrepareComparison(names, maps);
  if (!compared)
    return compared.error().code == ErrorCode::kInvalidArgument ? RefuseArguments(common, compared.error()) : FailCommand(common, compared.error());
  ChartOptions options;
  options.night = arguments.night;
  const auto written = WriteComparisons(arguments.charts, *compared, options);
  if (!written) return FailCommand(common, written.error());
  bool doubted = false;
  for (const ComparedMap& map : *compared) doubted = doubted || !map.on_axes.doubts.empty();
  if (common.json) {
    Json json = {{"maps", Json::array()}, {"files", Json::array()}};
    for (std::size_t i = 0; i < compared->size(); ++i) {
      const MapOnAxes& on_axes = (*compared)[i].on_axes;
      json["maps"].push_back({{"letter", ComparisonLetter(i)},
                              {"map", (*compared)[i].name},
                              {"flow_factor", on_axes.flow_factor},
                              {"speed_factor", on_axes.speed_factor},
                              {"converted", on_axes.words},
                              {"needs_review", on_axes.doubts}});
    }
    for (const auto& file : *written) json["files"].push_back(file.string());
    if (const int printed = PrintResult(common, json.dump(2, ' ', false, Json::error_handler_t::replace)); printed != kExitDone) return printed;
  } else {
    std::string text;
    for (std::size_t i = 0; i < compared->size(); ++i) {
      text += fmt::format("{}  {}\n", ComparisonLetter(i), OnOneLine((*compared)[i].name));
      for (const std::string& sentence : (*compared)[i].on_axes.words) text += fmt::format("   {}\n", sentence);
      for (const std::string& sentence : (*compared)[i].on_axes.doubts) text += fmt::format("   look at this: {}\n", sentence);
    }
    for (const auto& file : *written) text += fmt::format("Wrote {}.\n", OnOneLine(file.string()));
    if (const int printed = PrintResult(common, text); printed != kExitDone) return printed;
  }
  return doubted ? kExitReview : kExitDone;
}

}  // namespace

int RunChart(const ChartArguments& arguments, const CommonArguments& common) {
  if (!arguments.charts.Any())
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "say where to: --svg FILE, --png FILE or --pdf FILE.", ""});
  if (!arguments.with.empty()) return RunComparison(arguments, common);
  auto opened = OpenMap(arguments.map, ShelfPlace(common));
  if (!opened) return FailCommand(common, opened.error());
  if (opened->map.title.empty()) opened->map.title = opened->name;

  std::vector<PlacedPoint> placed;
  if (arguments.points) {
    auto points = PlacePoints(*arguments.points, opened->map);
    if (!points) return FailCommand(common, points.error());
    placed = std::move(*points);
  }
  ChartOverlay overlay;
  bool failed = false, off_map = false;
  for (PlacedPoint& each : placed) {
    if (!each.point) {
      Complain(common, {ErrorCode::kInvalidArgument, each.error, fmt::format("{}, line {}", arguments.points->string(), each.line)});
      failed = true;
      continue;
    }
    off_map = off_map || each.point->off_map;
    overlay.points.push_back(std::move(*each.point));
  }
  ChartOptions options;
  options.night = arguments.night;
  const auto written = WriteCharts(arguments.charts, opened->map, overlay, options);
  if (!written) return FailCommand(common, written.error());

  const std::vector<ChartDoubt> doubts = NumberDoubts(opened->map);
  if (common.json) {
    Json json = {{"map", opened->name}, {"files", Json::array()}, {"points", Json::array()}, {"needs_review", Json::array()}};
    for (const auto& file : *written) json["files"].push_back(file.string());
    for (std::size_t i = 0; i < overlay.points.size(); ++i)
      json["points"].push_back({{"number", i + 1}, {"off_map", overlay.points[i].off_map}, {"words", overlay.points[i].words}});
    for (const ChartDoubt& doubt : doubts) json["needs_review"].push_back({{"number", doubt.number}, {"reason", doubt.words}});
    if (const int printed = PrintResult(common, json.dump(2, ' ', false, Json::error_handler_t::replace)); printed != kExitDone) return printed;
  } else {
    std::string text;
    for (std::size_t i = 0; i < overlay.points.size(); ++i) text += fmt::format("{:>3}  {}\n", i + 1, overlay.points[i].words);
    for (const auto& file : *written) text += fmt::format("Wrote {}.\n", OnOneLine(file.string()));
    if (!doubts.empty()) text += fmt::format("{} doubt{} about this map, numbered on the chart\n", doubts.size(), doubts.size() == 1 ? "" : "s");
    if (const int printed = PrintResult(common, text); printed != kExitDone) return printed;
  }
  if (failed) return kExitNotDone;
  return doubts.empty() && !off_map ? kExitDone : kExitReview;
}

}  // namespace islebook
