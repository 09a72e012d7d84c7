#include "mapstore/fmu/fmu_variables.h"

namespace islebook {

std::span<const FmuOutput> FmuOutputs() {
  static constexpr FmuOutput kOutputs[] = {{"flow", &MapAnswer::flow},
                                           {"pressure_ratio", &MapAnswer::pressure_ratio},
                                           {"speed", &MapAnswer::speed},
                                           {"expansion_ratio", &MapAnswer::expansion_ratio},
                                           {"vane_opening", &MapAnswer::vane_opening},
                                           {"efficiency", &MapAnswer::efficiency},
                                           {"surge_margin", &MapAnswer::surge_margin},
                                           {"choke_margin", &MapAnswer::choke_margin},
                                           {"sigma_flow", &MapAnswer::sigma_flow},
                                           {"sigma_pressure_ratio", &MapAnswer::sigma_pressure_ratio},
                                           {"sigma_speed", &MapAnswer::sigma_speed},
                                           {"sigma_efficiency", &MapAnswer::sigma_efficiency},
                                           {"sigma_surge_margin", &MapAnswer::sigma_surge_margin},
                                           {"map_width", &MapAnswer::map_width}};
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

}  // namespace islebook
