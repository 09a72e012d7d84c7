#include "ui/cli/shelf_facts_command.h"

#include <algorithm>
#include <tuple>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/shelf/revision.h"
#include "mapstore/units/print_text.h"
#include "mapstore/units/typed_value.h"
#include "ui/cli/shelf_common.h"
#include "ui/desk/shop_defaults.h"

namespace islebook {
namespace {

using namespace shelf_cli;

std::string Author(const std::string& given) { return given.empty() ? UserName() : given; }

// "138 krpm" in rpm, "2 in" in mm; a bare number is in `unit`.
Result<double> ReadTyped(const std::string& text, const char* unit) {
  const Result<Unit> wanted = ParseUnit(unit);
  if (!wanted) return std::unexpected(wanted.error());
  const std::string folded = FoldPrint(text);
  const bool minus = folded.starts_with('-');
  const Result<TypedValue> typed = ParseTypedValue(minus ? folded.substr(1) : folded, *wanted);
  if (!typed) return std::unexpected(typed.error());
  return ConvertValue(minus ? -typed->value : typed->value, typed->unit, *wanted);
}

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
  const Result<std::string> name = AsOnShelf(**shelf, arguments.name);
  if (!name) return FailCommand(common, name.error());
  for (const bool present : {true, false})
    for (const std::string& tag : present ? arguments.tags : arguments.off)
      if (const Result<void> set = (*shelf)->SetTag(*name, tag, present, Author(arguments.author)); !set) return FailCommand(common, set.error());
  const Result<MapFacts> facts = (*shelf)->Facts(*name);
  if (!facts) return FailCommand(common, facts.error());
  if (common.json) return PrintJson(common, {{"name", *name}, {"tags", facts->tags}});
  if (common.quiet && writes) return kExitDone;
  return PrintResult(common, fmt::format("{}  {}\n", *name, facts->tags.empty() ? "no tags" : Joined(facts->tags)));
}

int RunShelfNote(const ShelfNoteArguments& arguments, const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, arguments.text.empty() ? ShelfAccess::kRead : ShelfAccess::kWrite);
  if (!shelf) return FailCommand(common, shelf.error());
  const Result<std::string> spec = AsOnShelf(**shelf, arguments.spec);
  if (!spec) return FailCommand(common, spec.error());
  const Result<ShownRevision> shown = (*shelf)->Show(*spec);
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
  const bool writes = arguments.maker || arguments.model || arguments.inducer || arguments.exducer || arguments.trim ||
                      arguments.turbine_area_ratio || arguments.speed_limit || arguments.forget;
  std::optional<double> inducer_mm, exducer_mm, speed_limit_rpm;
  for (const auto& [option, text, unit, value] :
       {std::tuple{"--inducer", &arguments.inducer, "mm", &inducer_mm}, std::tuple{"--exducer", &arguments.exducer, "mm", &exducer_mm},
        std::tuple{"--speed-limit", &arguments.speed_limit, "rpm", &speed_limit_rpm}}) {
    if (!*text) continue;
    const Result<double> read = ReadTyped(**text, unit);
    if (!read) return RefuseArguments(common, {read.error().code, read.error().message, option});
    *value = *read;
  }
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, writes ? ShelfAccess::kWrite : ShelfAccess::kRead);
  if (!shelf) return FailCommand(common, shelf.error());
  const Result<std::string> name = AsOnShelf(**shelf, arguments.name);
  if (!name) return FailCommand(common, name.error());
  Result<MapFacts> facts = (*shelf)->Facts(*name);
  if (!facts) return FailCommand(common, facts.error());
  WheelData wheel = arguments.forget ? WheelData{} : facts->wheel.value_or(WheelData{});
  if (writes) {
    if (arguments.maker) wheel.maker = *arguments.maker;
    if (arguments.model) wheel.model = *arguments.model;
    if (inducer_mm) wheel.inducer_mm = inducer_mm;
    if (exducer_mm) wheel.exducer_mm = exducer_mm;
    if (arguments.trim) wheel.trim = arguments.trim;
    if (arguments.turbine_area_ratio) wheel.turbine_area_ratio = arguments.turbine_area_ratio;
    if (speed_limit_rpm) wheel.speed_limit_rpm = speed_limit_rpm;
    if (const Result<void> set = (*shelf)->SetWheel(*name, wheel, Author(arguments.author)); !set)
      return set.error().code == ErrorCode::kInvalidArgument ? RefuseArguments(common, set.error()) : FailCommand(common, set.error());
  }
  const std::vector<std::string> doubts = WheelDoubts(wheel);
  for (const std::string& doubt : doubts) Say(common, doubt);
  int code = doubts.empty() ? kExitDone : kExitReview;
  if (common.json) return std::max(code, PrintJson(common, {{"name", *name}, {"wheel", WheelJson(wheel)}, {"needs_review", doubts}}));
  if (common.quiet && writes) return code;
  const std::string text = WheelText(wheel);
  return std::max(code, PrintResult(common, fmt::format("{}  {}\n", *name, text.empty() ? "nothing known about its wheel" : text)));
}

int RunShelfRemove(const ShelfRemoveArguments& arguments, const CommonArguments& common) {
  return SetRemoved(arguments.names, true, Author(arguments.author), arguments.message, common);
}

int RunShelfRestore(const ShelfRestoreArguments& arguments, const CommonArguments& common) {
  return SetRemoved(arguments.names, false, Author(arguments.author), "", common);
}

}  // namespace islebook
