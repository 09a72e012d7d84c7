#include "mapstore/query/compressor_query.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <thread>

#include <fmt/format.h>

namespace islebook {
namespace {

bool Positive(double value) { return std::isfinite(value) && value > 0.0; }

// A margin and how it changes with the surge line's flow and pressure ratio, at the place where the definition looks.
std::optional<double> MarginOf(SurgeMargin margin, double flow, double ratio, double surge_flow, double surge_ratio) {
  if (!(surge_flow > 0.0) || !(surge_ratio > 0.0)) return std::nullopt;
  switch (margin) {
    case SurgeMargin::kConstantSpeed: return surge_ratio / ratio * (flow / surge_flow) - 1.0;
    case SurgeMargin::kConstantFlow: return (surge_ratio - ratio) / ratio;
    case SurgeMargin::kFlow:
    case SurgeMargin::kConstantPressureRatio: return (flow - surge_flow) / flow;
    case SurgeMargin::kFlowOverSurgeFlow: return (flow - surge_flow) / surge_flow;
    case SurgeMargin::kPressureRatio: return surge_ratio / ratio - 1.0;
  }
  return std::nullopt;
}

bool AtConstantSpeed(SurgeMargin margin) { return margin != SurgeMargin::kConstantFlow && margin != SurgeMargin::kConstantPressureRatio; }

// The margin of a point on the map, at its speed.
std::optional<double> MarginOnMap(const CompressorSurface& surface, SurgeMargin margin, double flow, double ratio, double speed) {
  switch (margin) {
    case SurgeMargin::kConstantFlow: {
      const std::optional<double> surge_ratio = surface.SurgePressureRatioAtFlow(flow);
      return surge_ratio ? MarginOf(margin, flow, ratio, flow, *surge_ratio) : std::nullopt;
    }
    case SurgeMargin::kConstantPressureRatio: {
      const std::optional<double> surge_flow = surface.SurgeFlowAtPressureRatio(ratio);
      return surge_flow ? MarginOf(margin, flow, ratio, *surge_flow, ratio) : std::nullopt;
    }
    default: {
      const EdgePoint surge = surface.SurgePoint(speed);
      return MarginOf(margin, flow, ratio, surge.flow, surge.pressure_ratio);
    }
  }
}

// Left of the surge line there is no steady speed line; it is taken as level out to the point (zero slope left of surge, as surge-capable compressor models
// have it), so that it meets the surge line at the point's own pressure ratio.
std::optional<double> MarginLeftOfSurge(const CompressorSurface& surface, SurgeMargin margin, double flow, double ratio) {
  if (margin == SurgeMargin::kConstantFlow) return MarginOnMap(surface, margin, flow, ratio, 0.0);
  const std::optional<double> surge_flow = surface.SurgeFlowAtPressureRatio(ratio);
  if (!surge_flow || margin == SurgeMargin::kPressureRatio) return std::nullopt;
  return MarginOf(margin, flow, ratio, *surge_flow, ratio);
}

void FillMarginSigma(const CompressorSurface& surface, SurgeMargin margin, CompressorAnswer& answer, double sigma_speed) {
  // The surge line's own uncertainty, and the speed's where the definition goes along the speed line.
  const double value = *answer.surge_margin, flow = *answer.flow;
  const double sigma_line = surface.SurgeFlowSigma();
  double variance = 0.0;
  if (AtConstantSpeed(margin)) {
    const double step = std::max(1e-4 * surface.MaxSpeed(), 1e-12);
    const auto at = [&](double speed) {
      const EdgePoint surge = surface.SurgePoint(speed);
      return MarginOf(margin, flow, *answer.pressure_ratio, surge.flow, surge.pressure_ratio).value_or(value);
    };
    const double by_speed = (at(*answer.speed + step) - at(*answer.speed - step)) / (2.0 * step);
    variance += std::pow(by_speed * sigma_speed, 2);
    const EdgePoint surge = surface.SurgePoint(*answer.speed);
    const double moved = MarginOf(margin, flow, *answer.pressure_ratio, surge.flow + sigma_line, surge.pressure_ratio).value_or(value);
    variance += std::pow(moved - value, 2);
  } else {
    const std::optional<double> moved = margin == SurgeMargin::kConstantFlow ? surface.SurgePressureRatioAtFlow(flow + sigma_line)
                                                                             : surface.SurgeFlowAtPressureRatio(*answer.pressure_ratio);
    if (moved) {
      const double other =
          margin == SurgeMargin::kConstantFlow ? (*moved - *answer.pressure_ratio) / *answer.pressure_ratio : (flow - *moved - sigma_line) / flow;
      variance += std::pow(other - value, 2);
    }
  }
  answer.sigma_surge_margin = std::sqrt(variance);
}

// Everything that a place on the map has to say.
void FillFromPlace(const CompressorSurface& surface, const CompressorQueryOptions& options, const MapPlace& place, CompressorAnswer& answer) {
  answer.speed = place.speed;
  answer.region = MapRegion::kOnMap;
  answer.inside = true;
  if (surface.IsExtrapolated(place)) {
    answer.region = place.speed < surface.MinSpeed() ? MapRegion::kUnderSpeed : MapRegion::kOverSpeed;
    answer.inside = false;
    answer.doubts |= kOffMap | kSpeedExtrapolated;
  }
  if (surface.SpeedFlaggedAt(place)) answer.doubts |= kSpeedFromFlagged;
  std::optional<PlaceSigma> sigma;
  if (options.sigma) sigma = surface.SigmaAt(place);
  if (sigma) answer.sigma_speed = sigma->speed;
  if (surface.HasEfficiency()) {
    const EfficiencyJet efficiency = surface.EfficiencyAt(place);
    if (efficiency.extrapolated) answer.doubts |= kEfficiencyExtrapolated;
    const double unsureness = sigma ? sigma->efficiency : surface.EfficiencySigmaAt(place);
    const bool unsure = efficiency.value < surface.LowestIsland() - kFarBelowOutermost || unsureness > kEfficiencyTooUnsure;
    if (unsure || !(efficiency.value > 0.0)) {
      answer.doubts |= kEfficiencyUnknown;
    } else {
      answer.efficiency = efficiency.value;
      if (surface.EfficiencyFlaggedAt(place)) answer.doubts |= kEfficiencyFromFlagged;
      if (sigma) answer.sigma_efficiency = sigma->efficiency;
    }
  } else {
    answer.doubts |= kNoIslands;
  }
  const EdgePoint surge = surface.SurgePoint(place.speed);
  answer.surge_margin = AtConstantSpeed(options.surge_margin)
                            ? MarginOf(options.surge_margin, *answer.flow, *answer.pressure_ratio, surge.flow, surge.pressure_ratio)
                            : MarginOnMap(surface, options.surge_margin, *answer.flow, *answer.pressure_ratio, place.speed);
  if (!answer.surge_margin) {
    answer.doubts |= kMarginUnknown;
  } else if (sigma) {
    FillMarginSigma(surface, options.surge_margin, answer, sigma->speed);
  }
  const EdgePoint choke = surface.ChokePoint(place.speed);
  answer.choke_margin = choke.flow / *answer.flow - 1.0;
  answer.map_width = 1.0 - surge.flow / choke.flow;
}

bool Answers(const CompressorSurface& surface, const MapPlace& place) { return surface.IsOnMap(place) || surface.IsExtrapolated(place); }

CompressorAnswer BadQuestion() {
  CompressorAnswer answer;
  answer.region = MapRegion::kUnderSpeed;
  answer.doubts = kBadQuestion;
  return answer;
}

// Where the speed line through a point that is not on the map would be: nothing can be said but the side, and how far the surge line is.
void FillOffMap(const CompressorSurface& surface, const CompressorQueryOptions& options, CompressorAnswer& answer) {
  answer.region = surface.RegionOf(*answer.flow, *answer.pressure_ratio);
  answer.inside = false;
  answer.doubts |= kOffMap | kSpeedUnknown | kEfficiencyUnknown | kChokeMarginUnknown;
  if (answer.region == MapRegion::kLeftOfSurge) {
    answer.surge_margin = MarginLeftOfSurge(surface, options.surge_margin, *answer.flow, *answer.pressure_ratio);
    if (answer.surge_margin && AtConstantSpeed(options.surge_margin)) answer.doubts |= kMarginFromFlatLine;
  } else if (!AtConstantSpeed(options.surge_margin)) {
    answer.surge_margin = MarginOnMap(surface, options.surge_margin, *answer.flow, *answer.pressure_ratio, 0.0);
  }
  if (!answer.surge_margin) answer.doubts |= kMarginUnknown;
}

}  // namespace

CompressorAnswer CompressorQuery::AtFlowAndPressureRatio(double flow, double pressure_ratio) const {
  if (!Positive(flow) || !Positive(pressure_ratio)) return BadQuestion();
  CompressorAnswer answer;
  answer.flow = flow;
  answer.pressure_ratio = pressure_ratio;
  if (surface_.Folds()) {
    bool first = true;
    for (const MapPlace& place : surface_.LocateAll(flow, pressure_ratio)) {
      if (!Answers(surface_, place)) continue;
      if (first) {
        FillFromPlace(surface_, options_, place, answer);
        first = false;
        continue;
      }
      CompressorAnswer other;
      other.flow = flow;
      other.pressure_ratio = pressure_ratio;
      FillFromPlace(surface_, options_, place, other);
      answer.alternatives.push_back(std::move(other));
      answer.doubts |= kSeveralAnswers;
    }
    if (first) FillOffMap(surface_, options_, answer);
    return answer;
  }
  const std::optional<MapPlace> place = surface_.Locate(flow, pressure_ratio);
  if (place && Answers(surface_, *place)) {
    FillFromPlace(surface_, options_, *place, answer);
  } else {
    FillOffMap(surface_, options_, answer);
  }
  return answer;
}

namespace {

// A place on the asked speed line, with the uncertainty of what was not given.
CompressorAnswer AtPlace(const CompressorSurface& surface, const CompressorQueryOptions& options, const MapPlace& place, bool flow_given,
                         double given) {
  const SurfaceJet jet = surface.At(place);
  CompressorAnswer answer;
  answer.flow = flow_given ? given : jet.flow;
  answer.pressure_ratio = flow_given ? jet.pressure_ratio : given;
  FillFromPlace(surface, options, place, answer);
  answer.speed = place.speed;
  if (answer.sigma_speed) {
    // At constant flow: dPR = PR_n dn - PR_beta (W_n / W_beta) dn; and the other way round.
    const double determinant = jet.pressure_ratio_by_speed * jet.flow_by_beta - jet.flow_by_speed * jet.pressure_ratio_by_beta;
    const double by_speed = determinant / (flow_given ? jet.flow_by_beta : jet.pressure_ratio_by_beta);
    const double sigma = std::abs(by_speed) * *answer.sigma_speed;
    if (std::isfinite(sigma)) (flow_given ? answer.sigma_pressure_ratio : answer.sigma_flow) = sigma;
    answer.sigma_speed = 0.0;  // it was given
  }
  return answer;
}

CompressorAnswer OffLine(const CompressorSurface& surface, const CompressorQueryOptions&, double speed, bool flow_given, double given) {
  CompressorAnswer answer;
  answer.speed = speed;
  (flow_given ? answer.flow : answer.pressure_ratio) = given;
  answer.doubts = kOffMap | kEfficiencyUnknown | kMarginUnknown | kChokeMarginUnknown;
  if (speed < surface.MinSpeed() || speed > surface.MaxSpeed()) {
    answer.doubts |= kSpeedOutsideLines;
    answer.region = speed < surface.MinSpeed() ? MapRegion::kUnderSpeed : MapRegion::kOverSpeed;
    return answer;
  }
  answer.doubts |= kBeyondLine;
  const EdgePoint surge = surface.SurgePoint(speed), choke = surface.ChokePoint(speed);
  if (flow_given) {
    answer.region = given < surge.flow ? MapRegion::kLeftOfSurge : MapRegion::kPastChoke;
    if (answer.region == MapRegion::kPastChoke) {
      answer.choke_margin = choke.flow / given - 1.0;
      answer.doubts &= ~static_cast<std::uint32_t>(kChokeMarginUnknown);
    }
  } else {
    answer.region = given > surge.pressure_ratio ? MapRegion::kLeftOfSurge : MapRegion::kPastChoke;
  }
  return answer;
}

CompressorAnswer FromPlaces(const CompressorSurface& surface, const CompressorQueryOptions& options, const std::vector<MapPlace>& places,
                            double speed, bool flow_given, double given) {
  if (places.empty()) return OffLine(surface, options, speed, flow_given, given);
  // Where a line has two flows at one pressure ratio, the one farther from surge is where an engine settles.
  CompressorAnswer answer = AtPlace(surface, options, flow_given ? places.front() : places.back(), flow_given, given);
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (i == (flow_given ? 0 : places.size() - 1)) continue;
    answer.alternatives.push_back(AtPlace(surface, options, places[i], flow_given, given));
    answer.doubts |= kSeveralAnswers;
  }
  return answer;
}

}  // namespace

