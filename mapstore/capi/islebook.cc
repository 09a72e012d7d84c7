#include "mapstore/capi/islebook.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstring>
#include <filesystem>
#include <iterator>
#include <string>
#include <vector>

#include "mapstore/answers/askable_map.h"
#include "mapstore/capi/c_objects.h"
#include "mapstore/map/map_document.h"
#include "mapstore/shelf/open_shelf.h"
#include "mapstore/units/unit.h"

using islebook::AskableMap;
using islebook::AskableMapOptions;
using islebook::ErrorCode;
using islebook::Fail;
using islebook::MapAnswer;
using islebook::PerformanceMap;
using islebook::Question;
using islebook::QuestionValue;
using islebook::Result;
using islebook::capi::Guarded;
using islebook::capi::kNone;
using islebook::capi::Missing;
using islebook::capi::OutOfMemory;
using islebook::capi::ReadSurgeMargin;

namespace {

struct Options {
  AskableMapOptions ask;
  int32_t threads = 1;
};

Result<Options> Read(const islebook_options* given) {
  islebook_options options = ISLEBOOK_OPTIONS_INIT;
  if (given != nullptr) {
    if (given->struct_size < sizeof(size_t) + sizeof(const char*))
      return Fail(ErrorCode::kInvalidArgument, "struct_size of the options is too small; set it to sizeof(islebook_options).", "options");
    std::memcpy(&options, given, std::min(given->struct_size, sizeof options));
  }
  Options out;
  out.ask.sigma = options.sigma != 0;
  out.ask.words = false;
  out.threads = options.threads;
  if (out.threads < 0) return Fail(ErrorCode::kInvalidArgument, "threads is 0 (as many as there are processors) or more.", "options.threads");
  const auto margin = ReadSurgeMargin(options.surge_margin, "options.surge_margin");
  if (!margin) return std::unexpected(margin.error());
  out.ask.surge_margin = *margin;
  return out;
}

Result<void> Make(PerformanceMap map, std::string name, std::string revision, const Options& options, islebook_map** out) {
  auto askable = AskableMap::Make(std::move(map), std::move(name), std::move(revision), options.ask);
  if (!askable) return std::unexpected(askable.error());
  *out = new islebook_map{std::move(*askable), options.threads};
  return {};
}

constexpr std::pair<uint32_t, double islebook_question::*> kGiven[] = {{ISLEBOOK_FLOW, &islebook_question::flow},
                                                                       {ISLEBOOK_PRESSURE_RATIO, &islebook_question::pressure_ratio},
                                                                       {ISLEBOOK_SPEED, &islebook_question::speed},
                                                                       {ISLEBOOK_EXPANSION_RATIO, &islebook_question::expansion_ratio},
                                                                       {ISLEBOOK_VANE_OPENING, &islebook_question::vane_opening}};
// QuestionValue counts in the same order.
static_assert(static_cast<int>(QuestionValue::kFlow) == 0 && static_cast<int>(QuestionValue::kPressureRatio) == 1 &&
              static_cast<int>(QuestionValue::kSpeed) == 2 && static_cast<int>(QuestionValue::kExpansionRatio) == 3 &&
              static_cast<int>(QuestionValue::kVaneOpening) == 4);
static_assert(static_cast<std::uint32_t>(ISLEBOOK_DOUBT_CHOKE_MARGIN_UNKNOWN) == islebook::kChokeMarginUnknown &&
              static_cast<std::uint32_t>(ISLEBOOK_DOUBT_BAD_QUESTION) == islebook::kBadQuestion);
constexpr uint32_t kAllGiven = ISLEBOOK_FLOW | ISLEBOOK_PRESSURE_RATIO | ISLEBOOK_SPEED | ISLEBOOK_EXPANSION_RATIO | ISLEBOOK_VANE_OPENING;

Question Read(const void* at, size_t size) {
  islebook_question given;
  std::memset(&given, 0, sizeof given);
  std::memcpy(&given, at, std::min(size, sizeof given));
  Question question;
  if ((given.given & ~kAllGiven) != 0) question.error = "The question gives a value that this version of the library does not know.";
  for (std::size_t i = 0; i < islebook::kQuestionValues; ++i)
    if (given.given & kGiven[i].first) question.values[i] = given.*kGiven[i].second;
  return question;
}

constexpr std::pair<uint32_t, std::pair<double islebook_answer::*, std::optional<double> MapAnswer::*>> kAnswered[] = {
    {ISLEBOOK_FLOW, {&islebook_answer::flow, &MapAnswer::flow}},
    {ISLEBOOK_PRESSURE_RATIO, {&islebook_answer::pressure_ratio, &MapAnswer::pressure_ratio}},
    {ISLEBOOK_SPEED, {&islebook_answer::speed, &MapAnswer::speed}},
    {ISLEBOOK_EXPANSION_RATIO, {&islebook_answer::expansion_ratio, &MapAnswer::expansion_ratio}},
    {ISLEBOOK_VANE_OPENING, {&islebook_answer::vane_opening, &MapAnswer::vane_opening}},
    {ISLEBOOK_EFFICIENCY, {&islebook_answer::efficiency, &MapAnswer::efficiency}},
    {ISLEBOOK_SURGE_MARGIN, {&islebook_answer::surge_margin, &MapAnswer::surge_margin}},
    {ISLEBOOK_CHOKE_MARGIN, {&islebook_answer::choke_margin, &MapAnswer::choke_margin}},
    {ISLEBOOK_SIGMA_FLOW, {&islebook_answer::sigma_flow, &MapAnswer::sigma_flow}},
    {ISLEBOOK_SIGMA_PRESSURE_RATIO, {&islebook_answer::sigma_pressure_ratio, &MapAnswer::sigma_pressure_ratio}},
    {ISLEBOOK_SIGMA_SPEED, {&islebook_answer::sigma_speed, &MapAnswer::sigma_speed}},
    {ISLEBOOK_SIGMA_EFFICIENCY, {&islebook_answer::sigma_efficiency, &MapAnswer::sigma_efficiency}},
    {ISLEBOOK_SIGMA_SURGE_MARGIN, {&islebook_answer::sigma_surge_margin, &MapAnswer::sigma_surge_margin}},
    {ISLEBOOK_MAP_WIDTH, {&islebook_answer::map_width, &MapAnswer::map_width}}};

int32_t RegionCode(islebook::MapRegion region) {
  switch (region) {
    case islebook::MapRegion::kOnMap: return ISLEBOOK_ON_MAP;
    case islebook::MapRegion::kLeftOfSurge: return ISLEBOOK_LEFT_OF_SURGE;
    case islebook::MapRegion::kPastChoke: return ISLEBOOK_PAST_CHOKE;
    case islebook::MapRegion::kOverSpeed: return ISLEBOOK_OVER_SPEED;
    case islebook::MapRegion::kUnderSpeed: return ISLEBOOK_UNDER_SPEED;
  }
  return ISLEBOOK_NOT_ASKED;
}

int32_t RegionOf(const AskableMap& map, const MapAnswer& answer) {
  if (!answer.asked) return ISLEBOOK_NOT_ASKED;
  if (map.is_turbine()) return answer.inside ? ISLEBOOK_ON_MAP : ISLEBOOK_OUTSIDE_LINES;
  if (!answer.region) return ISLEBOOK_REGION_UNKNOWN;
  return RegionCode(*answer.region);
}

islebook_edge EdgeOf(const islebook::EdgeHit* hit) {
  if (hit == nullptr) return {kNone, kNone, kNone, kNone, kNone, ISLEBOOK_NOT_ASKED, 0};
  return {hit->at.flow, hit->at.pressure_ratio, hit->speed, hit->change, hit->share, RegionCode(hit->beyond), 1};
}

void Write(const AskableMap& map, const MapAnswer& from, void* at, size_t size) {
  islebook_answer answer;
  std::memset(&answer, 0, sizeof answer);
  for (const auto& [bit, members] : kAnswered) {
    const std::optional<double>& value = from.*members.second;
    const bool known = value && std::isfinite(*value);
    answer.*members.first = known ? *value : kNone;
    if (known) answer.known |= bit;
  }
  answer.doubts = from.doubts;
  if (map.is_turbine() && !from.reason.empty()) answer.doubts |= ISLEBOOK_DOUBT_IN_WORDS;
  answer.region = RegionOf(map, from);
  answer.alternatives = static_cast<uint32_t>(from.alternatives.size());
  std::memcpy(at, &answer, std::min(size, sizeof answer));
}

Result<void> CheckSizes(size_t question_size, size_t answer_size) {
  // The first version's structs are the smallest that there ever were.
  if (question_size < 48) return Fail(ErrorCode::kInvalidArgument, "question_size is too small; pass sizeof(islebook_question).", "question_size");
  if (answer_size < 120) return Fail(ErrorCode::kInvalidArgument, "answer_size is too small; pass sizeof(islebook_answer).", "answer_size");
  return {};
}
static_assert(sizeof(islebook_question) == 48 && offsetof(islebook_answer, map_width) == 120 && offsetof(islebook_slopes, expansion_ratio) == 120 &&
              sizeof(islebook_edges) == 440);

Result<QuestionValue> ValueOf(uint32_t bit) {
  for (std::size_t i = 0; i < islebook::kQuestionValues; ++i)
    if (kGiven[i].first == bit) return static_cast<QuestionValue>(i);
  return Fail(ErrorCode::kInvalidArgument, "value is one of ISLEBOOK_FLOW, PRESSURE_RATIO, SPEED, EXPANSION_RATIO and VANE_OPENING.", "value");
}

}  // namespace

