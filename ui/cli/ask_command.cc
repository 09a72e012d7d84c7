#include "ui/cli/ask_command.h"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <vector>

#include <fmt/format.h>

#include "mapstore/answers/askable_map.h"
#include "mapstore/query/question_table.h"
#include "mapstore/shelf/open_shelf.h"
#include "mapstore/units/print_text.h"
#include "mapstore/units/printed_number.h"
#include "ui/cli/ask_answers.h"
#include "ui/cli/workshop.h"
#include "ui/desk/answer_words.h"
#include "ui/desk/open_map.h"

namespace islebook {
namespace {

constexpr std::size_t kPiece = 4096;  // questions asked at a time
constexpr std::size_t kPointsInChart = 40;
constexpr std::size_t kComplaints = 20;  // bad lines named one by one

std::vector<QuestionValue> GivenValues(const AskArguments& arguments) {
  std::vector<QuestionValue> given;
  if (arguments.flow) given.push_back(QuestionValue::kFlow);
  if (arguments.pressure_ratio) given.push_back(QuestionValue::kPressureRatio);
  if (arguments.speed) given.push_back(QuestionValue::kSpeed);
  if (arguments.expansion_ratio) given.push_back(QuestionValue::kExpansionRatio);
  if (arguments.vane_opening) given.push_back(QuestionValue::kVaneOpening);
  return given;
}

// What is wrong whatever the map is: no number, or one that is not above zero.
std::optional<Error> WrongNumber(const AskArguments& arguments) {
  struct Typed {
    const char* option;
    const std::optional<std::string>* text;
    const char* example;
  };
  const Typed typed[] = {{"--flow", &arguments.flow, "--flow \"0.42 kg/s\""},
                         {"--pressure-ratio", &arguments.pressure_ratio, "--pressure-ratio 2.4"},
                         {"--speed", &arguments.speed, "--speed \"92 krpm\""},
                         {"--expansion-ratio", &arguments.expansion_ratio, "--expansion-ratio 1.9"},
                         {"--vane-opening", &arguments.vane_opening, "--vane-opening 40"}};
  for (const Typed& each : typed) {
    if (!*each.text) continue;
    const std::string folded = FoldPrint(**each.text);
    const bool minus = folded.starts_with('-');
    const auto number = ReadPrintedNumber(minus ? folded.substr(1) : folded);
    const bool may_be_zero = each.text == &arguments.vane_opening;
    if (!number)
      return Error{ErrorCode::kInvalidArgument,
                   fmt::format("\"{}\" is not a number; write one, for example {}.", OnOneLine(**each.text), each.example), each.option};
    if (const double value = number->values.front(); may_be_zero ? minus && value != 0.0 : minus || !(value > 0.0))
      return Error{ErrorCode::kInvalidArgument,
                   fmt::format("\"{}\" is not above zero; write a positive number, for example {}.", OnOneLine(**each.text), each.example),
                   each.option};
  }
  return std::nullopt;
}

Result<Question> ReadQuestion(const AskArguments& arguments, const QuestionUnits& units) {
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
    question.Set(value, *parsed);
  }
  return question;
}

struct CloseFile {
  void operator()(std::FILE* file) const {
    if (file != nullptr && file != stdin) std::fclose(file);
  }
};

Result<QuestionTableReader::Source> OpenPoints(const std::filesystem::path& path) {
  std::error_code ignored;
  if (path != "-" && std::filesystem::is_directory(path, ignored))
    return Fail(ErrorCode::kCannotRead, "it is a folder; give a CSV file with points.", path.string());
  const std::shared_ptr<std::FILE> file(path == "-" ? stdin : std::fopen(path.c_str(), "rb"), CloseFile{});
  if (!file) return Fail(ErrorCode::kCannotRead, fmt::format("it cannot be read: {}.", std::strerror(errno)), path.string());
  return [file](char* buffer, std::size_t size) -> Result<std::size_t> {
    errno = 0;
    const std::size_t got = std::fread(buffer, 1, size, file.get());
    if (got == 0 && std::ferror(file.get()) != 0) return Fail(ErrorCode::kCannotRead, fmt::format("reading stopped: {}.", std::strerror(errno)), "");
    return got;
  };
}

// Why a question made no sense; of a row of a table with its line, and with its column where a value is not above zero.
std::string WhatIsWrong(const Question& question, std::int64_t line, const std::string& reason) {
  if (line == 0 || reason.starts_with("line ")) return reason;
  for (std::size_t k = 0; k < question.values.size(); ++k) {
    const auto value = static_cast<QuestionValue>(k);
    if (const auto given = question.At(value); given && (*given < 0.0 || (*given == 0.0 && value != QuestionValue::kVaneOpening)))
      return fmt::format("line {}: the value in column {} is not above zero.", line, QuestionValueName(value));
  }
  return fmt::format("line {}: {}", line, reason);
}

// Asks piece by piece and prints as it goes; holds neither all questions nor all answers.
class Asking {
 public:
  Asking(const AskArguments& arguments, const CommonArguments& common, const AskableMap& map)
      : arguments_(arguments),
        common_(common),
        map_(map),
        place_(arguments.points ? arguments.points->string() : ""),
        printer_(map, common.json     ? AnswerForm::kJson
                      : arguments.csv ? AnswerForm::kCsv
                                      : AnswerForm::kText),
        review_(!map.doubts().empty()) {}

