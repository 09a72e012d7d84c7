// First derivatives of a compressor's answers, by the chain rule through the place on the surface.

#include <cmath>

#include "mapstore/query/compressor_query.h"

namespace islebook {
namespace {

// The change of speed and beta by the two values asked with.
struct PlaceSlope {
  Slope speed, beta;
  Slope Of(double by_speed, double by_beta) const {
    return {by_speed * speed.by_first + by_beta * beta.by_first, by_speed * speed.by_second + by_beta * beta.by_second};
  }
};

Slope Scaled(const Slope& slope, double factor) { return {slope.by_first * factor, slope.by_second * factor}; }
Slope Sum(const Slope& a, const Slope& b) { return {a.by_first + b.by_first, a.by_second + b.by_second}; }
bool Finite(const Slope& slope) { return std::isfinite(slope.by_first) && std::isfinite(slope.by_second); }

std::optional<PlaceSlope> PlaceBy(const CompressorQuestion& question, const SurfaceJet& jet) {
  PlaceSlope place;
  if (!question.speed) {
    const double determinant = jet.flow_by_speed * jet.pressure_ratio_by_beta - jet.flow_by_beta * jet.pressure_ratio_by_speed;
    place.speed = {jet.pressure_ratio_by_beta / determinant, -jet.flow_by_beta / determinant};
    place.beta = {-jet.pressure_ratio_by_speed / determinant, jet.flow_by_speed / determinant};
  } else {
    const double by_speed = question.flow ? jet.flow_by_speed : jet.pressure_ratio_by_speed;
    const double by_beta = question.flow ? jet.flow_by_beta : jet.pressure_ratio_by_beta;
    place.speed = {0.0, 1.0};
    place.beta = {1.0 / by_beta, -by_speed / by_beta};
  }
  if (!Finite(place.speed) || !Finite(place.beta)) return std::nullopt;
  return place;
}

}  // namespace

std::optional<CompressorSlopes> CompressorQuery::Slopes(const CompressorQuestion& question) const {
  const CompressorAnswer answer = Ask(question);
  if (!answer.flow || !answer.pressure_ratio || !answer.speed || !answer.choke_margin) return std::nullopt;
  // The answer's own place.
  std::optional<MapPlace> place;
  if (!question.speed) {
    for (const MapPlace& other : surface_.LocateAll(*answer.flow, *answer.pressure_ratio))
      if (!place || std::abs(other.speed - *answer.speed) < std::abs(place->speed - *answer.speed)) place = other;
  } else {
    const std::vector<MapPlace> places =
        question.flow ? surface_.AtFlow(*answer.speed, *answer.flow) : surface_.AtPressureRatio(*answer.speed, *answer.pressure_ratio);
    for (const MapPlace& other : places) {
      const auto miss = [&](const MapPlace& at) {
        const SurfaceJet jet = surface_.At(at);
        return std::abs(jet.flow - *answer.flow) / *answer.flow + std::abs(jet.pressure_ratio - *answer.pressure_ratio);
      };
      if (!place || miss(other) < miss(*place)) place = other;
    }
    if (places.empty() && question.flow) place = surface_.OnlyAtFlow(*answer.speed, *answer.flow);
  }
  if (!place) return std::nullopt;
  const SurfaceJet jet = surface_.At(*place);
  const std::optional<PlaceSlope> by = PlaceBy(question, jet);
  if (!by) return std::nullopt;

  CompressorSlopes slopes;
  const Slope flow = question.flow ? Slope{1.0, 0.0} : by->Of(jet.flow_by_speed, jet.flow_by_beta);
  const Slope ratio = !question.pressure_ratio ? by->Of(jet.pressure_ratio_by_speed, jet.pressure_ratio_by_beta)
                      : question.flow          ? Slope{0.0, 1.0}
                                               : Slope{1.0, 0.0};
  if (!question.flow) slopes.flow = flow;
  if (!question.pressure_ratio) slopes.pressure_ratio = ratio;
  if (!question.speed) slopes.speed = by->speed;
  if (answer.efficiency) {
    const EfficiencyJet efficiency = surface_.EfficiencyAt(*place);
    slopes.efficiency = by->Of(efficiency.by_speed, efficiency.by_beta);
  }
  const double w = *answer.flow, p = *answer.pressure_ratio;
  const SurfaceJet choke = surface_.At(surface_.ChokePlace(place->speed)), surge = surface_.At({place->speed, 0.0});
  const Slope choke_flow = by->Of(choke.flow_by_speed, 0.0), surge_flow = by->Of(surge.flow_by_speed, 0.0),
              surge_ratio = by->Of(surge.pressure_ratio_by_speed, 0.0);
  slopes.choke_margin = Sum(Scaled(choke_flow, 1.0 / w), Scaled(flow, -choke.flow / (w * w)));
  slopes.map_width = Sum(Scaled(surge_flow, -1.0 / choke.flow), Scaled(choke_flow, surge.flow / (choke.flow * choke.flow)));
  if (answer.surge_margin) {
    const double ws = surge.flow, ps = surge.pressure_ratio;
    switch (options_.surge_margin) {
      case SurgeMargin::kConstantSpeed: {
        const double margin = ps / p * (w / ws);
        slopes.surge_margin =
            Sum(Sum(Scaled(surge_ratio, margin / ps), Scaled(ratio, -margin / p)), Sum(Scaled(flow, margin / w), Scaled(surge_flow, -margin / ws)));
        break;
      }
      case SurgeMargin::kFlow: slopes.surge_margin = Sum(Scaled(surge_flow, -1.0 / w), Scaled(flow, ws / (w * w))); break;
      case SurgeMargin::kFlowOverSurgeFlow: slopes.surge_margin = Sum(Scaled(flow, 1.0 / ws), Scaled(surge_flow, -w / (ws * ws))); break;
      case SurgeMargin::kPressureRatio: slopes.surge_margin = Sum(Scaled(surge_ratio, 1.0 / p), Scaled(ratio, -ps / (p * p))); break;
      case SurgeMargin::kConstantFlow: {
        const std::optional<double> above = surface_.SurgePressureRatioAtFlow(w);
        const std::optional<double> by_ratio = above ? surface_.SurgeFlowByPressureRatio(*above) : std::nullopt;
        if (by_ratio && *by_ratio != 0.0) slopes.surge_margin = Sum(Scaled(flow, 1.0 / (*by_ratio * p)), Scaled(ratio, -*above / (p * p)));
        break;
      }
      case SurgeMargin::kConstantPressureRatio: {
        const std::optional<double> left = surface_.SurgeFlowAtPressureRatio(p), by_ratio = surface_.SurgeFlowByPressureRatio(p);
        if (left && by_ratio) slopes.surge_margin = Sum(Scaled(ratio, -*by_ratio / w), Scaled(flow, *left / (w * w)));
        break;
      }
    }
  }
  for (std::optional<Slope>* slope :
       {&slopes.flow, &slopes.pressure_ratio, &slopes.speed, &slopes.efficiency, &slopes.surge_margin, &slopes.choke_margin, &slopes.map_width})
    if (*slope && !Finite(**slope)) slope->reset();
  return slopes;
}

}  // namespace islebook
