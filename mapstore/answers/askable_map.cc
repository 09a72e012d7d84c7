#include "mapstore/answers/askable_map.h"

#include <algorithm>
#include <atomic>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "mapstore/query/left_edge.h"

namespace islebook {
namespace {

MapAnswer FromCompressor(const CompressorAnswer& from, const CompressorSurface& surface, bool words) {
  MapAnswer answer;
  answer.flow = from.flow;
  answer.pressure_ratio = from.pressure_ratio;
  answer.speed = from.speed;
  answer.efficiency = from.efficiency;
  answer.surge_margin = from.surge_margin;
  answer.choke_margin = from.choke_margin;
  answer.map_width = from.map_width;
  answer.sigma_flow = from.sigma_flow;
  answer.sigma_pressure_ratio = from.sigma_pressure_ratio;
  answer.sigma_speed = from.sigma_speed;
  answer.sigma_efficiency = from.sigma_efficiency;
  answer.sigma_surge_margin = from.sigma_surge_margin;
  answer.inside = from.inside;
  answer.doubts = from.doubts;
  answer.asked = (from.doubts & kBadQuestion) == 0;
  if (answer.asked) answer.region = from.region;
  if (from.doubts != kNoDoubt && (words || !answer.asked)) answer.reason = DoubtWords(from, surface);
  if (LeftEdgeIsDoubtful(from, surface)) {
    answer.region.reset();
    answer.inside = false;
    answer.surge_margin.reset();
    answer.sigma_surge_margin.reset();
    answer.map_width.reset();
    answer.doubts |= kRegionUnknown | kMarginUnknown;
    if (words) answer.reason = DoubtfulEdgeWords(from, surface);
  }
  for (const CompressorAnswer& other : from.alternatives) answer.alternatives.push_back(FromCompressor(other, surface, words));
  return answer;
}

MapAnswer FromTurbine(const TurbineAnswer& from, const TurbineSurface& surface) {
  MapAnswer answer;
  answer.expansion_ratio = from.expansion_ratio;
  answer.flow = from.flow;
  answer.efficiency = from.efficiency;
  if (surface.Parameter() == TurbineParameter::kSpeed) answer.speed = from.parameter;
  if (surface.Parameter() == TurbineParameter::kVaneOpening) answer.vane_opening = from.parameter;
  answer.sigma_flow = from.sigma_flow;
  answer.sigma_efficiency = from.sigma_efficiency;
  answer.inside = from.inside;
  answer.reason = from.reason;
  answer.asked = from.expansion_ratio.has_value() || from.flow.has_value();
  for (const TurbineAnswer& other : from.alternatives) answer.alternatives.push_back(FromTurbine(other, surface));
  return answer;
}

MapAnswer NotAsked(std::string reason) {
  MapAnswer answer;
  answer.asked = false;
  answer.doubts = kBadQuestion;
  answer.reason = std::move(reason);
  return answer;
}

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

CompressorQueryOptions QueryOptions(const AskableMapOptions& options) {
  return {options.surge_margin.value_or(SurgeMargin::kConstantSpeed), options.sigma};
}

std::optional<EdgeDistances> EdgesAt(const CompressorQuery& query, const MapAnswer& answer) {
  if (!answer.inside || !answer.flow || !answer.pressure_ratio) return std::nullopt;
  return DistancesToEdges(query.surface(), *answer.flow, *answer.pressure_ratio);
}

// What a turbine cannot be asked.
Result<void> CheckTurbine(const AskableMapOptions& options, const std::string& name) {
  if (options.surge_margin) return Fail(ErrorCode::kWrongKind, "a turbine has no surge margin; leave the surge margin out.", name);
  if (options.edges) return Fail(ErrorCode::kWrongKind, "distances to the edges are known of compressors only; leave the edges out.", name);
  return {};
}

}  // namespace

struct AskableMap::Shared {
  PerformanceMap map;
  std::string name, revision, none;
  QuestionUnits units;
  std::vector<std::string> doubts;
};

Result<AskableMap> AskableMap::Make(PerformanceMap map, std::string name, std::string revision, const AskableMapOptions& options) {
  if (!map.kind) {
    std::string why = "it holds no compressor or turbine map";
    if (!map.needs_review.empty()) why += ": " + map.needs_review.front();
    return Fail(ErrorCode::kWrongKind, why + (why.ends_with('.') ? "" : "."), name);
  }
  const auto named = [&name](Error error) {
    error.place = error.place.empty() ? name : name + ", " + error.place;
    return std::unexpected(std::move(error));
  };
  AskableMap made;
  made.options_ = options;
  std::vector<std::string> notes;
  if (map.kind == MapKind::kTurbine) {
    if (auto checked = CheckTurbine(options, name); !checked) return std::unexpected(checked.error());
    auto surface = TurbineSurface::Build(map);
    if (!surface) return named(surface.error());
    notes = surface->Notes();
    made.turbine_ = std::make_shared<TurbineQuery>(std::move(*surface));
  } else {
    auto surface = CompressorSurface::Build(map);
    if (!surface) return named(surface.error());
    notes = surface->Notes();
    made.compressor_ = std::make_shared<CompressorQuery>(std::move(*surface), QueryOptions(options));
  }
  auto units = QuestionUnits::For(map);
  if (!units) return named(units.error());
  auto shared = std::make_shared<Shared>();
  shared->doubts = DoubtsOf(map, notes);
  shared->units = std::move(*units);
  shared->map = std::move(map);
  shared->name = std::move(name);
  shared->revision = std::move(revision);
  made.shared_ = std::move(shared);
  return made;
}

Result<AskableMap> AskableMap::With(const AskableMapOptions& options) const {
  if (turbine_)
    if (auto checked = CheckTurbine(options, name()); !checked) return std::unexpected(checked.error());
  AskableMap made = *this;
  made.options_ = options;
  if (compressor_) made.compressor_ = std::make_shared<CompressorQuery>(compressor_->surface(), QueryOptions(options));
  return made;
}

bool AskableMap::is_turbine() const { return turbine_ != nullptr; }
const PerformanceMap& AskableMap::map() const { return shared_->map; }
const std::string& AskableMap::name() const { return shared_->name; }
const std::string& AskableMap::revision() const { return shared_->revision; }
const QuestionUnits& AskableMap::units() const { return shared_->units; }
const std::string& AskableMap::flow_unit() const { return shared_->units.PrintedUnit(QuestionValue::kFlow); }
const std::vector<std::string>& AskableMap::doubts() const { return shared_->doubts; }
const CompressorSurface* AskableMap::compressor() const { return compressor_ ? &compressor_->surface() : nullptr; }
const TurbineSurface* AskableMap::turbine() const { return turbine_ ? &turbine_->surface() : nullptr; }
const SurgeMarginDefinition& AskableMap::surge_margin() const { return DefinitionOf(options_.surge_margin.value_or(SurgeMargin::kConstantSpeed)); }
bool AskableMap::has_parameter() const { return !turbine_ || turbine_->surface().Parameter() != TurbineParameter::kNone; }

const std::string& AskableMap::speed_unit() const {
  if (compressor_) return compressor_->surface().SpeedUnit();
  return turbine_->surface().Parameter() == TurbineParameter::kSpeed ? turbine_->surface().ParameterUnit() : shared_->none;
}

const std::string& AskableMap::vane_opening_unit() const {
  return turbine_ && turbine_->surface().Parameter() == TurbineParameter::kVaneOpening ? turbine_->surface().ParameterUnit() : shared_->none;
}

Result<void> AskableMap::CheckValues(std::span<const QuestionValue> values) const {
  for (const QuestionValue value : values) {
    if (turbine_ && value == QuestionValue::kPressureRatio)
      return Fail(ErrorCode::kWrongKind, "this is a turbine map, which has an expansion ratio and no pressure ratio; ask with an expansion ratio.",
                  name());
    if (compressor_ && (value == QuestionValue::kExpansionRatio || value == QuestionValue::kVaneOpening))
      return Fail(ErrorCode::kWrongKind,
                  "this is a compressor map, which has neither expansion ratio nor vane opening; ask with flow and pressure ratio.", name());
  }
  return {};
}

MapAnswer AskableMap::Plain(const Question& question) const {
  if (!question.error.empty()) return NotAsked(question.error);
  if (compressor_) {
    if (question.At(QuestionValue::kExpansionRatio) || question.At(QuestionValue::kVaneOpening))
      return NotAsked("This is a compressor map, which has neither expansion ratio nor vane opening.");
    return FromCompressor(
        compressor_->Ask({question.At(QuestionValue::kFlow), question.At(QuestionValue::kPressureRatio), question.At(QuestionValue::kSpeed)}),
        compressor_->surface(), options_.words);
  }
  const TurbineSurface& surface = turbine_->surface();
  const bool by_speed = surface.Parameter() == TurbineParameter::kSpeed;
  if (question.At(QuestionValue::kPressureRatio)) return NotAsked("This is a turbine map, which has an expansion ratio and no pressure ratio.");
  if (question.At(by_speed ? QuestionValue::kVaneOpening : QuestionValue::kSpeed))
    return NotAsked(by_speed ? "The lines of this turbine map are labeled with speeds, not vane openings."
                             : "The lines of this turbine map are not labeled with speeds.");
  const TurbineQuestion asked{question.At(QuestionValue::kExpansionRatio), question.At(QuestionValue::kFlow),
                              question.At(by_speed ? QuestionValue::kSpeed : QuestionValue::kVaneOpening)};
  if (asked.expansion_ratio && asked.flow && asked.parameter)
    return NotAsked("Only two of expansion ratio, flow and speed or vane opening may be given; the third follows.");
  MapAnswer answer = FromTurbine(turbine_->Ask(asked), surface);
  if (!answer.asked) answer.doubts = kBadQuestion;
  return answer;
}

MapAnswer AskableMap::Ask(const Question& question) const {
  MapAnswer answer = Plain(question);
  if ((!options_.slopes && !options_.edges) || !answer.asked) return answer;
  AnswerDetails details;
  if (options_.slopes) details.slopes = Slopes(question);
  if (options_.edges) details.edges = EdgesAt(*compressor_, answer);
  answer.details = std::make_shared<const AnswerDetails>(std::move(details));
  return answer;
}

std::optional<AnswerSlopes> AskableMap::Slopes(const Question& question) const {
  using enum QuestionValue;
  AnswerSlopes slopes;
  std::vector<QuestionValue> given;
  for (const QuestionValue value : {kFlow, kPressureRatio, kExpansionRatio, kSpeed, kVaneOpening})
    if (question.At(value)) given.push_back(value);
  if (!question.error.empty() || given.empty() || given.size() > 2 || !CheckValues(given)) return std::nullopt;
  slopes.first = given.front();
  if (given.size() == 2) slopes.second = given.back();
  if (compressor_) {
    const auto found = compressor_->Slopes({question.At(kFlow), question.At(kPressureRatio), question.At(kSpeed)});
    if (!found) return std::nullopt;
    slopes.flow = found->flow;
    slopes.pressure_ratio = found->pressure_ratio;
    slopes.speed = found->speed;
    slopes.efficiency = found->efficiency;
    slopes.surge_margin = found->surge_margin;
    slopes.choke_margin = found->choke_margin;
    slopes.map_width = found->map_width;
    return slopes;
  }
  const bool by_speed = turbine_->surface().Parameter() == TurbineParameter::kSpeed;
  if (question.At(by_speed ? kVaneOpening : kSpeed)) return std::nullopt;
  const auto found = turbine_->Slopes({question.At(kExpansionRatio), question.At(kFlow), question.At(by_speed ? kSpeed : kVaneOpening)});
  if (!found) return std::nullopt;
  slopes.flow = found->flow;
  slopes.expansion_ratio = found->expansion_ratio;
  (by_speed ? slopes.speed : slopes.vane_opening) = found->parameter;
  slopes.efficiency = found->efficiency;
  return slopes;
}

std::optional<EdgeDistances> AskableMap::Edges(const Question& question) const {
  return compressor_ ? EdgesAt(*compressor_, Plain(question)) : std::nullopt;
}

void AskableMap::AskAll(std::span<const Question> questions, std::span<MapAnswer> answers, int threads) const {
  const std::size_t count = std::min(questions.size(), answers.size());
  if (threads <= 0) threads = static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
  constexpr std::size_t kPiece = 1024;
  threads = static_cast<int>(std::min<std::size_t>(static_cast<std::size_t>(threads), (count + kPiece - 1) / kPiece));
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t start = next.fetch_add(kPiece); start < count; start = next.fetch_add(kPiece))
      for (std::size_t i = start; i < std::min(count, start + kPiece); ++i) answers[i] = Ask(questions[i]);
  };
  std::vector<std::jthread> helpers;
  for (int i = 1; i < threads; ++i) helpers.emplace_back(work);
  work();
}

}  // namespace islebook
