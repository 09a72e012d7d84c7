#include "ui/cli/shelf_history_command.h"

#include <algorithm>
#include <charconv>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/map_document.h"
#include "mapstore/shelf/map_compare.h"
#include "mapstore/shelf/map_merge.h"
#include "ui/chart/difference_overlay.h"
#include "ui/cli/shelf_common.h"
#include "ui/desk/branch_merge.h"
#include "ui/desk/open_map.h"
#include "ui/desk/output_file.h"
#include "ui/desk/redigitize.h"
#include "ui/desk/shop_defaults.h"

namespace islebook {
namespace {

using namespace shelf_cli;

Json ChangesJson(const std::vector<MapChange>& changes, const PerformanceMap& before, const PerformanceMap& after) {
  Json list = Json::array();
  for (const MapChange& change : changes) {
    Json one = {{"change", ChangeKindName(change.kind)}, {"sentence", change.sentence}};
    const Curve* curve = change.after ? &after.curves[*change.after] : change.before ? &before.curves[*change.before] : nullptr;
    if (curve != nullptr) {
      one["role"] = CurveRoleName(curve->role);
      one["value"] = curve->value ? Json(*curve->value) : Json(nullptr);
      one["curve_before"] = change.before ? Json(*change.before) : Json(nullptr);
      one["curve_after"] = change.after ? Json(*change.after) : Json(nullptr);
    }
    if (change.amount) {
      one["amount"] = *change.amount;
      one["unit"] = change.unit;
    }
    if (change.at) one["at"] = {change.at->x, change.at->y};
    list.push_back(std::move(one));
  }
  return list;
}

ChartOptions DifferenceOptions(const std::string& caption) {
  ChartOptions options;
  options.caption = caption;
  options.show_doubts = false;
  return options;
}

std::string Spec(const std::string& name, const std::string& branch) { return branch.empty() ? name : name + "@" + branch; }

std::string Author(const std::string& given) { return given.empty() ? UserName() : given; }

Result<MergeChoices> ReadChoices(const ShelfMergeArguments& arguments) {
  MergeChoices choices;
  const auto side = [](std::string_view word) -> std::optional<MergeSide> {
    if (word == "ours") return MergeSide::kOurs;
    if (word == "theirs") return MergeSide::kTheirs;
    return std::nullopt;
  };
  for (const std::string& choice : arguments.choose) {
    const std::size_t equals = choice.find('=');
    int number = 0;
    const auto [end, error] = std::from_chars(choice.data(), choice.data() + std::min(equals, choice.size()), number);
    const auto chosen = equals == std::string::npos ? std::nullopt : side(std::string_view(choice).substr(equals + 1));
    if (error != std::errc() || end != choice.data() + equals || !chosen)
      return Fail(ErrorCode::kInvalidArgument, "a choice is the conflict's number and a side, such as 2=theirs.", choice);
    choices.by_number[number] = *chosen;
  }
  choices.rest = side(arguments.rest);
  return choices;
}

}  // namespace

int RunShelfDiff(const ShelfDiffArguments& arguments, const CommonArguments& common) {
  std::string before_spec = arguments.from, after_spec = arguments.to;
  if (after_spec.empty()) {
    Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kRead);
    if (!shelf) return FailCommand(common, shelf.error());
    const Result<std::string> from = AsOnShelf(**shelf, arguments.from);
    if (!from) return FailCommand(common, from.error());
    const Result<ShownRevision> shown = (*shelf)->Show(*from);
    if (!shown) return FailCommand(common, shown.error());
    if (shown->revision.parents.empty())
      return FailCommand(common,
                         {ErrorCode::kNotFound, "this is the map's first revision, with none before it; name two to compare.", arguments.from});
    after_spec = shown->name + "@" + shown->revision.id;
    before_spec = shown->name + "@" + shown->revision.parents.front();
  }
  const Result<OpenedMap> before = OpenMap(before_spec, ShelfPlace(common));
  if (!before) return FailCommand(common, before.error());
  const Result<OpenedMap> after = OpenMap(after_spec, ShelfPlace(common));
  if (!after) return FailCommand(common, after.error());
  const std::vector<MapChange> changes = CompareMaps(before->map, after->map);
  const auto label = [](const OpenedMap& map) { return map.revision.empty() ? map.name : map.name + "@" + ShortId(map.revision); };
  const auto files = WriteCharts(arguments.charts, after->map, DifferenceOverlay(before->map, changes, after->map),
                                 DifferenceOptions(fmt::format("{}; dashed: as it was in {}", label(*after), label(*before))));
  if (!files) return FailCommand(common, files.error());
  if (common.json) {
    Json written = Json::array();
    for (const auto& file : *files) written.push_back(file.string());
    return PrintJson(common, {{"from", {{"name", before->name}, {"revision", before->revision}}},
                              {"to", {{"name", after->name}, {"revision", after->revision}}},
                              {"changes", ChangesJson(changes, before->map, after->map)},
                              {"files", written}});
  }
  std::string text = fmt::format("{} to {}: {}\n", label(*before), label(*after),
                                 changes.empty() ? "no change" : Count(static_cast<std::int64_t>(changes.size()), "change", "changes"));
  for (const MapChange& change : changes) text += "  " + change.sentence + "\n";
  return PrintResult(common, text);
}

