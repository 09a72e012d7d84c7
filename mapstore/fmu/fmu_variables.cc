#include "mapstore/fmu/fmu_variables.h"

#include <cmath>
#include <limits>

namespace islebook {

std::span<const FmuOutput> FmuOutputs() {
  static constexpr FmuOutput kOutputs[] = {{"flow", &MapAnswer::flow, &AnswerSlopes::flow},
                                           {"pressure_ratio", &MapAnswer::pressure_ratio, &AnswerSlopes::pressure_ratio},
                                           {"speed", &MapAnswer::speed, &AnswerSlopes::speed},
                                           {"expansion_ratio", &MapAnswer::expansion_ratio, &AnswerSlopes::expansion_ratio},
                                           {"vane_opening", &MapAnswer::vane_opening, &AnswerSlopes::vane_opening},
                                           {"efficiency", &MapAnswer::efficiency, &AnswerSlopes::efficiency},
                                           {"surge_margin", &MapAnswer::surge_margin, &AnswerSlopes::surge_margin},
                                           {"choke_margin", &MapAnswer::choke_margin, &AnswerSlopes::choke_margin},
                                           {"sigma_flow", &MapAnswer::sigma_flow, nullptr},
                                           {"sigma_pressure_ratio", &MapAnswer::sigma_pressure_ratio, nullptr},
                                           {"sigma_speed", &MapAnswer::sigma_speed, nullptr},
                                           {"sigma_efficiency", &MapAnswer::sigma_efficiency, nullptr},
                                           {"sigma_surge_margin", &MapAnswer::sigma_surge_margin, nullptr},
                                           {"map_width", &MapAnswer::map_width, &AnswerSlopes::map_width}};
  return kOutputs;
}

std::vector<FmuQuestion> FmuQuestions(const AskableMap& map) {
  using enum QuestionValue;
  if (!map.is_turbine()) return {{kFlow, kPressureRatio}, {kSpeed, kFlow}, {kSpeed, kPressureRatio}};
  if (!map.has_parameter()) return {{kExpansionRatio, kExpansionRatio}, {kFlow, kFlow}};
  const QuestionValue parameter = map.speed_unit().empty() ? kVaneOpening : kSpeed;
  return {{kExpansionRatio, parameter}, {kExpansionRatio, kFlow}, {kFlow, parameter}};
}

int FmuRegionOf(const AskableMap& map, const MapAnswer& answer) {
  if (!answer.asked) return -1;
  if (map.is_turbine()) return answer.inside ? 0 : 5;
  return answer.region ? static_cast<int>(*answer.region) : 6;
}

bool FmuHasOutput(const AskableMap& map, unsigned output) {
  return (output >= kFmuOutputs && output < kFmuOutputs + FmuOutputs().size()) ||
         (!map.is_turbine() && output >= kFmuEdges && output < kFmuEdges + NamedEdges().size());
}

double FmuValue(const AskableMap& map, const Question& question, const MapAnswer& answer, unsigned output) {
  constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
  if (output < kFmuEdges) return (answer.*FmuOutputs()[output - kFmuOutputs].value).value_or(kNone);
  const std::optional<EdgeDistances> edges = map.Edges(question);
  const EdgeHit* const hit = edges ? HitOf(*edges, NamedEdges()[output - kFmuEdges]) : nullptr;
  return hit == nullptr ? kNone : hit->change;
}

double FmuDerivative(const AskableMap& map, const Question& question, const std::optional<AnswerSlopes>& slopes, unsigned output,
                     QuestionValue input) {
  const std::optional<double> at = question.At(input);
  if (!at) return 0.0;  // not part of the question
  if (output < kFmuEdges) {
    const FmuOutput& named = FmuOutputs()[output - kFmuOutputs];
    for (const NamedSlope& value : NamedSlopes())
      if (value.value && value.slope == named.slope && question.At(*value.value)) return value.value == input ? 1.0 : 0.0;
    if (named.slope != nullptr) {
      if (!slopes || !((*slopes).*named.slope)) return std::numeric_limits<double>::quiet_NaN();
      return slopes->first == input ? ((*slopes).*named.slope)->by_first : ((*slopes).*named.slope)->by_second;
    }
  }
  constexpr double kStep = 1e-5;  // of the value
  const auto moved = [&](double by) {
    Question other = question;
    other.Set(input, *at * (1.0 + by));
    return FmuValue(map, other, map.Ask(other), output);
  };
  return (moved(kStep) - moved(-kStep)) / (2.0 * kStep * *at);
}

}  // namespace islebook