  // False: standard output takes no more.
  // `line`: of the table of points, for complaints about it; 0: there is none.
  bool Add(Question question, std::int64_t line = 0) {
    pending_.push_back(std::move(question));
    lines_.push_back(line);
    return pending_.size() < kPiece || Answer();
  }
  void Fail(const Error& error) {
    Complain(common_, error);
    failed_ = true;
  }
  int Finish() {
    if (!Answer()) return kExitNotDone;
    if (complaints_ > kComplaints)
      Complain(common_, {ErrorCode::kInvalidArgument, fmt::format("{} further points could not be answered.", complaints_ - kComplaints), place_});
    DrawPoints();
    if (arguments_.csv)  // the table has no place for them
      for (const std::string& doubt : map_.doubts()) Say(common_, "About this map: " + doubt);
    const std::string rest = printer_.End();
    if (const int printed = arguments_.csv ? PrintPart(common_, rest) : PrintResult(common_, rest); printed != kExitDone) return printed;
    return failed_ ? kExitNotDone : review_ ? kExitReview : kExitDone;
  }

 private:
  bool Answer() {
    answers_.resize(pending_.size());
    map_.AskAll(pending_, answers_, 0);
    for (std::size_t i = 0; i < answers_.size(); ++i) {
      const MapAnswer& answer = answers_[i];
      printer_.Add(answer);
      if (!answer.asked) {
        failed_ = true;
        if (++complaints_ <= kComplaints) {
          Complain(common_, {ErrorCode::kInvalidArgument, WhatIsWrong(pending_[i], lines_[i], answer.reason), place_});
        }
        continue;
      }
      if (answer.doubts != kNoDoubt || !answer.reason.empty() || !answer.inside) review_ = true;
      if (arguments_.charts.Any()) Mark(answer);
    }
    pending_.clear();
    lines_.clear();
    const std::string text = printer_.Take();
    return text.empty() || PrintPart(common_, text) == kExitDone;
  }

  void Mark(const MapAnswer& answer) {
    const std::optional<double>& ratio = map_.is_turbine() ? answer.expansion_ratio : answer.pressure_ratio;
    if (!ratio || !answer.flow) return;
    ++marks_;
    if (overlay_.points.size() == kPointsInChart) return;
    std::optional<double> drawn;
    if (map_.is_turbine() && answer.efficiency)
      drawn = map_.map().efficiency && map_.map().efficiency->unit == "%" ? 100.0 * *answer.efficiency : *answer.efficiency;
    overlay_.points.push_back({RatioAlongX(map_.map()) ? Point2{*ratio, *answer.flow} : Point2{*answer.flow, *ratio}, drawn,
                               AnswerWords(map_, answer), !answer.inside, false});
  }

  void DrawPoints() {
    if (!arguments_.charts.Any()) return;
    if (marks_ > kPointsInChart) Say(common_, fmt::format("The chart shows the first {} of {} points.", kPointsInChart, marks_));
    const auto written = WriteCharts(arguments_.charts, map_.map(), overlay_, {});
    if (!written) return Fail(written.error());
    for (const std::filesystem::path& file : *written) Say(common_, fmt::format("Wrote {}.", OnOneLine(file.string())));
  }