int RunShelfRevert(const ShelfRevertArguments& arguments, const CommonArguments& common) {
  if (arguments.spec.find('@') == std::string::npos)
    return RefuseArguments(
        common, {ErrorCode::kInvalidArgument, "say which revision to go back to: NAME@REVISION; islebook shelf log lists them.", arguments.spec});
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kWrite);
  if (!shelf) return FailCommand(common, shelf.error());
  const Result<std::string> spec = AsOnShelf(**shelf, arguments.spec);
  if (!spec) return FailCommand(common, spec.error());
  const Result<ShownRevision> shown = (*shelf)->Show(*spec);
  if (!shown) return FailCommand(common, shown.error());
  NewRevision revision;
  revision.name = shown->name;
  revision.document = shown->document;
  revision.author = Author(arguments.author);
  revision.message = arguments.message.empty() ? "back to " + ShortId(shown->revision.id) : arguments.message;
  const Result<AddedRevision> added = (*shelf)->AddRevision(revision);
  if (!added) return FailCommand(common, added.error());
  if (common.json) {
    Json document = {{"name", revision.name}, {"reverted_to", shown->revision.id}};
    document.update(RevisionJson(added->revision));
    document["is_new"] = added->is_new;
    return PrintJson(common, document);
  }
  if (common.quiet) return kExitDone;
  return PrintResult(common, added->is_new
                                 ? fmt::format("{}@{}  holds what {} held\n", revision.name, ShortId(added->revision.id), ShortId(shown->revision.id))
                                 : fmt::format("{}@{}  holds that already\n", revision.name, ShortId(added->revision.id)));
}

