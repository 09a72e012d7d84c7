#pragma once
// Questions to a compressor map and their answers.
//
// A question gives two of flow, pressure ratio and speed. Flows and pressure ratios are in the map's axis units, speeds in the unit of its labels (query_units.h
// converts). An answer never holds a NaN: what cannot be known is nullopt, and the doubts say why. Answering neither blocks nor allocates where the point is on the
// map; any number of threads may ask one CompressorQuery.

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mapstore/query/surge_margin.h"
#include "mapstore/surface/compressor_surface.h"

namespace islebook {

struct CompressorQuestion {
  std::optional<double> flow;
  std::optional<double> pressure_ratio;
  std::optional<double> speed;
};

// Why a value is missing or marked. Bits of CompressorAnswer::doubts; DoubtWords() turns them into sentences.
enum AnswerDoubt : std::uint32_t {
  kNoDoubt = 0,
  kOffMap = 1u << 0,                  // the point is outside the map; see region
  kEfficiencyExtrapolated = 1u << 1,  // beyond the outermost island on this side
  kEfficiencyUnknown = 1u << 2,       // too far beyond it, or off the map
  kNoIslands = 1u << 3,               // the map prints no efficiency
  kSpeedUnknown = 1u << 4,            // off the map
  kMarginUnknown = 1u << 5,           // the surge line does not reach there
  kMarginFromFlatLine = 1u << 6,      // left of surge: the speed line is taken as level
  kSeveralAnswers = 1u << 7,          // the likelier is given, the rest are alternatives
  kBadQuestion = 1u << 8,             // not two of the three, or a value that is no positive number
  kBeyondLine = 1u << 9,              // the speed line does not reach that flow or pressure ratio
  kSpeedOutsideLines = 1u << 10,      // the speed asked for is below the lowest or above the highest line
  kChokeMarginUnknown = 1u << 11,
  kSpeedExtrapolated = 1u << 12,      // below the lowest or above the highest line, where the surface was asked to go on; inside is false
  kSpeedFromFlagged = 1u << 13,       // a speed line next to the point is flagged for review
  kEfficiencyFromFlagged = 1u << 14,  // the islands of a level next to the point's efficiency are flagged for review
  kRegionUnknown = 1u << 15,          // no surge line, and the speed lines next to the point are flagged; set where an AskableMap answers
};

// Where no efficiency is given: a wider standard uncertainty is no answer, and so far below the outermost island no value is justified.
inline constexpr double kEfficiencyTooUnsure = 0.03, kFarBelowOutermost = 0.15;

struct CompressorAnswer {
  std::optional<double> flow;
  std::optional<double> pressure_ratio;
  std::optional<double> speed;
  std::optional<double> efficiency;    // fraction
  std::optional<double> surge_margin;  // as the query's definition says; fraction, positive on the map
  std::optional<double> choke_margin;  // W_choke / W - 1 at constant corrected speed
  std::optional<double> map_width;     // 1 - W_surge / W_choke at constant corrected speed
  std::optional<double> sigma_speed;
  std::optional<double> sigma_efficiency;
  std::optional<double> sigma_surge_margin;
  std::optional<double> sigma_flow;  // where flow or pressure ratio was asked for
  std::optional<double> sigma_pressure_ratio;
  MapRegion region = MapRegion::kOnMap;
  bool inside = false;              // region is kOnMap
  std::uint32_t doubts = kNoDoubt;  // AnswerDoubt bits
  std::vector<CompressorAnswer> alternatives;
};

// The doubts as one sentence each, for people and for "reason"; empty without doubts.
std::string DoubtWords(const CompressorAnswer& answer, const CompressorSurface& surface);

// How one value of an answer changes with the two that were asked with, in the order flow, pressure ratio, speed: by flow and pressure ratio, by flow and speed, or by
// pressure ratio and speed. In the units of the values.
struct Slope {
  double by_first = 0.0;
  double by_second = 0.0;
};

struct CompressorSlopes {
  std::optional<Slope> flow, pressure_ratio, speed;  // of what was not asked with
  std::optional<Slope> efficiency, surge_margin, choke_margin, map_width;
};

struct CompressorQueryOptions {
  SurgeMargin surge_margin = SurgeMargin::kConstantSpeed;
  bool sigma = true;  // fill in the uncertainties
};

class CompressorQuery {
 public:
  explicit CompressorQuery(CompressorSurface surface, CompressorQueryOptions options = {}) : surface_(std::move(surface)), options_(options) {}

  const CompressorSurface& surface() const { return surface_; }
  const CompressorQueryOptions& options() const { return options_; }

  CompressorAnswer Ask(const CompressorQuestion& question) const;
  CompressorAnswer AtFlowAndPressureRatio(double flow, double pressure_ratio) const;
  CompressorAnswer AtSpeedAndFlow(double speed, double flow) const;
  CompressorAnswer AtSpeedAndPressureRatio(double speed, double pressure_ratio) const;
  // answers.size() == questions.size(). Uses up to `threads` threads; 0: as many as there are processors.
  void AskAll(std::span<const CompressorQuestion> questions, std::span<CompressorAnswer> answers, int threads = 1) const;

  // First derivatives of Ask's answer (of the likelier, where there are several). What the answer does not know has none; nullopt where the point has no place on the
  // surface, or the line stands still there in what was asked with (at the turn of a line asked with its pressure ratio).
  std::optional<CompressorSlopes> Slopes(const CompressorQuestion& question) const;

  // The width of the map at a speed; nullopt outside the surface.
  std::optional<double> MapWidth(double speed) const;
  // The margin of a point by another definition than the options'; nullopt where it cannot be known.
  std::optional<double> Margin(SurgeMargin margin, double flow, double pressure_ratio) const;

 private:
  CompressorSurface surface_;
  CompressorQueryOptions options_;
};

}  // namespace islebook
