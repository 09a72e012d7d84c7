#include "mapstore/bench/compressor_reader.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "mapstore/query/compressor_query.h"
#include "mapstore/query/left_edge.h"
#include "mapstore/units/correction.h"
#include "mapstore/units/unit.h"

namespace islebook {
namespace {

class QueryReader : public CompressorReader {
 public:
  QueryReader(CompressorQuery query, CompressorSurface wide, CompressorFacts facts, double si_per_flow_unit, double reference_density,
              double assumed_efficiency)
      : query_(std::move(query)),
        wide_(std::move(wide)),
        facts_(std::move(facts)),
        flow_per_unit_(si_per_flow_unit * reference_density),
        assumed_efficiency_(assumed_efficiency) {
    const double middle = std::sqrt(wide_.MinSpeed() * wide_.MaxSpeed());
    const SurfaceJet jet = wide_.At({middle, 0.5});
    middle_ = {jet.flow, jet.pressure_ratio};
  }

  const CompressorFacts& facts() const override { return facts_; }

  CompressorReading Read(const CompressorState& state) const override {
    CompressorReading reading;
    const Inlet inlet{Temperature::Kelvins(state.inlet_K), Pressure::Pascals(state.inlet_Pa)};
    const CorrectedMassFlow corrected = Correct(MassFlow::KilogramsPerSecond(state.flow_kg_s), inlet, facts_.reference);
    const double root_theta = std::sqrt(state.inlet_K / facts_.reference.temperature_K);
    reading.corrected_flow_kg_s = corrected.kilograms_per_second();
    reading.map_flow = reading.corrected_flow_kg_s / flow_per_unit_;
    const CompressorAnswer answer = query_.AtFlowAndPressureRatio(reading.map_flow, state.pressure_ratio);
    reading.corrected_speed = answer.speed;
    if (answer.speed) reading.speed = *answer.speed * root_theta;
    if (answer.sigma_speed) reading.sigma_speed = *answer.sigma_speed * root_theta;
    // An efficiency outside (0, 1] is a fault of the map, not a number to work with.
    if (answer.efficiency && *answer.efficiency > 0.05 && *answer.efficiency <= 1.0) {
      reading.efficiency = answer.efficiency;
      reading.sigma_efficiency = answer.sigma_efficiency;
    }
    reading.surge_margin = answer.surge_margin;
    reading.sigma_surge_margin = answer.sigma_surge_margin;
    reading.choke_margin = answer.choke_margin;
    reading.region = answer.region;
    reading.inside = answer.inside;
    if (answer.doubts != kNoDoubt) reading.reason = DoubtWords(answer, query_.surface());
    if (LeftEdgeIsDoubtful(answer, query_.surface())) {
      reading.region.reset();
      reading.off_lines = !answer.inside;
      reading.inside = false;
      reading.surge_margin = reading.sigma_surge_margin = std::nullopt;
      reading.reason = DoubtfulEdgeWords(answer, query_.surface());
    }
    return reading;
  }

  CompressorTrial Work(const CompressorState& state) const override {
    const double root_theta = std::sqrt(state.inlet_K / facts_.reference.temperature_K);
    const double flow = state.flow_kg_s * root_theta * facts_.reference.pressure_Pa / state.inlet_Pa / flow_per_unit_;
    CompressorTrial work;
    double speed = 0.0;
    const CompressorAnswer answer = query_.AtFlowAndPressureRatio(flow, state.pressure_ratio);
    if (answer.inside && answer.speed) {
      speed = *answer.speed;
    } else {
      work.guessed = true;
      speed = Continue(flow, state.pressure_ratio, work);
    }
    if (answer.inside && answer.efficiency && *answer.efficiency > 0.05 && *answer.efficiency <= 1.0) {
      work.efficiency = *answer.efficiency;
    } else {
      work.guessed = true;
      if (answer.inside) work.efficiency = EdgeEfficiency({speed, wide_.Locate(flow, state.pressure_ratio).value_or(MapPlace{speed, 0.5}).beta});
    }
    if (facts_.speed_unit_si > 0.0 && !facts_.speed_is_tip_speed) work.speed_rev_s = speed * root_theta * facts_.speed_unit_si;
    return work;
  }

 private:
  double EdgeEfficiency(const MapPlace& place) const {
    if (!wide_.HasEfficiency()) return assumed_efficiency_;
    return std::clamp(wide_.EfficiencyAt(place).value, 0.4, 0.9);
  }

  static double Head(double pressure_ratio) { return std::pow(std::max(pressure_ratio, 1.0 + 1e-9), 2.0 / 7.0) - 1.0; }