int RunShelfMerge(const ShelfMergeArguments& arguments, const CommonArguments& common) {
  const Result<MergeChoices> choices = ReadChoices(arguments);
  if (!choices) return RefuseArguments(common, choices.error());
  if (arguments.branch == arguments.into)
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "a branch is merged into another.", arguments.branch});
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, arguments.dry_run ? ShelfAccess::kRead : ShelfAccess::kWrite);
  if (!shelf) return FailCommand(common, shelf.error());
  const Result<std::string> name = AsOnShelf(**shelf, arguments.name);
  if (!name) return FailCommand(common, name.error());
  BranchMergeOptions options;
  options.name = *name;
  options.branch = arguments.branch;
  options.into = arguments.into;
  options.author = Author(arguments.author);
  options.message = arguments.message;
  options.choices = *choices;
  options.keep_branch = arguments.keep_branch;
  const Result<BranchMerge> merge = PlanBranchMerge(**shelf, options);
  if (!merge) return merge.error().code == ErrorCode::kInvalidArgument ? RefuseArguments(common, merge.error()) : FailCommand(common, merge.error());
  const MergedMap& merged = merge->merged;
  std::optional<RevisionRecord> head;
  if (!arguments.dry_run) {
    const Result<std::optional<RevisionRecord>> written = CarryOutBranchMerge(**shelf, options, *merge);
    if (!written) return FailCommand(common, written.error());
    head = *written;
  }
  const std::string outcome = BranchMergeName(merge->outcome);
  const bool refused = merge->outcome == BranchMerge::Outcome::kConflicts && !arguments.dry_run;
  const int code = refused ? kExitNotDone : merged.decided && merged.doubts.empty() ? kExitDone : kExitReview;
  if (refused)
    Complain(common, {ErrorCode::kInvalidArgument, "both sides changed the same things, so nothing was written; decide with --choose or --rest.",
                      Spec(merge->revision.name, arguments.branch)});
  if (common.json) {
    Json conflicts = Json::array();
    for (const MergeConflict& conflict : merged.conflicts)
      conflicts.push_back({{"number", conflict.number},
                           {"what", conflict.what},
                           {"ours", conflict.ours},
                           {"theirs", conflict.theirs},
                           {"chosen", !conflict.chosen                       ? Json(nullptr)
                                      : *conflict.chosen == MergeSide::kOurs ? Json("ours")
                                                                             : Json("theirs")}});
    Json document = {{"name", merge->revision.name},  {"outcome", outcome},
                     {"ours", merge->ours},           {"theirs", merge->theirs},
                     {"from_ours", merge->from_ours}, {"from_theirs", merge->from_theirs},
                     {"conflicts", conflicts},        {"needs_review", merged.doubts},
                     {"written", head.has_value()},   {"revision", head ? Json(head->id) : Json(nullptr)}};
    return std::max(code, PrintJson(common, document));
  }
  std::string text;
  const auto list = [&text](const std::string& heading, const std::vector<std::string>& sentences) {
    if (!sentences.empty()) text += heading + "\n";
    for (const std::string& sentence : sentences) text += "  " + sentence + "\n";
  };
  const auto line_name = [](const std::string& branch) { return branch.empty() ? std::string("the main line") : branch; };
  list("taken from " + line_name(arguments.branch) + ":", merge->from_theirs);
  list("kept from " + line_name(arguments.into) + ":", merge->from_ours);
  for (const MergeConflict& conflict : merged.conflicts) {
    const char* chosen = !conflict.chosen ? "not decided" : *conflict.chosen == MergeSide::kOurs ? "ours is taken" : "theirs is taken";
    text += fmt::format("conflict {}: {} ({})\n  ours:   {}\n  theirs: {}\n", conflict.number, conflict.what, chosen, conflict.ours, conflict.theirs);
  }
  for (const std::string& doubt : merged.doubts) text += "look at this: " + doubt + "\n";
  if (outcome == "conflicts")
    text += "Nothing was written. Decide with --choose 1=ours or 1=theirs, or all of them with --rest.\n";
  else if (outcome == "nothing_to_merge")
    text += fmt::format("{} holds all of it already\n", Spec(merge->revision.name, arguments.into));
  else
    text += fmt::format("{}  {}{}\n", head ? fmt::format("{}@{}", merge->revision.name, ShortId(head->id)) : merge->revision.name,
                        outcome == "merged" ? "merged" : "moved forward", arguments.dry_run ? ", if it were written" : "");
  if (common.quiet) return code;
  return std::max(code, PrintResult(common, text));
}

int RunShelfClose(const ShelfCloseArguments& arguments, const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kWrite);
  if (!shelf) return FailCommand(common, shelf.error());
  if (const Result<void> closed = (*shelf)->CloseBranch(arguments.name, arguments.branch); !closed) return FailCommand(common, closed.error());
  if (common.json) return PrintJson(common, {{"name", arguments.name}, {"closed", arguments.branch}});
  return common.quiet ? static_cast<int>(kExitDone)
                      : PrintResult(common, fmt::format("{}@{}  closed; its revisions stay\n", arguments.name, arguments.branch));
}