extern "C" {

int32_t islebook_abi_version(void) { return ISLEBOOK_ABI_VERSION; }
const char* islebook_version(void) { return ISLEBOOK_VERSION; }

int32_t islebook_error_code(const islebook_error* error) { return error == nullptr ? ISLEBOOK_OK : error->code; }
const char* islebook_error_message(const islebook_error* error) { return error == nullptr ? "" : error->message.c_str(); }
const char* islebook_error_place(const islebook_error* error) { return error == nullptr ? "" : error->place.c_str(); }
void islebook_error_free(islebook_error* error) {
  if (error != OutOfMemory()) delete error;
}

int32_t islebook_open_file(const char* path, const islebook_options* options, islebook_map** map, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (map == nullptr) return Missing("map");
    *map = nullptr;
    if (path == nullptr) return Missing("path");
    const auto read = Read(options);
    if (!read) return std::unexpected(read.error());
    auto document = islebook::ReadMapFile(path);
    if (!document) return std::unexpected(document.error());
    return Make(std::move(*document), std::filesystem::path(path).filename().string(), "", *read, map);
  });
}

int32_t islebook_open_document(const char* json, size_t size, const islebook_options* options, islebook_map** map, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (map == nullptr) return Missing("map");
    *map = nullptr;
    if (json == nullptr) return Missing("json");
    const auto read = Read(options);
    if (!read) return std::unexpected(read.error());
    auto document = islebook::ParseMapDocument({json, size});
    if (!document) return std::unexpected(document.error());
    std::string name = document->title;
    return Make(std::move(*document), std::move(name), "", *read, map);
  });
}