  // The corrected speed off the map, as similarity has it from the nearest place toward the map's middle; fills in the efficiency, which falls with the distance.
  double Continue(double flow, double pressure_ratio, CompressorTrial& work) const {
    if (const auto place = wide_.Locate(flow, pressure_ratio)) {
      work.efficiency = EdgeEfficiency(*place);
      return place->speed;
    }
    double near = 0.0, far = 1.0;  // of the way out from the middle; in flow and head
    const double head = Head(pressure_ratio), middle_head = Head(middle_.pressure_ratio);
    const auto at = [&](double share) {
      const double h = middle_head + share * (head - middle_head);
      return EdgePoint{middle_.flow + share * (flow - middle_.flow), std::pow(1.0 + h, 3.5)};
    };
    for (int k = 0; k < 30; ++k) {
      const double half = 0.5 * (near + far);
      const EdgePoint point = at(half);
      (wide_.Locate(point.flow, point.pressure_ratio) ? near : far) = half;
    }
    const EdgePoint edge = at(near);
    const auto place = wide_.Locate(edge.flow, edge.pressure_ratio).value_or(MapPlace{wide_.MinSpeed(), 0.5});
    const double by_flow = edge.flow > 0.0 ? flow / edge.flow : 1.0, by_head = std::sqrt(head / Head(edge.pressure_ratio));
    const double grown = std::max(by_flow, by_head), distance = std::hypot(by_flow - 1.0, by_head - 1.0);
    work.efficiency = EdgeEfficiency(place) / (1.0 + distance);
    return place.speed * grown;
  }

