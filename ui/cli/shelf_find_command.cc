#include "ui/cli/shelf_find_command.h"

#include <algorithm>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/find/find_maps.h"
#include "mapstore/find/map_reach_grid.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/query/query_units.h"
#include "mapstore/query/question_table.h"
#include "ui/cli/shelf_common.h"
#include "ui/desk/shelf_questions.h"

namespace islebook {
namespace {

using namespace shelf_cli;

Result<std::vector<JobPoint>> ReadPoints(const ShelfFindArguments& arguments) {
  const Result<QuestionUnits> units = StandardPointUnits(arguments.reference);
  if (!units) return std::unexpected(units.error());
  if (!arguments.points) {
    const Result<double> flow = units->Parse(QuestionValue::kFlow, arguments.flow);
    if (!flow) return std::unexpected(flow.error());
    const Result<double> ratio = units->Parse(QuestionValue::kPressureRatio, arguments.pressure_ratio);
    if (!ratio) return std::unexpected(ratio.error());
    return std::vector{JobPoint{*flow, *ratio}};
  }
  const Result<std::string> text = ReadFileContents(*arguments.points);
  if (!text) return std::unexpected(text.error());
  const Result<QuestionTable> table = ReadQuestionTable(*text, *units);
  if (!table) return Fail(table.error().code, table.error().message, arguments.points->string() + ", " + table.error().place);
  std::vector<JobPoint> points;
  for (const TableQuestion& question : table->questions) {
    const auto &flow = question.values[static_cast<std::size_t>(QuestionValue::kFlow)],
               &ratio = question.values[static_cast<std::size_t>(QuestionValue::kPressureRatio)];
    if (!question.error.empty() || !flow || !ratio)
      return Fail(ErrorCode::kInvalidArgument, question.error.empty() ? "a point needs flow and pressure ratio." : question.error,
                  fmt::format("{}, line {}", arguments.points->string(), question.line));
    points.push_back({*flow, *ratio});
  }
  return points;
}

FindOptions WordOptions(const ShelfFindArguments& arguments) {
  FindOptions options;
  for (const std::string& word : arguments.words) options.words += (options.words.empty() ? "" : " ") + word;
  options.maker = arguments.maker;
  options.tags = arguments.tags;
  options.kind = arguments.kind;
  options.removed = arguments.removed;
  options.limit = arguments.limit;
  return options;
}

std::string Percent(double fraction) { return fmt::format("{:.1f} %", 100.0 * fraction); }

int FindByWords(Shelf& shelf, const FindOptions& options, const CommonArguments& common) {
  const Result<std::vector<FoundMap>> maps = shelf.Find(options);
  if (!maps) return maps.error().code == ErrorCode::kInvalidArgument ? RefuseArguments(common, maps.error()) : FailCommand(common, maps.error());
  if (common.json) {
    Json list = Json::array();
    for (const FoundMap& map : *maps)
      list.push_back({{"name", map.name},
                      {"kind", map.kind.empty() ? Json(nullptr) : Json(map.kind)},
                      {"title", map.title},
                      {"revision", map.head},
                      {"time", map.time},
                      {"tags", map.tags},
                      {"wheel", WheelJson(map.wheel)},
                      {"where", map.where}});
    return PrintJson(common, list);
  }
  if (maps->empty()) return PrintResult(common, "nothing found\n");
  std::vector<std::vector<std::string>> rows = {{"name", "kind", "wheel", "tags", options.words.empty() ? "title" : "where"}};
  for (const FoundMap& map : *maps) {
    std::string where = options.words.empty() ? map.title : map.where;
    std::replace(where.begin(), where.end(), '\n', ' ');
    rows.push_back({map.name, map.kind, map.wheel ? WheelText(*map.wheel) : "", Joined(map.tags), where});
  }
  return PrintResult(common, Table(rows));
}

int FindByCapability(Shelf& shelf, MapFinder& finder, const ShelfFindArguments& arguments, const FindOptions& words, const CommonArguments& common) {
  CapabilityOptions options;
  const Result<std::vector<JobPoint>> points = ReadPoints(arguments);
  if (!points) return RefuseArguments(common, points.error());
  options.points = *points;
  if (!arguments.surge_margin.empty()) {
    const Result<double> margin = ReadFraction(arguments.surge_margin, "surge margin");
    if (!margin) return RefuseArguments(common, margin.error());
    options.surge_margin = *margin;
  }
  if (!arguments.efficiency.empty()) {
    const Result<double> efficiency = ReadFraction(arguments.efficiency, "efficiency");
    if (!efficiency) return RefuseArguments(common, efficiency.error());
    options.efficiency = *efficiency;
  }
  options.limit = arguments.limit;
  options.ask_maps = !arguments.from_index;
  if (!words.words.empty() || !words.maker.empty() || !words.tags.empty() || words.inducer_min_mm || words.inducer_max_mm || words.exducer_min_mm ||
      words.exducer_max_mm) {
    FindOptions among = words;
    among.limit = 10000000;
    const Result<std::vector<FoundMap>> maps = shelf.Find(among);
    if (!maps) return maps.error().code == ErrorCode::kInvalidArgument ? RefuseArguments(common, maps.error()) : FailCommand(common, maps.error());
    options.among.emplace();
    for (const FoundMap& map : *maps) options.among->push_back(map.name);
  }
  const Result<CapableMaps> found = finder.FindCapable(options);
  if (!found) return found.error().code == ErrorCode::kInvalidArgument ? RefuseArguments(common, found.error()) : FailCommand(common, found.error());
  int code = found->not_searched > 0 ? kExitReview : kExitDone;
  for (const CapableMap& map : found->maps)
    if (!map.doubts.empty() || map.reference_assumed) code = kExitReview;
  if (!found->undecided.empty()) code = kExitReview;
  const std::string unsearched = fmt::format("{} could not be searched, because the shelf's index is not up to date and may not be written here.",
                                             Count(found->not_searched, "map", "maps"));
  if (found->not_searched > 0) Say(common, unsearched);
  const auto number = [](const std::optional<double>& value) { return value ? Json(*value) : Json(nullptr); };
  if (common.json) {
    const auto listed = [&](const std::vector<CapableMap>& maps, bool margin_known) {
      Json list = Json::array();
      for (const CapableMap& map : maps)
        list.push_back({{"name", map.name},
                        {"revision", map.revision},
                        {"least_surge_margin", margin_known ? Json(map.least_surge_margin) : Json(nullptr)},
                        {"least_efficiency", number(map.least_efficiency)},
                        {"mean_efficiency", number(map.mean_efficiency)},
                        {"total_to_static", map.total_to_static},
                        {"reference_assumed", map.reference_assumed},
                        {"from_index", map.from_index},
                        {"doubts", map.doubts}});
      return list;
    };
    return std::max(code, PrintJson(common, {{"maps", listed(found->maps, true)},
                                             {"undecided", listed(found->undecided, false)},
                                             {"more", found->more},
                                             {"not_searched", found->not_searched}}));
  }
  if (found->maps.empty() && found->undecided.empty()) return std::max(code, PrintResult(common, "no compressor on the shelf does that\n"));
  std::vector<std::vector<std::string>> rows = {{"name", "efficiency", "at least", "surge margin", "look at"}};
  const auto add = [&](const CapableMap& map, const std::string& margin) {
    std::vector<std::string> looks;
    if (map.total_to_static) looks.emplace_back("its pressure ratio is total to static");
    if (map.reference_assumed && !map.from_index) looks.emplace_back("its reference conditions are assumed");
    looks.insert(looks.end(), map.doubts.begin(), map.doubts.end());
    rows.push_back({map.name, map.mean_efficiency ? Percent(*map.mean_efficiency) : "not printed",
                    map.least_efficiency ? Percent(*map.least_efficiency) : "", margin, Joined(looks)});
  };
  for (const CapableMap& map : found->maps) add(map, Percent(map.least_surge_margin));
  for (const CapableMap& map : found->undecided) add(map, "cannot be told");
  std::string text = Table(rows);
  if (found->more > 0) text += fmt::format("and {} more\n", found->more);
  return std::max(code, PrintResult(common, text));
}

int FindByLikeness(MapFinder& finder, const ShelfFindArguments& arguments, const CommonArguments& common) {
  const Result<std::vector<LikeMap>> maps = finder.FindLike(arguments.like, arguments.limit);
  if (!maps) return FailCommand(common, maps.error());
  if (common.json) {
    Json list = Json::array();
    for (const LikeMap& map : *maps)
      list.push_back({{"name", map.name},
                      {"revision", map.revision},
                      {"flow_difference", map.flow_difference},
                      {"pressure_ratio_difference", map.pressure_ratio_difference},
                      {"peak_efficiency_difference", map.peak_efficiency_difference ? Json(*map.peak_efficiency_difference) : Json(nullptr)}});
    return PrintJson(common, list);
  }
  if (maps->empty()) return PrintResult(common, "no other compressor on the shelf\n");
  std::vector<std::vector<std::string>> rows = {{"name", "flow differs by", "pressure ratio by", "peak efficiency by"}};
  for (const LikeMap& map : *maps)
    rows.push_back({map.name, Percent(map.flow_difference), Percent(map.pressure_ratio_difference),
                    map.peak_efficiency_difference ? fmt::format("{:.1f} points", 100 * *map.peak_efficiency_difference) : "not printed"});
  return PrintResult(common, Table(rows));
}

}  // namespace

int RunShelfFind(const ShelfFindArguments& arguments, const CommonArguments& common) {
  const bool by_point = !arguments.flow.empty() || !arguments.pressure_ratio.empty() || arguments.points.has_value();
  if (by_point && !arguments.points && (arguments.flow.empty() || arguments.pressure_ratio.empty()))
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "an operating point has --flow and --pressure-ratio.", ""});
  if (!by_point && (!arguments.surge_margin.empty() || !arguments.efficiency.empty()))
    return RefuseArguments(
        common, {ErrorCode::kInvalidArgument, "a margin or an efficiency is asked for at a point: --flow and --pressure-ratio, or --points.", ""});
  FindOptions words = WordOptions(arguments);
  for (const Result<void>& read : {ReadSizeSpan(arguments.inducer, "inducer", words.inducer_min_mm, words.inducer_max_mm),
                                   ReadSizeSpan(arguments.exducer, "exducer", words.exducer_min_mm, words.exducer_max_mm)})
    if (!read) return RefuseArguments(common, read.error());
  if (!by_point && arguments.like.empty()) {
    Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kRead);
    if (!shelf) return FailCommand(common, shelf.error());
    return FindByWords(**shelf, words, common);
  }
  // The index is brought up to date where the shelf may be written; where it may not, what is there serves.
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kRead);
  if (!shelf) return FailCommand(common, shelf.error());
  const Result<std::vector<std::string>> due = (*shelf)->ReachDue(ReachVersion(), 1);
  if (!due) return FailCommand(common, due.error());
  if (!due->empty()) {
    Result<std::unique_ptr<Shelf>> writable = OpenShelf(common, ShelfAccess::kWrite);
    if (writable) {
      CatchInterrupts();
      ProgressLine progress(common);
      const Result<std::int64_t> made = MapFinder(**writable).UpdateIndex([&](double done) {
        progress.Show("bringing the index up to date", done);
        return !Interrupted();
      });
      progress.Clear();
      if (!made && made.error().code != ErrorCode::kCannotWrite && made.error().code != ErrorCode::kShelfBusy)
        return FailCommand(common, made.error());
    }
  }
  MapFinder finder(**shelf);
  if (by_point) return FindByCapability(**shelf, finder, arguments, words, common);
  return FindByLikeness(finder, arguments, common);
}

}  // namespace islebook