int RunShelfRedigitize(const ShelfRedigitizeArguments& arguments, const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, arguments.accept ? ShelfAccess::kWrite : ShelfAccess::kRead);
  if (!shelf) return FailCommand(common, shelf.error());
  if (arguments.pictures) {
    if (const Result<void> made = MakeFolder(*arguments.pictures); !made) return FailCommand(common, made.error());
  }
  std::vector<std::string> names = arguments.names;
  if (names.empty()) {
    const Result<std::vector<ShelfEntry>> entries = (*shelf)->List();
    if (!entries) return FailCommand(common, entries.error());
    for (const ShelfEntry& entry : *entries)
      if (entry.sheet_on_shelf) names.push_back(entry.name);
  }
  CatchInterrupts();
  ProgressLine progress(common);
  Json maps = Json::array(), failed = Json::array();
  std::string text;
  bool changed = false;
  for (std::size_t i = 0; i < names.size() && !Interrupted(); ++i) {
    const Result<RedigitizedMap> map = RedigitizeMap(**shelf, names[i], [&](const char*, double part) {
      progress.Show(fmt::format("digitizing {} anew", names[i]), (static_cast<double>(i) + part) / static_cast<double>(names.size()));
      return !Interrupted();
    });
    if (!map && map.error().code == ErrorCode::kCancelled) break;
    std::optional<Error> failure;
    Json one = {{"name", names[i]}};
    if (map) {
      one["revision"] = map->revision;
      one["has_recipe"] = map->has_recipe;
      one["changes"] = ChangesJson(map->changes, map->before, map->after);
      text += fmt::format("{}: {}\n", map->name,
                          map->changes.empty() ? "reads the same" : Count(static_cast<std::int64_t>(map->changes.size()), "change", "changes"));
      for (const MapChange& change : map->changes) text += "  " + change.sentence + "\n";
      changed = changed || !map->changes.empty();
      if (!map->changes.empty() && arguments.pictures) {
        std::string stem = map->name;
        std::replace(stem.begin(), stem.end(), '/', '-');
        ChartFileArguments chart;
        chart.png = *arguments.pictures / (stem + ".png");
        const auto drawn = WriteCharts(chart, map->after, DifferenceOverlay(map->before, map->changes, map->after),
                                       DifferenceOptions(fmt::format("{} digitized anew; dashed: as it is on the shelf", map->name)));
        if (!drawn) failure = drawn.error();
      }
      if (!map->changes.empty() && arguments.accept && !failure) {
        const Result<AddedRevision> added = AcceptRedigitized(**shelf, *map, Author(arguments.author), "digitized anew");
        if (added) {
          one["accepted"] = added->revision.id;
          text += fmt::format("  put on the shelf as {}@{}\n", map->name, ShortId(added->revision.id));
        } else {
          failure = added.error();
        }
      }
      maps.push_back(std::move(one));
    } else {
      failure = map.error();
    }
    if (failure) {
      progress.Clear();
      Complain(common, *failure);
      failed.push_back({{"name", names[i]}, {"error", {{"code", static_cast<int>(failure->code)}, {"message", failure->message}}}});
    }
  }
  progress.Clear();
  if (Interrupted()) return kExitInterrupted;
  const int code = !failed.empty() ? kExitNotDone : changed && !arguments.accept ? kExitReview : kExitDone;
  if (common.json) {
    const int printed = PrintJson(common, {{"maps", maps}, {"failed", failed}});
    return code != kExitDone ? code : printed;
  }
  if (changed && !arguments.accept) text += "Nothing was written; --accept puts what changed on the shelf.\n";
  const int printed = common.quiet || text.empty() ? static_cast<int>(kExitDone) : PrintResult(common, text);
  return code != kExitDone ? code : printed;
}

}  // namespace islebook
