#include "ui/cli/shelf_facts_command.h"

#include <algorithm>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/shelf/revision.h"
#include "ui/cli/shelf_common.h"
#include "ui/desk/shop_defaults.h"

namespace islebook {
namespace {

using namespace shelf_cli;

std::string Author(const std::string& given) { return given.empty() ? UserName() : given; }

// Takes every name off the lists or puts it back; what fails is named and the rest is done.
int SetRemoved(const std::vector<std::string>& names, bool removed, const std::string& author, const std::string& reason,
               const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kWrite);
  if (!shelf) return FailCommand(common, shelf.error());
  Json done = Json::array(), failed = Json::array();
  std::string text;
  for (const std::string& name : names) {
    const Result<void> set = (*shelf)->SetRemoved(name, removed, author, reason);
    if (set) {
      done.push_back(name);
      text +=
          fmt::format("{}  {}\n", name, removed ? "off the lists; its history stays, and islebook shelf restore puts it back" : "back on the lists");
      continue;
    }
    Complain(common, set.error());
    failed.push_back({{"name", name}, {"error", {{"code", static_cast<int>(set.error().code)}, {"message", set.error().message}}}});
  }
  const int code = failed.empty() ? kExitDone : kExitNotDone;
  if (common.json) return std::max(code, PrintJson(common, {{removed ? "removed" : "restored", done}, {"failed", failed}}));
  return common.quiet || text.empty() ? code : std::max(code, PrintResult(common, text));
}

}  // namespace

int RunShelfTag(const ShelfTagArguments& arguments, const CommonArguments& common) {
  const bool writes = !arguments.tags.empty() || !arguments.off.empty();
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, writes ? ShelfAccess::kWrite : ShelfAccess::kRead);
  if (!shelf) return FailCommand(common, shelf.error());
  for (const bool present : {true, false})
    for (const std::string& tag : present ? arguments.tags : arguments.off)
      if (const Result<void> set = (*shelf)->SetTag(arguments.name, tag, present, Author(arguments.author)); !set)
        return FailCommand(common, set.error());
  const Result<MapFacts> facts = (*shelf)->Facts(arguments.name);
  if (!facts) return FailCommand(common, facts.error());
  if (common.json) return PrintJson(common, {{"name", arguments.name}, {"tags", facts->tags}});
  if (common.quiet && writes) return kExitDone;
  return PrintResult(common, fmt::format("{}  {}\n", arguments.name, facts->tags.empty() ? "no tags" : Joined(facts->tags)));
}

int RunShelfNote(const ShelfNoteArguments& arguments, const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, arguments.text.empty() ? ShelfAccess::kRead : ShelfAccess::kWrite);
  if (!shelf) return FailCommand(common, shelf.error());
  const Result<ShownRevision> shown = (*shelf)->Show(arguments.spec);
  if (!shown) return FailCommand(common, shown.error());
  if (!arguments.text.empty()) {
    MapNote note{Author(arguments.author), CurrentRevisionTime(), arguments.text, std::nullopt};
    if (arguments.spec.find('@') != std::string::npos) note.revision = shown->revision.id;
    if (const Result<void> added = (*shelf)->AddNote(shown->name, note); !added) return FailCommand(common, added.error());
  }
  const Result<MapFacts> facts = (*shelf)->Facts(shown->name);
  if (!facts) return FailCommand(common, facts.error());
  if (common.json) {
    Json notes = Json::array();
    for (const MapNote& note : facts->notes)
      notes.push_back({{"author", note.author}, {"time", note.time}, {"text", note.text}, {"revision", SheetJson(note.revision)}});
    return PrintJson(common, {{"name", shown->name}, {"notes", notes}});
  }
  if (common.quiet && !arguments.text.empty()) return kExitDone;
  std::string text;
  for (const MapNote& note : facts->notes)
    text += fmt::format("{}  {}{}\n    {}\n", note.time, note.author, note.revision ? "  on " + ShortId(*note.revision) : "", note.text);
  return PrintResult(common, text.empty() ? shown->name + "  no notes\n" : text);
}

int RunShelfWheel(const ShelfWheelArguments& arguments, const CommonArguments& common) {
  const bool writes = arguments.maker || arguments.model || arguments.inducer_mm || arguments.exducer_mm || arguments.trim ||
                      arguments.turbine_area_ratio || arguments.speed_limit_rpm || arguments.forget;
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, writes ? ShelfAccess::kWrite : ShelfAccess::kRead);
  if (!shelf) return FailCommand(common, shelf.error());
  Result<MapFacts> facts = (*shelf)->Facts(arguments.name);
  if (!facts) return FailCommand(common, facts.error());
  WheelData wheel = arguments.forget ? WheelData{} : facts->wheel.value_or(WheelData{});
  if (writes) {
    if (arguments.maker) wheel.maker = *arguments.maker;
    if (arguments.model) wheel.model = *arguments.model;
    if (arguments.inducer_mm) wheel.inducer_mm = arguments.inducer_mm;
    if (arguments.exducer_mm) wheel.exducer_mm = arguments.exducer_mm;
    if (arguments.trim) wheel.trim = arguments.trim;
    if (arguments.turbine_area_ratio) wheel.turbine_area_ratio = arguments.turbine_area_ratio;
    if (arguments.speed_limit_rpm) wheel.speed_limit_rpm = arguments.speed_limit_rpm;
    if (const Result<void> set = (*shelf)->SetWheel(arguments.name, wheel, Author(arguments.author)); !set) return FailCommand(common, set.error());
  }
  const std::vector<std::string> doubts = WheelDoubts(wheel);
  for (const std::string& doubt : doubts) Say(common, doubt);
  int code = doubts.empty() ? kExitDone : kExitReview;
  if (common.json) return std::max(code, PrintJson(common, {{"name", arguments.name}, {"wheel", WheelJson(wheel)}, {"needs_review", doubts}}));
  if (common.quiet && writes) return code;
  const std::string text = WheelText(wheel);
  return std::max(code, PrintResult(common, fmt::format("{}  {}\n", arguments.name, text.empty() ? "nothing known about its wheel" : text)));
}

int RunShelfRemove(const ShelfRemoveArguments& arguments, const CommonArguments& common) {
  return SetRemoved(arguments.names, true, Author(arguments.author), arguments.message, common);
}

int RunShelfRestore(const ShelfRestoreArguments& arguments, const CommonArguments& common) {
  return SetRemoved(arguments.names, false, Author(arguments.author), "", common);
}

}  // namespace islebook