CompressorAnswer CompressorQuery::AtSpeedAndFlow(double speed, double flow) const {
  if (!Positive(speed) || !Positive(flow)) return BadQuestion();
  if (const std::optional<MapPlace> place = surface_.OnlyAtFlow(speed, flow)) return AtPlace(surface_, options_, *place, true, flow);
  return FromPlaces(surface_, options_, surface_.AtFlow(speed, flow), speed, true, flow);
}

CompressorAnswer CompressorQuery::AtSpeedAndPressureRatio(double speed, double pressure_ratio) const {
  if (!Positive(speed) || !Positive(pressure_ratio)) return BadQuestion();
  return FromPlaces(surface_, options_, surface_.AtPressureRatio(speed, pressure_ratio), speed, false, pressure_ratio);
}

CompressorAnswer CompressorQuery::Ask(const CompressorQuestion& question) const {
  const int given = question.flow.has_value() + question.pressure_ratio.has_value() + question.speed.has_value();
  if (given != 2) return BadQuestion();
  if (!question.speed) return AtFlowAndPressureRatio(*question.flow, *question.pressure_ratio);
  if (question.flow) return AtSpeedAndFlow(*question.speed, *question.flow);
  return AtSpeedAndPressureRatio(*question.speed, *question.pressure_ratio);
}

