#include "ui/cli/digitize_command.h"

#include <algorithm>
#include <mutex>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "digitizer/proof/proof.h"
#include "mapstore/map/map_document.h"
#include "mapstore/map/whole_file.h"
#include "ui/desk/digitize_sheets.h"
#include "ui/desk/output_file.h"

namespace islebook {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kDoubtsShown = 6;  // in the text for a person; the documents and --json hold all

Json ErrorJson(const Error& error) { return {{"code", static_cast<int>(error.code)}, {"message", error.message}, {"place", error.place}}; }

Json MapJson(const WrittenMap& written) {
  const PerformanceMap& map = written.map;
  Json curves = Json::object();
  for (const Curve& curve : map.curves) {
    const char* role = CurveRoleName(curve.role);
    curves[role] = curves.contains(role) ? curves[role].get<int>() + 1 : 1;
  }
  Json review = Json::array();
  for (const NumberedDoubt& doubt : ListDoubts(map)) {
    Json entry = {{"number", doubt.number}, {"reason", doubt.text}};
    if (doubt.curve) entry["curve"] = *doubt.curve;
    review.push_back(std::move(entry));
  }
  Json json = {{"file", written.file.string()},
               {"kind", map.kind ? Json(MapKindName(*map.kind)) : Json()},
               {"title", map.title},
               {"curves", curves},
               {"needs_review", review}};
  if (written.proof) json["proof"] = written.proof->string();
  if (written.kept) json["kept"] = written.kept->string();
  return json;
}

std::string SummaryJson(const std::vector<SheetOutcome>& outcomes, bool interrupted) {
  Json sheets = Json::array();
  int done = 0, to_review = 0, failed = 0;
  for (const SheetOutcome& outcome : outcomes) {
    Json json = {{"sheet", outcome.sheet.string()}, {"maps", Json::array()}, {"errors", Json::array()}, {"seconds", outcome.seconds}};
    for (const WrittenMap& written : outcome.maps) json["maps"].push_back(MapJson(written));
    for (const Error& error : outcome.errors) json["errors"].push_back(ErrorJson(error));
    sheets.push_back(std::move(json));
    if (!outcome.errors.empty())
      ++failed;
    else if (outcome.needs_review)
      ++to_review;
    else if (!outcome.maps.empty())
      ++done;
  }
  Json summary = {{"sheets", sheets}, {"done", done}, {"to_review", to_review}, {"not_done", failed}};
  if (interrupted) summary["interrupted"] = true;
  return summary.dump(2, ' ', false, Json::error_handler_t::replace);
}

// What a person does about the doubts.
std::string NextStep(const WrittenMap& written) {
  const std::string look = written.proof ? "Next: look at " + OnOneLine(written.proof->string())
                                         : "Next: digitize again with --proof and look at the curves over the sheet";
  return look + "; correct what is wrong in the window (islebook-desktop) or in a recipe (--recipe), then shelf add.";
}

std::string OutcomeText(const SheetOutcome& outcome) {
  std::string text;
  for (const WrittenMap& written : outcome.maps) {
    const auto doubts = ListDoubts(written.map);
    const FirstDoubts first = FirstDoubtLines(written.map, kDoubtsShown);
    text += fmt::format("{} -> {}\n    {}{}{}\n", OnOneLine(outcome.sheet.filename().string()), OnOneLine(written.file.string()),
                        written.map.title.empty() ? "" : written.map.title + ", ", SummaryOf(written.map),
                        doubts.empty() ? "; nothing needs a look"
                                       : fmt::format("; {} {} a look:", doubts.size(), doubts.size() == 1 ? "thing needs" : "things need"));
    for (const DoubtLine& line : first.lines) text += fmt::format("    {:>3}  {}\n", line.numbers, line.text);
    if (first.lines_left > 0)
      text += fmt::format("         {} in the document{}\n",
                          first.doubts_left == 0   ? "and further reasons for these,"
                          : first.doubts_left == 1 ? "and 1 more thing,"
                                                   : fmt::format("and {} more things,", first.doubts_left),
                          written.proof ? " and on the proof" : "");
    if (!doubts.empty()) text += fmt::format("    {}\n", NextStep(written));
    if (written.kept)
      text += fmt::format("    The document that stood there held corrections; it is kept as {0}. To have them again: --recipe {0}\n",
                          OnOneLine(written.kept->string()));
  }
  return text;
}

std::string RecipePrefix(const DigitizeArguments& arguments) { return arguments.recipe->string() + ": "; }

// The recipe file, with what the command line says on top.
Result<Recipe> ReadRecipe(const DigitizeArguments& arguments) {
  Recipe recipe;
  if (arguments.recipe) {
    const auto text = ReadFileContents(*arguments.recipe, 64U << 20);
    if (!text) return std::unexpected(text.error());
    // A map document holds the recipe that it was made with.
    const auto map = ParseMapDocument(*text);
    auto parsed = ParseRecipe(map && !map->recipe_json.empty() ? map->recipe_json : *text);
    if (!parsed) return Fail(parsed.error().code, parsed.error().message, RecipePrefix(arguments) + parsed.error().place);
    recipe = std::move(*parsed);
  }
  if (!arguments.kind.empty()) recipe.settings.kind = ParseMapKind(arguments.kind);
  if (arguments.page) recipe.settings.page = arguments.page;
  return recipe;
}

}  // namespace

