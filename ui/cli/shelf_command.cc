#include "ui/cli/shelf_command.h"

#include <algorithm>
#include <memory>
#include <set>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "mapstore/map/curve_words.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"
#include "mapstore/shelf/open_shelf.h"
#include "ui/cli/shelf_common.h"
#include "ui/desk/example_shelf.h"
#include "ui/desk/output_file.h"
#include "ui/desk/shop_defaults.h"

namespace islebook {
namespace {

using namespace shelf_cli;

std::string NameOfFile(const std::filesystem::path& file) {
  std::string name = file.filename().string();
  for (const std::string_view ending : {".map.json", ".json"})
    if (name.size() > ending.size() && name.ends_with(ending)) return name.substr(0, name.size() - ending.size());
  return name;
}

// A document's word as a person reads it: "speed_line" as "speed line".
std::string Words(std::string name) {
  std::replace(name.begin(), name.end(), '_', ' ');
  return name;
}

std::string AxisText(const Axis& axis) {
  return fmt::format("{}, {} to {}{}{}", Words(QuantityName(axis.quantity)), axis.min, axis.max, axis.unit == "1" ? "" : " " + axis.unit,
                     axis.scale == AxisScale::kLog ? ", log scale" : "");
}

std::string CurvesText(const PerformanceMap& map) {
  std::string text;
  for (const CurveRole role : {CurveRole::kSpeedLine, CurveRole::kSurgeLine, CurveRole::kChokeLine, CurveRole::kEfficiencyIsland,
                               CurveRole::kFlowLine, CurveRole::kEfficiencyLine, CurveRole::kOther}) {
    const auto n = std::count_if(map.curves.begin(), map.curves.end(), [&](const Curve& curve) { return curve.role == role; });
    const std::string word = Words(CurveRoleName(role));
    if (n > 0) text += (text.empty() ? "" : ", ") + Count(n, word, word + (role == CurveRole::kOther ? "" : "s"));
  }
  return text.empty() ? "none" : text;
}

std::string ShownText(const ShownRevision& shown, const PerformanceMap& map, const MapFacts& facts, const std::vector<ShelfBranch>& branches) {
  std::vector<std::vector<std::string>> rows;
  rows.push_back({shown.name, ""});
  rows.push_back({"  title", map.title.empty() ? "none printed" : map.title});
  rows.push_back({"  kind", map.kind ? MapKindName(*map.kind) : "not known"});
  if (map.x) rows.push_back({"  x axis", AxisText(*map.x)});
  if (map.y) rows.push_back({"  y axis", AxisText(*map.y)});
  if (map.efficiency) rows.push_back({"  efficiency axis", AxisText(*map.efficiency)});
  if (map.reference_conditions)
    rows.push_back({"  reference", fmt::format("{} K, {} Pa, {}", map.reference_conditions->temperature_K, map.reference_conditions->pressure_Pa,
                                               map.reference_conditions->basis == ReferenceConditions::Basis::kPrinted ? "printed" : "assumed")});
  else if (LacksReference(map))
    rows.push_back({"  reference", "not stated on the sheet"});
  rows.push_back({"  curves", CurvesText(map)});
  const auto doubtful = std::count_if(map.curves.begin(), map.curves.end(), [](const Curve& curve) { return curve.needs_review; });
  if (doubtful > 0) rows.push_back({"  needs a look", Count(doubtful, "curve", "curves")});
  for (const std::string& doubt : map.needs_review) rows.push_back({"  doubt", doubt});
  rows.push_back({"  sheet", !shown.sheet_sha256 ? "none named"
                                                 : ShortId(*shown.sheet_sha256) + (shown.sheet_on_shelf ? ", on the shelf" : ", not on the shelf")});
  rows.push_back({"  revision", shown.revision.id + (shown.is_head ? "" : ", not the latest")});
  rows.push_back({"  by", fmt::format("{}, {}", shown.revision.author, shown.revision.time)});
  if (!shown.revision.message.empty()) rows.push_back({"  message", FirstLine(shown.revision.message)});
  if (facts.wheel) rows.push_back({"  wheel", WheelText(*facts.wheel)});
  if (!facts.tags.empty()) rows.push_back({"  tags", Joined(facts.tags)});
  for (const MapNote& note : facts.notes)
    rows.push_back({"  note", fmt::format("{} ({}, {}{})", FirstLine(note.text), note.author, note.time,
                                          note.revision ? ", on " + ShortId(*note.revision) : "")});
  for (const ShelfBranch& branch : branches)
    if (!branch.name.empty()) rows.push_back({"  branch", fmt::format("{}, at {}", branch.name, ShortId(branch.head.id))});
  if (facts.removed) rows.push_back({"  removed", "off the lists; islebook shelf restore puts it back"});
  return Table(rows);
}

// Of the revisions, those whose document names a sheet that the shelf does not have: such a map cannot be digitized anew, nor its picture be passed on.
std::size_t CountWithoutSheet(Shelf& shelf, const std::vector<std::string>& revisions) {
  std::set<std::string> there;
  if (const Result<std::vector<StoredSheet>> sheets = shelf.Sheets())
    for (const StoredSheet& sheet : *sheets) there.insert(sheet.sha256);
  return static_cast<std::size_t>(std::count_if(revisions.begin(), revisions.end(), [&](const std::string& id) {
    const Result<ShownRevision> shown = shelf.ShowRevision(id);
    return shown && shown->sheet_sha256 && !there.contains(*shown->sheet_sha256);
  }));
}

// About the sheet as a whole, and a curve's for each curve that has any.
std::int64_t CountDoubts(const PerformanceMap& map) {
  return static_cast<std::int64_t>(map.needs_review.size()) + std::ranges::count_if(map.curves, &Curve::needs_review);
}

}  // namespace

int RunShelfAdd(const ShelfAddArguments& arguments, const CommonArguments& common) {
  if (arguments.files.size() > 1 && (!arguments.name.empty() || arguments.sheet))
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "--name and --sheet belong to one map; add these maps one by one.", ""});
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kCreate);
  if (!shelf) return FailCommand(common, shelf.error());

  NewRevision revision;
  revision.author = arguments.author.empty() ? UserName() : arguments.author;
  revision.message = arguments.message;
  if (arguments.sheet) {
    Result<std::string> bytes = ReadFileContents(*arguments.sheet);
    if (!bytes) return FailCommand(common, bytes.error());
    revision.sheet = std::move(*bytes);
  }
  Json added = Json::array();
  Json failed = Json::array();
  std::string text;
  std::vector<std::string> revisions;
  CatchInterrupts();
  for (const std::filesystem::path& file : arguments.files) {
    if (Interrupted()) break;
    revision.branch = arguments.branch;
    revision.name = arguments.name.empty() ? NameOfFile(file) : arguments.name;
    Result<AddedRevision> result = std::unexpected(Error{});
    if (Result<std::string> document = ReadFileContents(file); document) {
      revision.document = std::move(*document);
      result = (*shelf)->AddRevision(revision);
    } else {
      result = std::unexpected(document.error());
    }
    if (!result) {
      Error error = result.error();
      if (error.place != file.string()) error.place = error.place.empty() ? file.string() : file.string() + ": " + error.place;
      Complain(common, error);
      failed.push_back(
          {{"file", file.string()}, {"error", {{"code", static_cast<int>(error.code)}, {"message", error.message}, {"place", error.place}}}});
      continue;
    }
    revisions.push_back(result->revision.id);
    Json entry = {{"file", file.string()}, {"name", revision.name}};
    entry.update(RevisionJson(result->revision));
    entry["is_new"] = result->is_new;
    entry["sheet_is_new"] = result->sheet_is_new;
    added.push_back(std::move(entry));
    text += fmt::format("{}@{}  {}{}\n", revision.name, ShortId(result->revision.id), result->is_new ? "added" : "was there already",
                        result->sheet_is_new ? ", with its sheet" : "");
  }
  if (const std::size_t without = CountWithoutSheet(**shelf, revisions); without > 0)
    Say(common,
        without == 1
            ? "The sheet of a map is not on the shelf; add the map again with --sheet PICTURE, so that it can be digitized anew and travel in "
              "parcels."
            : fmt::format("{} of these maps have no sheet on the shelf; add each again with --sheet PICTURE, so that it can be digitized anew "
                          "and travel in parcels.",
                          without));
  int code = failed.empty() ? kExitDone : kExitNotDone;
  if (common.json)
    code = std::max(code, PrintJson(common, {{"shelf", ShelfForPeople(ShelfPlace(common))}, {"added", added}, {"failed", failed}}));
  else if (!common.quiet && !text.empty())
    code = std::max(code, PrintResult(common, text));
  return Interrupted() ? kExitInterrupted : code;
}

