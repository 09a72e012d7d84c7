#pragma once
// One map of either kind, ready to be asked. Every door (command line, C, Python, service, functional mock-up) has this behind it, so that all give the same answers.
//
// Values are in the map's printed units, efficiencies and margins are fractions. What cannot be known is nullopt with a reason. Immutable: any number of threads may ask
// one AskableMap; copies are cheap.

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mapstore/answers/answer_details.h"
#include "mapstore/map/performance_map.h"
#include "mapstore/query/compressor_query.h"
#include "mapstore/query/query_units.h"
#include "mapstore/query/turbine_query.h"
#include "mapstore/units/error.h"

namespace islebook {

inline constexpr std::size_t kQuestionValues = 5;

// Two of its values are given (a turbine map with a single line: one).
struct Question {
  std::array<std::optional<double>, kQuestionValues> values;  // by QuestionValue
  std::string error;  // a sentence, where the question could not be read; it is then answered with nothing but that

  std::optional<double> At(QuestionValue value) const { return values[static_cast<std::size_t>(value)]; }
  void Set(QuestionValue value, std::optional<double> number) { values[static_cast<std::size_t>(value)] = number; }
};

struct MapAnswer {
  std::optional<double> flow, pressure_ratio, expansion_ratio, speed, vane_opening;
  std::optional<double> efficiency, surge_margin, choke_margin, map_width;
  std::optional<double> sigma_flow, sigma_pressure_ratio, sigma_speed, sigma_efficiency, sigma_surge_margin;
  std::optional<MapRegion> region;  // of a compressor; nullopt: the question made no sense, or (asked, kRegionUnknown) nothing sound tells
  bool inside = false;
  bool asked = true;                // false: the question made no sense, and the reason says why
  std::uint32_t doubts = kNoDoubt;  // AnswerDoubt bits of a compressor
  std::string reason;               // in words; empty: nothing to say
  std::vector<MapAnswer> alternatives;
  std::shared_ptr<const AnswerDetails> details;  // where the options ask for slopes or edges, of the answer that stands here
};

struct AskableMapOptions {
  std::optional<SurgeMargin> surge_margin;  // nullopt: constant speed, the default
  bool sigma = true;                        // fill in the uncertainties
  bool words = true;                        // fill in the reasons
  bool slopes = false;                      // fill in the first derivatives
  bool edges = false;                       // fill in how far the edges are; kWrongKind for a turbine
};

class AskableMap {
 public:
  // kWrongKind: neither kind of map, or a surge margin or edges asked of a turbine; errors of the surface. `name` and `revision` (empty: a file) go into answers.
  static Result<AskableMap> Make(PerformanceMap map, std::string name, std::string revision, const AskableMapOptions& options = {});
  // The same map asked with other options; nothing is built anew. kWrongKind: a surge margin or edges asked of a turbine.
  Result<AskableMap> With(const AskableMapOptions& options) const;

  bool is_turbine() const;
  const PerformanceMap& map() const;
  const std::string& name() const;
  const std::string& revision() const;
  const AskableMapOptions& options() const { return options_; }
  const QuestionUnits& units() const;     // the map's own reference conditions
  const std::string& flow_unit() const;   // as printed
  const std::string& speed_unit() const;  // of the labels; empty where they are no speeds
  const std::string& vane_opening_unit() const;
  bool has_parameter() const;                      // false: a turbine map with a single line, asked with one value
  const std::vector<std::string>& doubts() const;  // about the map as a whole: a person should look at them before relying on it
  const CompressorSurface* compressor() const;     // nullptr: a turbine
  const TurbineSurface* turbine() const;           // nullptr: a compressor
  const SurgeMarginDefinition& surge_margin() const;

  // kWrongKind: a value that this kind of map has not (a turbine asked for a pressure ratio).
  Result<void> CheckValues(std::span<const QuestionValue> values) const;

  MapAnswer Ask(const Question& question) const;
  // First derivatives of the answer by the values asked with; nullopt: none there.
  std::optional<AnswerSlopes> Slopes(const Question& question) const;
  // How far the answer's point is from the edges of a compressor's map; nullopt: a turbine, or not on the map.
  std::optional<EdgeDistances> Edges(const Question& question) const;
  // answers.size() == questions.size(); up to `threads` threads, 0: as many as there are processors.
  void AskAll(std::span<const Question> questions, std::span<MapAnswer> answers, int threads = 1) const;

 private:
  struct Shared;
  AskableMap() = default;
  MapAnswer Plain(const Question& question) const;
  std::shared_ptr<const Shared> shared_;
  AskableMapOptions options_;
  std::shared_ptr<const CompressorQuery> compressor_;  // one of the two
  std::shared_ptr<const TurbineQuery> turbine_;
};

}  // namespace islebook
