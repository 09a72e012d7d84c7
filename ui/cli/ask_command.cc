#include "ui/cli/ask_command.h"

#include <algorithm>
#include <array>
#include <vector>

#include <fmt/format.h>

#include "mapstore/map/whole_file.h"
#include "mapstore/query/question_table.h"
#include "ui/cli/ask_answers.h"
#include "ui/desk/open_map.h"

namespace islebook {
namespace {

constexpr std::size_t kLargestTable = std::size_t{1} << 30;
constexpr std::size_t kPointsInChart = 40;

struct Question {
  std::array<std::optional<double>, 5> values;
  std::string error;
  std::optional<double> At(QuestionValue value) const { return values[static_cast<std::size_t>(value)]; }
};

// What a map of the other kind would be asked for.
Result<void> CheckKind(const std::vector<QuestionValue>& given, bool turbine, bool margin_named) {
  for (const QuestionValue value : given) {
    if (turbine && value == QuestionValue::kPressureRatio)
      return Fail(ErrorCode::kWrongKind, "this is a turbine map, which has an expansion ratio and no pressure ratio; ask with --expansion-ratio.");
    if (!turbine && (value == QuestionValue::kExpansionRatio || value == QuestionValue::kVaneOpening))
      return Fail(ErrorCode::kWrongKind,
                  "this is a compressor map, which has neither expansion ratio nor vane opening; ask with --flow and --pressure-ratio.");
  }
  if (turbine && margin_named) return Fail(ErrorCode::kWrongKind, "a turbine has no surge margin; leave --surge-margin out.");
  return {};
}

// Curves and doubts that a person should look at before relying on the map.
std::vector<std::string> DoubtsOf(const PerformanceMap& map, const std::vector<std::string>& notes) {
  std::vector<std::string> doubts = map.needs_review;
  for (const std::string& note : notes)
    if (std::find(doubts.begin(), doubts.end(), note) == doubts.end()) doubts.push_back(note);
  int flagged = 0;
  for (const Curve& curve : map.curves)
    flagged += curve.needs_review && curve.role != CurveRole::kSpeedLine && curve.role != CurveRole::kEfficiencyIsland;
  if (flagged > 0) doubts.push_back(fmt::format("{} further curve(s) of the map are flagged for review.", flagged));
  return doubts;
}

Result<std::vector<Question>> ReadQuestions(const AskArguments& arguments, const QuestionUnits& units, std::vector<QuestionValue>& given,
                                            const CommonArguments& common) {
  std::vector<Question> questions;
  if (arguments.points) {
    auto text = ReadFileContents(*arguments.points, kLargestTable);
    if (!text) return std::unexpected(text.error());
    auto table = ReadQuestionTable(*text, units);
    if (!table) {
      Error error = table.error();
      error.place = arguments.points->string() + (error.place.empty() ? "" : ", " + error.place);
      return std::unexpected(error);
    }
    given = table->columns;
    for (const std::string& name : table->ignored) Say(common, fmt::format("The column \"{}\" is not used.", name));
    questions.reserve(table->questions.size());
    for (TableQuestion& row : table->questions)
      questions.push_back({row.values, row.error.empty() ? "" : fmt::format("line {}: {}", row.line, row.error)});
    return questions;
  }
  Question question;
  const std::pair<QuestionValue, const std::optional<std::string>*> typed[] = {{QuestionValue::kFlow, &arguments.flow},
                                                                               {QuestionValue::kPressureRatio, &arguments.pressure_ratio},
                                                                               {QuestionValue::kSpeed, &arguments.speed},
                                                                               {QuestionValue::kExpansionRatio, &arguments.expansion_ratio},
                                                                               {QuestionValue::kVaneOpening, &arguments.vane_opening}};
  for (const auto& [value, text] : typed) {
    if (!*text) continue;
    auto parsed = units.Parse(value, **text);
    if (!parsed) return std::unexpected(parsed.error());
    question.values[static_cast<std::size_t>(value)] = *parsed;
  }
  questions.push_back(question);
  return questions;
}

int Finish(const CommonArguments& common, const std::string& text, bool failed, bool review) {
  if (const int printed = PrintResult(common, text); printed != kExitDone) return printed;
  return failed ? kExitNotDone : review ? kExitReview : kExitDone;
}

bool DrawPoints(const AskArguments& arguments, const CommonArguments& common, const PerformanceMap& map, ChartOverlay overlay) {
  if (!arguments.charts.Any()) return true;
  if (overlay.points.size() > kPointsInChart) {
    Say(common, fmt::format("The chart shows the first {} of {} points.", kPointsInChart, overlay.points.size()));
    overlay.points.resize(kPointsInChart);
  }
  auto written = WriteCharts(arguments.charts, map, overlay, {});
  if (!written) {
    Complain(common, written.error());
    return false;
  }
  for (const std::filesystem::path& file : *written) Say(common, fmt::format("Wrote {}.", file.string()));
  return true;
}

int AskCompressor(const AskArguments& arguments, const CommonArguments& common, const OpenedMap& opened, AskFacts facts,
                  const std::vector<Question>& questions) {
  auto surface = CompressorSurface::Build(opened.map);
  if (!surface) return FailCommand(common, {surface.error().code, surface.error().message, opened.name});
  facts.doubts = DoubtsOf(opened.map, surface->Notes());
  CompressorQueryOptions options;
  if (!arguments.surge_margin.empty()) options.surge_margin = *ParseSurgeMargin(arguments.surge_margin);
  const CompressorQuery query(*surface, options);
  std::vector<CompressorQuestion> asked(questions.size());
  for (std::size_t i = 0; i < questions.size(); ++i)
    asked[i] = {questions[i].At(QuestionValue::kFlow), questions[i].At(QuestionValue::kPressureRatio), questions[i].At(QuestionValue::kSpeed)};
  std::vector<CompressorAnswer> answers(asked.size());
  query.AskAll(asked, answers, 0);
  std::vector<CompressorItem> items(questions.size());
  ChartOverlay overlay;
  bool failed = false, review = !facts.doubts.empty();
  for (std::size_t i = 0; i < questions.size(); ++i) {
    items[i].error = questions[i].error;
    if (items[i].error.empty()) {
      items[i].answer = std::move(answers[i]);
      if (items[i].answer.doubts & kBadQuestion) items[i].error = DoubtWords(items[i].answer, query.surface());
    }
    if (!items[i].error.empty()) {
      failed = true;
      Complain(common, {ErrorCode::kInvalidArgument, items[i].error, arguments.points ? arguments.points->string() : ""});
      continue;
    }
    const CompressorAnswer& answer = items[i].answer;
    if (answer.doubts != kNoDoubt) review = true;
    if (answer.flow && answer.pressure_ratio)
      overlay.points.push_back({RatioAlongX(opened.map) ? Point2{*answer.pressure_ratio, *answer.flow} : Point2{*answer.flow, *answer.pressure_ratio},
                                std::nullopt, CompressorWords(answer, query.surface()), !answer.inside, false});
  }
  if (!DrawPoints(arguments, common, opened.map, std::move(overlay))) failed = true;
  return Finish(common, common.json ? CompressorJson(facts, query, items) : CompressorText(facts, query, items), failed, review);
}

int AskTurbine(const AskArguments& arguments, const CommonArguments& common, const OpenedMap& opened, AskFacts facts,
               const std::vector<Question>& questions) {
  auto surface = TurbineSurface::Build(opened.map);
  if (!surface) return FailCommand(common, {surface.error().code, surface.error().message, opened.name});
  facts.doubts = DoubtsOf(opened.map, surface->Notes());
  const TurbineQuery query(*surface);
  const bool by_speed = surface->Parameter() == TurbineParameter::kSpeed;
  std::vector<TurbineItem> items(questions.size());
  ChartOverlay overlay;
  bool failed = false, review = !facts.doubts.empty();
  for (std::size_t i = 0; i < questions.size(); ++i) {
    const Question& question = questions[i];
    items[i].error = question.error;
    if (items[i].error.empty() && question.At(by_speed ? QuestionValue::kVaneOpening : QuestionValue::kSpeed))
      items[i].error = by_speed ? "The lines of this turbine map are labeled with speeds, not vane openings."
                                : "The lines of this turbine map are not labeled with speeds.";
    if (items[i].error.empty()) {
      items[i].answer = query.Ask({question.At(QuestionValue::kExpansionRatio), question.At(QuestionValue::kFlow),
                                   question.At(by_speed ? QuestionValue::kSpeed : QuestionValue::kVaneOpening)});
      const TurbineAnswer& answer = items[i].answer;
      if (!answer.expansion_ratio && !answer.flow) items[i].error = answer.reason;
    }
    if (!items[i].error.empty()) {
      failed = true;
      Complain(common, {ErrorCode::kInvalidArgument, items[i].error, arguments.points ? arguments.points->string() : ""});
      continue;
    }
    const TurbineAnswer& answer = items[i].answer;
    if (!answer.reason.empty() || !answer.inside) review = true;
    if (answer.expansion_ratio && answer.flow) {
      std::optional<double> drawn = answer.efficiency;
      if (drawn && opened.map.efficiency && opened.map.efficiency->unit == "%") drawn = 100.0 * *drawn;
      overlay.points.push_back(
          {RatioAlongX(opened.map) ? Point2{*answer.expansion_ratio, *answer.flow} : Point2{*answer.flow, *answer.expansion_ratio}, drawn,
           TurbineWords(answer, query.surface()), !answer.inside, false});
    }
  }
  if (!DrawPoints(arguments, common, opened.map, std::move(overlay))) failed = true;
  return Finish(common, common.json ? TurbineJson(facts, query, items) : TurbineText(facts, query, items), failed, review);
}

}  // namespace

int RunAsk(const AskArguments& arguments, const CommonArguments& common) {
  const bool single = arguments.flow || arguments.pressure_ratio || arguments.speed || arguments.expansion_ratio || arguments.vane_opening;
  if (arguments.points && single)
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "give either --points or a single point, not both.", ""});
  if (!arguments.points && !single)
    return RefuseArguments(common, {ErrorCode::kInvalidArgument,
                                    "say what to ask: --points FILE.csv, or two of --flow, --pressure-ratio, --speed (a turbine: --expansion-ratio "
                                    "with --speed or --vane-opening).",
                                    ""});
  if (!arguments.surge_margin.empty() && !ParseSurgeMargin(arguments.surge_margin)) {
    std::string names;
    for (const SurgeMarginDefinition& definition : SurgeMarginDefinitions()) names += (names.empty() ? "" : ", ") + std::string(definition.name);
    return RefuseArguments(common, {ErrorCode::kInvalidArgument,
                                    fmt::format("there is no surge margin \"{}\"; there are {}.", arguments.surge_margin, names), "--surge-margin"});
  }
  std::optional<ReferenceConditions> given_at;
  if (!arguments.reference.empty()) {
    auto parsed = ParseReferenceArgument(arguments.reference);
    if (!parsed) return RefuseArguments(common, {parsed.error().code, parsed.error().message, "--reference"});
    given_at = *parsed;
  }
  auto opened = OpenMap(arguments.map, ShelfFile(common));
  if (!opened) return FailCommand(common, opened.error());
  const PerformanceMap& map = opened->map;
  if (!map.kind) {
    std::string why = "it holds no compressor or turbine map";
    if (!map.needs_review.empty()) why += ": " + map.needs_review.front();
    return FailCommand(common, {ErrorCode::kWrongKind, why + (why.ends_with('.') ? "" : "."), opened->name});
  }
  const bool turbine = map.kind == MapKind::kTurbine;
  auto units = QuestionUnits::For(map, given_at);
  if (!units) return FailCommand(common, {units.error().code, units.error().message, opened->name});
  std::vector<QuestionValue> given;
  const std::pair<QuestionValue, bool> single_values[] = {{QuestionValue::kFlow, arguments.flow.has_value()},
                                                          {QuestionValue::kPressureRatio, arguments.pressure_ratio.has_value()},
                                                          {QuestionValue::kSpeed, arguments.speed.has_value()},
                                                          {QuestionValue::kExpansionRatio, arguments.expansion_ratio.has_value()},
                                                          {QuestionValue::kVaneOpening, arguments.vane_opening.has_value()}};
  for (const auto& [value, is_given] : single_values)
    if (is_given) given.push_back(value);
  if (single) {
    if (auto checked = CheckKind(given, turbine, !arguments.surge_margin.empty()); !checked)
      return FailCommand(common, {checked.error().code, checked.error().message, opened->name});
    if (!turbine && given.size() != 2)
      return RefuseArguments(common, {ErrorCode::kInvalidArgument, "two of --flow, --pressure-ratio and --speed are needed.", ""});
    if (turbine && given.size() > 2)
      return RefuseArguments(common, {ErrorCode::kInvalidArgument, "two of --expansion-ratio, --flow and --speed or --vane-opening are needed.", ""});
  }
  auto questions = ReadQuestions(arguments, *units, given, common);
  if (!questions) return single ? RefuseArguments(common, questions.error()) : FailCommand(common, questions.error());
  if (!single) {
    if (auto checked = CheckKind(given, turbine, !arguments.surge_margin.empty()); !checked)
      return FailCommand(common, {checked.error().code, checked.error().message, opened->name});
  }
  AskFacts facts;
  facts.name = opened->name;
  facts.title = map.title;
  facts.revision = opened->revision;
  facts.flow_unit = units->PrintedUnit(QuestionValue::kFlow);
  facts.reference = map.reference_conditions;
  return turbine ? AskTurbine(arguments, common, *opened, std::move(facts), *questions)
                 : AskCompressor(arguments, common, *opened, std::move(facts), *questions);
}

}  // namespace islebook