int RunDigitize(const DigitizeArguments& arguments, const CommonArguments& common) {
  CatchInterrupts();
  auto recipe = ReadRecipe(arguments);
  if (!recipe) {
    const std::string& place = recipe.error().place;
    const bool inside = place.starts_with(RecipePrefix(arguments));
    return FailCommand(common, recipe.error(),
                       inside ? RecipePrefix(arguments) + RecipePlaceInWords(place.substr(RecipePrefix(arguments).size())) : "");
  }
  if (const auto made = MakeFolder(arguments.out); !made) return FailCommand(common, made.error());
  if (arguments.stages)
    if (const auto made = MakeFolder(*arguments.stages); !made) return FailCommand(common, made.error());

  DigitizeSheetsOptions options;
  options.out = arguments.out;
  options.recipe = std::move(*recipe);
  options.proof = arguments.proof;
  options.stages = arguments.stages;
  options.jobs = arguments.jobs;
  if (const auto checked = options.Check(); !checked) return RefuseArguments(common, checked.error());

  ProgressLine line(common);
  std::vector<double> part(arguments.sheets.size(), 0.0);
  int print_failure = kExitDone;
  DigitizeSheetsWatch watch;
  watch.stop = Interrupted;
  watch.progress = [&](std::size_t sheet, const char* stage, double done) {
    part[sheet] = done;
    double sum = 0.0;
    for (const double each : part) sum += each;
    line.Show(fmt::format("{}: {}", arguments.sheets[sheet].filename().string(), stage), sum / static_cast<double>(part.size()));
  };
  watch.done = [&](const SheetOutcome& outcome) {
    line.Clear();
    for (const Error& error : outcome.errors) Complain(common, error);
    if (!common.json && !common.quiet && !outcome.maps.empty()) print_failure = std::max(print_failure, PrintResult(common, OutcomeText(outcome)));
  };
  const std::vector<SheetOutcome> outcomes = DigitizeSheets(arguments.sheets, options, watch);
  line.Clear();

  if (common.json) print_failure = PrintResult(common, SummaryJson(outcomes, Interrupted()));
  if (Interrupted()) {
    Say(common, "islebook digitize: interrupted; the sheets finished before are written, nothing else is.");
    return kExitInterrupted;
  }
  if (print_failure != kExitDone || std::ranges::any_of(outcomes, [](const SheetOutcome& outcome) { return !outcome.errors.empty(); }))
    return kExitNotDone;
  return std::ranges::any_of(outcomes, &SheetOutcome::needs_review) ? kExitReview : kExitDone;
}

}  // namespace islebook