int32_t islebook_open_shelf(const char* shelf_file, const char* name, const islebook_options* options, islebook_map** map, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (map == nullptr) return Missing("map");
    *map = nullptr;
    if (shelf_file == nullptr) return Missing("shelf_file");
    if (name == nullptr) return Missing("name");
    const auto read = Read(options);
    if (!read) return std::unexpected(read.error());
    auto shelf = islebook::OpenShelf(shelf_file, {.access = islebook::ShelfAccess::kRead});
    if (!shelf) return std::unexpected(shelf.error());
    auto shown = (*shelf)->Show(name);
    if (!shown) return std::unexpected(shown.error());
    auto document = islebook::ParseMapDocument(shown->document);
    if (!document) return std::unexpected(document.error());
    return Make(std::move(*document), shown->name, shown->revision.id, *read, map);
  });
}

void islebook_close(islebook_map* map) { delete map; }

int32_t islebook_facts_of(const islebook_map* map, islebook_facts* facts) {
  if (map == nullptr || facts == nullptr || facts->struct_size < sizeof(size_t) + 2 * sizeof(int32_t)) return ISLEBOOK_INVALID_ARGUMENT;
  const AskableMap& askable = map->map;
  islebook_facts out;
  std::memset(&out, 0, sizeof out);
  out.struct_size = facts->struct_size;
  out.kind = askable.is_turbine() ? ISLEBOOK_TURBINE : ISLEBOOK_COMPRESSOR;
  out.has_efficiency = askable.is_turbine() ? askable.turbine()->HasEfficiency() : askable.compressor()->HasEfficiency();
  out.title = askable.map().title.c_str();
  out.name = askable.name().c_str();
  out.revision = askable.revision().c_str();
  out.flow_unit = askable.flow_unit().c_str();
  out.speed_unit = askable.speed_unit().c_str();
  out.vane_opening_unit = askable.vane_opening_unit().c_str();
  out.surge_margin = askable.is_turbine() ? "" : askable.surge_margin().name;
  const std::vector<double>& lines = askable.is_turbine() ? askable.turbine()->LineValues() : askable.compressor()->LineSpeeds();
  out.lowest_line = lines.empty() ? kNone : lines.front();
  out.highest_line = lines.empty() ? kNone : lines.back();
  const auto& reference = askable.map().reference_conditions;
  out.reference_temperature_K = reference ? reference->temperature_K : kNone;
  out.reference_pressure_Pa = reference ? reference->pressure_Pa : kNone;
  out.doubts = askable.doubts().size();
  std::memcpy(facts, &out, std::min(facts->struct_size, sizeof out));
  return ISLEBOOK_OK;
}