void CompressorQuery::AskAll(std::span<const CompressorQuestion> questions, std::span<CompressorAnswer> answers, int threads) const {
  const std::size_t count = std::min(questions.size(), answers.size());
  if (threads <= 0) threads = static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
  constexpr std::size_t kPiece = 1024;
  threads = static_cast<int>(std::min<std::size_t>(threads, (count + kPiece - 1) / kPiece));
  if (threads <= 1) {
    for (std::size_t i = 0; i < count; ++i) answers[i] = Ask(questions[i]);
    return;
  }
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t start = next.fetch_add(kPiece); start < count; start = next.fetch_add(kPiece))
      for (std::size_t i = start; i < std::min(count, start + kPiece); ++i) answers[i] = Ask(questions[i]);
  };
  std::vector<std::jthread> helpers;
  for (int i = 1; i < threads; ++i) helpers.emplace_back(work);
  work();
}

std::optional<double> CompressorQuery::MapWidth(double speed) const {
  if (!(speed >= surface_.LowestSpeed() && speed <= surface_.HighestSpeed())) return std::nullopt;
  return 1.0 - surface_.SurgePoint(speed).flow / surface_.ChokePoint(speed).flow;
}

std::optional<double> CompressorQuery::Margin(SurgeMargin margin, double flow, double pressure_ratio) const {
  if (!Positive(flow) || !Positive(pressure_ratio)) return std::nullopt;
  const std::optional<MapPlace> place = surface_.Locate(flow, pressure_ratio);
  if (place && Answers(surface_, *place)) return MarginOnMap(surface_, margin, flow, pressure_ratio, place->speed);
  if (surface_.RegionOf(flow, pressure_ratio) == MapRegion::kLeftOfSurge) return MarginLeftOfSurge(surface_, margin, flow, pressure_ratio);
  if (!AtConstantSpeed(margin)) return MarginOnMap(surface_, margin, flow, pressure_ratio, 0.0);
  return std::nullopt;
}

