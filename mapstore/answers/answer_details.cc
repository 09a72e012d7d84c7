#include "mapstore/answers/answer_details.h"

namespace islebook {

std::span<const NamedSlope> NamedSlopes() {
  static constexpr NamedSlope kSlopes[] = {{"flow", &AnswerSlopes::flow, QuestionValue::kFlow},
                                           {"pressure_ratio", &AnswerSlopes::pressure_ratio, QuestionValue::kPressureRatio},
                                           {"expansion_ratio", &AnswerSlopes::expansion_ratio, QuestionValue::kExpansionRatio},
                                           {"speed", &AnswerSlopes::speed, QuestionValue::kSpeed},
                                           {"vane_opening", &AnswerSlopes::vane_opening, QuestionValue::kVaneOpening},
                                           {"efficiency", &AnswerSlopes::efficiency, std::nullopt},
                                           {"surge_margin", &AnswerSlopes::surge_margin, std::nullopt},
                                           {"choke_margin", &AnswerSlopes::choke_margin, std::nullopt},
                                           {"map_width", &AnswerSlopes::map_width, std::nullopt}};
  return kSlopes;
}

std::span<const NamedEdge> NamedEdges() {
  static constexpr NamedEdge kEdges[] = {{"less_flow", "flow", &EdgeDistances::less_flow},
                                         {"more_flow", "flow", &EdgeDistances::more_flow},
                                         {"less_pressure_ratio", "pressure_ratio", &EdgeDistances::less_pressure_ratio},
                                         {"more_pressure_ratio", "pressure_ratio", &EdgeDistances::more_pressure_ratio},
                                         {"toward_surge", "flow", &EdgeDistances::toward_surge},
                                         {"toward_choke", "flow", &EdgeDistances::toward_choke},
                                         {"slower", "speed", &EdgeDistances::slower},
                                         {"faster", "speed", &EdgeDistances::faster},
                                         {"nearest", "", nullptr}};
  return kEdges;
}

const EdgeHit* HitOf(const EdgeDistances& edges, const NamedEdge& way) {
  if (way.hit == nullptr) return &edges.nearest;
  const std::optional<EdgeHit>& hit = edges.*way.hit;
  return hit ? &*hit : nullptr;
}

}  // namespace islebook