const char* islebook_doubt(const islebook_map* map, size_t index) {
  return map == nullptr || index >= map->map.doubts().size() ? nullptr : map->map.doubts()[index].c_str();
}

int32_t islebook_read_value(const islebook_map* map, uint32_t value, const char* text, double* number, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (map == nullptr) return Missing("map");
    if (text == nullptr) return Missing("text");
    if (number == nullptr) return Missing("number");
    const auto which = ValueOf(value);
    if (!which) return std::unexpected(which.error());
    const auto parsed = map->map.units().Parse(*which, text);
    if (!parsed) return std::unexpected(parsed.error());
    *number = *parsed;
    return {};
  });
}

int32_t islebook_unit_factor(const islebook_map* map, uint32_t value, const char* unit, double* factor, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (map == nullptr) return Missing("map");
    if (unit == nullptr) return Missing("unit");
    if (factor == nullptr) return Missing("factor");
    const auto which = ValueOf(value);
    if (!which) return std::unexpected(which.error());
    const auto parsed = islebook::ParseUnit(unit);
    if (!parsed) return std::unexpected(parsed.error());
    const auto found = map->map.units().Factor(*which, *parsed);
    if (!found) return std::unexpected(found.error());
    *factor = *found;
    return {};
  });
}

int32_t islebook_ask(const islebook_map* map, const islebook_question* questions, size_t question_size, islebook_answer* answers, size_t answer_size,
                     size_t count, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (map == nullptr) return Missing("map");
    if (const auto checked = CheckSizes(question_size, answer_size); !checked) return checked;
    if (count == 0) return {};
    if (questions == nullptr) return Missing("questions");
    if (answers == nullptr) return Missing("answers");
    const auto* from = reinterpret_cast<const unsigned char*>(questions);
    auto* to = reinterpret_cast<unsigned char*>(answers);
    if (count == 1) {
      Write(map->map, map->map.Ask(Read(from, question_size)), to, answer_size);
      return {};
    }
    // In pieces, so that a million points need no more memory than the caller's own.
    const size_t piece = std::min<size_t>(count, 16384);
    std::vector<Question> asked(piece);
    std::vector<MapAnswer> answered(piece);
    for (size_t start = 0; start < count; start += piece) {
      const size_t length = std::min(piece, count - start);
      for (size_t i = 0; i < length; ++i) asked[i] = Read(from + (start + i) * question_size, question_size);
      map->map.AskAll({asked.data(), length}, {answered.data(), length}, map->threads);
      for (size_t i = 0; i < length; ++i) Write(map->map, answered[i], to + (start + i) * answer_size, answer_size);
    }
    return {};
  });
}

int32_t islebook_slopes_of(const islebook_map* map, const islebook_question* questions, size_t question_size, islebook_slopes* slopes,
                           size_t slopes_size, size_t count, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (map == nullptr) return Missing("map");
    if (const auto checked = CheckSizes(question_size, sizeof(islebook_answer)); !checked) return checked;
    if (slopes_size < 120) return Fail(ErrorCode::kInvalidArgument, "slopes_size is too small; pass sizeof(islebook_slopes).", "slopes_size");
    if (count == 0) return {};
    if (questions == nullptr) return Missing("questions");
    if (slopes == nullptr) return Missing("slopes");
    for (size_t i = 0; i < count; ++i) {
      const auto found = map->map.Slopes(Read(reinterpret_cast<const unsigned char*>(questions) + i * question_size, question_size));
      islebook_slopes out;
      std::memset(&out, 0, sizeof out);
      const auto put = [&out](uint32_t bit, islebook_slope& slope, const std::optional<islebook::Slope>& value) {
        slope = value ? islebook_slope{value->by_first, value->by_second} : islebook_slope{kNone, kNone};
        if (value) out.known |= bit;
      };
      const islebook::AnswerSlopes from = found.value_or(islebook::AnswerSlopes{});
      put(ISLEBOOK_FLOW, out.flow, from.flow);
      put(ISLEBOOK_PRESSURE_RATIO, out.pressure_ratio, from.pressure_ratio);
      put(ISLEBOOK_SPEED, out.speed, from.speed);
      put(ISLEBOOK_EFFICIENCY, out.efficiency, from.efficiency);
      put(ISLEBOOK_SURGE_MARGIN, out.surge_margin, from.surge_margin);
      put(ISLEBOOK_CHOKE_MARGIN, out.choke_margin, from.choke_margin);
      put(ISLEBOOK_MAP_WIDTH, out.map_width, from.map_width);
      put(ISLEBOOK_EXPANSION_RATIO, out.expansion_ratio, from.expansion_ratio);
      put(ISLEBOOK_VANE_OPENING, out.vane_opening, from.vane_opening);
      std::memcpy(reinterpret_cast<unsigned char*>(slopes) + i * slopes_size, &out, std::min(slopes_size, sizeof out));
    }
    return {};
  });
}