int RunShelfList(const ShelfListArguments&, const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kRead);
  if (!shelf) return FailCommand(common, shelf.error());
  const Result<std::vector<ShelfEntry>> entries = (*shelf)->List();
  if (!entries) return FailCommand(common, entries.error());
  if (common.json) {
    Json list = Json::array();
    for (const ShelfEntry& entry : *entries) {
      Json one = {{"name", entry.name}, {"kind", entry.kind.empty() ? Json(nullptr) : Json(entry.kind)}, {"title", entry.title}};
      one.update(RevisionJson(entry.head));
      one["revisions"] = entry.revisions;
      one["sheet_sha256"] = SheetJson(entry.sheet_sha256);
      one["sheet_on_shelf"] = entry.sheet_on_shelf;
      one["branches"] = entry.branches;
      one["tags"] = entry.tags;
      one["wheel"] = WheelJson(entry.wheel);
      list.push_back(std::move(one));
    }
    return PrintJson(common, list);
  }
  std::vector<std::vector<std::string>> rows = {{"name", "kind", "revision", "time", "author", "tags", "title"}};
  for (const ShelfEntry& entry : *entries)
    rows.push_back({entry.name, entry.kind.empty() ? "not known" : entry.kind, fmt::format("{} ({})", ShortId(entry.head.id), entry.revisions),
                    entry.head.time, entry.head.author, Joined(entry.tags), entry.title});
  for (const ShelfEntry& entry : *entries)
    if (!entry.branches.empty()) Say(common, fmt::format("{} has branches to be merged: {}", entry.name, Joined(entry.branches)));
  return PrintResult(common, Table(rows));
}

