#include "mapstore/query/turbine_query.h"

#include <cmath>

#include <fmt/format.h>

namespace islebook {
namespace {

bool Positive(double value) { return std::isfinite(value) && value > 0.0; }

std::string ParameterWord(const TurbineSurface& surface) { return surface.Parameter() == TurbineParameter::kSpeed ? "speed" : "vane opening"; }

void AddReason(TurbineAnswer& answer, const std::string& sentence) { answer.reason += (answer.reason.empty() ? "" : " ") + sentence; }

// Flow and efficiency at a known parameter and expansion ratio.
TurbineAnswer AtPlace(const TurbineSurface& surface, double parameter, double expansion_ratio, std::optional<double> flow) {
  TurbineAnswer answer;
  answer.expansion_ratio = expansion_ratio;
  if (surface.Parameter() != TurbineParameter::kNone) answer.parameter = parameter;
  answer.inside = true;
  const std::optional<TurbineValue> passed = surface.Flow(parameter, expansion_ratio);
  if (passed) {
    answer.flow = flow ? *flow : passed->value;
    answer.sigma_flow = passed->sigma;
  } else if (flow) {
    answer.flow = flow;
  }
  const std::optional<TurbineValue> efficiency = surface.Efficiency(parameter, expansion_ratio);
  if (efficiency) {
    answer.efficiency = efficiency->value;
    answer.sigma_efficiency = efficiency->sigma;
  }
  const double low = surface.MinExpansionRatio(parameter), high = surface.MaxExpansionRatio(parameter);
  const bool outside_lines = surface.Parameter() != TurbineParameter::kNone &&
                             (parameter < surface.LineValues().front() * (1.0 - 1e-9) || parameter > surface.LineValues().back() * (1.0 + 1e-9));
  if (outside_lines) {
    answer.inside = false;
    AddReason(answer, fmt::format("The {} is outside the labeled lines ({:g} to {:g} {}).", ParameterWord(surface), surface.LineValues().front(),
                                  surface.LineValues().back(), surface.ParameterUnit()));
    return answer;
  }
  const bool off_range = (passed && passed->extrapolated) || (efficiency && efficiency->extrapolated) || (surface.HasFlow() && !passed) ||
                         (surface.HasEfficiency() && !efficiency);
  if (off_range) {
    const bool outside = expansion_ratio < low || expansion_ratio > high;
    answer.inside = !outside;
    AddReason(answer, fmt::format("{}the expansion ratio is outside the lines there ({:.4g} to {:.4g}).",
                                  (passed && passed->extrapolated) || (efficiency && efficiency->extrapolated) ? "Extrapolated: " : "Not known: ",
                                  low, high));
  }
  if (!surface.HasFlow()) AddReason(answer, "The map prints no flow lines.");
  if (!surface.HasEfficiency()) AddReason(answer, "The map prints no efficiency lines.");
  return answer;
}

}  // namespace

TurbineAnswer TurbineQuery::Ask(const TurbineQuestion& question) const {
  TurbineAnswer answer;
  answer.expansion_ratio = question.expansion_ratio;
  answer.flow = question.flow;
  answer.parameter = question.parameter;
  const bool needs_parameter = surface_.Parameter() != TurbineParameter::kNone;
  for (const std::optional<double>& given : {question.expansion_ratio, question.flow}) {
    if (given && !Positive(*given)) {
      answer.reason = "The numbers asked for must be positive.";
      answer.expansion_ratio = answer.flow = answer.parameter = std::nullopt;
      return answer;
    }
  }
  if (question.parameter && (!std::isfinite(*question.parameter) || *question.parameter < 0.0)) {
    answer.reason = fmt::format("The {} must be a number that is not negative.", ParameterWord(surface_));
    answer.parameter = std::nullopt;
    return answer;
  }
  if (question.expansion_ratio && !(*question.expansion_ratio > 1.0)) {
    answer.reason = "An expansion ratio must be above 1.";
    return answer;
  }
  if (question.expansion_ratio && (question.parameter || !needs_parameter))
    return AtPlace(surface_, question.parameter.value_or(0.0), *question.expansion_ratio, std::nullopt);
  if (question.expansion_ratio && question.flow) {
    const std::vector<double> parameters = surface_.ParametersAt(*question.expansion_ratio, *question.flow);
    if (parameters.empty()) {
      answer.reason = fmt::format("No {} between the labeled lines passes that flow at that expansion ratio.", ParameterWord(surface_));
      return answer;
    }
    answer = AtPlace(surface_, parameters.front(), *question.expansion_ratio, question.flow);
    for (std::size_t i = 1; i < parameters.size(); ++i)
      answer.alternatives.push_back(AtPlace(surface_, parameters[i], *question.expansion_ratio, question.flow));
    if (parameters.size() > 1) AddReason(answer, "There is more than one answer; the first stands here.");
    return answer;
  }
  if (question.flow && (question.parameter || !needs_parameter)) {
    const std::optional<double> expansion_ratio = surface_.ExpansionRatioAt(question.parameter.value_or(0.0), *question.flow);
    if (!expansion_ratio) {
      answer.reason = "That flow is outside the line, or so near choke that it no longer tells the expansion ratio.";
      return answer;
    }
    return AtPlace(surface_, question.parameter.value_or(0.0), *expansion_ratio, question.flow);
  }
  answer.reason = needs_parameter ? fmt::format("Two of expansion ratio, flow and {} are needed.", ParameterWord(surface_))
                                  : "An expansion ratio or a flow is needed.";
  return answer;
}

std::optional<TurbineSlopes> TurbineQuery::Slopes(const TurbineQuestion& question) const {
  const TurbineAnswer answer = Ask(question);
  const bool has_parameter = surface_.Parameter() != TurbineParameter::kNone;
  if (!answer.expansion_ratio || (has_parameter && !answer.parameter)) return std::nullopt;
  const double parameter = answer.parameter.value_or(0.0);
  const std::optional<TurbineValue> flow = surface_.Flow(parameter, *answer.expansion_ratio);
  const std::optional<TurbineValue> efficiency = surface_.Efficiency(parameter, *answer.expansion_ratio);
  // The change of expansion ratio and parameter by the two asked with.
  Slope ratio, of_parameter;
  if (question.expansion_ratio && (question.parameter || !has_parameter)) {
    ratio = {1.0, 0.0};
    of_parameter = {0.0, has_parameter ? 1.0 : 0.0};
  } else if (question.flow && question.expansion_ratio) {
    if (!flow) return std::nullopt;
    ratio = {0.0, 1.0};
    of_parameter = {1.0 / flow->by_parameter, -flow->by_expansion_ratio / flow->by_parameter};
  } else {
    if (!flow) return std::nullopt;
    ratio = {1.0 / flow->by_expansion_ratio, has_parameter ? -flow->by_parameter / flow->by_expansion_ratio : 0.0};
    of_parameter = {0.0, has_parameter ? 1.0 : 0.0};
  }
  const auto by = [&](const TurbineValue& value) {
    return Slope{value.by_expansion_ratio * ratio.by_first + value.by_parameter * of_parameter.by_first,
                 value.by_expansion_ratio * ratio.by_second + value.by_parameter * of_parameter.by_second};
  };
  TurbineSlopes slopes;
  if (!question.expansion_ratio) slopes.expansion_ratio = ratio;
  if (!question.parameter && has_parameter) slopes.parameter = of_parameter;
  if (!question.flow && flow) slopes.flow = by(*flow);
  if (efficiency && answer.efficiency) slopes.efficiency = by(*efficiency);
  for (std::optional<Slope>* slope : {&slopes.expansion_ratio, &slopes.parameter, &slopes.flow, &slopes.efficiency})
    if (*slope && !(std::isfinite((*slope)->by_first) && std::isfinite((*slope)->by_second))) slope->reset();
  return slopes;
}

}  // namespace islebook
