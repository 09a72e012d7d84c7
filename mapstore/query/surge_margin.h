#pragma once
// Surge margin in its published variants, each by name. A margin without its definition means little: one point has six (between 7 and 17 % on a measured map).

#include <optional>
#include <string_view>
#include <vector>

namespace islebook {

// PR, W: the operating point. At constant speed, PR_surge and W_surge are where its speed line meets the surge line.
enum class SurgeMargin {
  kConstantSpeed,          // (PR_surge / PR) (W / W_surge) - 1 at constant corrected speed; the default (NASA/TM-2014-216638, alternative form)
  kConstantFlow,           // (PR_surge - PR) / PR at constant flow (NASA/TM-2014-216638, block help)
  kFlow,                   // (W - W_surge) / W at constant corrected speed
  kFlowOverSurgeFlow,      // (W - W_surge) / W_surge at constant corrected speed
  kConstantPressureRatio,  // (W - W_surge) / W at constant pressure ratio
  kPressureRatio,          // PR_surge / PR - 1 at constant corrected speed
};

struct SurgeMarginDefinition {
  SurgeMargin margin;
  const char* name;        // "constant-speed", as --surge-margin takes it
  const char* definition;  // the formula and what is kept constant, for people
};

const std::vector<SurgeMarginDefinition>& SurgeMarginDefinitions();
const SurgeMarginDefinition& DefinitionOf(SurgeMargin margin);
std::optional<SurgeMargin> ParseSurgeMargin(std::string_view name);

}  // namespace islebook