int RunShelfExample(const ShelfExampleArguments& arguments, const CommonArguments& common) {
  const std::optional<std::filesystem::path> folder = ExampleFolder();
  if (!folder)
    return FailCommand(common, {ErrorCode::kNotFound, "the example maps are not installed with this program (share/islebook/sample_maps).", ""});
  const Result<std::vector<ExampleMap>> examples = ReadExamples(*folder);
  if (!examples) return FailCommand(common, examples.error());
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kCreate);
  if (!shelf) return FailCommand(common, shelf.error());
  CatchInterrupts();
  ProgressLine progress(common);
  Json names = Json::array(), to_review = Json::array();
  std::string text;
  for (const ExampleMap& example : *examples) {
    const Result<void> added = AddExample(**shelf, example, arguments.author.empty() ? UserName() : arguments.author, [&](double part) {
      progress.Show(fmt::format("digitizing {}", example.name), part);
      return !Interrupted();
    });
    progress.Clear();
    if (!added && added.error().code == ErrorCode::kCancelled) return kExitInterrupted;
    if (!added) return FailCommand(common, added.error());
    names.push_back(example.name);
    const Result<ShownRevision> shown = (*shelf)->Show(example.name);
    if (!shown) return FailCommand(common, shown.error());
    const Result<PerformanceMap> map = ParseMapDocument(shown->document);
    if (!map) return FailCommand(common, map.error());
    if (const std::int64_t doubts = CountDoubts(*map); doubts > 0) {
      to_review.push_back({{"name", example.name}, {"doubts", doubts}});
      text += fmt::format("  {}: {} a look\n", example.name, Count(doubts, "thing needs", "things need"));
    }
  }
  const int code = to_review.empty() ? kExitDone : kExitReview;
  if (common.json) return std::max(code, PrintJson(common, {{"maps", names}, {"needs_review", to_review}}));
  return common.quiet ? code : std::max(code, PrintResult(common, fmt::format("{} example maps are on the shelf.\n{}", names.size(), text)));
}