std::string DoubtWords(const CompressorAnswer& answer, const CompressorSurface& surface) {
  std::vector<std::string> sentences;
  const std::uint32_t doubts = answer.doubts;
  if (doubts & kBadQuestion) return "Two of flow, pressure ratio and speed are needed, each a positive number.";
  const std::string& unit = surface.SpeedUnit();
  if (doubts & kSpeedExtrapolated) {
    sentences.push_back(answer.region == MapRegion::kUnderSpeed
                            ? fmt::format("Extrapolated below the lowest speed line ({:g} {}).", surface.MinSpeed(), unit)
                            : fmt::format("Extrapolated above the highest speed line ({:g} {}).", surface.MaxSpeed(), unit));
    if (doubts & kNoIslands) sentences.push_back("The map prints no efficiency islands.");
    if (doubts & kEfficiencyUnknown) sentences.push_back("The efficiency is too far from any island to be known.");
    if (doubts & kMarginUnknown) sentences.push_back("The surge line does not reach to where this margin needs it.");
  } else if (doubts & kSpeedOutsideLines) {
    sentences.push_back(answer.region == MapRegion::kUnderSpeed
                            ? fmt::format("The speed is below the lowest speed line ({:g} {}).", surface.MinSpeed(), unit)
                            : fmt::format("The speed is above the highest speed line ({:g} {}).", surface.MaxSpeed(), unit));
  } else if (doubts & kBeyondLine) {
    sentences.push_back(answer.region == MapRegion::kLeftOfSurge ? "The speed line meets the surge line before it gets there."
                                                                 : "The speed line ends at choke before it gets there.");
  } else if (doubts & kOffMap) {
    switch (answer.region) {
      case MapRegion::kLeftOfSurge:
        sentences.push_back("The point lies left of the surge line: no steady operation, no speed or efficiency.");
        if (const double top = surface.SurgePoint(surface.MaxSpeed()).pressure_ratio; answer.pressure_ratio && *answer.pressure_ratio > top)
          sentences.push_back(fmt::format("Its pressure ratio is also more than the map holds ({:.3g} at {:g} {}, the highest speed line).", top,
                                          surface.MaxSpeed(), unit));
        break;
      case MapRegion::kPastChoke: sentences.push_back("The point lies past the choke end of the speed lines."); break;
      case MapRegion::kOverSpeed:
        sentences.push_back(fmt::format("The point lies above the highest speed line ({:g} {}).", surface.MaxSpeed(), unit));
        break;
      case MapRegion::kUnderSpeed:
        sentences.push_back(fmt::format("The point lies below the lowest speed line ({:g} {}).", surface.MinSpeed(), unit));
        break;
      case MapRegion::kOnMap: break;
    }
  } else {
    if (doubts & kNoIslands) sentences.push_back("The map prints no efficiency islands.");
    if (doubts & kEfficiencyUnknown) {
      sentences.push_back("The efficiency is too far from any island to be known.");
    } else if (doubts & kEfficiencyExtrapolated) {
      sentences.push_back("The efficiency is extrapolated beyond the outermost island.");
    }
    if (doubts & kMarginUnknown) sentences.push_back("The surge line does not reach to where this margin needs it.");
  }
  if (doubts & kSpeedFromFlagged) sentences.push_back("A speed line next to the point is flagged for review.");
  if (doubts & kEfficiencyFromFlagged) sentences.push_back("An efficiency island next to the point is flagged for review.");
  if (doubts & kMarginFromFlatLine) sentences.push_back("The surge margin takes the speed line as level left of surge.");
  if (doubts & kSeveralAnswers) sentences.push_back("There is more than one answer; the likelier stands first.");
  std::string words;
  for (const std::string& sentence : sentences) words += (words.empty() ? "" : " ") + sentence;
  return words;
}

}  // namespace islebook
