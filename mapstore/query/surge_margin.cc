#include "mapstore/query/surge_margin.h"

namespace islebook {

const std::vector<SurgeMarginDefinition>& SurgeMarginDefinitions() {
  static const std::vector<SurgeMarginDefinition> definitions{
      {SurgeMargin::kConstantSpeed, "constant-speed", "(PR_surge / PR) (W / W_surge) - 1 at constant corrected speed"},
      {SurgeMargin::kConstantFlow, "constant-flow", "(PR_surge - PR) / PR at constant flow"},
      {SurgeMargin::kFlow, "flow", "(W - W_surge) / W at constant corrected speed"},
      {SurgeMargin::kFlowOverSurgeFlow, "flow-over-surge-flow", "(W - W_surge) / W_surge at constant corrected speed"},
      {SurgeMargin::kConstantPressureRatio, "constant-pressure-ratio", "(W - W_surge) / W at constant pressure ratio"},
      {SurgeMargin::kPressureRatio, "pressure-ratio", "PR_surge / PR - 1 at constant corrected speed"},
  };
  return definitions;
}

const SurgeMarginDefinition& DefinitionOf(SurgeMargin margin) {
  const std::vector<SurgeMarginDefinition>& definitions = SurgeMarginDefinitions();
  for (const SurgeMarginDefinition& definition : definitions)
    if (definition.margin == margin) return definition;
  return definitions.front();
}

std::optional<SurgeMargin> ParseSurgeMargin(std::string_view name) {
  for (const SurgeMarginDefinition& definition : SurgeMarginDefinitions())
    if (name == definition.name) return definition.margin;
  return std::nullopt;
}

}  // namespace islebook