int RunShelfShow(const ShelfShowArguments& arguments, const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kRead);
  if (!shelf) return FailCommand(common, shelf.error());
  const Result<std::string> spec = AsOnShelf(**shelf, arguments.spec);
  if (!spec) return FailCommand(common, spec.error());
  const Result<ShownRevision> shown = (*shelf)->Show(*spec);
  if (!shown) return FailCommand(common, shown.error());
  const Result<PerformanceMap> map = ParseMapDocument(shown->document);
  if (!map) return FailCommand(common, map.error());
  if (arguments.sheet) {
    if (!shown->sheet_sha256) return FailCommand(common, {ErrorCode::kNotFound, "this map names no sheet.", arguments.spec});
    const Result<std::string> bytes = (*shelf)->Sheet(*shown->sheet_sha256);
    if (!bytes) return FailCommand(common, bytes.error());
    if (const Result<void> written = WriteWholeFile(*arguments.sheet, *bytes); !written) return FailCommand(common, written.error());
  }
  if (arguments.document) {
    if (const Result<void> written = WriteWholeFile(*arguments.document, shown->document + "\n"); !written)
      return FailCommand(common, written.error());
  }
  const Result<MapFacts> facts = (*shelf)->Facts(shown->name);
  if (!facts) return FailCommand(common, facts.error());
  const Result<std::vector<ShelfBranch>> branches = (*shelf)->Branches(shown->name);
  if (!branches) return FailCommand(common, branches.error());
  if (!common.json) return PrintResult(common, ShownText(*shown, *map, *facts, *branches));
  Json document = {{"name", shown->name}};
  document.update(RevisionJson(shown->revision));
  document["is_head"] = shown->is_head;
  document["sheet_sha256"] = SheetJson(shown->sheet_sha256);
  document["sheet_on_shelf"] = shown->sheet_on_shelf;
  document["wheel"] = WheelJson(facts->wheel);
  document["tags"] = facts->tags;
  document["notes"] = Json::array();
  for (const MapNote& note : facts->notes)
    document["notes"].push_back({{"author", note.author}, {"time", note.time}, {"text", note.text}, {"revision", SheetJson(note.revision)}});
  document["branches"] = Json::array();
  for (const ShelfBranch& branch : *branches)
    if (!branch.name.empty()) document["branches"].push_back({{"branch", branch.name}, {"revision", branch.head.id}});
  document["removed"] = facts->removed;
  document["map"] = Json::parse(shown->document);
  return PrintJson(common, document);
}

int RunShelfLog(const ShelfLogArguments& arguments, const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kRead);
  if (!shelf) return FailCommand(common, shelf.error());
  const Result<std::string> spec = AsOnShelf(**shelf, arguments.name);
  if (!spec) return FailCommand(common, spec.error());
  const Result<std::vector<RevisionRecord>> log = (*shelf)->Log(*spec);
  if (!log) return FailCommand(common, log.error());
  if (common.json) {
    Json list = Json::array();
    for (const RevisionRecord& revision : *log) list.push_back(RevisionJson(revision));
    return PrintJson(common, list);
  }
  std::vector<std::vector<std::string>> rows = {{"revision", "time", "author", "message"}};
  for (const RevisionRecord& revision : *log) rows.push_back({ShortId(revision.id), revision.time, revision.author, FirstLine(revision.message)});
  const std::string name = spec->substr(0, spec->rfind('@'));
  const Result<std::vector<ShelfBranch>> branches = (*shelf)->Branches(name);
  if (!branches) return FailCommand(common, branches.error());
  for (const ShelfBranch& branch : *branches)
    if (!branch.name.empty()) Say(common, fmt::format("branch {}@{}, at {} by {}", name, branch.name, ShortId(branch.head.id), branch.head.author));
  return PrintResult(common, Table(rows));
}

int RunShelfVerify(const ShelfVerifyArguments&, const CommonArguments& common) {
  Result<std::unique_ptr<Shelf>> shelf = OpenShelf(common, ShelfAccess::kRead);
  if (!shelf) return FailCommand(common, shelf.error());
  CatchInterrupts();
  ProgressLine progress(common);
  const Result<ShelfReport> report = (*shelf)->Verify([&](double done) {
    progress.Show("checking the shelf", done);
    return !Interrupted();
  });
  progress.Clear();
  if (!report) return FailCommand(common, report.error());
  for (const ShelfProblem& problem : report->problems) Complain(common, {ErrorCode::kShelfDamaged, problem.message, problem.place});
  int code = report->problems.empty() ? kExitDone : kExitNotDone;
  if (common.json) {
    Json problems = Json::array();
    for (const ShelfProblem& problem : report->problems) problems.push_back({{"place", problem.place}, {"message", problem.message}});
    return std::max(code, PrintJson(common, {{"shelf", ShelfForPeople(ShelfPlace(common))},
                                             {"maps", report->maps},
                                             {"revisions", report->revisions},
                                             {"documents", report->documents},
                                             {"sheets", report->sheets},
                                             {"sheet_bytes", report->sheet_bytes},
                                             {"problems", problems}}));
  }
  if (common.quiet) return code;
  const std::string counts = fmt::format("{}, {}, {} ({})", Count(report->maps, "map", "maps"), Count(report->revisions, "revision", "revisions"),
                                         Count(report->sheets, "sheet", "sheets"), Bytes(report->sheet_bytes));
  return std::max(code, PrintResult(common, report->problems.empty()
                                                ? counts + ": everything is what its hash says.\n"
                                                : fmt::format("{}: {} found.\n", counts,
                                                              Count(static_cast<std::int64_t>(report->problems.size()), "problem", "problems"))));
}

}  // namespace islebook