  CompressorQuery query_;
  CompressorSurface wide_;  // goes on below the lowest and above the highest speed line
  CompressorFacts facts_;
  double flow_per_unit_;  // kg/s at the reference conditions in one unit of the map's flow axis
  double assumed_efficiency_;
  EdgePoint middle_;
};

const char* KindWords(const std::optional<MapKind>& kind) {
  if (!kind) return "no performance map";
  return *kind == MapKind::kTurbine ? "a turbine map" : "a compressor map";
}

// The curves that need a person's eye, in words: "the surge line; speed lines 70,000, 80,000 rpm; islands 0.74, 0.76".
std::string DoubtedCurves(const PerformanceMap& map) {
  std::string words;
  const auto add = [&](CurveRole role, const char* one, const char* many) {
    std::vector<std::string> values;
    std::string unit;
    int count = 0;
    for (const Curve& curve : map.curves) {
      if (curve.role != role || !curve.needs_review) continue;
      ++count;
      if (!curve.value) continue;
      values.push_back(std::abs(*curve.value) >= 1000 ? GroupThousands(std::lround(*curve.value)) : fmt::format("{:.4g}", *curve.value));
      unit = curve.unit;
    }
    if (count == 0) return;
    const int unlabeled = count - static_cast<int>(values.size());
    words += fmt::format("{}{}", words.empty() ? "" : "; ", count == 1 ? one : many);
    for (std::size_t i = 0; i < values.size(); ++i) words += fmt::format("{}{}", i == 0 ? " " : ", ", values[i]);
    if (!values.empty() && !unit.empty() && unit != "1") words += " " + unit;
    if (unlabeled > 0 && (role == CurveRole::kSpeedLine || role == CurveRole::kEfficiencyIsland))
      words += fmt::format("{}{} without a value", values.empty() ? ", " : " and ", unlabeled);
  };
  add(CurveRole::kSurgeLine, "the surge line", "the surge lines");
  add(CurveRole::kChokeLine, "the choke line", "the choke lines");
  add(CurveRole::kSpeedLine, "speed line", "speed lines");
  add(CurveRole::kEfficiencyIsland, "island", "islands");
  return words;
}

}  // namespace

Result<std::unique_ptr<CompressorReader>> MakeCompressorReader(const PerformanceMap& map, const CompressorStage& stage, const std::string& revision,
                                                               SurgeMargin surge_margin) {
  if (map.kind != MapKind::kCompressor)
    return Fail(ErrorCode::kWrongKind,
                fmt::format("stage \"{}\" wants a compressor map, and \"{}\" is {}.", stage.name, stage.map, KindWords(map.kind)));
  if (!map.x || !map.y)
    return Fail(ErrorCode::kMalformedDocument, fmt::format("the map \"{}\" has no calibrated axes; open it, set them, and try again.", stage.map));
  auto surface = CompressorSurface::Build(map);
  if (!surface) {
    Error error = surface.error();
    error.message = fmt::format("the map \"{}\" cannot be read: {}", stage.map, error.message);
    return std::unexpected(error);
  }
  CompressorFacts facts;
  facts.title = map.title;
  facts.source = stage.map;
  facts.revision = revision;
  facts.flow_unit = map.x->unit;
  facts.speed_unit = surface->SpeedUnit();
  facts.has_efficiency = surface->HasEfficiency();
  facts.top_speed = surface->MaxSpeed();
  facts.surge_margin_definition = DefinitionOf(surge_margin).definition;
  facts.total_to_static = map.y->quantity == Quantity::kPressureRatioTotalToStatic;
  if (!facts.has_efficiency && !stage.assumed_efficiency)
    return Fail(ErrorCode::kBadCase, fmt::format("the map \"{}\" shows no efficiency, so temperatures cannot be worked out; write assumed_efficiency "
                                                 "= \"70 %\" under this stage, or use a map "
                                                 "with efficiency islands.",
                                                 stage.map));

  const Result<Unit> flow_unit = ParseUnit(map.x->unit);
  if (!flow_unit) return std::unexpected(flow_unit.error());
  const bool by_mass = flow_unit->dimension == Dimension::kMassFlow;
  if (!by_mass && flow_unit->dimension != Dimension::kVolumeFlow)
    return Fail(ErrorCode::kIncompatibleUnit,
                fmt::format("the flow axis of the map \"{}\" is in {}, which is no flow; set the axis right.", stage.map, map.x->unit));

  if (map.reference_conditions) facts.reference = *map.reference_conditions;
  if (stage.reference_K && stage.reference_Pa) {
    facts.reference = {*stage.reference_K, *stage.reference_Pa, ReferenceConditions::Basis::kPrinted};
  } else if (!map.reference_conditions || map.reference_conditions->basis == ReferenceConditions::Basis::kAssumed) {
    facts.doubts.push_back(fmt::format(
        "The sheet does not print its reference conditions; {:.2f} K and {:.2f} kPa are assumed. Other habits of the trade move the flow by up "
        "to 7 %: give reference_temperature and reference_pressure under the stage if you know them.",
        facts.reference.temperature_K, facts.reference.pressure_Pa / 1000));
  }
  if (facts.total_to_static)
    facts.doubts.push_back(
        "The map's pressure ratio is total to static; the bench works with totals, so the true outlet pressure lies a little higher.");
  const Result<Unit> speed_unit = ParseUnit(facts.speed_unit);
  if (speed_unit && speed_unit->dimension == Dimension::kRotationalSpeed) {
    facts.speed_unit_si = speed_unit->factor / (2.0 * std::numbers::pi);
  } else if (speed_unit && speed_unit->dimension == Dimension::kVelocity) {
    facts.speed_unit_si = speed_unit->factor;
    facts.speed_is_tip_speed = true;
  } else {
    facts.doubts.push_back("The speed lines carry no speed in rpm or m/s, so the wheel's speed limit cannot be checked.");
  }
  if (stage.speed_limit && facts.speed_unit_si > 0.0 && stage.speed_limit_is_tip_speed != facts.speed_is_tip_speed)
    return Fail(ErrorCode::kBadCase,
                fmt::format("the speed limit of stage \"{}\" and the map's speed lines ({}) are not of one kind; give the limit in {}.", stage.name,
                            facts.speed_unit, facts.speed_is_tip_speed ? "m/s at the tip" : "rpm"));
  if (const std::string doubted = DoubtedCurves(map); !doubted.empty())
    facts.doubts.push_back(fmt::format("Doubted on the map: {}. Look at its proof before relying on answers near them.", doubted));
  for (const std::string& doubt : map.needs_review) facts.doubts.push_back(doubt);
  for (const std::string& note : surface->Notes())
    if (!note.ends_with("is flagged for review.")) facts.doubts.push_back(note);  // those are listed above

  const double density = by_mass ? 1.0 : ReferenceDensity(facts.reference).kilograms_per_cubic_meter();
  auto wide = CompressorSurface::Build(map, {.estimate_sigma = false, .extrapolate_below = 0.6, .extrapolate_above = 0.2});
  if (!wide) wide = *surface;
  CompressorQueryOptions options;
  options.surge_margin = surge_margin;
  return std::make_unique<QueryReader>(CompressorQuery(std::move(*surface), options), std::move(*wide), std::move(facts), flow_unit->factor, density,
                                       stage.assumed_efficiency.value_or(kOffMapEfficiency));
}

}  // namespace islebook