  const AskArguments& arguments_;
  const CommonArguments& common_;
  const AskableMap& map_;
  std::string place_;
  AnswerPrinter printer_;
  std::vector<Question> pending_;
  std::vector<std::int64_t> lines_;  // runs along pending_
  std::vector<MapAnswer> answers_;
  ChartOverlay overlay_;
  std::size_t complaints_ = 0, marks_ = 0;
  bool failed_ = false, review_ = false;
};

int AskTable(const AskArguments& arguments, const CommonArguments& common, const AskableMap& map, const QuestionUnits& units) {
  const auto placed = [&arguments](Error error) {
    error.place = arguments.points->string() + (error.place.empty() || error.place == arguments.points->string() ? "" : ", " + error.place);
    return error;
  };
  auto source = OpenPoints(*arguments.points);
  if (!source) return FailCommand(common, source.error());
  auto reader = QuestionTableReader::Open(*source, units);
  if (!reader) return FailCommand(common, placed(reader.error()));
  if (auto checked = map.CheckValues(reader->columns()); !checked) return FailCommand(common, placed(checked.error()));
  for (const std::string& name : reader->ignored()) Say(common, fmt::format("The column \"{}\" is not used.", name));
  Asking asking(arguments, common, map);
  TableQuestion row;
  CatchInterrupts();
  while (!Interrupted()) {
    auto more = reader->Next(row);
    if (!more) {
      asking.Fail(placed(more.error()));
      break;
    }
    if (!*more) break;
    Question question{row.values, ""};
    if (!row.error.empty()) question.error = fmt::format("line {}: {}", row.line, row.error);
    if (!asking.Add(std::move(question), row.line)) return kExitNotDone;
  }
  const int code = asking.Finish();
  return Interrupted() ? kExitInterrupted : code;
}

}  // namespace

int RunAsk(const AskArguments& arguments, const CommonArguments& common) {
  if (arguments.charts.Any() && !HaveWorkshop()) return ContinueInWorkshop(common);
  const std::vector<QuestionValue> given = GivenValues(arguments);
  if (arguments.points && !given.empty())
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "give either --points or a single point, not both.", ""});
  if (!arguments.points && given.empty())
    return RefuseArguments(common, {ErrorCode::kInvalidArgument,
                                    "say what to ask: --points FILE.csv, or two of --flow, --pressure-ratio, --speed (a turbine: --expansion-ratio "
                                    "with --speed or --vane-opening).",
                                    ""});
  if (arguments.csv && common.json) return RefuseArguments(common, {ErrorCode::kInvalidArgument, "give either --json or --csv, not both.", ""});
  if (const auto wrong = WrongNumber(arguments)) return RefuseArguments(common, *wrong);
  AskableMapOptions options;
  if (!arguments.surge_margin.empty()) {
    options.surge_margin = ParseSurgeMargin(arguments.surge_margin);
    std::string names;
    for (const SurgeMarginDefinition& definition : SurgeMarginDefinitions()) names += (names.empty() ? "" : ", ") + std::string(definition.name);
    if (!options.surge_margin)
      return RefuseArguments(
          common, {ErrorCode::kInvalidArgument, fmt::format("there is no surge margin \"{}\"; there are {}.", arguments.surge_margin, names),
                   "--surge-margin"});
  }
  options.slopes = arguments.slopes;
  options.edges = arguments.edges;
  std::optional<ReferenceConditions> given_at;
  if (!arguments.reference.empty()) {
    auto parsed = ParseReferenceArgument(arguments.reference);
    if (!parsed) return RefuseArguments(common, {parsed.error().code, parsed.error().message, "--reference"});
    given_at = *parsed;
  }
  if (!NamesMapFile(arguments.map) && IsServerShelf(ShelfPlace(common)) && !HaveWorkshop()) return ContinueInWorkshop(common);
  auto opened = OpenMap(arguments.map, ShelfPlace(common));
  if (!opened) return FailCommand(common, opened.error());
  const std::string name = opened->name;
  auto map = AskableMap::Make(std::move(opened->map), name, opened->revision, options);
  if (!map) return FailCommand(common, map.error());
  auto units = QuestionUnits::For(map->map(), given_at);
  if (!units) return FailCommand(common, {units.error().code, units.error().message, name});
  if (arguments.points) return AskTable(arguments, common, *map, *units);

  if (auto checked = map->CheckValues(given); !checked) return FailCommand(common, checked.error());
  if (!map->is_turbine() && given.size() != 2)
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "two of --flow, --pressure-ratio and --speed are needed.", ""});
  if (map->is_turbine() && given.size() > 2)
    return RefuseArguments(common, {ErrorCode::kInvalidArgument, "two of --expansion-ratio, --flow and --speed or --vane-opening are needed.", ""});
  auto question = ReadQuestion(arguments, *units);
  if (!question) return RefuseArguments(common, question.error());
  Asking asking(arguments, common, *map);
  asking.Add(std::move(*question));
  return asking.Finish();
}

}  // namespace islebook