int32_t islebook_edges_of(const islebook_map* map, const islebook_question* questions, size_t question_size, islebook_edges* edges, size_t edges_size,
                          size_t count, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (map == nullptr) return Missing("map");
    if (map->map.is_turbine()) return Fail(ErrorCode::kWrongKind, "distances to the edges are known of compressors only.", map->map.name());
    if (const auto checked = CheckSizes(question_size, sizeof(islebook_answer)); !checked) return checked;
    if (edges_size < 440) return Fail(ErrorCode::kInvalidArgument, "edges_size is too small; pass sizeof(islebook_edges).", "edges_size");
    if (count == 0) return {};
    if (questions == nullptr) return Missing("questions");
    if (edges == nullptr) return Missing("edges");
    static constexpr islebook_edge islebook_edges::* kWays[] = {&islebook_edges::less_flow,
                                                                &islebook_edges::more_flow,
                                                                &islebook_edges::less_pressure_ratio,
                                                                &islebook_edges::more_pressure_ratio,
                                                                &islebook_edges::toward_surge,
                                                                &islebook_edges::toward_choke,
                                                                &islebook_edges::slower,
                                                                &islebook_edges::faster,
                                                                &islebook_edges::nearest};
    const auto named = islebook::NamedEdges();
    static_assert(std::size(kWays) == 9);
    for (size_t i = 0; i < count; ++i) {
      const auto found = map->map.Edges(Read(reinterpret_cast<const unsigned char*>(questions) + i * question_size, question_size));
      islebook_edges out;
      std::memset(&out, 0, sizeof out);
      out.known = found.has_value();
      for (size_t way = 0; way < std::size(kWays); ++way) out.*kWays[way] = EdgeOf(found ? islebook::HitOf(*found, named[way]) : nullptr);
      std::memcpy(reinterpret_cast<unsigned char*>(edges) + i * edges_size, &out, std::min(edges_size, sizeof out));
    }
    return {};
  });
}

int32_t islebook_alternatives(const islebook_map* map, const islebook_question* question, size_t question_size, islebook_answer* answers,
                              size_t answer_size, size_t capacity, size_t* count, islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (map == nullptr) return Missing("map");
    if (question == nullptr) return Missing("question");
    if (count == nullptr) return Missing("count");
    if (answers == nullptr && capacity > 0) return Missing("answers");
    if (const auto checked = CheckSizes(question_size, answer_size); !checked) return checked;
    const MapAnswer answer = map->map.Ask(Read(question, question_size));
    *count = answer.alternatives.size();
    for (size_t i = 0; i < std::min(capacity, *count); ++i)
      Write(map->map, answer.alternatives[i], reinterpret_cast<unsigned char*>(answers) + i * answer_size, answer_size);
    return {};
  });
}

int32_t islebook_reason(const islebook_map* map, const islebook_question* question, size_t question_size, char* buffer, size_t size, size_t* needed,
                        islebook_error** error) {
  return Guarded(error, [&]() -> Result<void> {
    if (map == nullptr) return Missing("map");
    if (question == nullptr) return Missing("question");
    if (buffer == nullptr && size > 0) return Missing("buffer");
    if (const auto checked = CheckSizes(question_size, sizeof(islebook_answer)); !checked) return checked;
    AskableMapOptions options = map->map.options();
    options.words = true;
    const auto talking = map->map.With(options);
    if (!talking) return std::unexpected(talking.error());
    const std::string reason = talking->Ask(Read(question, question_size)).reason;
    if (needed != nullptr) *needed = reason.size();
    if (size > 0) {
      size_t length = std::min(size - 1, reason.size());
      while (length > 0 && length < reason.size() && (static_cast<unsigned char>(reason[length]) & 0xC0) == 0x80) --length;  // no half letters
      std::memcpy(buffer, reason.data(), length);
      buffer[length] = '\0';
    }
    return {};
  });
}

}  // extern "C"
